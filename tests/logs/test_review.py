"""Welds judged by their logs: what is over, what says so, and the next wait."""

import csv
import io
import json
from dataclasses import replace
from math import ceil, inf

import pytest
from interpass.doubt.bands import find_bands
from interpass.doubt.families import pick
from interpass.heat.history import planned_wait
from interpass.logs.log import parse_log
from interpass.logs.review import OPEN, OVER, WITHIN, against, review
from interpass.readings.reading import Reading
from interpass.report import review as review_report
from interpass.results import review as review_data
from interpass.rules.limits import FAIL, PASS
from interpass.text.errors import ExitStatus
from interpass.text.kinds import SI, US
from terminal import STUB, no_constant

SAMPLES = 16
HEAD = "pass,arc_on_s,arc_off_s,interpass_degC,seconds,temp_degC,instrument,note\n"


@pytest.fixture(scope="module")
def planned(stub):
    """The plan's arc on and arc off of both passes, in seconds; the wait rounded up."""
    first, second = stub[1].passes
    off = ceil(first.arc_off)
    on = off + ceil(second.wait) + 1
    return [(0, off), (on, on + round(second.arc_off - second.arc_on))]


def log_of(planned, wait=None, before="", lines="", passes=2):
    """A log of the stub: the wait, what was read before pass 2, other readings."""
    (on, off), (on2, off2) = planned
    if wait is not None:
        on2, off2 = off + wait, off + wait + off2 - on2
    text = f"{HEAD}1,{on},{off},,,,,\n"
    if passes == 2:
        text += f"2,{on2},{off2},{before},,,contact pyrometer,\n"
    return parse_log(text + lines, 2)


@pytest.fixture(scope="module")
def quickly(stub, planned):
    """Review a log of the stub without bands."""
    return lambda **log: review(stub[0], log_of(planned, **log), quick=True)


@pytest.fixture(scope="module")
def whole(stub, planned):
    """A log with readings, reviewed with everything."""
    lines = "1,,,,45,414,contact pyrometer,\n"
    log = log_of(planned, wait=430, before=159, lines=lines)
    return review(stub[0], log, samples=SAMPLES)


def rules(found, verdict):
    return [c.rule for c in found.checks if c.verdict == verdict]


def test_a_weld_as_planned_holds_the_limit(quickly, stub):
    found = quickly()
    two = found.passes[1]
    assert (two.outcome, two.by) == (WITHIN, "predicted")
    assert two.done.at_arc_on.hottest == pytest.approx(448.15, abs=0.5)
    assert two.planned.wait == pytest.approx(stub[1].passes[1].wait)
    assert found.verdict == PASS
    assert found.next is None
    assert not list(review_report.deviations(found))


def test_a_wait_too_short_is_over_by_the_prediction(quickly, stub):
    found = quickly(wait=300)
    assert (found.passes[1].outcome, found.passes[1].by) == (OVER, "predicted")
    assert rules(found, FAIL) == ["interpass maximum predicted, pass 2"]
    assert found.verdict == FAIL
    (told,) = review_report.deviations(found)
    short = planned_wait(stub[1].passes[1]) - 300  # as the table has it
    assert told.startswith(f"pass 2: waited 5 min, 1 min {short - 60:.0f} s shorter")


@pytest.mark.parametrize(
    ("wait", "read", "outcome", "by"),
    [
        (430, "158", WITHIN, "measured and predicted"),
        (430, "176", OVER, "measured"),
        (300, "170", OVER, "predicted"),
        (300, "180", OVER, "measured and predicted"),
        (430, "melted 175", OVER, "measured"),
        (430, "not melted 175", WITHIN, "measured and predicted"),
        (430, "melted 150", WITHIN, "predicted"),
        (430, "not melted 200", WITHIN, "predicted"),
    ],
)
def test_what_says_so(quickly, wait, read, outcome, by):
    found = quickly(wait=wait, before=read)
    two = found.passes[1]
    assert (two.outcome, two.by) == (outcome, by)
    assert two.before_arc == 0.0
    assert found.verdict == (FAIL if outcome == OVER else PASS)
    failed = " ".join(rules(found, FAIL))
    assert ("measured" in failed, "predicted" in failed) == (
        outcome == OVER and "measured" in by,
        outcome == OVER and "predicted" in by,
    )


@pytest.mark.parametrize(
    ("low", "high", "told"),
    [
        (448.15, 448.15, WITHIN), (448.3, 448.3, OVER), (448.15, inf, OVER),
        (448.0, inf, OPEN), (-inf, 448.15, WITHIN), (-inf, 449.0, OPEN),
        (440.0, 448.0, WITHIN), (440.0, 460.0, OPEN), (450.0, 460.0, OVER),
    ],
)  # fmt: skip
def test_readings_against_a_limit(low, high, told):
    assert against(Reading(1, 300.0, low, high), 448.15) == told


def test_only_a_reading_just_before_the_arc_is_the_interpass_temperature(quickly):
    early = quickly(wait=430, lines="1,,,,390,180,,\n").passes[1]
    assert early.measured is None
    late = quickly(wait=430, lines="1,,,,410,180,,\n").passes[1]
    assert late.outcome == OVER
    assert late.before_arc == pytest.approx(20.0)


def test_a_cold_piece_fails_its_preheat(stub, planned):
    case = stub[0]
    case = replace(case, limits=replace(case.limits, preheat_min=300.0))
    log = log_of(planned, passes=1)
    assert "preheat minimum, pass 1" in rules(review(case, log, quick=True), FAIL)
    warm = log.at_start or Reading(0, 0.0, 310.0, 310.0)
    found = review(case, replace(log, at_start=warm), quick=True)
    assert "preheat minimum, pass 1" in rules(found, PASS)
    assert "the piece was at 37 degC, planned 20 degC" in next(
        iter(review_report.deviations(found))
    )


def test_a_prediction_a_little_over_is_over_as_in_the_plan(stub, planned, quickly):
    """No slack of its own: review and plan judge by the same number."""
    hottest = quickly().passes[1].done.at_arc_on.hottest
    for over, verdict in ((0.3, FAIL), (0.001, PASS)):
        limits = replace(stub[0].limits, interpass_max=hottest - over)
        found = review(replace(stub[0], limits=limits), log_of(planned), quick=True)
        assert found.verdict == verdict


def test_a_reading_decides_by_the_reading_to_strike_by(stub, planned):
    """Between that and the limit it is over; below, it overrules the prediction."""
    strike = find_bands(*stub, samples=SAMPLES).passes[1].strike_at - 273.15
    assert strike < 170
    for wait, read, outcome, by in (
        (430, strike + 3, OVER, "measured and predicted"),
        (430, strike - 3, WITHIN, "measured and predicted"),
        (300, strike - 1, WITHIN, "measured"),
        (430, 30.0, WITHIN, "predicted"),  # colder than it can be: decides nothing
        (300, 30.0, OVER, "predicted"),
    ):
        found = review(stub[0], log_of(planned, wait, f"{read:.2f}"), samples=SAMPLES)
        two = found.passes[1]
        assert two.strike_at == pytest.approx(strike + 273.15)
        assert (two.outcome, two.by) == (outcome, by), (wait, read)
        assert found.verdict == (FAIL if outcome == OVER else PASS)
        entry = json.loads(review_data.json_text(found))["passes"][1]
        assert entry["strike_at_degC"] == pytest.approx(strike, abs=0.01)


def test_the_next_wait_tells_the_plan_s_reading_to_strike_by(stub, planned):
    strike = find_bands(*stub, samples=SAMPLES).passes[1].strike_at
    found = review(stub[0], log_of(planned, passes=1), samples=SAMPLES)
    assert found.next.strike_at == strike


# what comes next


def test_next_wait_without_a_reading_is_that_of_the_joint_as_welded(stub, planned):
    found = review(stub[0], log_of(planned, passes=1), samples=SAMPLES)
    assert found.next.number == 2
    assert found.next.best == pytest.approx(stub[1].passes[1].wait, abs=1.0)
    assert found.next.allow > found.next.best
    assert found.next.reading is None


@pytest.mark.parametrize(("samples", "within"), [(128, 4.0), (4096, 2.0)])
def test_a_reading_picks_the_next_wait_as_the_plan_s_own_curves_do(
    stub, planned, samples, within
):
    """What a welder finds from the plan's family, and here, is the same within 2 s.

    With few samples they differ more: the travel that was timed is no doubtful number
    here, so other joints are drawn.
    """
    case, history = stub
    (family,) = find_bands(case, history, samples=samples).families
    log = log_of(planned, passes=1, lines="1,,,,45,422,,\n")
    found = review(case, log, samples=samples)
    _, best, allow = pick(family, 45.0, 422 + 273.15)
    assert found.next.reading.low == pytest.approx(422 + 273.15)
    assert found.next.best == pytest.approx(best, abs=within)
    assert found.next.allow == pytest.approx(allow, abs=2 * within)
    assert found.next.best > history.passes[1].wait + 20


def test_a_hotter_reading_asks_for_a_longer_wait(stub, planned):
    waits = []
    for degC in (400, 415, 430):
        lines = f"1,,,,45,{degC},,\n"
        log = log_of(planned, passes=1, lines=lines)
        waits.append(review(stub[0], log, samples=SAMPLES).next.best)
    assert waits == sorted(waits)
    assert waits[2] - waits[0] > 20


@pytest.mark.parametrize("degC", [(414 - 32) / 1.8, 25])
def test_a_reading_too_cold_for_any_joint_picks_nothing(stub, planned, degC):
    log = log_of(planned, passes=1, lines=f"1,,,,45,{degC},,\n")
    found = review(stub[0], log, samples=SAMPLES)
    assert found.next.reading is None
    assert found.next.refused
    assert found.next.best == pytest.approx(stub[1].passes[1].wait, abs=1.0)
    assert "The newest reading is not used" in review_report.text(found)


@pytest.mark.parametrize("degC", [414 * 1.8 + 32, 560])
def test_a_reading_hotter_than_the_joint_can_be_stops_the_go_ahead(stub, planned, degC):
    """No clock: it is until the reading is met; and never dropped silently."""
    log = log_of(planned, passes=1, lines=f"1,,,,45,{degC},,\n")
    found = review(stub[0], log, samples=SAMPLES)
    assert found.next.hot is log.readings[0]
    assert (found.next.best, found.next.allow) == (None, None)
    assert found.verdict == FAIL
    text = " ".join(review_report.text(found).split())
    strike = int(found.next.strike_at - 273.15)
    assert f"wait until it reads {strike} degC, and find out why" in text
    assert "best" not in text.split("Next: pass 2")[1].split("Verdict")[0]
    entry = json.loads(review_data.json_text(found))
    assert entry["next"]["best_s"] is None
    assert entry["next"]["stopped_by"]["at_most_degC"] == pytest.approx(degC, abs=0.01)
    assert entry["verdict"] == "fail"


def test_a_later_reading_the_joint_can_have_gives_the_wait_again(stub, planned):
    lines = "1,,,,20,700,,\n1,,,,45,414,,\n"
    found = review(stub[0], log_of(planned, passes=1, lines=lines), samples=SAMPLES)
    assert found.next.hot is None
    assert found.next.best > 300
    assert rules(found, FAIL) == ["reading a joint can have, after pass 1"]


def test_no_prediction_overrules_a_hotter_reading(stub, planned):
    """Read 3 K too hot when the wait was over: wait on until it is met."""
    strike = find_bands(*stub, samples=SAMPLES).passes[1].strike_at - 273.15
    for since in (455, 490):
        line = f"1,,,,{since},{strike + 3:.2f},,\n"
        found = review(stub[0], log_of(planned, passes=1, lines=line), samples=SAMPLES)
        assert found.next.reading is not None
        assert found.next.allow > since + 4
        assert since <= found.next.best <= found.next.allow


def test_now_is_counted_off(stub, planned):
    off = planned[0][1]
    found = review(stub[0], log_of(planned, passes=1), now=off + 100.0, quick=True)
    entry = json.loads(review_data.json_text(found))["next"]
    assert entry["best_from_now_s"] == pytest.approx(entry["best_s"] - 100.0, abs=0.02)
    late = replace(found, now=off + 5000.0)
    assert json.loads(review_data.json_text(late))["next"]["best_from_now_s"] == 0.0
    none = replace(found, next=replace(found.next, best=0.0))  # cool enough at arc off
    assert json.loads(review_data.json_text(none))["next"]["best_from_now_s"] == 0.0


def test_a_limit_out_of_reach_is_told(stub, planned):
    case = stub[0]
    case = replace(case, limits=replace(case.limits, wait_max=60.0))
    found = review(case, log_of(planned, passes=1), quick=True)
    assert found.next.best is None
    assert "after 60 s of waiting" in review_report.text(found)


def test_a_wait_given_in_the_case_is_not_trusted_blindly(given_waits):
    """Two minutes are given before pass 3, and the joint is far too hot by then."""
    case, history = given_waits
    lines = [f"{p.number},{p.arc_on:.1f},{p.arc_off:.1f}\n" for p in history.passes[:2]]
    log = parse_log("pass,arc_on_s,arc_off_s\n" + "".join(lines), 3)
    found = review(case, log, quick=True)
    assert found.next.given == 120.0
    assert found.next.best > 300.0
    assert "The case gives 2 min: too short for the joint as it is." in " ".join(
        review_report.text(found).split()
    )


# readings


def test_readings_correct_the_prediction(whole):
    two = whole.passes[1]
    assert whole.fit is not None
    assert two.hottest.high - two.hottest.low < 20
    assert two.hottest.low < two.done.at_arc_on.hottest < two.hottest.high
    assert whole.verdict == PASS


def test_heat_input_is_that_of_the_log_whatever_the_readings_say(whole, quickly):
    plain = quickly(wait=430)
    for a, b in zip(whole.passes, plain.passes, strict=True):
        assert a.as_logged.arc_energy == b.as_logged.arc_energy
        assert a.as_logged.net_energy == b.as_logged.net_energy


# the record


def test_text_fits_the_terminal_and_says_what_counts(whole):
    for units in (SI, US):
        text = review_report.text(whole, units)
        assert max(map(len, text.splitlines())) <= 80
        assert "within, both" in text
        assert text.endswith("Verdict: every limit was held.\n")
    assert "347 degF" in text
    assert "degC" not in text.split("Checks")[0]


def test_text_of_a_weld_over_the_limit(quickly):
    text = " ".join(review_report.text(quickly(wait=300, before="170"), US).split())
    assert "OVER, predicted" in text
    assert "what was read is not over the limit" in text
    assert "NOT MET. interpass maximum predicted, pass 2" in text


def test_a_flagged_reading_still_counts_for_the_verdict(stub, planned):
    log = log_of(planned, wait=430, before=262)
    found = review(stub[0], log, samples=SAMPLES)
    assert found.fit.readings[0].is_flagged
    assert (found.passes[1].outcome, found.passes[1].by) == (OVER, "measured")
    text = " ".join(review_report.text(found).split())
    assert "flagged below as no reading of this joint; the verdict counts it all" in text
    assert "No reading was used: the prediction is the log's alone." in text


def test_json_is_json(whole):
    entries = json.loads(review_data.json_text(whole), parse_constant=no_constant)
    two = entries["passes"][1]
    assert two["outcome"] == "within"
    assert two["measured"]["at_most_degC"] == 159.0
    low, best, high = (two["predicted_hottest_degC"][k] for k in ("low", "best", "high"))
    assert low < best < high
    assert entries["fit"]["readings_used"] == 2
    assert entries["verdict"] == "pass"
    assert review_data.json_text(whole) == review_data.json_text(whole)


def test_crayons_leave_no_infinity_in_the_json(quickly):
    found = quickly(wait=430, before="melted 150")
    entries = json.loads(review_data.json_text(found), parse_constant=no_constant)
    assert entries["passes"][1]["measured"]["at_most_degC"] is None


def test_record_has_a_line_for_each_pass(whole):
    first, second = csv.DictReader(io.StringIO(review_data.csv_text(whole)))
    assert (first["number"], first["outcome"], first["limit_degC"]) == ("1", "", "")
    assert second["read_at_least_degC"] == "159.0"
    assert second["wait_s"] == "430.0"
    assert second["by"] == "measured and predicted"
    assert float(second["heat_input_kJ_per_mm"]) == pytest.approx(
        0.6 * float(second["arc_energy_kJ_per_mm"]), rel=1e-4
    )


@pytest.mark.parametrize(
    "cell", ["=1+1", "+1", "-1", "@SUM(A1)", "=cmd|' /C calc'!A0", " =1+1", "\t=1"]
)
def test_no_cell_of_the_record_is_a_formula(stub, planned, cell):
    """What others wrote is made harmless; our own numbers stay numbers."""
    quoted = f'"{cell}"'
    log = parse_log(f"{HEAD}1,0,84,,,,,{quoted}\n2,480,572,150,,,{quoted},{quoted}\n", 2)
    case = replace(stub[0], title=cell)
    rows = list(csv.DictReader(io.StringIO(review_data.csv_text(
        review(case, log, quick=True)
    ))))  # fmt: skip
    for row in rows:
        for name in ("title", "notes", "instrument"):
            assert not row[name].lstrip().startswith(("=", "+", "-", "@"))
    assert float(rows[0]["predicted_hottest_best_degC"]) == 20.0


# the command


@pytest.fixture
def log_file(tmp_path, planned):
    def write(text):
        path = tmp_path / "weld.csv"
        path.write_text(text, encoding="utf-8")
        return path

    return write


GOOD = "pass,arc_on,arc_off\n1,14:00:00,14:01:24\n2,14:09:00,14:10:32\n"
SHORT = GOOD.replace("14:09:00", "14:05:00").replace("14:10:32", "14:06:32")
PART = "pass,arc_on,arc_off\n1,23:58:00,23:59:24\n"
QUICK = ("--axisymmetric", "--quick")


def test_exit_status_tells_whether_the_limit_was_held(run, log_file):
    assert run("review", STUB, log_file(GOOD), *QUICK)[0] == ExitStatus.OK
    assert run("review", STUB, log_file(SHORT), *QUICK)[0] == ExitStatus.LIMIT


def test_mistakes_of_a_log_are_told_by_line(run, log_file):
    path = log_file("pass,arc_on,arc_off\n1,14:00:00,13:00:00\n")
    status, out, err = run("review", STUB, path, *QUICK)
    assert status == ExitStatus.CASE
    assert out == ""
    assert f"{path}:2: arc_off 13:00:00 is before" in err


def test_exit_status_when_the_joint_is_hotter_than_it_can_be(run, log_file):
    text = "pass,arc_on_s,arc_off_s,seconds,temp_degC\n1,0,84,,\n1,,,45,620\n"
    status, out, _ = run("review", STUB, log_file(text), "--axisymmetric")
    assert status == ExitStatus.LIMIT
    assert "hotter than this joint can be" in " ".join(out.split())


def test_the_next_wait_by_the_clock_past_midnight(run, log_file):
    asked = ("review", STUB, log_file(PART), *QUICK, "--now", "00:01:24")
    status, out, _ = run(*asked, "--full")
    assert status == ExitStatus.OK
    assert "Next: pass 2" in out
    assert "Now: 00:01:24" in out
    (row,) = [line.split() for line in out.splitlines() if line.startswith("typical ")]
    total, left, at = row[1:]
    first = " ".join(run(*asked)[1].split())
    assert f"Now, pass 2: wait {left} (typical), then strike only if the place" in first
    assert first.index("Now, pass 2") < first.index("Verdict: ")
    assert seconds(total) - seconds(left) == 120
    assert seconds(at) == (seconds("23:59:24") + seconds(total)) % 86400


def seconds(text):
    parts = [int(part) for part in text.split(":")]
    return sum(part * 60**n for n, part in enumerate(reversed(parts)))


@pytest.mark.parametrize("now", ["soon", "480", "14:05", "23:59:00"])
def test_a_now_that_cannot_be(run, log_file, now):
    status, _, err = run("review", STUB, log_file(PART), *QUICK, "--now", now)
    assert status == ExitStatus.USAGE
    assert now in err


def test_files_are_written_and_the_same_again(run, log_file, tmp_path):
    path, folder, record = log_file(GOOD), tmp_path / "out", tmp_path / "record.csv"
    told = []
    for _ in range(2):
        run("review", STUB, path, *QUICK, "--out", folder, "--csv", record)
        told.append({f.name: f.read_bytes() for f in sorted(folder.iterdir())})
    assert told[0] == told[1]
    endings = ("csv", "json", "png", "svg", "txt")
    assert list(told[0]) == [f"weld.review.{ending}" for ending in endings]
    assert record.read_bytes() == told[0]["weld.review.csv"]


def test_json_of_the_command(run, log_file):
    _, out, _ = run("review", STUB, log_file(PART), *QUICK, "--json")
    entries = json.loads(out, parse_constant=no_constant)
    assert entries["first_arc_on"] == "23:58:00"
    assert entries["passes_welded"] == 1
    assert entries["next"]["allow_s"] is None


def test_a_log_over_a_change_of_clocks_does_not_pass_what_fails(run, tmp_path):
    """Four minutes were waited; by the clock it looks like an hour and four."""
    log = tmp_path / "log.csv"
    spring = ("2026-03-29 01:56:30", "2026-03-29 01:58:00", "2026-03-29 03:02:00",
              "2026-03-29 03:03:30")  # fmt: skip
    zones = ("+01:00", "+01:00", "+02:00", "+02:00")

    def reviewed(*clocks, options=("--json",)):
        log.write_text("pass,arc_on,arc_off\n1,{},{}\n2,{},{}\n".format(*clocks))
        return run("review", STUB, log, "--quick", "--axisymmetric", *options)

    status, out, _ = reviewed(*(c + z for c, z in zip(spring, zones, strict=True)))
    assert (status, json.loads(out)["remarks"]) == (ExitStatus.LIMIT, [])
    status, _, err = reviewed(*spring)
    assert status == ExitStatus.CASE
    assert "put forward" in err
    bare = [c[11:] for c in spring]
    status, out, _ = reviewed(*bare)
    (told,) = json.loads(out)["remarks"]
    _, screen, _ = reviewed(*bare, options=())
    assert "hotter than said" in told
    assert " ".join(told.split()[:12]) in " ".join(screen.split())
