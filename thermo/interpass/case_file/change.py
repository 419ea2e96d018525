"""Names of what can be varied: short ones and dotted keys, and how each is set."""

from collections.abc import Iterator, Mapping
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from ..joint.held import NOTHING, device_of, ways, ways_of_pipe
from ..text.errors import ExitStatus, ThermoError, did_you_mean
from ..text.files import alone
from .keys import ALIASES, NO_FITTING, NOT_BARE, OF_BAND, TABLES, Key

SHORT = {
    "size": "pipe.size",
    "schedule": "pipe.schedule",
    "wall": "pipe.wall",
    "outside_diameter": "pipe.outside_diameter",
    "length": "pipe.length",
    "material": "pipe.material",
    "kind": "fitting.kind",
    "fitting": "fitting.kind",
    "class": "fitting.class",
    "fitting_length": "fitting.length",
    "leg": "joint.leg",
    "end_gap": "joint.end_gap",
    "filler": "joint.filler",
    "position": "arc.position",
    "limit": "limits.interpass_max",
    "preheat": "limits.preheat_min",
    "fan": "surroundings.fan",
    "bore": "surroundings.bore",
    "holding": "surroundings.holding.conductance",
    "purge_flow": "surroundings.purge_flow",
}
"""Short names that a key alone would not make clear; others are the key's last part."""

ONE_OF = (
    ("travel", "turn", "arc_time"),
    ("wire", "deposit"),
    ("leg", "leg_pipe"),
    ("leg", "leg_socket"),
    ("size", "outside_diameter"),
    ("size", "wall"),
    ("schedule", "wall"),
)
"""Keys of one table of which giving one takes the others away."""

PIPE_METAL, FITTING_KIND = "pipe.material", "fitting.kind"


class ChartError(ThermoError):
    """A chart that cannot be meant."""

    status = ExitStatus.USAGE


@dataclass(frozen=True)
class Where:
    """A value of a case that can be varied."""

    name: str  # as the user called it
    key: str  # dotted, as ``case.with_value`` takes it
    holds: Key


def find_key(name: str) -> Where:
    """Find what a name means.

    Parameters
    ----------
    name : str
        A short name ("size", "current"), or a dotted key of the case file
        ("pass.2.current", "surroundings.fan").

    Raises
    ------
    ChartError
        Nothing of that name can be varied, or several things have it.

    Examples
    --------
    >>> find_key("current").key, find_key("limit").key, find_key("amps").key
    ('pass.current', 'limits.interpass_max', 'pass.current')
    """
    word = name.strip().replace("-", "_").replace(" ", "_")
    if "." in word:
        return Where(name.strip(), word, _holds(word))
    candidates = [SHORT[word]] if word in SHORT else _keys_ending(word)
    if not candidates and word.lower() in ALIASES:
        return find_key(ALIASES[word.lower()])
    if len(candidates) == 1:
        return Where(name.strip(), candidates[0], _holds(candidates[0]))
    if candidates:
        msg = f"'{name}' could be {' or '.join(candidates)}"
        raise ChartError(msg, "give one of these in full")
    msg = f"'{name}' is nothing that can be varied"
    raise ChartError(msg, _guess(word))


def short_names() -> list[str]:
    """Every name that needs no table in front, sorted."""
    last = {key.rsplit(".", 1)[-1] for key in _all_keys()}
    return sorted({*SHORT, *(n for n in last if len(_keys_ending(n)) == 1)})


def _guess(word: str) -> str:
    """Remedy for a name nothing has."""
    usual = "usual names are size, schedule, current, travel, length, air, leg, limit"
    return did_you_mean(word, [*short_names(), *ALIASES], usual, likeness=0.7)


def _keys_ending(word: str) -> list[str]:
    """Keys whose last part is this word; what every pass has is asked of the passes."""
    return [key for key in _all_keys() if key.rsplit(".", 1)[-1] == word]


def _all_keys() -> list[str]:
    """Keys of a single value that every case could have."""
    return [
        f"{table}.{name}"
        for table, entry in TABLES[""].items()
        if entry.kind in ("table", "tables") and table not in ("arc", "probe", "report")
        for name, key in TABLES[entry.table].items()
        if key.kind not in ("table", "tables")
    ]


def _holds(dotted: str) -> Key:
    """Say what the value at a dotted key may be; numbers pick entries of lists."""
    table, found = "", None
    for part in dotted.split("."):
        if found is not None and found.kind == "tables" and part.isdecimal():
            continue
        if found is not None and found.kind == "named tables":
            table, found = found.table, Key("table", table=found.table)
            continue
        table = found.table if found is not None else table
        found = TABLES.get(table, {}).get(part) if found is None or table else None
        if found is None:
            raise ChartError(_stranger(dotted, part, table))
    if found is None or found.kind in ("table", "tables", "named tables", "curve"):
        msg = f"'{dotted}' holds no single value"
        raise ChartError(msg, "name a key in it, like pass.current")
    return found


def _stranger(dotted: str, part: str, table: str) -> str:
    """Words for a dotted key that leads nowhere."""
    guess = did_you_mean(part, TABLES.get(table, {}))
    return f"'{dotted}' is no key of a case: '{part}' is unknown; {guess}"


def with_setting(table: Mapping[str, Any], key: str, value: Any) -> dict[str, Any]:
    """Copy of a case table with one value set, and the keys it replaces taken away.

    A speed of travel takes an arc time away, a nominal size takes measured diameters
    away, and so on; a fan that stands as a table gets its speed changed alone. With the
    metal of the pipe changes that of a fitting of the same metal, and the filler is
    chosen anew; a pipe that becomes a bare one loses all that is of a fitting.

    Examples
    --------
    >>> with_setting({"pass": [{"arc_time": "60 s"}]}, "pass.travel", "80 mm/min")
    {'pass': [{'travel': '80 mm/min'}]}
    """
    table = _spelled_out(table, key)
    changed = with_value(table, _inner(table, key), value)
    if key == PIPE_METAL and isinstance(table.get("pipe"), dict):
        _match_metals(table, changed)
    if key == FITTING_KIND:
        _take_away_strangers(changed, is_bare=value in NO_FITTING)
    name = key.rsplit(".", 1)[-1]
    others = {o for group in ONE_OF if name in group for o in group} - {name}
    for place in _places(changed, key.split(".")[:-1]):
        for other in others:
            place.pop(other, None)
    return changed


def _spelled_out(table: Mapping[str, Any], key: str) -> dict[str, Any]:
    """Case table with a hold told in words as a table, where one of its keys is set."""
    given = table.get("surroundings")
    around = given if isinstance(given, dict) else {}
    said = around.get("holding")
    if not key.startswith("surroundings.holding.") or said not in ways():
        return dict(table)
    device = device_of(said) if said != NOTHING else None
    held = {"on": device.on, "by": device.by} if device else {}
    return {**table, "surroundings": {**around, "holding": held}}


def _match_metals(before: Mapping[str, Any], after: dict[str, Any]) -> None:
    """Let fitting and filler follow the metal of the pipe."""
    tables = {name: t for name, t in after.items() if isinstance(t, dict)}
    pipe, fitting = tables.get("pipe", {}), tables.get("fitting", {})
    if "material" in fitting and fitting["material"] == before["pipe"].get("material"):
        fitting["material"] = pipe["material"]
    tables.get("joint", {}).pop("filler", None)


def _take_away_strangers(table: dict[str, Any], *, is_bare: bool) -> None:
    """Take away what means nothing on a bare pipe, or nothing but there."""
    for name, keys in (NOT_BARE if is_bare else {"joint": OF_BAND}).items():
        for place in _places(table, [name]):
            for key in keys:
                place.pop(key, None)
    of_fitting = set(ways()) - set(ways_of_pipe()) if is_bare else set()
    for around in _places(table, ["surroundings"]):
        if str(around.get("holding")) in of_fitting:
            around.pop("holding")


def _inner(table: Mapping[str, Any], key: str) -> str:
    """Key of the value alone, where the case gives it in a table with other things."""
    first, *_ = _places(table, key.split(".")[:-1]) or [{}]
    given = first.get(key.rsplit(".", 1)[-1])
    inner = [n for n in ("speed", "best") if isinstance(given, dict) and n in given]
    return f"{key}.{inner[0]}" if inner else key


def _places(table: Any, parts: list[str]) -> list[dict[str, Any]]:
    """Tables that hold the key: several when it is asked of all passes."""
    return list(_walk(table, parts))


def _walk(place: Any, parts: list[str]) -> Iterator[dict[str, Any]]:
    if isinstance(place, list) and not (parts and parts[0].isdecimal()):
        for entry in place:
            yield from _walk(entry, parts)
    elif isinstance(place, list):
        if 1 <= int(parts[0]) <= len(place):
            yield from _walk(place[int(parts[0]) - 1], parts[1:])
    elif isinstance(place, dict):
        if not parts:
            yield place
        elif parts[0] in place:
            yield from _walk(place[parts[0]], parts[1:])


def with_value(table: dict[str, Any], key: str, value: Any) -> dict[str, Any]:
    """Copy of a case table with one value changed.

    Parameters
    ----------
    table : dict
        As ``case_table`` returns it.
    key : str
        Dotted name; entries of lists count from 1 ("pass.2.current"), and without a
        number all of them are meant ("pass.current").
    value
        What the key shall hold, as in the file: "80 A", 0.75, true.

    Raises
    ------
    CaseError
        The key leads nowhere.

    Examples
    --------
    >>> with_value({"pass": [{}, {}]}, "pass.2.current", "80 A")
    {'pass': [{}, {'current': '80 A'}]}
    """
    changed = deepcopy(table)
    _set(changed, key.split("."), value, key)
    return changed


def _set(place: Any, parts: list[str], value: Any, key: str) -> None:
    first, *rest = parts
    if isinstance(place, list):
        if not first.isdecimal():
            for entry in place:
                _set(entry, parts, value, key)
            return
        if not rest or not 1 <= int(first) <= len(place):
            raise alone(
                key, "leads nowhere in this case", f"entries are 1 to {len(place)}"
            )
        _set(place[int(first) - 1], rest, value, key)
    elif not isinstance(place, dict):
        raise alone(key, "leads nowhere in this case", "name a key of a table")
    elif rest:
        _set(place.setdefault(first, {}), rest, value, key)
    else:
        place[first] = value
