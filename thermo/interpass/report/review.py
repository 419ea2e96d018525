"""Report of a review: passes, heat, deviations, next wait.

The review of a weld as text: passes, heat, readings, what was not as planned, what next.

What a review says in words, the same in its text and in its data.
"""

from collections.abc import Iterator
from math import isfinite

from ..doubt.bands import Band
from ..heat.history import planned_wait
from ..joint.case import Case
from ..joint.places import measuring_place
from ..logs.as_welded import noted
from ..logs.next_wait import NextWait
from ..logs.review import (
    OVER,
    WITHIN,
    Review,
    ReviewedPass,
    arc_on_words,
    burned,
    since_off,
)
from ..rules.limits import FAIL, Check
from ..text.kinds import SI, UnitSystem
from ..text.layout import NOTHING, columns, lines_of, paragraph
from ..text.times import clock, shop_time, spelled
from .cautions import WHO_DECIDES
from .fit import hot_words, place_words, reading_lines, reading_words
from .verdicts import plan_words, shown_required, shown_value

OWN = (  # rules of the temperatures as welded
    "interpass maximum measured",
    "interpass maximum predicted",
    "interpass minimum",
    "preheat minimum",
    "watch point",
)


def text(found: Review, units: UnitSystem = SI) -> str:
    """Report of a review; ends with the verdict and a newline."""
    parts = [
        _opening(found, units),
        _pass_lines(found, units),
        _heat_lines(found, units),
        _reading_part(found, units),
        _deviation_lines(found, units),
        lines_of(plan_words(found.checks, _own(found), units)),
        next_lines(found, units),
        paragraph(f"Verdict: {verdict_text(found, units)}"),
    ]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def _own(found: Review) -> list[Check]:
    """Verdicts on the temperatures of the weld itself."""
    return [check for check in found.checks if check.rule.startswith(OWN)]


def _opening(found: Review, units: UnitSystem) -> list[str]:
    """Title, what was welded and when, the limit."""
    done, of = len(found.log.passes), len(found.case.passes)
    pipe = found.case.pipe
    size = (
        f"NPS pipe {pipe.size}" if not pipe.size else f"{pipe.size} Sch {pipe.schedule}"
    )
    if not pipe.size:
        size = f"{units.length(pipe.outside_diameter)} x {units.length(pipe.wall)}"
    limits = found.case.limits
    lines = paragraph(f"{found.case.title}: reviewed as welded")
    lines += paragraph(
        f"Pipe {size}, {pipe.material.name}; {found.case.fitting.kind}, "
        f"{found.case.fitting.material.name}; {done} of {of} passes welded; log "
        f"{found.log.file}."
    )
    lines += paragraph(
        f"Limit between passes {units.temperature(limits.interpass_max)} "
        f"({limits.interpass_max_source})."
    )
    return lines


def _pass_lines(found: Review, units: UnitSystem) -> list[str]:
    """Set out waits and interpass temperatures, planned, predicted and measured."""
    unit = units.temperature_unit
    heads = ["\npass", "\narc on", "\ndone\nmin:s", "\nplan\nmin:s", "\nbest"]
    heads += ["\n9 in 10", "\nexpected", "\nread", "against\nlimit"]
    table = columns(
        heads,
        [_pass_row(found, one, units) for one in found.passes],
        left=(len(heads) - 1,),
        groups=[
            ("wait", 2, 3),
            (f"hottest, {unit}", 4, 5),
            (f"to read, {unit}", 6, 7),
        ],
    )
    place = measuring_place(found.case)
    finest = 0 if units.length_unit == "mm" else 1
    words = (
        "Hottest: predicted at arc on, anywhere in the weld and within 5 mm of it"
        if units.length_unit == "mm"
        else "Hottest: predicted at arc on, anywhere in the weld and within 0.2 in of it"
    )
    words += (
        f". To read: on the {found.case.measure.on}, "
        f"{units.length(place.from_toe, finest)} from the toe, just before the arc. "
    )
    words += "".join(_unsure(found, units))
    return ["Passes", *table, *paragraph(words.strip())]


def _pass_row(found: Review, one: ReviewedPass, units: UnitSystem) -> list[str]:
    done, first = one.done, one.logged.number == 1
    planned = one.planned
    return [
        str(one.logged.number),
        arc_on_words(found, one.logged.burns[0].on),
        NOTHING if first else clock(done.wait),
        NOTHING if first or planned is None else clock(planned_wait(planned)),
        f"{units.value('temperature', done.at_arc_on.hottest):.0f}",
        _span(one.hottest, units),
        f"{units.value('temperature', done.expect_reading):.0f}",
        reading_words(one.measured, units) if one.measured else NOTHING,
        _against(one),
    ]


def _span(band: Band | None, units: UnitSystem) -> str:
    if band is None:
        return NOTHING
    low, high = (units.value("temperature", T) for T in (band.low, band.high))
    return f"{low:.0f} to {high:.0f}"


def _against(one: ReviewedPass) -> str:
    """Verdict of one pass, and what says so."""
    if not one.by:
        return NOTHING
    by = "both" if " and " in one.by else one.by
    return f"{one.outcome.upper() if one.outcome == OVER else one.outcome}, {by}"


def _unsure(found: Review, units: UnitSystem) -> Iterator[str]:
    """Say where the verdict is not the whole answer."""
    limit = found.case.limits.interpass_max
    checked = found.fit.readings if found.fit else ()
    flagged = [one.reading for one in checked if one.is_flagged]
    for one in found.passes[1:]:
        if one.measured in flagged:
            yield (
                f"Pass {one.logged.number}: what was read is flagged below as no reading "
                "of this joint; the verdict counts it all the same. "
            )
        band = one.hottest
        if band and one.outcome == WITHIN and band.high > limit + 1:
            yield (
                f"Pass {one.logged.number} was within the limit by the best estimate, "
                f"but up to {units.temperature(band.high)} is plausible. "
            )
        if one.outcome == OVER and one.by == "predicted" and one.measured:
            yield (
                f"Pass {one.logged.number}: what was read is not over the limit, but the "
                "hottest point is, by the prediction; readings are taken away from it. "
            )


def _heat_lines(found: Review, units: UnitSystem) -> list[str]:
    """Set out what each pass put in, as welded."""
    energy = units.energy_per_length_unit
    heads = ["\npass", "current\nA", "voltage\nV", "arc on\nfor, s"]
    heads += [f"travel\n{units.unit('speed')}", f"arc\nenergy\n{energy}"]
    heads += [f"heat\ninput\n{energy}", "net\nenergy\nkJ", "of plan\n%"]
    rows = [_heat_row(found, one, units) for one in found.passes]
    words = (
        "Arc energy U I / v is the heat input of ASME IX QW-409.1(a); heat input by "
        "EN 1011-1 is k U I / v, k = 0.6 for GTAW. Of plan: net energy against that "
        "planned."
    )
    if any("*" in cell for row in rows for cell in row):
        words += " * Not in the log: as planned."
    return ["Heat as welded", *columns(heads, rows), *paragraph(words)]


def _heat_row(found: Review, one: ReviewedPass, units: UnitSystem) -> list[str]:
    p = found.welded.passes[one.logged.number - 1]
    amps, volts = noted(one.logged)
    known = isfinite(p.current)
    energy, heat = one.as_logged.arc_energy, one.as_logged.heat_input
    share = _share(one)
    return [
        str(p.number),
        f"{p.current:.0f}{'' if amps else '*'}" if known else NOTHING,
        f"{p.voltage:.1f}{'' if volts else '*'}" if known else NOTHING,
        f"{burned(one):.0f}",
        units.speed(p.travel).split()[0],
        NOTHING if energy is None else units.energy_per_length(energy).split()[0],
        NOTHING if heat is None else units.energy_per_length(heat).split()[0],
        f"{one.as_logged.net_energy / 1e3:.1f}",
        NOTHING if share is None else f"{100 * share:.0f}",
    ]


def _share(one: ReviewedPass) -> float | None:
    """Net energy by the log over that of the plan."""
    if one.planned is None or not one.planned.net_energy:
        return None
    return one.as_logged.net_energy / one.planned.net_energy


def _reading_part(found: Review, units: UnitSystem) -> list[str]:
    """Set out the readings that were fitted, with what was expected."""
    if found.fit is None:
        return []
    lines = reading_lines(found.case, found.fit.readings, units)
    if all(one.is_flagged for one in found.fit.readings):
        return [
            *lines,
            *paragraph("No reading was used: the prediction is the log's alone."),
        ]
    return [*lines, *paragraph("The prediction goes with the readings used.")]


def _deviation_lines(found: Review, units: UnitSystem) -> list[str]:
    """Set out what was not as planned."""
    told = list(deviations(found, units))
    if not told:
        return []
    return ["Not as planned", *(line for one in told for line in paragraph(one, "- "))]


def next_lines(found: Review, units: UnitSystem) -> list[str]:
    """Set out the wait before the next pass, from the last arc off and from now."""
    following = found.next
    if following is None:
        return []
    title = f"Next: pass {following.number}"
    if following.hot is not None:
        words = hot_words(following.hot, following.strike_at, units)
        return [title, *paragraph(words, "  STOP ", " " * 7), *paragraph(WHO_DECIDES)]
    if following.best is None:
        return [title, *paragraph(following.why)]
    table = columns(*_next_table(found, following), left=(0,))
    return [title, *table, *paragraph(" ".join(_next_words(found, following, units))),
            *paragraph(WHO_DECIDES)]  # fmt: skip


def _next_table(found: Review, following: NextWait) -> tuple[list[str], list[list[str]]]:
    """Heads and rows: best and allow, from arc off, from now, by the clock."""
    heads = ["", "from arc off\nmin:s"]
    rows = []
    for name, wait in (("best", following.best), ("allow", following.allow)):
        if wait is not None:
            whole = shop_time(wait)
            row = [name, clock(whole)]
            if found.now is not None:
                row.append(clock(max(whole - since_off(found), 0.0)))
            rows.append([*row, arc_on_words(found, found.log.last_off + whole)])
    if found.now is not None:
        heads.append("from now\nmin:s")
    by = "by the clock" if found.log.clock else "since first\narc on, min:s"
    return [*heads, f"arc on\n{by}" if found.log.clock else f"arc on {by}"], rows


def _next_words(found: Review, following: NextWait, units: UnitSystem) -> Iterator[str]:
    """Say what the wait goes by."""
    off = arc_on_words(found, found.log.last_off)
    yield f"The arc of pass {following.number - 1} went out at {off}."
    if found.now is not None:
        yield f"Now: {arc_on_words(found, found.now)}."
    if following.given is not None and following.best is not None:
        short = following.given < following.best - 0.5
        fits = "too short for the joint as it is" if short else "long enough"
        yield f"The case gives {spelled(following.given)}: {fits}."
    if following.reading is not None:
        yield _from_reading(found.case, following, units)
    elif following.refused:
        yield f"The newest reading is not used: {following.refused}."
    elif any(r.after_pass == following.number - 1 for r in found.log.readings):
        yield "What was read since then is among the readings above."
    elif found.bands is not None:
        yield "No reading since then: one, at the measuring place, narrows the wait."
    if following.expect is not None:
        yield f"At the end of the best wait expect to read {units.temperature(following.expect)}."
    if following.allow is not None:
        yield "Allow holds the limit for 9 in 10 of the plausible joints."


def _from_reading(case: Case, following: NextWait, units: UnitSystem) -> str:
    r = following.reading
    if r is None:
        return ""
    place = place_words(case, r, units)
    return (
        f"From the reading of {units.temperature(r.low)} ({place}) {spelled(r.since)} "
        f"after arc off (line {r.line})."
    )


SHORTER = 5.0  # s of a wait that count as a difference


CURRENT, VOLTAGE, TIME, ENERGY = 0.05, 0.10, 0.10, 0.05  # shares that count


def deviations(found: Review, units: UnitSystem = SI) -> Iterator[str]:
    """Sentences on what differs from the plan by enough to matter."""
    start = found.log.at_start
    if start is not None and start.low == start.high:
        planned = found.case.surroundings.start
        if abs(start.low - planned) > 2:
            yield (
                f"before pass 1 the piece was at {units.temperature(start.low)}, planned "
                f"{units.temperature(planned)}; the prediction starts from what was read"
            )
    for one in found.passes:
        yield from _pass_deviations(found, one)


def _pass_deviations(found: Review, one: ReviewedPass) -> Iterator[str]:
    number, planned = one.logged.number, one.planned
    name = f"pass {number}"
    if planned is not None and number > 1:
        short = planned.wait - one.done.wait
        if abs(short) > SHORTER:
            way = "shorter" if short > 0 else "longer"
            yield (
                f"{name}: waited {spelled(one.done.wait)}, {spelled(abs(short))} {way} "
                f"than planned"
            )
    asked, done = (c.passes[number - 1] for c in (found.case, found.welded))
    if isfinite(asked.current):
        if abs(done.current / asked.current - 1) > CURRENT:
            yield f"{name}: {done.current:.0f} A, planned {asked.current:.0f} A"
        if abs(done.voltage / asked.voltage - 1) > VOLTAGE:
            yield f"{name}: {done.voltage:.1f} V, planned {asked.voltage:.1f} V"
    elif any(noted(one.logged)):
        yield f"{name}: the case gives a net power, so amps and volts of the log are not used"
    if abs(done.arc_time / asked.arc_time - 1) > TIME:
        yield (
            f"{name}: once round in {spelled(done.arc_time)}, planned "
            f"{spelled(asked.arc_time)}"
        )


def verdict_text(found: Review, units: UnitSystem = SI) -> str:
    """Verdict as a sentence: what was not met, and what to do next."""
    failed = [check for check in found.checks if check.verdict == FAIL]
    told = [
        f"{c.rule}: {shown_value(c, units)}"
        + (f", must be {c.sense} {shown_required(c, units)}" if c.sense else "")
        for c in failed
    ]
    head = f"NOT MET. {'; '.join(told)}." if told else "every limit was held."
    following = found.next
    if following is not None and following.hot is not None:
        words = hot_words(following.hot, following.strike_at, units)
        return f"{head if told else 'NOT MET.'} {words}"
    if following is None or following.best is None:
        return head
    best = spelled(shop_time(following.best))
    if following.allow is None:
        return f"{head} Next: wait {best} from arc off before pass {following.number}."
    allow = spelled(shop_time(following.allow))
    return (
        f"{head} Next: wait {best} from arc off before pass {following.number}, {allow} "
        "to be safe."
    )
