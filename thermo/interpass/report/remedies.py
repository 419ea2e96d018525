"""What would shorten the waits, as text and as data."""

from math import isfinite

from ..remedies.bench import Bench, Round
from ..remedies.trials import Help, Helps
from ..text.layout import NOTHING, columns, paragraph
from ..text.times import clock, spelled

NOW = "as planned"


TITLE = "What would shorten it"


def helps_lines(helps: Helps) -> list[str]:
    """Set out the three best changes, what is not offered and why, and the bench."""
    lines = [TITLE]
    if helps.remark:
        lines += paragraph(f"Nothing was tried: {helps.remark}.")
    else:
        lines += _best_lines(helps)
        lines += paragraph(_how(helps))
        lines += _other_lines(helps)
    return [*lines, "", *bench_lines(helps.bench)] if helps.bench else lines


def _best_lines(helps: Helps) -> list[str]:
    """Table of the best changes, then what to write into the case for each."""
    if not helps.best:
        return paragraph("None of the changes tried saves 2 % of the time.")
    rows = [["", NOW, _clock(helps.total), NOTHING, NOTHING]]
    for n, one in enumerate(helps.best, 1):
        waits = " + ".join(clock(w) for w in one.waits[1:]) or NOTHING
        saves = _clock(one.saves)
        rows.append([str(n), one.title, _clock(one.total_after), saves, waits])
    heads = [
        "",
        "one change at a time",
        "total\nmin:s",
        "saves\nmin:s",
        "waits then\nmin:s",
    ]
    lines = columns(heads, rows, left=[0, 1, 4])
    for n, one in enumerate(helps.best, 1):
        lines += _case_lines(n, one)
    return lines


def _case_lines(number: int, one: Help) -> list[str]:
    """Lines of the case file, and the caution."""
    shown = one.lines or (f"leave out the last [[pass]], {len(one.changes)} remain",)
    first, *rest = shown
    lines = paragraph(first, f"{number}  ", "     ")
    for line in rest:
        lines += paragraph(line, "   ", "     ")
    return lines + paragraph(one.caution, "   ")


def _how(helps: Helps) -> str:
    """Say how the changes were run."""
    words = "Each change was run with the arc averaged round the ring"
    if helps.ratio != 1.0:
        words += (
            f"; its waits are scaled by {helps.ratio:.3f}, as the plan's are to those of "
            "the averaged arc"
        )
    return f"{words}. Write it into the case and plan again before you rely on it."


def _other_lines(helps: Helps) -> list[str]:
    """Say what was tried in vain, and what was not offered."""
    lines = []
    if vain := [f"{one.title} ({_clock(one.total_after)})" for one in helps.no_gain]:
        lines += paragraph(f"Tried without gain: {'; '.join(vain)}.")
    for one in helps.not_offered:
        lines += paragraph(f"Not offered: {one.title}; {one.why}.", "- ")
    return lines


def bench_lines(bench: Bench) -> list[str]:
    """Say how many joints keep a welder busy."""
    rounds = [bench.alone, *bench.between, *([bench.busy] if bench.busy else [])]
    table = columns(
        ["joints", "time per joint\nmin:s", "welder waits\nmin:s",
         "longest wait of\na joint, min:s"],
        [_bench_row(one) for one in rounds],
    )  # fmt: skip
    lines = ["Several joints in turn", *table]
    words = "Too many joints would be needed to keep the welder busy."
    if bench.busy:
        n = bench.busy.joints
        words = f"{n} joint{'s' if n > 1 else ''} on the bench keep the welder busy."
    words += (
        " Go round: pass 1 on every joint, then pass 2 on every joint, each as soon as its "
        "own wait is over. Moving from one to the next is not counted."
    )
    return [*lines, *paragraph(words)]


def _bench_row(one: Round) -> list[str]:
    times = (one.per_joint, one.idle, one.longest_wait)
    return [str(one.joints), *(clock(t) for t in times)]


def _clock(seconds: float) -> str:
    return clock(seconds) if isfinite(seconds) else "no end"


def helps_rows(helps: Helps) -> list[tuple[str, str]]:
    """Name and sentence of each best change and of each that is not offered."""
    rows = []
    for one in helps.best:
        saved = f", {spelled(one.saves)} less" if isfinite(one.saves) else ""
        words = f"{spelled(one.total_after)} in all{saved}. {one.caution}"
        rows.append((one.title, words.strip()))
    return rows + [(no.title, f"Not offered: {no.why}") for no in helps.not_offered]
