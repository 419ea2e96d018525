"""Any log of any usual joint is reviewed, any readings are fitted, or they are refused in words.

What comes out is told in every form, without a number that is none, and judges itself no
better than its own numbers say.
"""

import csv
import io
import json
import random
import tomllib
from dataclasses import replace
from math import inf

import pytest
from interpass.heat.waits import plan
from interpass.logs.log import parse_log
from interpass.logs.review import OVER, review
from interpass.readings.file import parse_readings
from interpass.readings.fit import fit
from interpass.report import fit as fit_report
from interpass.report import review as review_report
from interpass.report.block import block
from interpass.results import fit as fit_data
from interpass.results import review as review_data
from interpass.rules.limits import FAIL
from interpass.text.errors import CaseError, RunError
from interpass.text.kinds import SI, US
from random_joints import usual_joints
from random_logs import random_log, random_readings
from terminal import no_constant

JOINTS = 12
FEW, BLOCKS, EACH = range(10), range(20), 25  # seeds; blocks of them when slow tests run
SAMPLES = 16


@pytest.fixture(scope="module")
def joints():
    """Usual joints on coarse cells, without a ring."""
    found = usual_joints(JOINTS)
    return [replace(c, model=replace(c.model, ring=1, cell=2e-3)) for c in found]


@pytest.fixture(scope="module")
def planned(joints):
    """Their plans by number, each made when it is asked for."""
    made = {}

    def ask(n):
        if n not in made:
            try:
                made[n] = plan(joints[n])
            except RunError as stopped:
                made[n] = stopped.history
        return made[n]

    return ask


def seeds(block):
    first = len(FEW) + block * EACH
    return range(first, first + EACH)


def assert_told(*texts):
    for text in texts:
        words = text.replace(",", " ").replace(":", " ").split()
        assert not {"nan", "inf", "-inf", "None"} & set(words), text


def assert_in_words(error):
    for one in error.mistakes:
        assert one.problem
        assert one.line
        assert one.remedy or "more mistakes" in one.problem, one
        assert "nan" not in str(one).lower().replace("=", " ").split()


def reviewed(joints, seed):
    """Review of a random log, without bands or with a few; None where it is refused."""
    r = random.Random(f"log {seed}")
    case = joints[r.randrange(JOINTS)]
    text = random_log(r, case)
    try:
        log = parse_log(text, len(case.passes))
    except CaseError as error:
        assert_in_words(error)
        return None
    now = r.choice((None, log.last_off + r.uniform(0, 900)))
    try:
        return review(case, log, now=now, quick=r.random() < 0.6, samples=SAMPLES)
    except RunError:
        return None


def assert_reviewed(found):
    for units in (SI, US):
        assert_told(
            review_report.text(found, units), review_report.first_screen(found, units)
        )
    entry = json.loads(review_data.json_text(found), parse_constant=no_constant)
    rows = list(csv.DictReader(io.StringIO(review_data.csv_text(found))))
    assert len(rows) == len(entry["passes"]) == len(found.log.passes)
    assert all("nan" not in row.values() for row in rows)
    assert abs(found.by_log.ledger.closure) < 1e-11
    if any(one.outcome == OVER for one in found.passes):
        assert found.verdict == FAIL
    if found.next and found.next.best is not None:
        assert 0 <= found.next.best < 1e6
        assert found.next.allow is None or found.next.allow >= 0
    hottest = (one.measured.low for one in found.passes[1:] if one.measured)
    strikes = (one.strike_at for one in found.passes[1:] if one.measured)
    cold = found.fit.readings if found.fit else ()
    flagged = {one.reading.line for one in cold if one.is_flagged}
    for read, most, one in zip(hottest, strikes, (p for p in found.passes[1:] if p.measured),
                               strict=True):  # fmt: skip
        if most is not None and read > most + 1.0 and one.measured.line not in flagged:
            assert one.outcome == OVER, (read, most)


def fitted(joints, planned, seed):
    """Fit of random readings; None where they are refused."""
    r = random.Random(f"readings {seed}")
    n = r.randrange(JOINTS)
    case, history = joints[n], planned(n)
    text = random_readings(r, case, history)
    try:
        readings = parse_readings(text, len(case.passes))
        return case, fit(case, readings, history=history, samples=SAMPLES)
    except CaseError as error:
        assert_in_words(error)
    except RunError:
        return None
    return None


def assert_fitted(case, found):
    for units in (SI, US):
        assert_told(
            fit_report.text(case, found, units),
            fit_report.first_screen(case, found, units),
        )
    json.loads(fit_data.json_text(case, found), parse_constant=no_constant)
    tomllib.loads(block(found))
    for number in found.numbers:
        before, after = number.before, number.after
        assert after.low <= after.best <= after.high, number
        wider = after.high - after.low > 1.05 * (before.high - before.low)
        ratio = (
            after.high / after.low if after.low > 0 else inf
        )  # most numbers are factors
        assert not wider or ratio <= 1.05 * before.high / before.low, number


@pytest.mark.parametrize("seed", FEW)
def test_random_logs_are_reviewed_or_refused(joints, seed):
    if found := reviewed(joints, seed):
        assert_reviewed(found)


@pytest.mark.slow
@pytest.mark.parametrize("block", BLOCKS)
def test_many_random_logs_are_reviewed_or_refused(joints, block):
    for seed in seeds(block):
        if found := reviewed(joints, seed):
            assert_reviewed(found)


@pytest.mark.parametrize("seed", FEW[:5])  # a fit costs ten times a quick review
def test_random_readings_are_fitted_or_refused(joints, planned, seed):
    if found := fitted(joints, planned, seed):
        assert_fitted(*found)


@pytest.mark.slow
@pytest.mark.parametrize("block", BLOCKS)
def test_many_random_readings_are_fitted_or_refused(joints, planned, block):
    for seed in seeds(block):
        if found := fitted(joints, planned, seed):
            assert_fitted(*found)


def test_most_random_files_are_read(joints):
    """Or the tests above would try nothing but the readers."""
    read, many = 0, range(100)
    for seed in many:
        r = random.Random(f"log {seed}")
        case = joints[r.randrange(JOINTS)]
        try:
            parse_log(random_log(r, case), len(case.passes))
            read += 1
        except CaseError as error:
            assert_in_words(error)
    assert read > 0.7 * len(many)
