"""A TOML table into checked SI values: every key known, of its kind and in its range.

Files of cases and of rules come through here, each with its own keys.
"""

import re
from collections.abc import Mapping, Sized
from typing import Any

from ..joint.case import Doubt
from ..text.errors import did_you_mean
from ..text.kinds import FACTORS, FORMS
from ..text.toml import KeyPath
from ..text.units import UnitError, parse, unit_of
from .draft import (
    Draft,
    form,
    known_key,
    label,
    shown,
    shown_range,
    table_line,
    with_article,
)
from .keys import Key

LONGEST_TEXT = 120
LONGEST_LIST = 200
_HUGE = 10**15
_UNNAMED = ("title", "name")  # texts that are no numbers of the model
_BAND = ("best", "low", "high")
_BAND_FORM = "write { best = .., low = .., high = .. } with low <= best <= high"


class _Wrong(Exception):
    """A value that cannot be used: what is wrong, and what to do."""

    def __init__(self, given: Any, what: str, remedy: str) -> None:
        self.problem = f"{shown(given)} {what}"
        self.remedy = remedy
        super().__init__(self.problem)


def check_table(draft: Draft, table: dict[str, Any], keys: str, path: KeyPath) -> None:
    """Check every key of one table against its list of keys, and all tables inside.

    Parameters
    ----------
    draft : Draft
        Receives the values and the mistakes.
    table : dict
        As tomllib reads it.
    keys : str
        Name of the list of keys in ``draft.schema``.
    path : tuple
        Where the table stands in the file.
    """
    known = draft.schema[keys]
    if _too_many(draft, table, path):
        return
    for name, given in table.items():
        if name in known:
            meant = _meant(draft, known, table, (*path, name))
            _check_value(draft, known[meant], given, (*path, meant))
        else:
            _unknown(draft, (*path, name), list(known))
    for name, key in known.items():
        if key.required and name not in table:
            spot = (*path, name)
            remedy = f"give {form(key)}"
            if key.kind == "tables" or (key.kind == "table" and not path):
                marks = "[[]]" if key.kind == "tables" else "[]"
                remedy = f"write {table_line(spot, marks)} and its keys below"
            draft.refuse(spot, f"{label(spot)} is missing", remedy)


def _meant(
    draft: Draft, known: Mapping[str, Key], table: dict[str, Any], path: KeyPath
) -> str:
    """Key a value is meant for: a travel in rev/min is a turning speed."""
    name = str(path[-1])
    given, other = table[name], known[name].also
    if not other or other in table or not isinstance(given, str):
        return name
    if unit_of(given) not in FACTORS[known[other].kind]:
        return name
    if line := draft.line(path):
        draft.lines[(*path[:-1], other)] = line
    return other


def _too_many(draft: Draft, given: Sized, path: KeyPath) -> bool:
    """Refuse more entries than anyone would write."""
    if len(given) <= draft.most:
        return False
    problem = f"{label(path) or 'the file'} has {len(given)} entries"
    draft.refuse(path, problem, f"write {draft.most} at most")
    return True


def _unknown(draft: Draft, path: KeyPath, known: list[str]) -> None:
    remedy = known_key(str(path[-1]), known)
    draft.refuse(path, f"unknown key '{label(path)}'", remedy)


def _check_value(draft: Draft, key: Key, given: Any, path: KeyPath) -> None:
    """Check one value, whatever its kind, and keep it."""
    if key.kind == "tables":
        _check_list(draft, key, given, path)
    elif key.kind in ("table", "named tables"):
        _check_inner(draft, key, given, path)
    elif isinstance(given, dict) and key.table:
        draft.values[path] = None
        check_table(draft, given, key.table, path)
    elif isinstance(given, dict) and key.doubt:
        _check_doubt(draft, key, given, path)
    elif key.kind == "curve":
        _check_curve(draft, key, given, path)
    else:
        _check_scalar(draft, key, given, path)


def _check_list(draft: Draft, key: Key, given: Any, path: KeyPath) -> None:
    """Check a list of tables; its value is their number."""
    if not isinstance(given, list) or not all(isinstance(t, dict) for t in given):
        remedy = f"write {table_line(path, '[[]]')} with two brackets, once for each"
        draft.refuse(path, f"{label(path)} is not a list of tables", remedy)
        return
    if _too_many(draft, given, path):
        return
    draft.values[path] = len(given)
    for index, table in enumerate(given):
        check_table(draft, table, key.table, (*path, index))


def _check_inner(draft: Draft, key: Key, given: Any, path: KeyPath) -> None:
    """Check a table, or tables by name."""
    if not isinstance(given, dict):
        name = ("NAME",) if key.kind == "named tables" else ()
        remedy = f"write {table_line((*path, *name))} once, its keys below"
        draft.refuse(path, f"{label(path)} is not a table", remedy)
    elif key.kind == "table":
        draft.values[path] = None
        check_table(draft, given, key.table, path)
    elif not _too_many(draft, given, path):
        draft.values[path] = tuple(given)
        for name, table in given.items():
            _check_inner(draft, Key("table", table=key.table), table, (*path, name))


def _check_scalar(draft: Draft, key: Key, given: Any, path: KeyPath) -> None:
    try:
        value = _read(key, given)
    except _Wrong as wrong:
        draft.refuse(path, f"{label(path)}: {wrong.problem}", wrong.remedy)
        return
    text = given if isinstance(given, str) else shown(given)
    _keep(draft, path, value, text)


def _keep(draft: Draft, path: KeyPath, value: Any, text: str) -> None:
    """Keep a good value, and note it among the numbers used."""
    draft.values[path] = value
    draft.texts[path] = text
    if path[-1] not in _UNNAMED:
        line = draft.line(path)
        draft.assume(path, text, f"line {line}" if line else "the case", "given")


def _read(key: Key, given: Any) -> Any:
    """SI value of one scalar, or _Wrong."""
    if isinstance(given, str) and given in key.words:
        return given
    if key.kind in FORMS:
        return _in_range(key, _quantity(key, given, key.kind), given, key.kind)
    readers = {
        "word": _word,
        "text": _text,
        "texts": _texts,
        "flag": _flag,
        "count": _count,
    }
    return readers[key.kind](key, given)


def _quantity(key: Key, given: Any, kind: str) -> float:
    """Read a number with its unit, in SI."""
    is_word = isinstance(given, str) and not any(mark.isdigit() for mark in given)
    if not isinstance(given, str | int | float) or isinstance(given, bool) or is_word:
        raise _Wrong(given, f"is not {with_article(kind)}", f"write {form(key)}")
    if isinstance(given, int) and abs(given) > _HUGE:
        raise _Wrong(given, "is far too large", f"write {form(key)}")
    try:
        return parse(given, kind)
    except UnitError as error:
        problem, remedy = error.problem, error.remedy
    if kind == "dimensionless":
        raise _Wrong(given, "is not a plain number", f"write {form(key)}")
    wrong = _Wrong(given, "", remedy)
    wrong.problem = problem
    raise wrong


def _in_range(key: Key, value: float, given: Any, kind: str) -> float:
    """Value, when it lies in the range of the key."""
    low, high = parse(key.low, kind), parse(key.high, kind)
    slack = 1e-12 * max(abs(low), abs(high))  # "1000 degC" is not refused by round-off
    if low - slack <= value <= high + slack:
        return value
    what = "is out of range"
    if kind != "temperature" and low >= 0 >= value:
        what = "is negative" if value < 0 else "is zero"
    text = given if isinstance(given, str) else ""
    raise _Wrong(given, what, f"allowed: {shown_range(key, kind, text)}")


def _word(key: Key, given: Any) -> str:
    if not isinstance(given, str):
        raise _Wrong(given, "is not a word in quotes", f"write {form(key)}")
    meant = did_you_mean(given, key.words, "")
    raise _Wrong(given, "is not known here", f"{meant} write {form(key)}".strip())


def _text(key: Key, given: Any) -> str:
    if not isinstance(given, str):
        raise _Wrong(given, "is not a text", "write it in quotes")
    longest = key.longest or LONGEST_TEXT
    text = " ".join(given.split()) if key.longest else given
    if not text.strip() or not text.isprintable() or len(given) > longest:
        where = "" if key.longest else " on one line"
        raise _Wrong(
            given, "is no usable text", f"write 1 to {longest} characters{where}"
        )
    return text


def _texts(key: Key, given: Any) -> tuple[str, ...]:
    if not isinstance(given, list):
        raise _Wrong(given, "is not a list", f"write {form(key)}")
    return tuple(_text(key, one) for one in given)


def _flag(key: Key, given: Any) -> bool:
    if not isinstance(given, bool):
        raise _Wrong(given, "is not true or false", f"write {form(key)}, without quotes")
    return given


def _count(key: Key, given: Any) -> int:
    if isinstance(given, str) and key.marks:
        bare = given.lower()
        for mark in key.marks:
            bare = bare.replace(mark, " ")
        given = int(bare) if re.fullmatch(r" *[0-9]{1,6} *", bare) else given
    if not isinstance(given, int) or isinstance(given, bool):
        raise _Wrong(given, "is not a whole number", f"write {form(key)}, without quotes")
    return int(_in_range(key, given, given, "dimensionless"))


def _check_doubt(draft: Draft, key: Key, given: dict[str, Any], path: KeyPath) -> None:
    """Check ``{ best, low, high }``: the best value is used, the others kept."""
    before = len(draft.mistakes)
    for name in dict.fromkeys((*given, *_BAND)):
        if name not in _BAND:
            _unknown(draft, (*path, name), list(_BAND))
        elif name in given:
            _check_scalar(draft, key, given[name], (*path, name))
        else:
            draft.refuse((*path, name), f"{label((*path, name))} is missing", _BAND_FORM)
    if len(draft.mistakes) > before:
        draft.wrong.add(path)
        return
    best, low, high = (draft.values[(*path, name)] for name in _BAND)
    if not low <= best <= high:
        draft.refuse(path, f"{label(path)}: best is not between low and high", _BAND_FORM)
        return
    draft.values[path], draft.texts[path] = best, draft.texts[(*path, "best")]
    draft.doubt.append(Doubt(label(path), low, high))


def _check_curve(draft: Draft, key: Key, given: Any, path: KeyPath) -> None:
    """Check pairs of temperature and value, temperature rising."""
    if not isinstance(given, list) or not 0 < len(given) <= LONGEST_LIST:
        problem = f"{label(path)} is not a list of 1 to {LONGEST_LIST} pairs"
        draft.refuse(path, problem, f"write {form(key)}")
        return
    points: list[tuple[float, float]] = []
    for index, pair in enumerate(given):
        try:
            points.append(_point(key, pair, points))
        except _Wrong as wrong:
            spot = (*path, index)
            draft.refuse(spot, f"{label(spot)}: {wrong.problem}", wrong.remedy)
            draft.wrong.add(path)
    if path not in draft.wrong:
        _keep(draft, path, tuple(points), f"{len(points)} points")


def _point(key: Key, pair: Any, before: list[tuple[float, float]]) -> tuple[float, float]:
    """One pair of a curve in SI."""
    if not isinstance(pair, list) or len(pair) != 2:
        raise _Wrong(pair, "is not a pair", f"write {form(key)}")
    T = _quantity(key, pair[0], "temperature")
    value = _in_range(key, _quantity(key, pair[1], key.of), pair[1], key.of)
    if before and before[-1][0] >= T:
        what = "is not above the temperature before it"
        raise _Wrong(pair[0], what, "list the pairs from cold to hot")
    return T, value
