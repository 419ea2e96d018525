"""Fittings of the catalogue, and sleeves, as rings for a joint.

See ``rings`` for what each kind is taken to be; every fitting says it in one sentence.
"""

from dataclasses import dataclass, replace
from math import inf

from .catalogue import SocketRow, flange, pipe, socket
from .errors import CatalogueError
from .joint import Box, Fitting
from .materials import Material
from .rings import TRAINS, Ring, Train, boxes_of, flange_train, train_length
from .tables import unknown

KINDS = ("coupling", "half coupling", "cap", "elbow", "tee", "flange", "sleeve")
SOCKET_CLASS = 3000
FLANGE_CLASS = 150


@dataclass(frozen=True)
class Shape:
    """The metal of one fitting [m]; diameters for bores, radii in the boxes."""

    boxes: tuple[Box, ...]
    socket_bore: float
    socket_wall: float
    socket_depth: float
    body_bore: float
    length: float  # from the socket face; inf is "long"
    equivalent: str
    pressure_class: int | None = None


def cut_to_length(train: Train, length: float | None, depth: float) -> Shape:
    """Return boxes, length and words of a train as long as asked for.

    None is the fitting's own length. Shorter cuts it off; longer, or inf, goes on into
    what follows it.
    """
    own = train_length(train.own)
    if length is None or (length == inf and not train.ends_long):
        length = own
    if not length > depth:
        msg = (
            f"fitting length {1e3 * length:g} mm ends inside the socket, "
            f"{1e3 * depth:g} mm deep; give more, 'long', or leave it out"
        )
        raise CatalogueError(msg)
    goes_on = length > own * (1 + 1e-9)
    boxes = boxes_of(train.onward if goes_on else train.own, length)
    words = train.words
    if goes_on:
        words += f"; {train.onward_words}, in the fitting's material"
    elif length < own * (1 - 1e-9):
        words += f"; cut off at {1e3 * length:g} mm"
    return Shape(boxes, 0.0, 0.0, depth, 0.0, length, words)


def continuing_pipe(
    row: SocketRow, outside_diameter: float | None, wall: float | None
) -> Ring:
    """Pipe that goes on from the far socket; the rating wall unless one is given."""
    outside = outside_diameter or pipe(row.size, "40").outside_diameter
    wall = wall or row.body_wall
    if not 0 < wall < outside / 2:
        msg = (
            f"pipe wall {1e3 * wall:g} mm; expected above 0, below half of the "
            f"outside diameter {1e3 * outside:g} mm"
        )
        raise CatalogueError(msg)
    return Ring(outside / 2 - wall, outside / 2)


def fitting_boxes(
    kind: str,
    size: str,
    pressure_class: int | None = None,
    length: float | None = None,
    pipe_wall: float | None = None,
    pipe_outside_diameter: float | None = None,
) -> Shape:
    """Return the rings that stand for a fitting, from its socket face on.

    Parameters
    ----------
    kind : str
        coupling, half coupling, cap, elbow, tee or flange.
    size : str
        NPS or DN, see ``catalogue.nominal_size``.
    pressure_class : int, optional
        3000, 6000 or 9000, for a flange 150; 3000 or 150 when left out.
    length : float, optional
        From the socket face [m]; None is the fitting's own, inf is "long". What follows
        a coupling, elbow or tee is pipe from the far socket, what follows a half coupling
        is its body; nothing follows a cap or a flange.
    pipe_wall, pipe_outside_diameter : float, optional
        Of the pipe that goes on [m]; the wall the class is rated by when left out.

    Returns
    -------
    Shape
        A long last box ends at ``z_end = inf``.

    Raises
    ------
    CatalogueError
        Unknown kind, size or class; a length that ends inside the socket.

    Examples
    --------
    >>> shape = fitting_boxes("coupling", "NPS 1/2", 3000)
    >>> round(1e3 * shape.length, 1), len(shape.boxes)  # two sockets and the stop
    (28.5, 3)
    """
    if kind == "flange":
        return flange_shape(size, pressure_class or FLANGE_CLASS, length)
    if kind not in TRAINS:
        error = unknown("fitting kind", kind, KINDS)
        raise error
    row = socket(size, pressure_class or SOCKET_CLASS)
    tube = continuing_pipe(row, pipe_outside_diameter, pipe_wall)
    shape = cut_to_length(TRAINS[kind](row, tube), length, row.depth)
    return replace(
        shape,
        socket_bore=row.bore,
        socket_wall=row.wall,
        body_bore=0.0 if kind == "cap" else row.body_bore,
        pressure_class=row.pressure_class,
    )


def flange_shape(size: str, pressure_class: int, length: float | None) -> Shape:
    """Return the rings of a socket-welding flange; its socket wall is the hub's."""
    row = flange(size, pressure_class)
    shape = cut_to_length(flange_train(size, pressure_class), length, row.depth)
    return replace(
        shape,
        socket_bore=row.bore,
        socket_wall=(row.hub_diameter - row.bore) / 2,
        body_bore=row.body_bore,
        pressure_class=pressure_class,
    )


def make_fitting(
    kind: str,
    material: Material,
    size: str,
    pressure_class: int | None = None,
    length: float | None = None,
    pipe_outside_diameter: float | None = None,
    pipe_wall: float | None = None,
    far_end: str = "air",
) -> Fitting:
    """Return a fitting of the catalogue, ready for a joint; see ``fitting_boxes``."""
    shape = fitting_boxes(
        kind, size, pressure_class, length, pipe_wall, pipe_outside_diameter
    )
    return Fitting(kind=kind, material=material, far_end=far_end, **vars(shape))


def make_sleeve(
    material: Material,
    socket_bore: float,
    outside_diameter: float,
    socket_depth: float,
    body_bore: float,
    length: float,
    far_end: str = "air",
) -> Fitting:
    """Return a turned sleeve: a socket in a bar of one outside diameter.

    Parameters
    ----------
    socket_bore, outside_diameter, body_bore : float
        Diameters of socket, bar and the hole behind the socket, 0 for none [m].
    socket_depth, length : float
        From the socket face [m]; length inf is "long".

    Raises
    ------
    CatalogueError
        All that is impossible in the sizes given.

    Examples
    --------
    >>> from thermo.materials import material
    >>> sleeve = make_sleeve(material("316L"), 0.0272, 0.037, 0.0125, 0.021, 0.05)
    >>> [round(1e3 * box.r_in, 1) for box in sleeve.boxes]
    [13.6, 10.5]
    """
    mistakes = sleeve_mistakes(
        socket_bore, outside_diameter, socket_depth, body_bore, length
    )
    if mistakes:
        msg = "sleeve: " + "; ".join(mistakes)
        raise CatalogueError(msg)
    rings = (
        Ring(socket_bore / 2, outside_diameter / 2),
        Ring(body_bore / 2, outside_diameter / 2),
    )
    boxes = boxes_of(((rings[0], socket_depth), (rings[1], inf)), length)
    return Fitting(
        kind="sleeve",
        socket_bore=socket_bore,
        socket_wall=(outside_diameter - socket_bore) / 2,
        socket_depth=socket_depth,
        body_bore=body_bore,
        length=length,
        boxes=boxes,
        material=material,
        far_end=far_end,
        equivalent="as given: a bar of one outside diameter with a socket in its end",
    )


def sleeve_mistakes(
    bore: float, outside_diameter: float, depth: float, body_bore: float, length: float
) -> list[str]:
    """Return what is wrong with the sizes of a sleeve."""
    found = []
    if not 0 < bore < outside_diameter < inf:
        found.append(
            f"bore {1e3 * bore:g} mm; expected above 0, below the outside diameter "
            f"{1e3 * outside_diameter:g} mm"
        )
    if not 0 <= body_bore <= bore:
        found.append(
            f"body bore {1e3 * body_bore:g} mm; expected 0 to the socket bore "
            f"{1e3 * bore:g} mm"
        )
    if not 0 < depth < length:
        found.append(
            f"socket depth {1e3 * depth:g} mm; expected above 0, below the length "
            f"{1e3 * length:g} mm"
        )
    return found
