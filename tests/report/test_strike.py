"""When to read, in words: rounded to what a shop times, and where it tells more."""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from interpass.case_file.read import read_case
from interpass.joint.case import Holding
from interpass.report.strike import SAFE, Strike, when_words, why_below
from interpass.text.kinds import SI
from terminal import ROOT


def bands(*moments):
    rows = [
        SimpleNamespace(number=n, read_after=moment)
        for n, moment in enumerate((None, *moments), start=1)
    ]
    return SimpleNamespace(passes=rows)


@pytest.fixture(scope="module")
def stub():
    return read_case(ROOT / "cases/sampling-stub.toml")


@pytest.mark.parametrize(
    ("moments", "told"),
    [
        ((207.4,), "at about 3:25 after arc off."),
        ((1.0,), "at about 0:05 after arc off."),
        ((76.0, 218.0), "at about 1:15 (before pass 2), 3:40 (before pass 3) after"),
        ((None, 218.0), "at about 3:40 after"),
    ],
)
def test_moments_are_told_as_a_shop_times_them(stub, moments, told):
    assert told in when_words(stub, bands(*moments))


def test_nothing_is_told_without_bands(stub):
    assert when_words(stub, None) == when_words(stub, bands(None)) == ""


def test_a_held_fitting_is_the_better_place(stub):
    held = Holding("fitting", 10e-3, 20e-3, 300.0, 0.16, "chuck")
    case = replace(stub, surroundings=replace(stub.surroundings, holding=held))
    assert "more on the fitting" in when_words(case, bands(100.0))
    there = replace(case, measure=replace(case.measure, on="fitting"))
    assert "fitting" not in when_words(there, bands(100.0))


@pytest.mark.parametrize(
    ("above", "is_told"), [(-3.0, True), (5.0, True), (15.0, False), (100.0, False)]
)
def test_a_reading_that_can_hardly_be_had_is_told(stub, above, is_told):
    """A place so far off that it must read less than the air would never let him strike."""
    reading = stub.surroundings.air + above
    words = why_below(stub, [Strike(2, 5.0, SAFE, 5.0, reading, 3.0)], SI)
    assert ("BEFORE PASS 2 THE PLACE MARKED HARDLY WARMS" in words) == is_told
