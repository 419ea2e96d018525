"""Joints drawn at random over everything the tables and ranges allow; nothing asserts.

Each is the text of a case file, so that reading it is tried as well.
"""

import random
from dataclasses import replace

from hypothesis import strategies as st
from interpass.case_file.read import parse_case
from interpass.trade.rows import table_rows

WALLS = tuple(  # every size from NPS 1/8 to 4 with every schedule it has
    (row["size"], name) for row in table_rows("pipe") for name in row["schedules"].split()
)
SOCKETS = {
    kind: {(row["size"], row["pressure_class"]) for row in table_rows(kind)}
    for kind in ("socket", "flange")
}
METALS = ("304L", "316L", "321", "347", "2205", "625", "carbon steel", "1.25Cr-0.5Mo")
COPPER = "copper"  # has neither limit nor filler of its own
KINDS = ("coupling", "half coupling", "cap", "elbow", "tee", "flange")
MOST_PASSES = 12
AMPS = (5.0, 400.0)
AIR = (-40.0, 50.0)  # degC
"""Ranges a joint is drawn from."""


def numbers(low, high, digits=1):
    """Numbers as people write them."""
    steps = round((high - low) * 10**digits)
    return st.integers(0, steps).map(lambda n: round(low + n / 10**digits, digits))


@st.composite
def passes(draw):
    """Tables of one to twelve passes, most of them with few."""
    count = draw(st.integers(1, 4) | st.integers(1, MOST_PASSES))
    usual = draw(st.booleans())  # amps and travel as in a shop, or anything allowed
    amps = numbers(40, 160, 0) if usual else numbers(*AMPS)
    travel = numbers(40, 120, 0) if usual else numbers(5, 400, 0)
    lines = []
    for number in range(1, count + 1):
        lines += [
            "[[pass]]",
            f'current = "{draw(amps)} A"',
            f'travel = "{draw(travel)} mm/min"',
        ]
        if number > 1 and draw(st.integers(0, 3)) == 0:
            lines.append(f'wait = "{draw(numbers(0, 900, 0))} s"')
        deposit = draw(st.integers(0, 5))
        if deposit == 0:
            lines.append('wire = "none"')
        elif deposit == 1:
            lines.append(f'deposit = "{draw(numbers(0.5, 40))} mm^2"')
    return "\n".join(lines)


@st.composite
def surroundings(draw):
    """Air, fan, bore and what holds the piece."""
    lines = ["[surroundings]", f'air = "{draw(numbers(*AIR))} degC"']
    lines.append(f'axis = "{draw(st.sampled_from(["horizontal", "vertical"]))}"')
    lines.append(f"emissivity = {draw(numbers(0.0, 1.0, 2))}")
    bore = draw(st.sampled_from(["still air", "open", "argon purge", "insulated"]))
    lines.append(f'bore = "{bore}"')
    if draw(st.integers(0, 2)) == 0:
        speed, during = draw(numbers(0, 30)), draw(st.sampled_from(["always", "waits"]))
        lines.append(f'fan = {{ speed = "{speed} m/s", during = "{during}" }}')
    if draw(st.integers(0, 2)) == 0:
        lines.append(
            f'holding = {{ on = "{draw(st.sampled_from(["pipe", "fitting"]))}", '
            f'from_face = "{draw(numbers(0, 60, 0))} mm", '
            f'length = "{draw(numbers(1, 20, 0))} mm", '
            f'conductance = "{draw(numbers(0, 5000, 0))} W/m^2/K" }}'
        )
    if draw(st.integers(0, 5)) == 0:
        lines.append(f'start = "{draw(numbers(-40, 400, 0))} degC"')
    return "\n".join(lines)


@st.composite
def case_texts(draw):
    """Case files; some are joints that nobody can weld and that the program refuses."""
    metals = st.sampled_from([*METALS, COPPER])
    metal = draw(metals)
    other = draw(metals) if draw(st.integers(0, 4)) == 0 else metal
    long = st.just("long")
    pipe = draw(long | numbers(10, 400, 0).map("{} mm".format))
    limit = f'interpass_max = "{draw(numbers(80, 350, 0))} degC"'
    extra = 'filler = "ER316L"' if COPPER in {metal, other} else ""
    gap = draw(numbers(0, 4))
    kind = draw(st.sampled_from(KINDS))
    table = SOCKETS["flange" if kind == "flange" else "socket"]
    size, schedule = draw(st.sampled_from(WALLS))
    fits = sorted(rating for known, rating in table if known == size)
    rating = draw(st.sampled_from(fits or ["3000"]))
    return f"""
[pipe]
size = "NPS {size}"
schedule = "{schedule}"
material = "{metal}"
length = "{pipe}"
[fitting]
kind = "{kind}"
class = {rating}
material = "{other}"
[joint]
end_gap = "{gap} mm"
{extra}
[arc]
voltage = "{draw(numbers(8, 16))} V"
position = "{draw(st.sampled_from(["rotated", "fixed"]))}"
{draw(passes())}
[limits]
{limit if draw(st.booleans()) or extra else ""}
wait_max = "{draw(st.sampled_from(["30 s", "20 min", "3 h"]))}"
{draw(surroundings())}
[model]
ring = 1
end_after = "{draw(st.sampled_from([0, 60, 600]))} s"
"""


def warmer(case, by):
    """Return the case with air and piece warmer by so many K."""
    s = case.surroundings
    return replace(case, surroundings=replace(s, air=s.air + by, start=s.start + by))


def with_amps(case, number, factor):
    """Return the case with more current in one pass, and the power that goes with it."""
    changed = tuple(
        replace(p, current=p.current * factor, net_power=p.net_power * factor)
        if p.number == number
        else p
        for p in case.passes
    )
    return replace(case, passes=changed)


def with_waits(case, waits):
    """Return the case with its waits given."""
    changed = tuple(
        replace(p, wait=wait if p.number > 1 else p.wait)
        for p, wait in zip(case.passes, waits, strict=True)
    )
    return replace(case, passes=changed)


def joint_of(text):
    """Read a case file drawn here."""
    return parse_case(text, "drawn.toml")


OUTSIDE = {  # mm, ASME B36.10M, as in the package's own table
    "1/8": 10.3, "1/4": 13.7, "3/8": 17.1, "1/2": 21.3, "3/4": 26.7, "1": 33.4,
    "1 1/4": 42.2, "1 1/2": 48.3, "2": 60.3, "2 1/2": 73.0, "3": 88.9, "4": 114.3,
}  # fmt: skip


def usual_joints(count):
    """So many joints as a shop welds them, NPS 1/8 to 4, the same every time."""
    found, seed = [], 0
    while len(found) < count:
        seed += 1
        text = usual_joint(random.Random(seed))
        if text:
            found.append(parse_case(text, f"usual joint {seed}"))
    return found


def usual_joint(r):
    """Text of a case: two or three passes, waits to be found; none where no socket fits."""
    size, schedule = r.choice(WALLS)
    kind = r.choice(KINDS)
    table = SOCKETS["flange" if kind == "flange" else "socket"]
    ratings = sorted(rating for known, rating in table if known == size)
    if not ratings:
        return None
    metal, amps = r.choice(METALS), r.uniform(60, 90) + OUTSIDE[size] * 0.61
    passes = "".join(
        f'[[pass]]\ncurrent = "{amps + 5 * n:.0f} A"\n'
        f'travel = "{r.uniform(50, 80):.0f} mm/min"\n'
        for n in range(r.choice((2, 2, 3)))
    )
    return f"""
[pipe]
size = "NPS {size}"
schedule = "{schedule}"
material = "{metal}"
length = "{r.choice((60, 90, 150, 300))} mm"
[fitting]
kind = "{kind}"
class = {r.choice(ratings)}
material = "{metal}"
[arc]
voltage = "11 V"
position = "{r.choice(("rotated", "fixed"))}"
{passes}
[limits]
interpass_max = "{r.choice((120, 150, 175, 250))} degC"
wait_max = "3 h"
[surroundings]
emissivity = {r.choice((0.3, 0.5, 0.8))}
bore = "{r.choice(("still air", "open", "argon purge"))}"
"""
