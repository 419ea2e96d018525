"""Checks of whole plans: heat that closes, choices that must not matter, the trade."""

from math import sqrt
from unittest.mock import patch

import joints
import numpy as np
from interpass.case_file.read import parse_case
from interpass.heat import march
from interpass.heat.waits import plan

from evidence.check import make_check, one

ENERGY, WAYS = "Energy is accounted for", "The same answer another way"
TRADE = "Common practice"
ITSELF = "the program against itself"
NPS_2 = """
title = "Three passes on NPS 2"
pipe = { size = "NPS 2", schedule = "80", material = "MATERIAL" }
fitting = { kind = "coupling", class = 3000 }
model = { ring = 1 }
limits = { interpass_max = "LIMIT degC" }
[[pass]]
current = "140 A"
turn = "0.9 rev/min"
[[pass]]
current = "140 A"
turn = "0.9 rev/min"
wait = "auto"
[[pass]]
current = "140 A"
turn = "0.9 rev/min"
wait = "auto"
"""
FEW_MINUTES = (20.0, 600.0)  # s: "about one to a few minutes", and as much again
UNLIMITED = (100.0, 450.0)  # degC: hot to the touch of no glove, and short of a red glow


def closure(ring):
    """Arc's heat against stored and lost, every shipped case."""
    ours, theirs = [], []
    for path in joints.CASES:
        cells = 1 if path.stem == "check-joint" else ring
        ledger = joints.shipped(path.stem, **({"ring": cells} if cells else {})).ledger
        ours.append(ledger.stored + sum(ledger.lost.values()))
        theirs.append(ledger.arc)
    found = [one(ours, theirs, 1e-9 * min(theirs))]
    what = "arc's heat against stored and lost, every shipped case"
    return make_check(
        found, ENERGY, what, "first law", "computed", "J", "each", "heat/test_waits.py"
    )


def wait_of(name, **model):
    """Wait before pass 2 of a shipped case [s]."""
    return joints.shipped(name, **model).passes[1].wait


def another_way(what, ours, theirs, share):
    """Wait with a choice made otherwise; ``share`` of it may change."""
    found = [one(ours, theirs, share * theirs)]
    return make_check(
        found, WAYS, what, ITSELF, "computed", "s", "each", "evidence/joint_checks.py"
    )


def twice_the_ring_steps():
    """Steps of an eighth of the arc's spread instead of a quarter."""
    usual = wait_of("sampling-stub")
    with patch.object(march, "STEPS_PER_SPREAD", 2 * march.STEPS_PER_SPREAD):
        finer = plan(joints.read_case(joints.ROOT / "cases" / "sampling-stub.toml"))
    return another_way("wait with twice the steps round the ring",
                       finer.passes[1].wait, usual, 2e-3)  # fmt: skip


def choices():
    """Twice the ring, half the cell, the bead behind the arc, one ring of 1 and 48."""
    usual = wait_of("sampling-stub")
    yield twice_the_ring_steps()
    yield another_way("wait with twice the cells round the ring",
                      wait_of("sampling-stub", ring=96), usual, 0.01)  # fmt: skip
    behind = wait_of("sampling-stub", bead="behind the arc")
    yield another_way("wait with the bead laid behind the arc", behind, usual, 0.002)


def half_the_cell():
    """Axisymmetric, so that it is quick."""
    ours = wait_of("sampling-stub", ring=1, cell=0.5e-3)
    usual = wait_of("sampling-stub", ring=1)
    return another_way("axisymmetric wait with half the cell", ours, usual, 0.03)


def mean_wait(material, limit):
    """Mean wait of three passes of 140 A round NPS 2 Sch 80 [s]."""
    text = NPS_2.replace("MATERIAL", material).replace("LIMIT", str(limit))
    history = plan(parse_case(text))
    assert history.complete
    return float(np.mean([p.wait for p in history.passes[1:]]))


def few_minutes():
    """Stainless to 175 degC and carbon steel to 250 degC, bracket 20 s to 10 min.

    Nobody's measurement: what welders say of such a joint, which only shows that the
    answer is not off by an order of magnitude.
    """
    low, high = FEW_MINUTES
    ours = [mean_wait("316L", 175), mean_wait("carbon steel", 250)]
    assert all(low < wait < high for wait in ours)
    found = [one(ours, [sqrt(low * high)] * 2, high - sqrt(low * high))]
    what = "NPS 2, three passes, 140 A, 0.9 rev/min: a minute to a few between passes"
    return make_check(
        found, TRADE, what, "no source; bracket 20 s to 10 min", "common practice", "s",
        "each", "evidence/joint_checks.py",
    )  # fmt: skip


def before_last(material, wait):
    """Hottest before pass 3 of the same joint after given waits, no limit [degC]."""
    text = NPS_2.replace("MATERIAL", material).replace("LIMIT", "300")
    history = plan(parse_case(text.replace('"auto"', f'"{wait} s"')))
    return history.passes[-1].at_arc_on.hottest - 273.15


def without_a_limit():
    """What waits of a minute and of three lead to; nobody's measurement either."""
    low, high = UNLIMITED
    middle = (low + high) / 2
    for material in ("316L", "carbon steel"):
        for minutes in (1, 3):
            found = [one(before_last(material, 60 * minutes), middle, high - middle)]
            what = (
                f"the same in {material}, waits of {minutes} min, no limit: before pass 3"
            )
            yield make_check(
                found, TRADE, what, "no source; bracket 100 to 450 degC", "common practice",
                "degC", "each", "evidence/joint_checks.py",
            )  # fmt: skip


def joint_checks(*, quick=False):
    """Checks of whole plans; the quick ones are axisymmetric."""
    if quick:
        return [half_the_cell(), few_minutes(), *without_a_limit()]
    return [closure(None), half_the_cell(), *choices(), few_minutes(), *without_a_limit()]
