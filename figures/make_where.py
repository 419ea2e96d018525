"""Make the picture of where the time of a ring goes, before and now.

    OMP_NUM_THREADS=1 python figures/make_where.py

Processor time of `cases/sampling-stub.toml`, two passes and the waits after them, code
already compiled, least of several runs. "Before" is what figures/where.csv holds of the
solver that did not turn its prediction with the arc, measured on the same machine on the
same day beside the same other work; only "now" is measured here.

It asserts what is said of the picture before it writes anything.
"""

import csv
from pathlib import Path
from time import process_time
from unittest.mock import patch

import numpy as np
from interpass.case_file.read import read_case
from interpass.heat import march
from interpass.heat.waits import plan
from interpass.pictures.style import STYLE, picture
from interpass.text.files import replace_file
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

ROOT = Path(__file__).parent.parent
CASE = ROOT / "cases" / "sampling-stub.toml"
OUT = ROOT / "figures" / "where"
PARTS = ("under the arc", "freezing 10 s", "waits", "mesh and record")
COLORS = ("#d55e00", "#e69f00", "#0072b2", "#999999")
ROUNDS = 7


def measured() -> dict[str, float]:
    """Processor time of each part [s], of the quickest run."""
    runs = [one_run() for _ in range(ROUNDS)]
    return min(runs, key=lambda run: sum(run.values()))


def one_run() -> dict[str, float]:
    """Run the case once, with a clock round every phase."""
    spent = dict.fromkeys(PARTS, 0.0)
    phase = march._phase

    def timed(state, arc, *args, **options):
        clock = process_time()
        done = phase(state, arc, *args, **options)
        part = 0 if arc.power else 1 if options.get("twice") else 2
        spent[PARTS[part]] += process_time() - clock
        return done

    clock = process_time()
    with patch.object(march, "_phase", timed):
        plan(read_case(CASE))
    spent[PARTS[3]] = process_time() - clock - sum(spent.values())
    return spent


def stored() -> dict[str, float]:
    """Times of before, from the table."""
    with OUT.with_suffix(".csv").open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(line for line in stream if not line.startswith("#")))
    before = next(row for row in rows if row["solver"] == "before")
    return {part: float(before[part]) for part in PARTS}


def check(before: dict[str, float], now: dict[str, float]) -> None:
    """Fail unless the picture shows what is said of it."""
    assert now[PARTS[0]] < 0.6 * before[PARTS[0]], "the arc costs little more than half"
    assert sum(now.values()) < 0.7 * sum(before.values()), "a third less in all"
    assert max(now, key=now.__getitem__) == PARTS[0], "the arc still costs the most"


def draw(before: dict[str, float], now: dict[str, float]) -> Figure:
    """Two bars, cut into parts."""
    with rc_context(STYLE):
        figure = Figure(figsize=(7.2, 2.6), layout="constrained")
        FigureCanvasAgg(figure)
        axes = figure.subplots()
        ends = np.zeros(2)
        for part, color in zip(PARTS, COLORS, strict=True):
            width = np.array([now[part], before[part]])
            axes.barh(["now", "before"], width, left=ends, color=color, label=part)
            ends += width
        for row, end in enumerate(ends):
            axes.text(end + 0.01, row, f"{end:.2f} s", va="center", fontsize=9)
        in_words(axes, ends.max())
    return figure


def in_words(axes: Axes, longest: float) -> None:
    """Title, labels, legend."""
    axes.set_title("Ring of 48, two passes and their waits", loc="left")
    axes.set_xlabel("Processor time, s")
    axes.set_xlim(0, 1.12 * longest)
    axes.legend(
        fontsize=9, frameon=False, ncols=4, loc="upper left", bbox_to_anchor=(0, -0.3)
    )
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def table(before: dict[str, float], now: dict[str, float]) -> str:
    """Write the numbers as CSV."""
    lines = [
        "# Processor time [s] of two passes and their waits, ring of 48; figures/make_where.py."
    ]
    lines.append(",".join(["solver", *PARTS]))
    for name, times in (("before", before), ("now", now)):
        lines.append(",".join([name, *(f"{times[part]:.3f}" for part in PARTS)]))
    return "\n".join(lines) + "\n"


def main() -> None:
    """Measure, print, then write table and picture."""
    before, now = stored(), measured()
    print(table(before, now), end="")
    check(before, now)
    replace_file(OUT.with_suffix(".csv"), table(before, now).encode(), force=True)
    for kind in ("svg", "png"):
        content = picture(draw(before, now), kind)
        replace_file(OUT.with_suffix(f".{kind}"), content, force=True)


if __name__ == "__main__":
    main()
