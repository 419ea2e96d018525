"""How a case file's keys and values are named in messages."""

import re
from collections.abc import Iterable
from difflib import get_close_matches
from typing import Any

from .schema import ALIASES, Key
from .toml_lines import Path
from .units import FACTORS, FORMS, parse, to_degC, to_degF

LONGEST_NAME = 60
LONGEST_SHOWN = 40
_AN = ("angle", "area", "energy")


def label(path: Path) -> str:
    """How messages name a path; entries count from 1.

    Examples
    --------
    >>> label(("pass", 1, "wire", "feed"))
    'pass.2.wire.feed'
    """
    parts = (str(part + 1) if isinstance(part, int) else part for part in path)
    text = ".".join(parts)
    if not text.isprintable():
        text = text.encode("unicode_escape").decode("ascii")
    return text if len(text) <= LONGEST_NAME else text[: LONGEST_NAME - 3] + "..."


def shown(given: Any) -> str:
    """Value as given, short enough to print."""
    if isinstance(given, dict):
        return "a table"
    if isinstance(given, list):
        return "a list"
    if isinstance(given, bool):
        return str(given).lower()
    if isinstance(given, int) and abs(given) > 10**15:
        return "that number"  # Python may refuse to spell it
    text = repr(given) if isinstance(given, str) else str(given)
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 3] + "..."


def known_key(name: str, known: Iterable[str]) -> str:
    """Remedy for a key nobody reads."""
    known = list(known)
    near = get_close_matches(name.lower(), known, n=1)
    for meant in (ALIASES.get(name.lower()), *near):
        if meant in known:
            return f"did you mean '{meant}'?"
    return "known here: " + ", ".join(known)


def form(key: Key) -> str:
    """How a value of this key is written."""
    words = [f'"{word}"' for word in key.words]
    if key.kind in FORMS:
        is_plain = key.kind == "dimensionless"
        words.append("a plain number" if is_plain else with_article(key.kind))
        example = FORMS[key.kind] if is_plain else f'"{FORMS[key.kind]}"'
        return " or ".join(words) + f", like {example}"
    if key.kind == "word":
        words += ["a table"] if key.table else []
        return " or ".join(words) if len(words) < 3 else "one of " + ", ".join(words)
    return {
        "count": f"a whole number, {key.low} to {key.high}",
        "text": "a text in quotes",
        "flag": "true or false",
        "curve": f'pairs from cold to hot, like [["20 degC", "{FORMS.get(key.of)}"]]',
    }.get(key.kind, "a table")


def with_article(kind: str) -> str:
    """Kind of quantity with its article."""
    return f"{'an' if kind in _AN else 'a'} {kind}"


def shown_range(key: Key, kind: str, given: str) -> str:
    """Range of a key in the unit the user wrote.

    Examples
    --------
    >>> shown_range(Key("length", "2.54 mm", "254 mm"), "length", "90 in")
    '0.1 to 10 in'
    """
    low, high = parse(key.low, kind), parse(key.high, kind)
    unit = "".join(re.findall(r"[A-Za-z%].*$", given.strip()))
    if kind == "temperature" and unit in ("degF", "degC"):
        scale = to_degF if unit == "degF" else to_degC
        low, high = scale(low), scale(high)
    elif unit in FACTORS[kind]:
        one = float(FACTORS[kind][unit])
        low, high = low / one, high / one
    else:
        return f"{key.low} to {key.high}"
    return f"{_plain(low)} to {_plain(high)} {unit}".strip()


def _plain(number: float) -> str:
    """Four figures, without an exponent where it can be helped."""
    return f"{float(f'{number:.4g}'):.10g}"
