"""Report of a review: what to do now, passes, heat, readings, what was not as planned."""

from collections.abc import Iterator, Sequence

from ..doubt.bands import Band
from ..heat.body import ZONE
from ..heat.history import planned_wait
from ..joint.case import Case
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
from ..text.layout import NOTHING, WIDTH, Block, Table, Words, lines_of
from ..text.times import clock, shop_time, spelled
from .cautions import WHO_DECIDES
from .deviations import deviations
from .fit import flag_words, hot_words, place_words, reading_table, reading_words
from .heat import conventions
from .joint import parts_words
from .measured import measured_blocks, measured_verdict
from .strike import (
    SAFE,
    TYPICAL,
    Strike,
    limit_text,
    most_text,
    place_text,
    strike_line,
    wait_words,
)
from .verdicts import first_words, plan_words, shown_required, shown_value

OWN = (  # rules of the temperatures as welded
    "interpass maximum measured",
    "interpass maximum predicted",
    "interpass minimum",
    "preheat minimum",
    "watch point",
)


def first_screen(found: Review, units: UnitSystem = SI, *, width: int = WIDTH) -> str:
    """Return what to do now, what became of each pass, what is not met, the verdict."""
    blocks: list[Block] = [Words(f"{found.case.title}: reviewed as welded")]
    if now := now_words(found, units):
        blocks += [*now, Words(f"Place marked: {place_text(found.case, units)}.")]
    blocks += [
        _first_table(found, units),
        *(Words(one, "- ") for one in _unsure(found, units)),
        *(Words(one, "- ") for one in deviations(found, units)),
        *first_words(found.checks, units),
        *(measured_blocks(found.measured, units) if found.measured else ()),
        Words(f"Next: {_to_type(found)}; --full shows all."),
        Words(f"Verdict: {verdict_text(found, units)}"),
    ]
    return "\n".join(lines_of(blocks, width)) + "\n"


def now_words(found: Review, units: UnitSystem) -> list[Words]:
    """Say what to do now, where a pass remains."""
    following = found.next
    if following is None:
        return []
    name = f"Now, pass {following.number}"
    if following.hot is not None:
        words = hot_words(following.hot, following.strike_at, units)
        return [Words(f"{name}: {words}", "  STOP ", " " * 7)]
    if following.best is None:
        return [Words(f"{name}: {following.why}")]
    strike = _strike(found, following)
    words = f"{name}: {strike_line(strike, units)}."
    if strike.kind == SAFE and strike.typical is not None:
        words += f" Typical: {clock(strike.typical)}."
    if found.now is None:
        off = arc_on_words(found, found.log.last_off)
        words += f" The waits count from arc off, {off}."
    return [Words(words)]


def _strike(found: Review, following: NextWait) -> Strike:
    """Put together what to do before the next pass: waits from now, or from arc off without it."""
    best = shop_time(following.best or 0.0)
    wait, kind = best, TYPICAL
    if following.allow is not None:
        wait, kind = max(shop_time(following.allow), best), SAFE
    gone = since_off(found)
    reading = following.strike_at or following.expect or found.case.limits.interpass_max
    left = (max(t - gone, 0.0) for t in (wait, best))
    return Strike(following.number, next(left), kind, next(left), reading, 0.0)


def _first_table(found: Review, units: UnitSystem) -> Table:
    """One line per pass: the wait, what was read and may be, and the prediction."""
    unit = units.temperature_unit
    heads = ("pass", "arc on", "waited, min:s", f"read, {unit}", f"at most, {unit}",
             f"hottest, predicted, {unit}", "against limit")  # fmt: skip
    rows = tuple(
        (
            str(one.logged.number),
            arc_on_words(found, one.logged.burns[0].on),
            clock(one.done.wait) if one.logged.number > 1 else NOTHING,
            reading_words(one.measured, units) if one.measured else NOTHING,
            NOTHING
            if one.strike_at is None
            else most_text(one.strike_at, units).split()[0],
            f"{units.value('temperature', one.done.at_arc_on.hottest):.0f}",
            _against(one),
        )
        for one in found.passes
    )
    return Table("", heads, rows, left=(6,))


def _to_type(found: Review) -> str:
    """Say what to type next."""
    case, log = found.case.file or "CASE", found.log.file or "LOG"
    if found.next is None:
        return f"interpass review {case} {log} --out DIR, for the record"
    return f"read the place marked, add it to {log} and review again"


def text(found: Review, units: UnitSystem = SI, *, width: int = WIDTH) -> str:
    """Report of a review; ends with the verdict and a newline."""
    parts: list[Sequence[Block]] = [
        _opening(found, units),
        [_pass_table(found, units)],
        [_heat_table(found, units)],
        list(_reading_part(found, units)),
        _deviation_words(found, units),
        plan_words(found.checks, _own(found), units),
        list(next_blocks(found, units)),
        measured_blocks(found.measured, units) if found.measured else [],
        [Words(f"Verdict: {verdict_text(found, units)}")],
    ]
    written = (lines_of(part, width) for part in parts if part)
    return "\n\n".join("\n".join(lines) for lines in written) + "\n"


def _own(found: Review) -> list[Check]:
    """Verdicts on the temperatures of the weld itself."""
    return [check for check in found.checks if check.rule.startswith(OWN)]


def _opening(found: Review, units: UnitSystem) -> list[Block]:
    """Title, what was welded and when, the limit."""
    done, of = len(found.log.passes), len(found.case.passes)
    limits = found.case.limits
    return [
        Words(f"{found.case.title}: reviewed as welded"),
        Words(
            f"{parts_words(found.case, None if found.case.pipe.size else units)}; {done} of "
            f"{of} passes welded; log {found.log.file}."
        ),
        Words(
            f"Limit between passes {limit_text(found.case, units)} "
            f"({limits.interpass_max_source})."
        ),
    ]


def _pass_table(found: Review, units: UnitSystem) -> Table:
    """Set out waits and interpass temperatures, planned, predicted and measured."""
    unit = units.temperature_unit
    heads = ("pass", "arc on", "done, min:s", "plan, min:s", "best", "9 in 10", "expected",
             "read", "against limit")  # fmt: skip
    groups = (
        ("wait", 2, 3),
        (f"hottest, {unit}", 4, 5),
        (f"to read, {unit}", 6, 7),
    )
    rows = tuple(tuple(_pass_row(found, one, units)) for one in found.passes)
    near = units.length(ZONE, 0 if units.length_unit == "mm" else 1)
    note = (
        f"Hottest: predicted at arc on, anywhere in the weld and within {near} of it. To "
        f"read: {place_text(found.case, units)}, just before the arc."
    )
    notes = (note, *_unsure(found, units))
    return Table("Passes", heads, rows, notes, (8,), groups)


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
    yield from found.log.remarks
    limit = found.case.limits.interpass_max
    checked = found.fit.readings if found.fit else ()
    flagged = [one.reading for one in checked if one.is_flagged]
    for one in found.passes[1:]:
        if one.measured in flagged:
            yield (
                f"Pass {one.logged.number}: what was read is flagged below as no reading "
                "of this joint; the verdict counts it all the same."
            )
        band = one.hottest
        if band and one.outcome == WITHIN and band.high > limit + 1:
            yield (
                f"Pass {one.logged.number} was within the limit by the best estimate, "
                f"but up to {units.temperature(band.high)} is plausible."
            )
        if one.outcome == OVER and one.by == "predicted" and one.measured:
            yield (
                f"Pass {one.logged.number}: what was read is not over the limit, but the "
                "hottest point is, by the prediction; readings are taken away from it."
            )


def _heat_table(found: Review, units: UnitSystem) -> Table:
    """Set out what each pass put in, as welded."""
    energy = units.energy_per_length_unit
    heads = ("pass", "current, A", "voltage, V", "arc on for, s",
             f"travel, {units.unit('speed')}", f"arc energy, {energy}",
             f"heat input, {energy}", "net energy, kJ", "of plan, %")  # fmt: skip
    rows = tuple(tuple(_heat_row(found, one, units)) for one in found.passes)
    notes = [conventions(found.welded, found.by_log),
             "Of plan: net energy against that planned."]  # fmt: skip
    if any("*" in cell for row in rows for cell in row):
        notes.append("* Not in the log: as planned.")
    return Table("Heat as welded", heads, rows, tuple(notes))


def _heat_row(found: Review, one: ReviewedPass, units: UnitSystem) -> list[str]:
    p = found.welded.passes[one.logged.number - 1]
    amps, volts = noted(one.logged)
    known = p.has_current
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


def _reading_part(found: Review, units: UnitSystem) -> Iterator[Block]:
    """Set out the readings that were fitted, with what was expected."""
    if found.fit is None:
        return
    readings = found.fit.readings
    yield reading_table(found.case, readings, units)
    yield from flag_words(readings)
    none = all(one.is_flagged for one in readings)
    yield Words(
        "No reading was used: the prediction is the log's alone."
        if none
        else "The prediction goes with the readings used."
    )


def _deviation_words(found: Review, units: UnitSystem) -> list[Block]:
    """Set out what was not as planned."""
    told = [Words(one, "- ") for one in deviations(found, units)]
    return [Words("Not as planned"), *told] if told else []


def next_blocks(found: Review, units: UnitSystem) -> Iterator[Block]:
    """Set out the wait before the next pass, from the last arc off and from now."""
    following = found.next
    if following is None:
        return
    yield Words(f"Next: pass {following.number}")
    yield from now_words(found, units)
    if following.best is not None:
        yield _next_table(found, following)
        yield Words(" ".join(_next_words(found, following, units)))
    yield Words(WHO_DECIDES)


def _next_table(found: Review, following: NextWait) -> Table:
    """Safe and typical, from arc off, from now, by the clock."""
    heads = ["wait", "from arc off, min:s"]
    rows = []
    for name, wait in ((SAFE, following.allow), (TYPICAL, following.best)):
        if wait is not None:
            whole = shop_time(wait)
            row = [name, clock(whole)]
            if found.now is not None:
                row.append(clock(max(whole - since_off(found), 0.0)))
            rows.append((*row, arc_on_words(found, found.log.last_off + whole)))
    if found.now is not None:
        heads.append("from now, min:s")
    by = "by the clock" if found.log.clock else "since first arc on, min:s"
    return Table("", (*heads, f"arc on {by}"), tuple(rows), left=(0,))


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
        yield f"At the end of the typical wait expect to read {units.temperature(following.expect)}."
    if following.allow is not None:
        yield "The safe wait holds the limit for 9 in 10 of the plausible joints."


def _from_reading(case: Case, following: NextWait, units: UnitSystem) -> str:
    r = following.reading
    if r is None:
        return ""
    place = place_words(case, r, units)
    return (
        f"From the reading of {units.temperature(r.low)} ({place}) {spelled(r.since)} "
        f"after arc off (line {r.line})."
    )


def verdict_text(found: Review, units: UnitSystem = SI) -> str:
    """Verdict as a sentence: what was not met, what to do next, how a logger agrees."""
    told = _verdict(found, units)
    if found.measured is not None:
        told += f" Logger: {measured_verdict(found.measured, units)}"
    return told


def _verdict(found: Review, units: UnitSystem) -> str:
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
    best = shop_time(following.best)
    where = f"from arc off before pass {following.number}"
    if following.allow is None:
        return f"{head} Next: wait {wait_words(best, TYPICAL)} {where}."
    allow = max(shop_time(following.allow), best)
    return f"{head} Next: wait {clock(allow)} {where} (typical {clock(best)})."
