"""The two figures: agreement of every check, and what the default result rests on."""

import numpy as np
from interpass.pictures.style import STYLE
from matplotlib import rc_context
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from evidence.check import ROUND_OFF
from evidence.tornado import CHOICE, DOUBT, RESULTS

# Shape tells the standing, so that grey print does too; colours of Okabe and Ito.
LOOKS = {
    "measured": (("measured",), "*", "#d55e00", "#d55e00", 90),
    "published": (("published", "published restatement", "maker page"), "o", "#0072b2",
                  "#0072b2", 26),
    "from memory, common practice": (("from memory", "common practice"), "o", "white",
                                     "#0072b2", 26),
    "computed: closed form, other program, itself": (("computed",), "s", "#999999",
                                                     "#555555", 16),
}  # fmt: skip
BAR_LOOKS = {
    CHOICE: {"facecolor": "#0072b2", "edgecolor": "#0072b2"},
    DOUBT: {"facecolor": "white", "edgecolor": "#d55e00", "hatch": "//////"},
}
PLAIN = {
    1e-4: "0.0001",
    1e-2: "0.01",
    1.0: "1",
    1e2: "100",
    1e4: "10 000",
    1e6: "1 million",
}
ROW = 0.36  # of a row: height of one of its two bars
SIDES = ("top", "right")


def new_figure(width, height):
    """Figure without a window."""
    figure = Figure(figsize=(width, height), layout="constrained")
    FigureCanvasAgg(figure)
    return figure


def agreement(checks):
    """Ours against theirs, and the digits that agree, by group."""
    with rc_context(STYLE):
        figure = new_figure(11.0, 5.4)
        left, right = figure.subplots(1, 2, width_ratios=[1, 1.15])
        for label, look in LOOKS.items():
            mine = [c for c in checks if c.standing in look[0]]
            draw_pairs(left, mine, look, label)
            draw_digits(right, mine, checks, look)
        finish_pairs(left)
        finish_digits(right, checks)
        figure.legend(loc="outside lower center", ncols=4, frameon=False, fontsize=9)
    return figure


def draw_pairs(axes, checks, look, label):
    """Worst value of each check of one standing."""
    _, marker, face, edge, size = look
    axes.scatter(
        [c.theirs for c in checks], [c.ours for c in checks], marker=marker, s=size,
        facecolor=face, edgecolor=edge, label=label, zorder=3, linewidth=1.0,
    )  # fmt: skip


def finish_pairs(axes):
    """Both axes logarithmic, over the same range, with the line where both are equal."""
    ends = (1e-4, 1e7)
    axes.set(xscale="log", yscale="log", xlim=ends, ylim=ends)
    axes.plot(ends, ends, color="black", lw=0.8, zorder=1)
    axes.set_xticks(list(PLAIN), list(PLAIN.values()), fontsize=9)
    axes.set_yticks(list(PLAIN), list(PLAIN.values()), fontsize=9)
    axes.minorticks_off()
    axes.set_xlabel("Reference, in the unit of the check")
    axes.set_ylabel("This program")
    axes.set_title("Worst value of every check", loc="left")
    axes.grid(visible=True, alpha=0.25)
    axes.spines[list(SIDES)].set_visible(False)


def rows(checks):
    """Group of each row, from the top."""
    return list(dict.fromkeys(c.group for c in checks))


def draw_digits(axes, checks, everything, look):
    """Digits of one standing, side by side within the row of their group."""
    _, marker, face, edge, size = look
    for row, group in enumerate(rows(everything)):
        members = [c for c in everything if c.group == group]
        members.sort(key=lambda c: (c.digits, c.what))
        place = np.linspace(-0.3, 0.3, len(members)) if len(members) > 1 else [0.0]
        mine = [(c.digits, row + y) for c, y in zip(members, place, strict=True)
                if c in checks]  # fmt: skip
        if mine:
            x, y = np.transpose(mine)
            axes.scatter(
                np.clip(x, 0.0, ROUND_OFF), y, marker=marker, s=size, facecolor=face,
                edgecolor=edge, zorder=3, linewidth=1.0,
            )  # fmt: skip


def finish_digits(axes, checks):
    """Name the groups, and say what a digit is."""
    names = rows(checks)
    axes.set_yticks(range(len(names)), names, fontsize=9)
    axes.set_ylim(len(names) - 0.5, -0.5)
    for row in range(0, len(names), 2):
        axes.axhspan(row - 0.5, row + 0.5, color="#f2f2f2", zorder=0, lw=0)
    ticks = [0, 1, 2, 3, 4, 6, 8, ROUND_OFF]
    named = ["0", "1\n10%", "2\n1%", "3\n0.1%", "4", "6", "8", "10+\nequal"]
    axes.set_xticks(ticks, named, fontsize=9)
    axes.set_xlim(-0.4, ROUND_OFF + 0.4)
    axes.grid(visible=True, axis="x", alpha=0.35)
    axes.set_xlabel("Digits that agree, worst value of each check")
    axes.set_title("How well, and who says so", loc="left")
    axes.spines[list(SIDES)].set_visible(False)
    axes.tick_params(axis="y", length=0)


def tornado(bars):
    """Change of the default result by choice and by doubt, both cases."""
    with rc_context({**STYLE, "hatch.linewidth": 0.8, "hatch.color": "#d55e00"}):
        figure = new_figure(11.0, 8.2)
        panels = figure.subplots(1, len(RESULTS), sharex=True)
        for axes, name in zip(panels, RESULTS, strict=True):
            draw_case(axes, name, [b for b in bars if b.case == name])
        reach = 1.5 * max(b.reach for b in bars)
        panels[0].set_xlim(-reach, reach)
        label_groups(figure)
    return figure


def draw_case(axes, name, bars):
    """Choices above, doubts below, the furthest first."""
    order = sorted(bars, key=lambda b: (b.kind != CHOICE, -b.reach))
    gap = sum(b.kind == CHOICE for b in order)
    places = [n + (n >= gap) * 0.7 for n in range(len(order))]
    for bar, y in zip(order, places, strict=True):
        draw_bar(axes, bar, y)
    axes.axvline(0.0, color="black", lw=0.8)
    axes.axhline(gap - 0.15, color="#888888", lw=0.8, ls=":")
    axes.set_yticks(places, [b.what for b in order], fontsize=8.5)
    axes.set_ylim(places[-1] + 0.6, -0.6)
    axes.set_title(f"{name}:\n{RESULTS[name]}, {order[0].default:.0f} s", loc="left")
    axes.set_xlabel("Change, %")
    axes.grid(visible=True, axis="x", alpha=0.25)
    axes.spines[list(SIDES)].set_visible(False)
    axes.tick_params(axis="y", length=0)


def draw_bar(axes, bar, y):
    """Two half bars, the lower value on top, each with what it was moved to."""
    for side, (text, change) in enumerate(
        zip((bar.low, bar.high), bar.change, strict=True)
    ):
        if not text:
            continue
        at = y + (side - 0.5) * ROW
        axes.barh(at, change, height=ROW, lw=0.8, zorder=2, **BAR_LOOKS[bar.kind])
        left = change < 0
        axes.annotate(
            text, (change, at), xytext=(-3 if left else 3, 0), fontsize=7,
            textcoords="offset points", va="center", ha="right" if left else "left",
        )  # fmt: skip


def label_groups(figure):
    """Legend that tells choices from doubts."""
    handles = [
        Patch(**BAR_LOOKS[CHOICE], label="choice of the model"),
        Patch(**BAR_LOOKS[DOUBT], label="doubt about the joint (5 to 95 %, or as named)"),
    ]
    figure.legend(handles=handles, loc="outside lower center", ncols=2, frameon=False)
