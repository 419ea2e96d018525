"""The weld as it was done: arcs on and off, and readings; plain data in SI units."""

from dataclasses import dataclass

from .clock_times import DAY, HALF_DAY, Clock
from .readings import Reading


@dataclass(frozen=True)
class Burn:
    """The arc from on to off; times in s since the first arc on."""

    line: int  # of the file
    on: float
    off: float
    current: float | None  # A; None: not noted
    voltage: float | None  # V
    start_angle: float | None  # rad
    end_angle: float | None


@dataclass(frozen=True)
class LoggedPass:
    """One pass as it was welded."""

    number: int
    burns: tuple[Burn, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Log:
    """What a log says, checked to fit together."""

    file: str
    passes: tuple[LoggedPass, ...]
    readings: tuple[Reading, ...]  # after a pass, in the order of time
    at_start: Reading | None  # of the piece before pass 1
    clock: Clock | None  # of the first arc on; None where times are seconds

    @property
    def last_off(self) -> float:
        """When the last arc went out [s since the first arc on]."""
        return self.passes[-1].burns[-1].off


def since_first(log: Log, told: Clock | float) -> float | None:
    """Seconds since the first arc on; None when clock meets seconds.

    A clock within half a day before the first arc is before it, else after it.
    """
    if not isinstance(told, Clock):
        return None if log.clock else told
    if log.clock is None:
        return None
    gone = told.seconds - log.clock.seconds
    if told.day is not None and log.clock.day is not None:
        return gone + DAY * (told.day - log.clock.day)
    gone %= DAY
    return gone - DAY if gone > log.last_off + HALF_DAY else gone
