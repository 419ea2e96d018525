"""The page itself, from the two tables and nothing else."""

from evidence.rods import RODS
from evidence.tornado import CHOICE, RESULTS

HEAD = """# Evidence

What this program has been checked against, from real runs. Made by
`python tests/evidence/make_evidence.py` from the tests themselves; `test_evidence.py` runs
the checks again and fails when a number here no longer comes out.

Each row is one check, shown by the worst of its values. *Difference* is what lies between the two
numbers, *allowed* what the test lets pass, *digits* how many leading digits agree (2 is 1 %;
differences of temperature count against the rise or the range, not against zero). *Equal*:
the same to ten digits or more, which is round-off, or the same entry in two tables.
**Standing** is how far the reference can be trusted: published, published restatement
(somebody quotes it), maker page, from memory (of a printed source, not looked up again),
common practice, computed (a closed form, another program or library, or the program itself
another way), measured.

![Ours against the reference for every check, and digits that agree](../figures/evidence.png)
"""
MEASURED = """
The walls are of a nickel alloy (IN718), built up with an arc and wire and left to cool after
the last layer; data CC BY 4.0. Once no more heat flows in, such a wall cools by convection
and radiation alone, and its thickness falls out of the ratio of two rates. It **tests** that
our still-air film and our radiation, with the emissivity of our own table for an oxidised
nickel alloy (0.8), go with temperature as those of a welded surface do, from 550 to 270 degC.
A film that did not change with temperature would give rates of 1 : 0.90 : 0.80 : 0.70, and
its best curve misses wall 42 by 18 K; bright metal (emissivity 0.3) would give 0.53 for the
last of them. It does **not** test the arc, conduction in a joint, a
pipe, or stainless steel; and since one loss a wall is fitted (its thickness is not in the
data), not the size of the loss, but for wall 40, which is predicted with the loss of wall 42.
The specific heat of IN718 is Mills's, from memory; the air is taken at 20 degC.
"""
ROD_NOTE = """
Brackets, reported by students of a laboratory course and not repeated here: a loss is known to
15 %, and nobody says whether the rods lay or stood (standing ones lose 0.8 W/m²K less by our
films). The heated rod was of type 303, which our table has not: the bracket lies between our 304L,
10 % under its low end, and our 321 and 347, which are inside it.
"""
TRADE = """
Not a measurement: what is said of such a joint in the trade. It would show an answer wrong by
an order of magnitude, and no more. To its limit stainless steel waits five minutes in the mean,
carbon steel under one. Without a limit, waits of one and of three minutes lead to the
temperatures of the last rows: stainless steel is past its usual 175 degC either way.
"""
NOTES = {
    "Measured: walls left to cool": MEASURED,
    RODS: ROD_NOTE,
    "Common practice": TRADE,
}
RESTS = """
## What the default result rests on

Each bar is one number moved by itself, two shipped cases as they are shipped. Choices of the
model (filled) and doubts about the joint (hatched; 5 and 95 % of `thermo/interpass/trade/data/doubt.csv`,
or as named) are drawn to one scale.

![Change of two default results by modelling choice and by physical doubt](../figures/tornado.png)

"""
END = """
## What has not been validated

- **No measured TIG socket weld is available to us.** Nothing on this page compares the
  program with a thermocouple on such a joint. What is shown is that the equations are solved
  as stated, that properties and correlations are those of their sources, and that hot metal
  left alone cools as measured.
- **The arc.** How much of its power enters the metal (0.75, between 0.65 and 0.82 in the
  literature) is taken over, not tested; nor is how it spreads, nor what the filler and the
  torch gas take away. It is the largest doubt about a wait, unless a fan
  blows or jaws grip the fitting.
- **The fit-up.** End gap, clearance and how the pipe lies in the socket are as drawn. Here
  they hardly matter to a wait, by the model's own account; a real joint has not been asked.
- **The surfaces.** Emissivity of a welded, tinted, ground or painted pipe, draught in the
  shop, fan, purge gas and bore: from tables and correlations, each good to 10 to 20 % at best.
- **Near the arc** pool, heat affected zone, bore and root corner are the hottest of each cell of
  the ring. They agree with finite elements of the same equations; the flow in the pool is not
  modelled, but for a factor on its conductivity, nor is how a real arc lays its heat down. In
  three dimensions, right under a travelling arc, the default grid is up to 10 K off a finer
  program.
- **What holds the piece.** How much of the girth jaws touch, and how well, is common practice
  without a source; jaws stay as cold as the air.
- **Other shapes.** Elbows, tees and flanges are straightened into bodies of revolution. No
  check covers what that costs.
- **Numbers from memory** are marked so. They have not been held against a copy of the
  standard.

One joint of your own, measured with a thermocouple or a crayon and given to `interpass fit`,
is worth more than this page.
"""


def number(value):
    """Four to six figures, without a needless exponent."""
    text = f"{value:.6g}"
    return text if "e" not in text else f"{value:.3e}"


def short(value):
    """Two figures, or whole numbers from 100 on."""
    return f"{value:.0f}" if value >= 100 else f"{value:.2g}"


def line(check):
    """One row of a table."""
    difference = "-" if check.is_round_off else short(check.difference)
    what = check.what if not check.unit else f"{check.what} [{check.unit}]"
    cells = (what, f"{check.source} ({check.standing})", str(check.values),
             number(check.theirs), number(check.ours), difference,
             short(check.allowed), shown(check))  # fmt: skip
    return "| " + " | ".join(cells) + " |"


def group_table(name, checks):
    """Heading, table, where the checks are, and what is to be said of them."""
    mine = [c for c in checks if c.group == name]
    lines = [
        f"\n## {name}\n",
        "| what | source (standing) | values | theirs | ours | difference | allowed | digits |",
        "|---|---|--:|--:|--:|--:|--:|--:|",
        *map(line, mine),
    ]
    files = sorted({c.where.partition("::")[0] for c in mine})
    where = "\nIn " + ", ".join(f"`{f}`" for f in files) + ".\n"
    return "\n".join(lines) + "\n" + where + NOTES.get(name, "")


def summary(checks):
    """One row a group, as README shows it."""
    lines = [
        "| checked against | checks | values | fewest digits | half have at least | standing |",
        "|---|--:|--:|--:|--:|---|",
    ]
    for name in dict.fromkeys(c.group for c in checks):
        mine = [c for c in checks if c.group == name]
        mine.sort(key=lambda c: c.digits)
        standing = dict.fromkeys(c.standing for c in mine)
        lines.append(
            f"| {name} | {len(mine)} | {sum(c.values for c in mine)} | "
            f"{shown(mine[0])} | {shown(mine[len(mine) // 2])} | "
            f"{', '.join(standing)} |"
        )
    return "\n".join(lines) + "\n"


def shown(check):
    """Digits of a check."""
    if check.standing == "common practice" and check.digits < 1.0:
        return "in bracket"
    return "equal" if check.is_round_off else f"{check.digits:.1f}"


def rests(bars):
    """Numbers of the tornado, the furthest first."""
    lines = []
    for name, what in RESULTS.items():
        mine = [b for b in bars if b.case == name]
        lines += [
            f"`{name}`, {what}: {mine[0].default:.1f} s.\n",
            "| moved | kind | to | change, % | to | change, % |",
            "|---|---|---|--:|---|--:|",
        ]
        for bar in sorted(mine, key=lambda b: (b.kind != CHOICE, -b.reach)):
            low, high = (f"{c:+.1f}".replace("-0.0", "0.0").replace("+0.0", "0.0")
                         for c in bar.change)  # fmt: skip
            low = low if bar.low else ""
            lines.append(
                f"| {bar.what} | {bar.kind} | {bar.low} | {low} | {bar.high} | {high} |"
            )
        lines.append("")
    return "\n".join(lines)


def page(checks, bars):
    """All of ``EVIDENCE.md``."""
    groups = dict.fromkeys(c.group for c in checks)
    return "".join(
        [
            HEAD, "\n## In short\n\n", summary(checks),
            *(group_table(name, checks) for name in groups), RESTS, rests(bars), END,
        ]
    )  # fmt: skip
