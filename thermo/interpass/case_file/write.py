"""A case table as the TOML text of a case file; a new, commented case from answers."""

import json
import re
from typing import Any

from ..physics import metals as materials
from ..text.errors import CaseError, CatalogueError
from ..text.kinds import SI, US, UnitSystem
from ..trade.practice import STAINLESS, interpass_limit
from .keys import NO_FITTING
from .questions import NOTHING, Answers, is_turn
from .read import parse_case


def case_file(table: dict[str, Any]) -> str:
    """TOML text of a case table.

    Examples
    --------
    >>> print(case_file({"title": "T", "pipe": {"size": "NPS 1"}, "pass": [{}]}), end="")
    title = "T"
    <BLANKLINE>
    [pipe]
    size = "NPS 1"
    <BLANKLINE>
    [[pass]]
    """
    lines = [_line(k, v) for k, v in table.items() if not isinstance(v, dict | list)]
    for name, value in table.items():
        entries = value if isinstance(value, list) else [value]
        head = f"[[{name}]]" if isinstance(value, list) else f"[{name}]"
        for entry in entries:
            if isinstance(entry, dict) and (entry or isinstance(value, list)):
                lines += ["", head, *(_line(k, v) for k, v in entry.items())]
    return "\n".join(lines) + "\n"


def _line(key: str, value: Any) -> str:
    return f"{_key(key)} = {_value(value)}"


def _key(key: str) -> str:
    return key if key.replace("_", "").isalnum() and key.isascii() else _value(key)


def _value(value: Any) -> str:
    """One value as TOML writes it."""
    if isinstance(value, dict):
        return "{ " + ", ".join(_line(k, v) for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, float):
        return repr(value)
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def new_case_text(answers: Answers, units: UnitSystem = SI) -> str:
    """Text of a commented case file that can be planned as it is, written in ``units``.

    Raises
    ------
    CatalogueError
        The answers do not go together.
    """
    is_bare = answers["kind"] in NO_FITTING
    quoted = {name: _value(value) for name, value in answers.items()}
    text = _in_units(_TEMPLATE, units).format(
        **quoted,
        outside="from the bead to its end" if is_bare else "outside the socket",
        fitting_text=_in_units(_BARE if is_bare else _FITTING, units).format(
            **quoted, pressure_class=answers["class"]
        ),
        ways='"pipe in a chuck", "pipe in a vice"'
        if is_bare
        else '"fitting in a chuck", "pipe in a vice"',
        passes_text=_passes_text(answers, "" if is_bare else _in_units(_WIRE, units)),
        limit_text=_limit_text(answers, units),
        bore=_bore(answers),
    )
    try:
        parse_case(text)
    except CaseError as error:
        told = "; ".join(m.problem for m in error.mistakes)
        msg = f"these answers make no joint: {told}"
        raise CatalogueError(msg) from None
    return text


def _in_units(template: str, units: UnitSystem) -> str:
    """Template with the quantities of ``_IN_US`` for metric ones, remarks in line."""
    if units is not US:
        return template

    def _us(found: re.Match[str]) -> str:
        new = _IN_US.get(found[1], found[1])
        gap = len(found[2]) + len(found[1]) - len(new) if found[2] else 0
        return f'"{new}"{" " * gap}'

    return re.sub('"([0-9][^"\n]*)"((?:  +)?)', _us, template)


def _passes_text(answers: Answers, wire: str) -> str:
    """One table a pass; the second and later ones wait."""
    key = "turn" if is_turn(answers["travel"]) else "travel"
    arc = f'current = "{answers["amps"]}"\n{key} = "{answers["travel"]}"\n'
    first = f"[[pass]]\n{arc}{wire}"
    later = f'\n[[pass]]\n{arc}wait = "auto"                 # until the limit holds; or "90 s"\n'
    return first + later * (int(answers["passes"]) - 1)


def _limit_text(answers: Answers, units: UnitSystem) -> str:
    """Limit given, or the customary one as a remark."""
    if answers["interpass"] != NOTHING:
        return f'interpass_max = "{answers["interpass"]}"'
    metals = (materials.material(answers[k]) for k in ("material", "fitting_material"))
    rows = (interpass_limit(m).told_in(units.name) for m in metals)
    row = min(rows, key=lambda r: r.maximum)
    usual = f'"{units.temperature(row.maximum)}"'
    return f"# interpass_max = {usual}    # customary ({row.standing}); yours goes first"


def _bore(answers: Answers) -> str:
    is_purged = materials.material(answers["material"]).family in STAINLESS
    return 'bore = "argon purge"' if is_purged else 'bore = "still air"'


_IN_US = {
    "120 mm": "5 in", "60 mm": "2 1/2 in", "1.6 mm": "1/16 in", "5 mm": "3/16 in",
    "2.4 mm": "3/32 in", "130 mm/min": "5 in/min", "0.9 kJ/mm": "23 kJ/in",
    "35 mm": "1 3/8 in", "150 degC": "300 degF", "50 degC": "120 degF",
    "20 degC": "68 degF", "2 m/s": "400 ft/min", "6 mm": "1/4 in",
    "1.5 mm": "1/16 in",
}  # fmt: skip
"""Quantities of the template as a US shop writes them."""

_WIRE = (
    '# wire = { diameter = "1.6 mm", feed = "130 mm/min" }   '
    "# else the passes share the leg\n"
)

_FITTING = """\
[fitting]
kind = {kind}
class = {pressure_class}
material = {fitting_material}
# length = "60 mm"            # from the socket face; else the fitting's own

[joint]
end_gap = "1.6 mm"            # between pipe and socket bottom, before welding
leg = "code"                  # or "5 mm"; or leg_pipe and leg_socket
filler = {filler}
"""

_BARE = """\
[fitting]
kind = {kind:<23}# no fitting: the pipe goes on
# length = "60 mm"            # of the pipe the other way; else as long as this way

[joint]
band = "6 mm"                 # width of the bead, which the arc heats; no metal is added
# band_depth = "1.5 mm"       # of what the arc heats; else through the wall
"""

_TEMPLATE = """\
# A case for 'interpass check' and 'interpass plan'. Values carry their unit, like "3/4 in"
# or "350 degF". What is left out, or stands behind a #, has a default:
# 'interpass plan CASE --assumptions' shows them all with their sources.
title = {title}

[pipe]
size = {size}
schedule = {schedule}
material = {material}
length = {length:<21}# {outside}, like "120 mm"

{fitting_text}
[arc]                         # for every pass, unless the pass says otherwise
voltage = "11 V"              # at the arc, not at the machine
efficiency = 0.75             # of the arc's heat into the metal, 0.65 to 0.82
position = "rotated"          # or "fixed": two halves from the bottom
# tungsten = "2.4 mm"

{passes_text}
[limits]
{limit_text}
# rules = "process piping"    # or "power piping", "class society", "our-rules.toml"
# heat_input_max = "0.9 kJ/mm"   # of the procedure, by EN 1011-1; arc_energy_max by ASME IX

# [[limits.watch]]            # a point with a limit of its own
# name = "valve seat"
# at = {{ from_face = "35 mm", on = "bore" }}
# max = "150 degC"

# [[limits.examine]]          # what waits for the joint to cool
# name = "dye penetrant"
# max = "50 degC"

[surroundings]
air = "20 degC"
# start = "150 degC"          # of the piece, where it is preheated; else as the air
axis = "horizontal"
{bore}
holding = {held:<20}# or {ways}, ...
emissivity = 0.5              # 0.3 bright, 0.8 oxidised
# fan = "2 m/s"               # across the joint; during = "waits"
"""
