"""What holds the piece while it is welded: the usual devices, and where they grip.

A device touches a share of the girth over a stretch of the pipe or the fitting and takes
heat there; the rest of that stretch stays open to the air.
"""

from dataclasses import dataclass
from math import isinf

from ..trade.rows import records
from .case import Fitting, Holding, Pipe
from .outline import TOUCH

FIRMEST = "fitting in a chuck"  # of the usual ways the one that takes most heat
NOTHING = "nothing"  # holds it that takes heat: on wire, on points, in the hand
CLEAR = 10.0e-3  # m from socket face or leg to the nearest jaw; common practice
ALONG = 100.0e-3  # m from the face to a grip on a long pipe; common practice
LEAST_GRIP = 5.0e-3  # m: what less is left holds nothing


@dataclass(frozen=True)
class Device:
    """One row of ``data/holding.csv``: a device on a part, and how it usually grips."""

    words: str  # "fitting in a chuck"
    on: str  # "pipe" or "fitting"
    by: str  # "chuck"
    share: float  # of the girth that it touches
    conductance: float  # W/m²/K there, to metal at air temperature
    length: float  # m along the part
    source: str
    standing: str


def devices() -> tuple[Device, ...]:
    """Every usual way to hold a piece."""
    return records(Device, "holding")


def ways() -> tuple[str, ...]:
    """Say how a piece may be held, in words: "nothing", "fitting in a chuck", ..."""
    return (NOTHING, *(device.words for device in devices()))


def ways_of_pipe() -> tuple[str, ...]:
    """Say how a piece without a fitting may be held."""
    return (NOTHING, *(device.words for device in devices() if device.on == "pipe"))


def device_of(words: str) -> Device:
    """Device of one of `ways` that is not nothing.

    Examples
    --------
    >>> device_of("fitting in a chuck").on, device_of("fitting in a chuck").by
    ('fitting', 'chuck')
    """
    return next(d for d in devices() if d.words == words)


def device_on(on: str, by: str) -> Device | None:
    """Device of that name on a part, "pipe" or "fitting"; None where it holds no such."""
    return next((d for d in devices() if (d.on, d.by) == (on, by)), None)


def usual_grip(
    device: Device,
    pipe: Pipe,
    fitting: Fitting,
    leg: float,
    start: float | None = None,
) -> Holding:
    """Grip a piece where there is room, as tightly as is usual.

    Parameters
    ----------
    device : Device
        What holds it, and on which part.
    pipe, fitting : Pipe, Fitting
        The piece.
    leg : float
        m of the pipe beside the face that the weld takes.
    start : float, optional
        m from the socket face to the grip, where that is known.

    Returns
    -------
    Holding
        Shorter than `LEAST_GRIP` where there is no room.
    """
    usual, end = _on_fitting(fitting)
    if device.on == "pipe":
        usual, end = _on_pipe(pipe, leg, device.length)
    start = usual if start is None else start
    return Holding(
        on=device.on,
        from_face=start,
        length=min(device.length, end - start),
        conductance=device.conductance,
        share=device.share,
        by=device.by,
    )


def _on_pipe(pipe: Pipe, leg: float, reach: float) -> tuple[float, float]:
    """Find room at the far end of a stub, or some way along a long pipe: start, end [m]."""
    start = ALONG if isinf(pipe.length) else pipe.length - reach
    return max(start, leg + CLEAR), pipe.length


def _on_fitting(fitting: Fitting) -> tuple[float, float]:
    """Find room where the fitting is at least as wide as its socket: start, end [m]."""
    radius = fitting.socket_bore / 2 + fitting.socket_wall
    end = 0.0
    for box in sorted(fitting.boxes, key=lambda b: b.z_start):
        if box.r_out >= radius - TOUCH and box.z_start <= end + TOUCH:
            end = max(end, box.z_end)
    return min(CLEAR, end / 3), end
