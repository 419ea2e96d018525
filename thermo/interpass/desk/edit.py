"""Change one value in the text of a case and leave the rest of the text as it is.

The text is the state. A line is changed, added or taken away in place, comments and all,
and the result is read back: where it does not say what was wanted (a value over several
lines, say), the whole table is written anew, without its comments, and that is told.
"""

from collections.abc import Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from ..case_file.change import ONE_OF, with_setting
from ..case_file.passes import MOST_PASSES
from ..case_file.write import case_file
from ..remedies.ideas import Change
from ..text.errors import CaseError
from ..text.toml import KeyPath, case_table, scan


@dataclass(frozen=True)
class Edited:
    """A text changed, and whether its comments and order were kept."""

    text: str
    kept: bool


@dataclass(frozen=True)
class _Difference:
    """One key of one table that is not as wanted."""

    place: KeyPath  # of the table
    key: str
    value: Any  # None: taken away
    is_new: bool


def with_text_value(text: str, key: str, value: str) -> Edited:
    r"""Set a key in a text of a case; an empty value takes the key away.

    Parameters
    ----------
    text : str
        TOML, which must be readable.
    key : str
        Dotted, entries of lists counted from 1: "pass.2.current".
    value : str
        As the user typed it; a word, a quantity with its unit, or a bare number where
        the file has one.

    Raises
    ------
    CaseError
        The text is no TOML, or the key leads nowhere.

    Examples
    --------
    >>> with_text_value('[pipe]\nsize = "NPS 1" # as drawn\n', "pipe.size", "NPS 2").text
    '[pipe]\nsize = "NPS 2" # as drawn\n'
    """
    table = case_table(text)
    if value.strip():
        wanted = with_setting(table, key, _meant(key, value.strip()))
    else:
        wanted = without_key(table, key.split("."))
    return _rewritten(text, table, wanted)


def with_passes(text: str, count: int) -> Edited:
    """Give a case so many passes: new ones like the last, the last ones taken away."""
    table = case_table(text)
    passes = table.get("pass") or [{}]
    count = min(max(count, 1), MOST_PASSES)
    wanted = deepcopy(table)
    more = [{k: v for k, v in passes[-1].items() if k != "wire"} | {"wait": "auto"}]
    wanted["pass"] = (deepcopy(passes) + deepcopy(more) * MOST_PASSES)[:count]
    lines = text.splitlines()
    at = scan(text).lines
    ends = {n: _last_line(at, ("pass", n)) for n in range(len(passes))}
    if count > len(passes) and ends[len(passes) - 1]:
        added = case_file({"pass": more * (count - len(passes))}).splitlines()[1:]
        lines[ends[len(passes) - 1] : ends[len(passes) - 1]] = ["", *added]
    elif count < len(passes) and ("pass", count) in at:
        del lines[at["pass", count] - 1 : ends[len(passes) - 1]]
    return _checked("\n".join(lines) + "\n", wanted)


def with_changes(text: str, changes: Sequence[Change]) -> str:
    """Text with what a remedy changes."""
    table = case_table(text)
    wanted = deepcopy(table)
    before = deepcopy(table.get("pass", []))
    rows = [change for change in changes if change.table == "pass"]
    if rows:
        count = max(change.number for change in rows)
        wanted["pass"] = deepcopy(before[:count])
        wanted["pass"] += [{} for _ in range(count - len(wanted["pass"]))]
    for change in changes:
        if change.table != "pass":
            _set_values(wanted.setdefault(change.table, {}), change)
        else:
            like = before[change.like - 1] if change.like else wanted["pass"][-1]
            wanted["pass"][change.number - 1] = deepcopy(like)
            _set_values(wanted["pass"][change.number - 1], change)
    return _rewritten(text, table, wanted).text


def _set_values(place: dict[str, Any], change: Change) -> None:
    for key, value in change.values:
        for group in ONE_OF:
            for other in group if key in group else ():
                place.pop(other, None)
        place[key] = case_table(f"value = {value}")["value"]


def _meant(key: str, value: str) -> Any:
    """Take a typed word for what the file holds: numbers bare for counts and shares."""
    bare = key.rsplit(".", 1)[-1] in ("class", "ring", "efficiency", "emissivity")
    if not bare:
        return value
    try:
        return float(value) if "." in value else int(value)
    except ValueError:
        return value


def without_key(table: Mapping[str, Any], parts: list[str]) -> dict[str, Any]:
    """Copy of a table without one key; a table left empty goes with it."""
    left = deepcopy(dict(table))
    trail: list[tuple[Any, Any]] = []
    place: Any = left
    for part in parts[:-1]:
        step: Any = int(part) - 1 if isinstance(place, list) else part
        trail.append((place, step))
        try:
            place = place[step]
        except (KeyError, IndexError, TypeError):
            return left
    if isinstance(place, dict):
        place.pop(parts[-1], None)
    for outer, step in reversed(trail):
        if isinstance(outer, dict) and outer[step] == {}:
            del outer[step]
    return left


def _rewritten(text: str, table: dict[str, Any], wanted: dict[str, Any]) -> Edited:
    """Change what differs in place."""
    lines = text.splitlines()
    at = scan(text).lines
    late = sorted(_differences(table, wanted), key=lambda d: -_line_of(at, d))
    for one in late:  # from the end on, so that lines above keep their numbers
        _apply(lines, at, one)
    return _checked("\n".join(lines) + "\n", wanted)


def _checked(text: str, wanted: dict[str, Any]) -> Edited:
    """Text if it says what is wanted; else the table written anew."""
    try:
        if case_table(text) == wanted:
            return Edited(text, kept=True)
    except CaseError:
        pass
    return Edited(case_file(wanted), kept=False)


def _differences(
    before: Mapping[str, Any], after: Mapping[str, Any], place: KeyPath = ()
) -> Iterator[_Difference]:
    """Keys that differ; tables and lists of tables are gone into."""
    for key in [*before, *(k for k in after if k not in before)]:
        old, new = before.get(key), after.get(key)
        if old == new:
            continue
        if len(place) == 0 and isinstance(old, dict) and isinstance(new, dict):
            yield from _differences(old, new, (key,))
        elif len(place) == 0 and isinstance(old, list) and isinstance(new, list):
            for n, (a, b) in enumerate(zip(old, new, strict=False)):
                if isinstance(a, dict) and isinstance(b, dict):
                    yield from _differences(a, b, (key, n))
        else:
            yield _Difference(place, key, new, old is None)


def _line_of(at: dict[KeyPath, int], one: _Difference) -> int:
    return at.get((*one.place, one.key), 0) or _last_line(at, one.place)


def _last_line(at: dict[KeyPath, int], place: KeyPath) -> int:
    """Last line of a table's own keys; 0 when it does not stand in the text."""
    return max((n for path, n in at.items() if path[: len(place)] == place), default=0)


def _apply(lines: list[str], at: dict[KeyPath, int], one: _Difference) -> None:
    """Change, add or take away the line of one key."""
    here = at.get((*one.place, one.key))
    if one.value is None:
        if here:
            del lines[here - 1]
    elif here:
        lines[here - 1] = _replaced(lines[here - 1], one)
    elif one.place and (last := _last_line(at, one.place)):
        lines.insert(last, _written(one.key, one.value))
    elif one.place or not isinstance(one.value, dict):
        lines.insert(0, _written(one.key, one.value))
    else:
        lines += ["", *case_file({one.key: one.value}).strip("\n").splitlines()]


def _written(key: str, value: Any) -> str:
    """One line of TOML."""
    return case_file({"table": [{key: value}]}).splitlines()[-1]


def _replaced(line: str, one: _Difference) -> str:
    """Line with its value replaced, its indent and its remark kept."""
    indent = line[: len(line) - len(line.lstrip())]
    remark = _remark(line)
    return indent + _written(one.key, one.value) + (f" {remark}" if remark else "")


def _remark(line: str) -> str:
    """Comment at the end of a line, not a # inside quotes."""
    quote = ""
    for n, letter in enumerate(line):
        if quote:
            quote = "" if letter == quote and line[n - 1] != "\\" else quote
        elif letter in "\"'":
            quote = letter
        elif letter == "#":
            return line[n:]
    return ""
