"""Make the picture of the twin experiments: are the bands as wide as they should be?

    python figures/make_twins.py             # 200 joints, about 40 minutes on two cores
    python figures/make_twins.py --redraw    # the picture alone, from twins.csv

Joints are drawn from the catalogue, their true numbers from the priors; the truth is
solved on a finer ring, the program sees the case and one reading with 5 K of noise taken
30 to 60 s after pass 1 (``tests/twins.py``). It asserts what is said of the picture
before it writes anything.

What is to be seen: left, true waits against their bands, each wait divided by its best
estimate and the band drawn at its own width; right, how far the true joint is from the
limit at arc on after the waits planned before and after the reading.
"""

import csv
import io
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import astuple, fields
from pathlib import Path

import numpy as np
from interpass.pictures.style import HOT, MEAN, STYLE, picture
from interpass.text.files import replace_file
from matplotlib import rc_context
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT / "tests"))
from twins import Twin, columns, summary, twin

OUT = ROOT / "figures" / "twins"
SEEDS = range(1000, 1200)
PROCESSES = 2


def experiments():
    """Run all of them; rows in the order of the seeds."""
    rows = []
    with ProcessPoolExecutor(PROCESSES) as pool:
        for seed, found in zip(SEEDS, pool.map(twin, SEEDS), strict=True):
            rows += found
            print(f"joint {seed - SEEDS[0] + 1} of {len(SEEDS)}", file=sys.stderr)
    return rows


def table(rows):
    """CSV of all rows."""
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n").writerow
    write([f.name for f in fields(Twin)])
    for row in rows:
        write([f"{v:.6g}" if isinstance(v, float) else v for v in astuple(row)])
    return out.getvalue().encode()


def read_table(text):
    """Rows of the CSV."""
    turn = {"int": int, "float": float, "str": str, "bool": lambda t: t == "True"}
    found = csv.DictReader(text.splitlines())
    return [
        Twin(*(turn[f.type.__name__](row[f.name]) for f in fields(Twin))) for row in found
    ]


def check(found):
    """Assert what is said of the picture."""
    for name in ("waits", "temperatures"):
        for when in ("before", "after"):
            assert 0.85 <= found[f"{name} in band {when}"] <= 0.95, (name, when)
    assert found["allow over true wait, median"] <= 1.25
    assert found["wrong units caught"] >= 0.95
    assert found["K off after, rms"] < 0.7 * found["K off before, rms"]


def draw(rows):
    """Two panels: waits in their bands, and kelvin off at arc on."""
    c = columns(rows)
    with rc_context(STYLE):
        figure = Figure(figsize=(9.0, 4.6), layout="constrained")
        FigureCanvasAgg(figure)
        left, right = figure.subplots(1, 2)
        _bands(left, c)
        _misses(right, c)
    return figure


def _bands(axes, c):
    """True wait over best, sorted, on the bands before and after."""
    for start, names, colour, words in (
        (0.0, ("wait", "wait_low", "wait_high"), HOT, "before"),
        (1.0, ("after_wait", "after_low", "after_high"), MEAN, "after one reading"),
    ):
        best, low, high = (c[name] for name in names)
        true = c["true_wait"] / best
        order = np.argsort(true)
        x = start + 0.05 + 0.9 * np.arange(order.size) / order.size
        axes.vlines(
            x, (low / best)[order], (high / best)[order], color=colour, alpha=0.35, lw=0.8
        )
        inside = ((c["true_wait"] >= low) & (c["true_wait"] <= high))[order]
        axes.plot(x[inside], true[order][inside], ".", color=colour, ms=3)
        axes.plot(x[~inside], true[order][~inside], "x", color="black", ms=4)
        share = f"{100 * inside.mean():.0f} % inside"
        axes.text(start + 0.5, 0.02, f"{words}\n{share}", ha="center", va="bottom",
                  transform=axes.get_xaxis_transform())  # fmt: skip
    axes.set_ylim(0.3, 1.9)
    axes.set_xticks([])
    axes.set_ylabel("True wait over best estimate; band 5 to 95 %")
    axes.set_title("True waits in their bands (x: outside)", loc="left")


def _misses(axes, c):
    """Cumulative share of joints against kelvin off the limit."""
    for name, colour, dash, words in (
        ("at_best", HOT, "-", "waits planned before"),
        ("after_at_best", MEAN, (0, (5, 2)), "after one reading"),
    ):
        off = np.sort(np.abs(c[name] - c["limit"]))
        share = 100 * np.arange(1, off.size + 1) / off.size
        axes.plot(off, share, color=colour, ls=dash, label=words)
    axes.axvline(10.0, color="black", lw=0.8, ls=":")
    axes.set_xlim(0, 60)
    axes.set_ylim(0, 100)
    axes.set_xlabel("Off the limit at arc on, K")
    axes.set_ylabel("Share of waits, %")
    axes.set_title("How far off the true joint is", loc="left")
    axes.legend(frameon=False, loc="lower right")


def main():
    if "--redraw" in sys.argv:
        rows = read_table(OUT.with_suffix(".csv").read_text(encoding="utf-8"))
    else:
        rows = experiments()
    found = summary(rows)
    for name, value in found.items():
        print(f"{name:40s} {value:.3g}")
    check(found)
    figure = draw(rows)
    replace_file(OUT.with_suffix(".csv"), table(rows), force=True)
    for kind in ("svg", "png"):
        replace_file(OUT.with_suffix(f".{kind}"), picture(figure, kind), force=True)


if __name__ == "__main__":
    main()
