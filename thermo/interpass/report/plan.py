"""The report of a plan as text: first what the welder needs, and all of it when asked.

Only plain characters, and no line wider than the terminal where words can be broken.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..heat.history import History
from ..heat.near_arc import near_arc
from ..joint.case import Case
from ..rules.judge import checks
from ..rules.limits import FAIL, Check, limits_kept
from ..text.kinds import SI, UnitSystem
from ..text.layout import WIDTH, Block, Words, lines_of
from .assumptions import assumption_lines
from .cautions import cautions
from .heat import (
    AVERAGED,
    comparison_words,
    energy_table,
    ledger_table,
    near_table,
    probes_table,
)
from .joint import (
    hold_words,
    in_its_units,
    joint_words,
    lip_words,
    short_joint_words,
    unsaid_words,
)
from .passes import first_table, passes_table, shares_table, waits_table
from .remedies import bench_blocks, helps_blocks
from .strike import (
    GIVEN,
    TYPICAL,
    Strike,
    band_of,
    limit_text,
    place_text,
    strikes,
    when_words,
    why_below,
)
from .verdicts import first_words, plan_words, verdict_text

if TYPE_CHECKING:
    from ..doubt.bands import Bands
    from ..remedies.trials import Helps


@dataclass(frozen=True, eq=False)
class Told:
    """What a plan found, and the units to say it in."""

    history: History
    units: UnitSystem
    bands: "Bands | None"
    helps: "Helps | None"


def first_screen(
    case: Case,
    history: History,
    units: UnitSystem = SI,
    *,
    bands: "Bands | None" = None,
    width: int = WIDTH,
) -> str:
    """Return what a welder needs: joint, limit, waits, readings, what is not met, verdict.

    Parameters
    ----------
    case, history : Case, History
        What was asked, and what the run left behind, as far as it went.
    units : UnitSystem
        The units to speak in.
    bands : Bands, optional
        Doubt about the plan; without it the waits are the typical ones, and say so.
    width : int
        Characters of a line.
    """
    found = checks(in_its_units(case, units), history)
    told = strikes(case, history, bands)
    joint = f"{short_joint_words(case, units)} {_limit_words(case, units)}"
    head = [Words(case.title), Words(joint), *lip_words(case, units, is_brief=True)]
    rest: list[Block] = []
    if told:
        how = filter(None, _how_to(case, told, bands, units))
        rest = [first_table(told, units), Words(" ".join(how))]
    if words := unsaid_words(history, bands.gripped if bands else None):
        rest.append(Words(words, "  NOTE ", " " * 9))
    rest += [*_given_words(case, told, bands, units), *first_words(found, units)]
    rest += [Words(_next_words(case, found)), _verdict(found, history, units, bands)]
    parts = ("\n".join(lines_of(part, width)) for part in (head, rest))
    return "\n\n".join(parts) + "\n"


def _limit_words(case: Case, units: UnitSystem, *, is_full: bool = False) -> str:
    limits = case.limits
    source = limits.interpass_max_source
    if not is_full:
        source = source.partition(";")[0]
    return f"Limit between passes: {limit_text(case, units)} ({source})."


def _how_to(
    case: Case, told: Sequence[Strike], bands: "Bands | None", units: UnitSystem
) -> Iterator[str]:
    """Say where and when to read, why it is below the limit, what the wait is worth."""
    yield f"Place marked: {place_text(case, units)}."
    yield why_below(case, told, units)
    yield when_words(case, bands)
    if any(strike.kind == TYPICAL for strike in told):
        yield "Typical: every second joint needs longer; leave --quick out for the safe wait."


def _given_words(
    case: Case, told: Sequence[Strike], bands: "Bands | None", units: UnitSystem
) -> Iterator[Words]:
    """Warn of a given wait that not 9 in 10 joints hold the limit with."""
    limit = case.limits.interpass_max
    for strike in told[1:]:
        band = band_of(bands, strike.number)
        if strike.kind != GIVEN or band is None:
            continue
        if band.hottest.best <= limit < band.hottest.high - 1:
            words = (
                f"the wait given before pass {strike.number} may be too short: up to "
                f"{units.temperature(band.hottest.high)} is plausible. The reading decides."
            )
            yield Words(words, "  NOTE ", " " * 9)


def _next_words(case: Case, found: Sequence[Check]) -> str:
    """Say what to type next."""
    file = case.file or "CASE"
    failed = any(check.verdict == FAIL for check in found)
    if failed:
        return f"Next: interpass plan {file} --show rules,remedies"
    return f"Next: interpass card {file}; --full shows all, cautions too."


def _verdict(
    found: Sequence[Check], history: History, units: UnitSystem, bands: "Bands | None"
) -> Words:
    return Words(f"Verdict: {verdict_text(found, history, units, bands)}")


def text(
    case: Case,
    history: History,
    units: UnitSystem = SI,
    *,
    assumptions: bool = False,
    bands: "Bands | None" = None,
    helps: "Helps | None" = None,
    sections: Iterable[str] = (),
    width: int = WIDTH,
) -> str:
    """Report of a run, complete or not; ends with the verdict and a newline.

    Parameters
    ----------
    case : Case
        What was asked.
    history : History
        What the run left behind, as far as it went.
    units : UnitSystem
        The units to speak in.
    assumptions : bool
        Whether to list every number used, with its source.
    bands : Bands, optional
        How far the answer may be off.
    helps : Helps, optional
        What would shorten it.
    sections : iterable of str
        Those of `SECTIONS` that are wanted; all of them, and the cautions, when left out.
    width : int
        Characters of a line.
    """
    case = in_its_units(case, units)
    told = Told(history, units, bands, helps)
    wanted = set(sections) or set(SECTIONS)
    parts = [lines_of(_opening(case, history, units), width)]
    parts += [
        lines_of(blocks(case, told), width)
        for name, blocks in SECTIONS.items()
        if name in wanted
    ]
    if assumptions:
        parts.append(assumption_lines(case, units, width))
    if wanted == set(SECTIONS):
        parts.append(lines_of(_cautions(case, history, units), width))
    found = checks(case, history)
    parts.append(lines_of([_verdict(found, history, units, bands)], width))
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def _opening(case: Case, history: History, units: UnitSystem) -> list[Words]:
    """Title, joint and model."""
    limits = case.limits
    return [
        Words(case.title),
        Words(joint_words(case, units)),
        *lip_words(case, units, is_brief=True),
        Words(f"Model: {model_words(case, history)}."),
        Words(
            f"{_limit_words(case, units, is_full=True)} Before pass 1 at least "
            f"{units.temperature(limits.preheat_min)} ({limits.preheat_min_source})."
        ),
    ]


def model_words(case: Case, history: History) -> str:
    """Say how the heat was computed."""
    how = "arc averaged round the ring"
    if history.model == "ring":
        how = f"travelling arc, {case.model.ring} cells round the ring"
    return f"{history.model} ({how}), {history.cells} cells, {history.steps} steps"


def _waits(case: Case, told: Told) -> Iterator[Block]:
    history, units = told.history, told.units
    if not history.passes:
        yield Words("Passes: none was finished.")
        return
    if history.passes[1:]:
        yield waits_table(case, history, units, told.bands)
    yield passes_table(case, history, units)
    if words := comparison_words(case, history):
        yield Words(words)
    yield Words(f"The piece is taken to be {hold_words(case, units)}.")
    if words := unsaid_words(history, told.bands.gripped if told.bands else None):
        yield Words(words)
    if told.bands and told.bands.shares:
        yield shares_table(told.bands)


def _energy(case: Case, told: Told) -> Iterator[Block]:
    history, units = told.history, told.units
    if history.passes:
        yield energy_table(case, history, units)
    if history.ledger.arc > 0:
        yield ledger_table(history)
    if any(trace.temperature.size for trace in history.traces):
        yield probes_table(case, history, units)


def _near(case: Case, told: Told) -> Iterator[Block]:
    passes = near_arc(case, told.history)
    yield near_table(case, passes, told.units) if passes else Words(AVERAGED)


def _rules(case: Case, told: Told) -> Iterator[Block]:
    found = checks(case, told.history)
    yield from plan_words(found, limits_kept(case, told.history), told.units)


def _remedies(_: Case, told: Told) -> Iterator[Block]:
    if told.helps:
        yield from helps_blocks(told.helps)


def _bench(_: Case, told: Told) -> Iterator[Block]:
    helps = told.helps
    if helps and (bench := helps.safe_bench or helps.bench):
        yield from bench_blocks(bench)


SECTIONS: dict[str, Callable[[Case, Told], Iterator[Block]]] = {
    "waits": _waits,
    "energy": _energy,
    "near": _near,
    "rules": _rules,
    "remedies": _remedies,
    "bench": _bench,
}
"""Parts of the report that can be asked for by name, in their order."""


def _cautions(case: Case, history: History, units: UnitSystem) -> list[Words]:
    told = cautions(case, history, units)
    return [Words("Cautions"), *(Words(caution, "- ") for caution in told)]
