"""What would shorten the waits, and several joints in turn: tables and words."""

from collections.abc import Iterator
from math import isfinite
from typing import TYPE_CHECKING

from ..text.layout import NOTHING, Block, Table, Words
from ..text.times import clock, shop_time, spelled

if TYPE_CHECKING:
    from ..remedies.bench import Bench, Round
    from ..remedies.trials import Help, Helps

NOW = "as planned"
TITLE = "What would shorten it"
ASK = "only if the procedure allows it: "


def helps_blocks(helps: "Helps") -> Iterator[Block]:
    """Set out the three best changes, and what is not offered and why."""
    if helps.remark:
        yield Words(TITLE)
        yield Words(f"Nothing was tried: {helps.remark}.")
        return
    yield from _best(helps)
    yield Words(_how(helps))
    yield from _others(helps)


def _best(helps: "Helps") -> Iterator[Block]:
    """Table of the best changes, then what to write into the case for each."""
    if not helps.best:
        yield Words(TITLE)
        yield Words("None of the changes tried saves 2 % of the time.")
        return
    yield helps_table(helps)
    for n, one in enumerate(helps.best, 1):
        yield from _case_words(n, one)


def helps_table(helps: "Helps") -> Table:
    """Total time and waits with each of the best changes; safe waits where known."""
    sort = "safe" if helps.safety is not None else "typical"
    heads = ("", "one change at a time", "total, min:s", "saves, min:s",
             f"{sort} waits then, min:s")  # fmt: skip
    rows = [("", NOW, _clock(helps.told_total), NOTHING, NOTHING)]
    for n, one in enumerate(helps.best, 1):
        waits = " + ".join(clock(shop_time(w)) for w in helps.told_waits(one)[1:])
        total = helps.told_after(one)
        saves = _clock(helps.told_total - total)
        rows.append((str(n), help_title(one), _clock(total), saves, waits or NOTHING))
    return Table(TITLE, heads, tuple(rows), left=(0, 1, 4))


def help_title(one: "Help") -> str:
    """Name a change; what only the procedure can allow says so."""
    return f"{ASK}{one.title}" if one.needs_procedure else one.title


def _case_words(number: int, one: "Help") -> Iterator[Words]:
    """Lines of the case file, and the caution."""
    shown = one.lines or (f"leave out the last [[pass]], {len(one.changes)} remain",)
    first, *rest = shown
    yield Words(first, f"{number}  ", "     ")
    for line in rest:
        yield Words(line, "   ", "     ")
    if one.caution:
        yield Words(one.caution, "   ")


def _how(helps: "Helps") -> str:
    """Say how the changes were run."""
    words = "Each change was run with the arc averaged round the ring"
    if helps.ratio != 1.0:
        words += (
            f"; its waits are scaled by {helps.ratio:.3f}, as the plan's are to those of "
            "the averaged arc"
        )
    if helps.safety is not None:
        words += f", and by {helps.safety:.2f} from typical to safe, as the plan's are"
    return f"{words}. Write it into the case and plan again before you rely on it."


def _others(helps: "Helps") -> Iterator[Words]:
    """Say what was tried in vain, and what was not offered."""
    if vain := [
        f"{one.title} ({_clock(helps.told_after(one))})" for one in helps.no_gain
    ]:
        yield Words(f"Tried without gain: {'; '.join(vain)}.")
    for one in helps.not_offered:
        yield Words(f"Not offered: {one.title}; {one.why}.", "- ")


def bench_blocks(bench: "Bench") -> Iterator[Block]:
    """Say how many joints keep a welder busy."""
    rounds = [bench.alone, *bench.between, *([bench.busy] if bench.busy else [])]
    heads = ("joints", "time per joint, min:s", "welder waits, min:s",
             "longest wait of a joint, min:s")  # fmt: skip
    rows = tuple(_bench_row(one) for one in rounds)
    yield Table("Several joints in turn", heads, rows, (_bench_words(bench),))


def _bench_words(bench: "Bench") -> str:
    words = "Too many joints would be needed to keep the welder busy."
    if bench.busy:
        n = bench.busy.joints
        words = f"{n} joint{'s' if n > 1 else ''} on the bench keep the welder busy."
    return (
        f"{words} Go round: pass 1 on every joint, then pass 2 on every joint, each as "
        "soon as its own wait is over. Moving from one to the next is not counted."
    )


def _bench_row(one: "Round") -> tuple[str, ...]:
    times = (one.per_joint, one.idle, one.longest_wait)
    return (str(one.joints), *(clock(t) for t in times))


def _clock(seconds: float) -> str:
    return clock(seconds) if isfinite(seconds) else "no end"


def helps_rows(helps: "Helps") -> list[tuple[str, str]]:
    """Name and sentence of each best change and of each that is not offered."""
    rows = []
    for one in helps.best:
        total = helps.told_after(one)
        saves = helps.told_total - total
        saved = f", {spelled(saves)} less" if isfinite(saves) else ""
        words = f"{spelled(total)} in all{saved}. {one.caution}"
        rows.append((help_title(one), words.strip()))
    return rows + [(no.title, f"Not offered: {no.why}") for no in helps.not_offered]
