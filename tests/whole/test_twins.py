"""Twin experiments, a few: bands hold the truth, readings help, wrong units are caught.

The full set, 200 joints against a finer ring, is `figures/make_twins.py`; its table is
checked here against what is claimed of it.
"""

import sys
from dataclasses import replace

import pytest
from terminal import ROOT
from twins import FINE, USUAL, random_case, summary, twin

sys.path.insert(0, str(ROOT / "figures"))
import make_twins

FLAT = replace(USUAL, ring=1)
FLAT_TRUTH = replace(FINE, ring=1, cell=0.8e-3)


@pytest.mark.slow
def test_small_set_of_twins():
    """Axisymmetric on both sides; 24 joints leave 90 % a spread of about 6 %."""
    rows = [row for seed in range(24) for row in twin(seed, FLAT, FLAT_TRUTH, 32)]
    found = summary(rows)
    assert found["joints"] == 24
    assert found["waits in band after"] > 0.75
    assert found["temperatures in band after"] > 0.75
    assert found["K off after, rms"] < found["K off before, rms"]
    assert found["wrong units caught"] >= 0.9


def test_one_twin():
    """A seed whose joint is well inside its bands."""
    (first, *_) = twin(3, FLAT, FLAT_TRUTH, 16)
    assert first.wait_low < first.true_wait < first.wait_high
    assert first.after_high - first.after_low < first.wait_high - first.wait_low
    assert not first.is_flagged
    assert first.swap_caught == 2


def test_joints_are_drawn_from_all_over_the_catalogue():
    import numpy as np

    cases = [random_case(np.random.default_rng(seed)) for seed in range(60)]
    drawn = [case for case in cases if case is not None]
    assert len(drawn) > 40
    assert len({case.pipe.size for case in drawn}) == 5
    assert len({case.fitting.kind for case in drawn}) == 5
    assert len({case.pipe.material.name for case in drawn}) >= 5


def test_table_of_the_full_set_says_what_is_claimed():
    text = make_twins.OUT.with_suffix(".csv").read_text(encoding="utf-8")
    rows = make_twins.read_table(text)
    found = summary(rows)
    assert found["joints"] >= 195
    make_twins.check(found)
    assert make_twins.table(rows).decode() == text
