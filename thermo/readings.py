"""One reading of the joint's temperature: plain data in SI units."""

from dataclasses import dataclass

READING_ERROR = 5.0  # K, standard deviation of a contact pyrometer; common practice


@dataclass(frozen=True)
class Reading:
    """What somebody read, when and where.

    ``low`` and ``high`` are equal for a pyrometer; a crayon gives an interval: melted at
    150 degC is (150 degC, inf), not melted at 200 degC is (-inf, 200 degC).
    """

    after_pass: int  # number of the pass
    since: float  # s since that pass's arc off
    low: float  # K
    high: float  # K
    on: str = "pipe"  # or "fitting"
    from_toe: float | None = None  # m along the surface; None: the case's place
    angle: float | None = None  # rad; None: the case's place
    error: float = READING_ERROR  # K, standard deviation of the instrument
    file: str = ""
    line: int = 0
    instrument: str = ""
