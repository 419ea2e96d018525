"""The table of passes: waits, temperatures at arc on and off, and the total time."""

from collections.abc import Iterable, Iterator

from .body import ZONE
from .checks import FAIL, PASS, interpass_of, margin
from .history import History, JointTemperature, PassResult
from .joint import Case
from .layout import NOTHING, clock, columns, paragraph, shop_time, spelled
from .places import measuring_place
from .units import UnitSystem

ENDS = ("hottest", "mean")


def pass_lines(case: Case, history: History, units: UnitSystem) -> list[str]:
    """Set out waits and temperatures, one row per pass, and what the columns mean."""
    if not history.passes:
        return ["Passes: none was finished."]
    spots = _spots(history)
    first, last = 4, 4 + len(spots)
    unit = units.temperature_unit
    heads = ["pass", "wait\nexact\ns", "wait in\nthe shop\nmin:s", "arc on\nfor\ns"]
    heads += [f"\n{spot.split('_')[0]}" for spot in (*spots, "read", *ENDS)]
    table = columns(
        [*heads, f"against\nlimit, {unit}"],
        [_row(case, done, spots, units) for done in history.passes],
        left=[len(heads)],
        groups=[
            (f"at arc on, {unit}", first, last),
            (f"at arc off, {unit}", last + 1, last + len(ENDS)),
        ],
    )
    notes = " ".join(pass_notes(case, history, units))
    return [*table, *paragraph(notes), *paragraph(_total(case, history))]


def _spots(history: History) -> tuple[str, ...]:
    """Where in the joint the temperature at arc on is shown."""
    if history.model == "ring":
        return ("hottest", "start_point", "mean", "coldest")
    return ENDS


def _row(
    case: Case, done: PassResult, spots: Iterable[str], units: UnitSystem
) -> list[str]:
    return [
        *_times(done),
        *_degrees(done.at_arc_on, spots, units),
        f"{units.value('temperature', done.expect_reading):.0f}",
        *_degrees(done.at_arc_off, ENDS, units),
        _against_limit(case, done, units),
    ]


def _times(done: PassResult) -> list[str]:
    """Pass, wait as computed and as a shop times it, arc on for."""
    exact = f"{done.wait:.1f}" if done.number > 1 else NOTHING
    shop = clock(planned_wait(done)) if done.number > 1 else NOTHING
    return [str(done.number), exact, shop, f"{done.arc_off - done.arc_on:.1f}"]


def planned_wait(done: PassResult) -> float:
    """Wait before a pass as the shop should time it [s]; a given wait stays as given."""
    return shop_time(done.wait) if done.wait_is_auto else done.wait


def _degrees(
    joint: JointTemperature, spots: Iterable[str], units: UnitSystem
) -> list[str]:
    return [f"{units.value('temperature', getattr(joint, s)):.0f}" for s in spots]


def _against_limit(case: Case, done: PassResult, units: UnitSystem) -> str:
    """Verdict of one pass, in a few words."""
    if done.number == 1:
        return NOTHING
    check = interpass_of(done, case)
    inside = margin(check)
    if abs(inside) < 0.5 and check.verdict == PASS:
        return "at limit"
    size = units.value("temperature difference", abs(inside))
    shown = f"{size:.0f}" if size >= 1 else f"{size:.1f}"
    return f"{shown} OVER" if check.verdict == FAIL else f"{shown} under"


def pass_notes(case: Case, history: History, units: UnitSystem) -> Iterator[str]:
    """Say what the columns of the table mean."""
    yield (
        "Hottest, mean: deposited metal and parent metal within "
        f"{_rough(ZONE, units)} of a toe, through the thickness."
    )
    place = measuring_place(case)
    yield (
        f"Read: what to expect on the {case.measure.on}, "
        f"{_rough(place.from_toe, units)} from the toe."
    )
    if any(done.wait_is_auto for done in history.passes):
        yield "Waits of the shop are rounded up to 5 s; temperatures are at the exact wait."
    if history.model == "ring":
        yield "Start: where the next arc strikes. Hottest at arc off is the pool."
    else:
        yield (
            "Averaged round the ring: where the arc stopped the real joint is hotter, and "
            "a wait under a minute comes out too short."
        )


def _rough(length: float, units: UnitSystem) -> str:
    """Length as one sees it on a rule."""
    return units.length(length, 0 if units.length_unit == "mm" else 1)


def _total(case: Case, history: History) -> str:
    total, planned = total_time(history), planned_time(history)
    rounded = ""
    if planned > total + 0.5:
        rounded = f", {spelled(planned)} with the waits of the shop"
    part = "" if len(history.passes) == len(case.passes) else " (passes run so far)"
    return (
        f"Total time{part}: {spelled(total)} from first arc on to last arc off{rounded}."
    )


def total_time(history: History) -> float:
    """From the first arc on to the last arc off, waits exact [s]."""
    return history.passes[-1].arc_off if history.passes else 0.0


def planned_time(history: History) -> float:
    """Total time with the waits rounded up as the shop times them [s]."""
    return total_time(history) + sum(planned_wait(p) - p.wait for p in history.passes[1:])
