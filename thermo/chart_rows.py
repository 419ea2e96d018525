"""A row of a chart: what one joint gave, as plain data that a line of text can hold."""

from dataclasses import asdict, dataclass, fields
from typing import Any

DONE, IMPOSSIBLE, OUT_OF_REACH = "done", "impossible", "out of reach"


@dataclass(frozen=True)
class Row:
    """One joint of a chart; times in s, temperatures in K.

    ``waits`` are those before pass 2, 3, ...: as the joint needs them, or as the case
    gives them. ``allow`` holds what keeps the limit for 9 in 10 plausible joints, None
    where a wait is given; it is empty when no bands were asked for.
    """

    number: int  # place among the cells, from 0
    state: str  # DONE, IMPOSSIBLE or OUT_OF_REACH
    reason: str = ""  # why there is no answer
    waits: tuple[float, ...] = ()
    is_auto: tuple[bool, ...] = ()
    allow: tuple[float | None, ...] = ()
    total: float | None = None  # first arc on to last arc off
    hottest: float | None = None  # hottest interpass temperature
    limit: float | None = None  # interpass maximum
    failed: tuple[str, ...] = ()  # rules that are not met
    solved: float | None = None  # SI value that was looked for
    note: str = ""  # to know about the value found


def as_entry(row: Row) -> dict[str, Any]:
    """Row as JSON holds it, without what is empty."""
    return {k: v for k, v in asdict(row).items() if v not in ("", (), None)}


def from_entry(entry: dict[str, Any]) -> Row:
    """Row from what ``as_entry`` gave; what JSON turned into lists is tuples again.

    Raises
    ------
    TypeError
        The entry is no row.
    """
    known = {field.name for field in fields(Row)}
    if not known >= set(entry) or not isinstance(entry.get("number"), int):
        msg = "not a row of a chart"
        raise TypeError(msg)
    values: dict[str, Any] = {
        name: tuple(v) if isinstance(v, list) else v for name, v in entry.items()
    }
    return Row(**values)
