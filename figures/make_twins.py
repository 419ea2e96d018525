"""Make the picture of the twin experiments: are the bands as wide as they should be?

    python figures/make_twins.py             # 60 joints, some half an hour on one core
    python figures/make_twins.py --redraw    # the picture alone, from twins*.csv

Joints are drawn from the catalogue (half of them held in a chuck, and saying so), their true
numbers from the program's priors, from others (emissivity even from 0.3 to 0.8, air and
end gap even), or with every number half a standard deviation up; the program sees the case
and one reading with 5 K of noise 30 to 60 s after pass 1, or one in every wait when it
asks for it (``tests/twins.py``). It asserts what is said of the picture before it writes.

What is to be seen: left, true waits against their bands, each wait divided by its best
estimate and the band drawn at its own width; right, how far the true joint is from the
limit at arc on after waits planned without a reading, with one, and with one in every wait.
"""

import csv
import io
import sys
from dataclasses import astuple, fields
from pathlib import Path

import numpy as np
from interpass.pictures.style import HOT, LIMIT, MEAN, STYLE, picture
from interpass.text.files import replace_file
from matplotlib import rc_context
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT / "tests"))
from twins import (
    EVEN,
    PRIORS,
    SETS,
    Struck,
    Twin,
    columns,
    read_in_every_wait,
    summary,
    twins,
)

OUT = ROOT / "figures" / "twins.csv"
EVERY = ROOT / "figures" / "twins-every-wait.csv"
SEEDS = range(6000, 6060)
EVERY_SEEDS = range(7000, 7040)
WORDS = {PRIORS: "own priors", EVEN: "even", "shifted": "half a deviation up"}


def experiments():
    """Run all of them, in the order of the seeds: bands, and a reading in every wait."""
    rows, struck = [], []
    for seed in SEEDS:
        rows += twins(seed)
        print(f"joint {seed - SEEDS[0] + 1} of {len(SEEDS)}", file=sys.stderr)
    for seed in EVERY_SEEDS:
        struck += [r for drawn in (PRIORS, EVEN) for r in read_in_every_wait(seed, drawn)]
        print(f"every wait, joint {seed - EVERY_SEEDS[0] + 1}", file=sys.stderr)
    return rows, struck


def table(rows):
    """CSV of all rows."""
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n").writerow
    write([f.name for f in fields(rows[0])])
    for row in rows:
        write([f"{v:.6g}" if isinstance(v, float) else v for v in astuple(row)])
    return out.getvalue().encode()


def read_table(path, kind=Twin):
    """Rows of a CSV."""
    turn = {"int": int, "float": float, "str": str, "bool": lambda t: t == "True"}
    found = csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    return [
        kind(*(turn[f.type.__name__](row[f.name]) for f in fields(kind))) for row in found
    ]


def of_set(rows, drawn):
    """Rows of one way to draw the truth."""
    return [row for row in rows if row.drawn == drawn]


def check(rows, struck):
    """Assert what is said of the picture."""
    for drawn in SETS:
        found = summary(of_set(rows, drawn))
        for name in ("waits", "temperatures"):
            for when in ("before", "after"):
                share = found[f"{name} in band {when}"]
                assert 0.85 <= share <= 0.95, (drawn, name, when, share)
        assert found["allow over true wait, median"] <= 1.25
        assert found["wrong units caught"] >= 0.95
        assert found["right readings flagged"] == 0
        assert found["K off after, rms"] < 0.85 * found["K off before, rms"]
    off = np.abs([row.off for row in struck])
    assert (off <= 10.0).mean() >= 0.9, (off <= 10.0).mean()


def draw(rows, struck):
    """Two panels: waits in their bands, and kelvin off at arc on."""
    with rc_context(STYLE):
        figure = Figure(figsize=(10.0, 4.8), layout="constrained")
        FigureCanvasAgg(figure)
        left, right = figure.subplots(1, 2, width_ratios=(1.7, 1.0))
        _bands(left, rows)
        _misses(right, rows, struck)
    return figure


COLUMNS = (
    (("wait", "wait_low", "wait_high"), HOT, "before"),
    (("after_wait", "after_low", "after_high"), MEAN, "after one"),
)


def _bands(axes, rows):
    """True wait over best, sorted, on the bands before and after, for every set."""
    for n, drawn in enumerate(SETS):
        c = columns(of_set(rows, drawn))
        for m, (names, colour, words) in enumerate(COLUMNS):
            inside = _column(axes, 2.15 * n + m, [c[x] for x in names], c, colour)
            text = f"{words}\n{100 * inside:.0f} %"
            axes.text(2.15 * n + m + 0.5, 0.02, text, ha="center", va="bottom",
                      fontsize="small", transform=axes.get_xaxis_transform())  # fmt: skip
        axes.text(2.15 * n + 1.0, 0.98, WORDS[drawn], ha="center", va="top",
                  transform=axes.get_xaxis_transform())  # fmt: skip
    axes.set_ylim(0.2, 2.0)
    axes.set_xticks([])
    axes.set_ylabel("True wait over best estimate; band 5 to 95 %")
    axes.set_title(
        "True waits in their bands (x: outside), by how truth is drawn", loc="left"
    )


def _column(axes, start, band, c, colour):
    """Draw the waits of one set and say what share lies inside."""
    best, low, high = band
    true = c["true_wait"] / best
    order = np.argsort(true)
    x = start + 0.05 + 0.9 * np.arange(order.size) / order.size
    axes.vlines(
        x, (low / best)[order], (high / best)[order], color=colour, alpha=0.35, lw=0.8
    )
    inside = ((c["true_wait"] >= low) & (c["true_wait"] <= high))[order]
    axes.plot(x[inside], true[order][inside], ".", color=colour, ms=2.5)
    axes.plot(x[~inside], true[order][~inside], "x", color="black", ms=4)
    return inside.mean()


def _misses(axes, rows, struck):
    """Cumulative share of waits against kelvin off the limit; own and even truths."""
    c = columns([row for row in rows if row.drawn in (PRIORS, EVEN)])
    for off, colour, dash, words in (
        (c["at_best"] - c["limit"], HOT, "-", "no reading"),
        (c["after_at_best"] - c["limit"], MEAN, (0, (5, 2)), "one, soon after pass 1"),
        ([r.off for r in struck], LIMIT, (0, (1, 1)), "one in every wait, when asked"),
    ):
        found = np.sort(np.abs(off))
        share = 100 * np.arange(1, found.size + 1) / found.size
        axes.plot(found, share, color=colour, ls=dash, label=words)
    axes.axvline(10.0, color="black", lw=0.8, ls=":")
    axes.set_xlim(0, 60)
    axes.set_ylim(0, 100)
    axes.set_xlabel("Off the limit at arc on, K")
    axes.set_ylabel("Share of arcs on, %")
    axes.set_title("How far off the true joint is", loc="left")
    axes.legend(frameon=False, loc="lower right")


def main():
    if "--redraw" in sys.argv:
        rows, struck = read_table(OUT), read_table(EVERY, Struck)
    else:
        rows, struck = experiments()
    for drawn in SETS:
        print(drawn)
        for name, value in summary(of_set(rows, drawn)).items():
            print(f"  {name:40s} {value:.3g}")
    for drawn in (PRIORS, EVEN):
        off = np.abs([row.off for row in of_set(struck, drawn)])
        print(
            f"every wait, {drawn}: within 10 K {(off <= 10).mean():.3f}, rms "
            f"{np.sqrt((off**2).mean()):.1f} K, worst {off.max():.1f} K, {off.size} arcs on"
        )
    check(rows, struck)
    figure = draw(rows, struck)
    replace_file(OUT, table(rows), force=True)
    replace_file(EVERY, table(struck), force=True)
    for kind in ("svg", "png"):
        replace_file(OUT.with_suffix(f".{kind}"), picture(figure, kind), force=True)


if __name__ == "__main__":
    main()
