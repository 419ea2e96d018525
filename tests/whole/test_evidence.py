"""The page of evidence is what comes out when its checks are run.

``tests/EVIDENCE.md`` and its figures are made by ``evidence/make_evidence.py`` from
``figures/evidence.csv`` and ``figures/tornado.csv``; here the checks behind those tables
are run again: the quick ones always, all of them with --runslow.
"""

from functools import cache

import joints
import numpy as np
import pytest
from evidence import in718, make_evidence, tornado, watch
from evidence.check import Compared, make_check, worst_of
from evidence.page import page

REMAKE = "run python tests/evidence/make_evidence.py"


@cache
def stored():
    return make_evidence.stored()


def assert_same(found):
    """Each check of the page comes out as it stands there, near ties aside."""
    on_page = {(c.group, c.what): c for c in stored()[0]}
    assert found
    for new in found:
        old = on_page.get((new.group, new.what))
        assert old, f"{new.what} is not on the page: {REMAKE}"
        said = (new.source, new.standing, new.unit, new.where)
        assert said == (old.source, old.standing, old.unit, old.where), REMAKE
        assert new.digits == pytest.approx(old.digits, abs=0.3), f"{new.what}: {REMAKE}"
        assert new.holds
        if not old.is_round_off:
            assert new.theirs == pytest.approx(old.theirs, rel=2e-3), REMAKE
            assert new.ours == pytest.approx(old.ours, rel=2e-3), REMAKE


def test_quick_checks_come_out_as_on_the_page():
    assert_same(make_evidence.all_checks(quick=True))


@pytest.mark.slow
def test_every_check_comes_out_as_on_the_page():
    found = make_evidence.all_checks()
    assert_same(found)
    assert [c.what for c in found] == [c.what for c in stored()[0]], REMAKE


def test_every_check_is_within_its_bound():
    checks, _ = stored()
    assert len(checks) > 70
    for check in checks:
        assert check.holds, check.what
        assert check.source
        assert check.standing
        assert check.allowed > 0


def test_page_is_made_of_the_tables():
    checks, bars = stored()
    text = make_evidence.PAGE.read_text(encoding="utf-8")
    assert text == page(checks, bars), REMAKE
    for stem in ("evidence", "tornado"):
        assert f"../figures/{stem}.png" in text
        assert (make_evidence.FIGURES / f"{stem}.png").stat().st_size > 10_000


# ------------------------------------------------------------------- what is noted


def test_what_a_test_compares_is_noted_with_its_bound():
    """A made-up test module: both ways of comparing, lists and arrays."""
    from types import ModuleType

    module = ModuleType("made_up")
    module.pytest, module.assert_allclose = pytest, np.testing.assert_allclose
    with watch.watched(module) as notes:
        assert module.pytest.approx(2.0, abs=0.1) == 2.05
        assert np.array([1.0, 3.0]) == module.pytest.approx([1.0, 3.0], rel=0.01)
        module.assert_allclose([5.0], [5.001], atol=0.1)
    assert module.pytest is pytest
    assert [list(n.theirs) for n in notes] == [[2.0], [1.0, 3.0], [5.001]]
    assert notes[0].allowed == pytest.approx([0.1])
    assert notes[1].allowed == pytest.approx([0.01, 0.03])
    assert notes[2].allowed == pytest.approx([0.1], rel=1e-5)


def test_a_test_that_fails_fails_here_too():
    from types import ModuleType

    module = ModuleType("made_up")
    module.pytest, module.assert_allclose = pytest, np.testing.assert_allclose
    with watch.watched(module):
        assert module.pytest.approx(2.0, abs=0.1) != 2.2
        with pytest.raises(AssertionError):
            module.assert_allclose([5.0], [5.2], atol=0.1)
    wrong = [Compared(np.array([2.2]), np.array([2.0]), np.array([0.1]))]
    with pytest.raises(AssertionError, match="beyond bound"):
        make_check(wrong, "group", "what", "source", "computed", "", "each", "here")


def test_digits():
    """1 in 1000 is three digits; round-off shows the largest value, and no difference."""
    pair = Compared(np.array([1.001, 50.0]), np.array([1.0, 50.0]), np.ones(2))
    assert worst_of([pair], "each")[-1] == pytest.approx(3.0, abs=1e-6)
    assert worst_of([pair], "largest")[-1] == pytest.approx(np.log10(50e3), abs=1e-6)
    assert worst_of([pair], 10.0)[-1] == pytest.approx(4.0, abs=1e-6)
    same = Compared(np.array([1.0, 50.0 + 1e-13]), np.array([1.0, 50.0]), np.ones(2))
    assert worst_of([same], "each") == (2, 50.0, 50.0, 0.0, 1.0, 10.0)


# ------------------------------------------------------------------- measured walls


def test_a_constant_film_would_not_pass_the_measured_walls():
    """What the page says of it; Kindermann et al. 2023 (measured), CC BY 4.0."""
    constant = in718.ratios(in718.constant_film_loss(in718.LEVELS))
    assert constant == pytest.approx([0.90, 0.80, 0.70], abs=5e-3)
    assert (constant > 1.05 * in718.measured_ratios()).all()
    assert in718.constant_films_best(42) == pytest.approx(18.1, abs=0.5)
    bright = in718.ratios(in718.loss(in718.LEVELS, emissivity=0.3))
    assert bright[-1] == pytest.approx(0.53, abs=5e-3)
    assert bright[-1] > 1.05 * in718.measured_ratios()[-1]


@pytest.mark.published
def test_measured_ratios_of_the_rate_of_cooling():
    """1 : 0.794 : 0.613 : 0.458 at 475, 425, 375 and 325 degC, from the record."""
    assert in718.measured_ratios() == pytest.approx([0.794, 0.613, 0.458], abs=6e-4)


def test_walls_that_cool_freely_share_a_loss():
    """Walls 40 and 42 were built alike, it seems: their losses agree within 3 %."""
    assert in718.fitted(40) == pytest.approx(in718.fitted(42), rel=0.03)


# ------------------------------------------------------------------- what it rests on


def test_defaults_of_the_tornado_are_the_shipped_cases():
    for name in tornado.RESULTS:
        default = tornado.result(name, joints.shipped(name))
        for bar in stored()[1]:
            if bar.case == name:
                assert bar.default == pytest.approx(default, rel=1e-4), REMAKE


def test_doubts_reach_further_than_choices():
    """What the figure is to show: the joint is the doubt, and not the arithmetic."""
    for name in tornado.RESULTS:
        mine = [b for b in stored()[1] if b.case == name]
        choices = [b.reach for b in mine if b.kind == tornado.CHOICE]
        doubts = [b.reach for b in mine if b.kind == tornado.DOUBT]
        assert max(choices) < 5.0
        assert max(doubts) > 2 * max(choices)
        assert sum(reach > 4.0 for reach in doubts) >= 5


def test_bars_say_what_the_program_has_now():
    """Every choice and doubt of the study is in the table, with the same ends."""
    for name in tornado.RESULTS:
        case = tornado.shipped_case(name)
        wanted = [
            (what, low[0], high[0])
            for what, low, high in (*tornado.CHOICES, *tornado.physical(case))
        ]
        found = [(b.what, b.low, b.high) for b in stored()[1] if b.case == name]
        assert found == wanted, REMAKE


def test_an_axisymmetric_bar_comes_out_as_in_the_table():
    bar = next(b for b in stored()[1] if b.high == "axisymmetric")
    case = tornado.shipped_case(bar.case)
    found = tornado.moved(bar.case, case, tornado.options(ring=1))
    assert found == pytest.approx(bar.at_high, rel=1e-4), REMAKE


@pytest.mark.slow
def test_every_bar_comes_out_as_in_the_table():
    for new, old in zip(tornado.study(), stored()[1], strict=True):
        assert (new.at_low, new.at_high) == pytest.approx(
            (old.at_low, old.at_high), rel=1e-4
        ), REMAKE
