"""The joints of the lesson: one weld on pieces that differ in one thing at a time.

Every joint is a case of its own, with the text of its file, so that a student can run
it, change it and run it again. What a comparison does not ask about is the same in all
of its joints: current, voltage, travel, bead, number of passes, limit.
"""

from collections.abc import Callable, Sequence
from copy import deepcopy
from dataclasses import dataclass
from math import floor, inf
from typing import Any

from ..case_file.change import with_value
from ..case_file.keys import NO_FITTING
from ..case_file.read import case_from_table, parse_case
from ..case_file.write import case_file
from ..joint.case import Case
from ..physics.metals import material
from ..text.errors import CatalogueError
from ..text.times import spelled
from ..text.units import parse
from ..trade.pipes import nominal_size

SAME_WAIT, TO_LIMIT, LENGTHS, METALS = "same-wait", "to-limit", "lengths", "metals"
SCHEDULE = "80"  # where the case gives its pipe by diameter and wall
LONGEST_WAIT = "24 h"  # a lesson may find that a wait takes all day
ONE_SIZE = "sleeve"  # the kind of fitting no table resizes
CaseTable = dict[str, Any]


@dataclass(frozen=True)
class Choices:
    """What the lesson is asked to compare; values as a case file has them."""

    sizes: tuple[str, ...] = ("1/2", "1", "2", "4")
    materials: tuple[str, ...] = ("316L", "carbon steel")
    lengths: tuple[str, ...] = ("40 mm", "long")
    wait: str = "60 s"  # of the comparison with one wait for all
    ring: int | None = None


@dataclass(frozen=True)
class Variant:
    """One joint of a comparison."""

    label: str  # "NPS 1/2"
    stem: str  # of its file
    text: str  # of its file
    case: Case


@dataclass(frozen=True)
class Contrast:
    """Joints that differ in one thing."""

    key: str
    title: str
    says: str  # what is the same, what differs
    variants: tuple[Variant, ...]

    @property
    def has_plate(self) -> bool:
        """Whether a plate stands beside the pipes."""
        return self.key in (SAME_WAIT, TO_LIMIT)

    @property
    def is_by_limit(self) -> bool:
        """Whether the waits end at the limit, and are not given."""
        return self.key != SAME_WAIT


def comparisons(
    table: CaseTable, choices: Choices, file: str = "lesson.toml"
) -> tuple[Contrast, ...]:
    """Make every joint of the lesson from one case.

    Parameters
    ----------
    table : dict
        The case, as `case_table` returns it.
    choices : Choices
        Sizes, metals and lengths compared.
    file : str
        Names the case in messages.

    Raises
    ------
    CatalogueError
        A size or metal that no table holds, or fewer than two to compare.
    CaseError
        The case has mistakes, or cannot be made in one of the sizes or metals.
    """
    sizes, metals = _sizes(choices.sizes), _metals(choices.materials)
    lengths = _several(sorted(choices.lengths, key=_metres), "lengths", '"40 mm,long"')
    common = _common(table, case_from_table(table, file), choices.ring)
    _shorten_legs(common, sizes[0], file)
    told = spelled(parse(choices.wait, "time"))
    waits, by_limit = (_with_waits(common, wait) for wait in (choices.wait, "auto"))

    def make(key: str, title: str, says: str, joints: list[tuple[str, CaseTable]]):
        made = (_variant(key, label, changed, file) for label, changed in joints)
        return Contrast(key, title, says, tuple(made))

    return (
        make(
            SAME_WAIT,
            f"The same weld and the same wait, {told}",
            f"Current, voltage, travel, bead and a wait of {told} are the same. "
            "The size of the pipe differs.",
            _each(sizes, lambda size: _resized(waits, size), "NPS {}"),
        ),
        make(
            TO_LIMIT,
            "The same weld, waiting for the limit",
            "The welder waits until the hottest point of the joint is down to the "
            "interpass limit. The size of the pipe differs.",
            _each(sizes, lambda size: _resized(by_limit, size), "NPS {}"),
        ),
        make(
            LENGTHS,
            "A short stub and a long pipe",
            "The same weld and the same limit. The length of the pipe outside the "
            "socket differs.",
            _each(lengths, lambda x: with_value(by_limit, "pipe.length", x), "stub {}"),
        ),
        make(
            METALS,
            " and ".join(metals),
            "The same weld, size and limit. The metal differs.",
            _each(metals, lambda metal: _remade(by_limit, metal), "{}"),
        ),
    )


def _sizes(asked: Sequence[str]) -> list[str]:
    """Sizes by the trade's names, smallest pipe first."""
    names = {nominal_size(size): None for size in asked}
    ordered = sorted(names, key=lambda name: sum(_number(part) for part in name.split()))
    return _several(ordered, "sizes", '"1/2,1,2,4"')


def _metres(length: str) -> float:
    return inf if length == "long" else parse(length, "length")


def _number(part: str) -> float:
    top, _, bottom = part.partition("/")
    return float(top) / float(bottom or 1)


def _metals(asked: Sequence[str]) -> list[str]:
    """Metals by their own names."""
    return _several([material(name).name for name in asked], "metals", '"316L,copper"')


def _several(values: Sequence[str], what: str, form: str) -> list[str]:
    """Refuse a comparison of one."""
    found = list(dict.fromkeys(values))
    if len(found) < 2:
        msg = f"a comparison needs two {what} or more"
        raise CatalogueError(msg, f"give them like {form}")
    return found


def _each(
    values: list[str], change: Callable[[str], CaseTable], name: str
) -> list[tuple[str, CaseTable]]:
    """Labels and tables of the joints of one comparison."""
    return [(_label(name, value), change(value)) for value in values]


def _label(name: str, value: str) -> str:
    return "long pipe" if value == "long" else name.format(value)


def _common(table: CaseTable, case: Case, ring: int | None) -> CaseTable:
    """Copy the case with everything the joints share written out.

    Points to watch, probes and what holds the piece belong to the one joint and are
    left out.
    """
    common = deepcopy(table)
    common.pop("probe", None)
    common.get("surroundings", {}).pop("holding", None)
    limits = common.setdefault("limits", {})
    limits.pop("watch", None)
    limits["wait_max"] = LONGEST_WAIT
    limits["interpass_max"] = f"{case.limits.interpass_max - 273.15:.6g} degC"
    _write_legs(common.setdefault("joint", {}), case)
    for place in (common.setdefault("arc", {}), *common["pass"]):
        for key in ("turn", "arc_time"):  # the same travel on every size
            place.pop(key, None)
    for entry, p in zip(common["pass"], case.passes, strict=True):
        entry["travel"] = f"{60e3 * p.travel:.6g} mm/min"
    if ring is not None:
        common.setdefault("model", {})["ring"] = ring
    return common


def _write_legs(joint: CaseTable, case: Case) -> None:
    """Write the legs out, so that every size gets the same fillet."""
    if case.is_bare:
        return
    for key in ("leg", "leg_pipe", "leg_socket"):
        joint.pop(key, None)
    joint["leg_pipe"] = f"{1e3 * case.leg_pipe:.6g} mm"
    joint["leg_socket"] = f"{1e3 * case.leg_socket:.6g} mm"


def _shorten_legs(common: CaseTable, smallest: str, file: str) -> None:
    """Make the bead one that the smallest socket face has room for."""
    if "leg_pipe" not in common["joint"]:  # a bare pipe
        return
    trial = _resized(common, smallest)
    for key in ("leg_pipe", "leg_socket"):
        trial["joint"].pop(key)
    small = case_from_table(trial, f"{file}, NPS {smallest}")
    room = floor(1e4 * (small.fitting.socket_wall + small.clearance)) / 10  # mm
    for key in ("leg_pipe", "leg_socket"):
        leg = float(common["joint"][key].split()[0])
        common["joint"][key] = f"{min(leg, room):.6g} mm"


def _with_waits(table: CaseTable, wait: str) -> CaseTable:
    """Give every pass but the first the same wait."""
    count = len(table["pass"])
    if count < 2:
        msg = "the lesson is about waiting between passes"
        raise CatalogueError(msg, "give the case two or more")
    changed = deepcopy(table)
    changed["pass"][0].pop("wait", None)
    for number in range(2, count + 1):
        changed = with_value(changed, f"pass.{number}.wait", wait)
    return changed


def _resized(table: CaseTable, size: str) -> CaseTable:
    """Put the weld on another size of pipe and fitting."""
    if table["fitting"].get("kind") == ONE_SIZE:
        msg = f"a {ONE_SIZE} comes in no sizes"
        remedy = 'for the lesson use a fitting that does, like kind = "half coupling"'
        raise CatalogueError(msg, remedy)
    changed = with_value(table, "pipe.size", f"NPS {size}")
    for key in ("outside_diameter", "wall"):
        changed["pipe"].pop(key, None)
    changed["pipe"].setdefault("schedule", SCHEDULE)
    changed["fitting"].pop("size", None)
    return changed


def _remade(table: CaseTable, metal: str) -> CaseTable:
    """Make the joint of another metal, with the filler that goes with it."""
    changed = with_value(table, "pipe.material", metal)
    if changed["fitting"].get("kind") not in NO_FITTING:
        changed["fitting"]["material"] = metal
    changed["joint"].pop("filler", None)
    return changed


def _variant(key: str, label: str, table: CaseTable, file: str) -> Variant:
    """Write the changed table as the file it is, and read that."""
    plain = "".join(c if c.isalnum() else "-" for c in label.lower())
    stem = f"{key}-{plain}"
    remark = f"# A joint of the lesson: {label}. Try: interpass plan {stem}.toml\n"
    text = remark + case_file({"title": f"Lesson, {key}: {label}"} | _untitled(table))
    return Variant(label, stem, text, parse_case(text, f"{stem}.toml made of {file}"))


def _untitled(table: CaseTable) -> CaseTable:
    return {name: value for name, value in table.items() if name != "title"}
