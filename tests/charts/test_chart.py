"""Charts: the numbers of single plans, in any number of processes, stopped and resumed."""

import csv
import io
import json
import os
import random
import signal
import time
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import pytest
from charts.test_processes import cluster
from interpass.case_file.change import ChartError, with_setting
from interpass.case_file.read import read_case
from interpass.charts import chart as charting
from interpass.charts import solve as chart_solve
from interpass.charts.axes import parse_axes
from interpass.charts.joints import (
    DONE,
    IMPOSSIBLE,
    OUT_OF_REACH,
    Cell,
    ChartRow,
    case_of,
    run_cell,
)
from interpass.charts.journal import journal_path
from interpass.charts.solve import make_search, solve_cell
from interpass.heat.waits import plan
from interpass.report import chart as chart_report
from interpass.results.chart import csv_text, results
from interpass.rules.of_joint import table_currents
from interpass.text.files import case_text
from interpass.text.kinds import US
from interpass.text.records import harmless, json_text
from interpass.text.toml import case_table
from terminal import no_constant, start

TAPPING = Path(__file__).parents[1] / "data" / "gauge-tapping.toml"
OVER = ["size=1/8,1/2,3/4", "current=50 A..90 A/20 A"]
ARGUMENTS = [x for over in OVER for x in ("--over", over)]


def make(over=OVER, search=None, **changes):
    table = case_table(case_text(TAPPING))
    for key, value in changes.items():
        table = with_setting(table, key.replace("__", "."), value)
    return charting.make_chart(table, str(TAPPING), parse_axes(over), search)


def rows_of(chart, **options):
    rows = list(charting.run_chart(chart, **options))
    return sorted(rows, key=lambda row: row.number)


@pytest.fixture(scope="module")
def tapped():
    """A chart and its rows."""
    chart = make()
    return chart, rows_of(chart)


def test_a_row_is_the_plan_of_its_case(tapped):
    _, rows = tapped
    case = read_case(TAPPING)
    passes = tuple(replace(p, current=50.0, net_power=p.net_power * 50 / p.current)
                   for p in case.passes)  # fmt: skip
    history = plan(replace(case, passes=passes))
    row = rows[3]  # NPS 1/2, 50 A
    assert row.waits == pytest.approx([p.wait for p in history.passes[1:]], rel=1e-9)
    assert row.total == pytest.approx(history.passes[-1].arc_off, rel=1e-9)
    assert row.hottest == pytest.approx(573.15, abs=0.01)
    assert (row.state, row.is_auto) == (DONE, (True,))


def test_more_amps_wait_longer_and_more_metal_waits_shorter(tapped):
    _, rows = tapped
    waits = [[rows[3 * i + j].waits[0] for j in range(3)] for i in range(3)]
    assert all(a < b < c for a, b, c in waits[1:])
    assert all(small > large for small, large in zip(waits[1], waits[2], strict=True))


def test_two_processes_give_the_same_bits(tapped):
    chart, rows = tapped
    assert rows_of(chart, workers=2) == rows


@pytest.mark.slow
def test_a_cluster_gives_the_same_bits(tapped, tmp_path):
    pytest.importorskip("distributed")
    chart, rows = tapped
    with cluster(tmp_path) as (where, _):
        assert rows_of(chart, cluster=where) == rows


def test_what_is_done_is_not_run_again(tapped):
    chart, rows = tapped
    assert rows_of(chart, done=rows[2:]) == rows[:2]


def test_impossible_joints_are_marked_and_the_rest_goes_on():
    chart = make(
        ["schedule=80S,XXXS", "limit=300 degC,25 degC"], limits__wait_max="5 min"
    )
    good, slow, bad, _ = rows_of(chart)
    assert good.state == DONE
    assert slow.state == IMPOSSIBLE  # below the range of the key
    assert "allowed: 30 to 1000 degC" in slow.reason
    assert bad.state == IMPOSSIBLE
    assert "XXXS" in bad.reason


def test_a_wait_out_of_reach_is_marked():
    cell = Cell(0, make(limits__wait_max="10 s").table, (), str(TAPPING))
    row = run_cell(cell)
    assert row.state == OUT_OF_REACH
    assert "after 10 s of waiting" in row.reason
    assert row.total is None


def test_rules_not_met_are_named():
    row = run_cell(Cell(0, make(joint__leg="2 mm").table, (), str(TAPPING)))
    assert row.state == DONE
    assert "fillet leg asked for" in row.failed


@pytest.mark.slow
def test_allow_holds_more_than_the_best():
    row = run_cell(Cell(0, make().table, (), str(TAPPING), allow=True))
    assert row.allow[0] > row.waits[0]


# -- looking for a setting


def test_highest_current_is_the_last_ampere_that_keeps_the_wait():
    cell = Cell(0, make().table, (), str(TAPPING))
    row = solve_cell((cell, make_search("current", "40 s", None)))
    assert row.state == DONE
    assert row.solved == int(row.solved)
    assert row.waits[0] <= 40.0

    def wait(amps):
        return run_cell(replace(cell, settings=(("pass.current", f"{amps} A"),))).waits[0]

    assert wait(row.solved) == row.waits[0]
    assert wait(row.solved + 1) > 40.0


def test_lowest_limit_is_looked_for_from_the_other_side():
    cell = Cell(0, make().table, (), str(TAPPING))
    row = solve_cell((cell, make_search("limit", "40 s", "100 degC..500 degC/5 K")))
    degC = row.solved - 273.15
    assert degC == pytest.approx(5 * round(degC / 5), abs=1e-6)
    cooler = run_cell(
        replace(cell, settings=(("limits.interpass_max", f"{degC - 5:.9g} degC"),))
    )
    assert row.waits[0] <= 40.0 < cooler.waits[0]


def test_nothing_helps_and_everything_does():
    cell = Cell(0, make().table, (), str(TAPPING))
    hopeless = solve_cell((cell, make_search("current", "1 s", "60 A..90 A/1 A")))
    assert hopeless.state == IMPOSSIBLE
    assert "even at 60 A a wait takes" in hopeless.reason
    easy = solve_cell((cell, make_search("current", "1 h", "60 A..90 A/1 A")))
    assert (easy.solved, "end of the range" in easy.note) == (90.0, True)


def test_shortest_time_keeps_the_arc_energy():
    cell = Cell(0, make(pass__travel="60 mm/min").table, (), str(TAPPING))
    search = make_search("time", None, "40 A..120 A/10 A")
    row = solve_cell((cell, search))
    totals = {}
    least, most = table_currents(case_of(cell), case_of(cell).passes[0])
    for amps in (a for a in range(40, 121, 10) if (least or 0) <= a <= most):
        settings = chart_solve._settings(cell, search, float(amps))
        p = case_of(cell, settings).passes[1]
        assert p.current / p.travel == pytest.approx(75 / (0.06 / 60))
        totals[amps] = run_cell(replace(cell, settings=settings)).total
    assert row.total == pytest.approx(min(totals.values()), rel=1e-9)


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (("current", None, None), "needs the longest wait"),
        (("leg", "2 min", None), "known are current"),
        (("current", "2 A", None), "wait-max"),
        (("current", "2 min", "60 A..40 A/1 A"), "leads nowhere"),
    ],
)
def test_what_cannot_be_looked_for_is_told(asked, words):
    with pytest.raises(ChartError, match=words):
        make_search(*asked)


def test_what_is_looked_for_cannot_be_varied():
    with pytest.raises(ChartError, match="cannot be varied too"):
        make(OVER, make_search("current", "2 min", None))


def test_given_waits_cannot_be_shortened():
    cell = Cell(0, make(pass__2__wait="20 s").table, (), str(TAPPING))
    row = solve_cell((cell, make_search("current", "2 min", None)))
    assert row.state == IMPOSSIBLE
    assert "no pass waits for the limit" in row.reason


# -- what is printed


def test_table_has_a_line_for_every_joint(tapped):
    chart, rows = tapped
    words = chart_report.text(chart, rows[::-1])
    lines = [line.split() for line in words.splitlines() if line.startswith("NPS")]
    assert len(lines) == 9
    assert lines[3][:4] == ["NPS", "1/2", "50", "A"]
    assert max(map(len, words.splitlines())) <= 80
    assert lines[3][-1] == "300"
    us = chart_report.text(chart, rows, US).splitlines()
    assert next(x for x in us if x.startswith("NPS")).split()[-1] == "572"  # degF


def test_missing_rows_and_reasons_are_told_once():
    chart = make(["size=1/8,1/2,3/4"])
    rows = [ChartRow(0, IMPOSSIBLE, "too small"), ChartRow(1, IMPOSSIBLE, "too small")]
    words = chart_report.text(chart, rows)
    assert words.count("too small") == 1
    assert words.count("[1]") == 3
    assert "1 of 3 joints are not computed yet" in words


def test_json_and_csv_say_the_same(tapped):
    chart, rows = tapped
    data = json.loads(json_text(results(chart, rows)), parse_constant=no_constant)
    table = list(csv.DictReader(io.StringIO(csv_text(chart, rows))))
    assert (data["complete"], data["joints"], len(table)) == (True, 9, 9)
    for entry, line, row in zip(data["rows"], table, rows, strict=True):
        assert entry["over"]["current_A"] == float(line["current_A"])
        assert entry["waits_s"] == [round(row.waits[0], 2)] == [float(line["wait_2_s"])]
        assert entry["total_s"] == float(line["total_s"])
        assert entry["interpass_max_degC"] == 300.0


def test_no_cell_is_a_formula():
    chart = replace(make(["size=1/2"]), title="=1+1")
    rows = [ChartRow(0, IMPOSSIBLE, '=HYPERLINK("x")', failed=("@sum",), note="-2+3")]
    for line in csv.reader(io.StringIO(csv_text(chart, rows))):
        assert not [cell for cell in line if cell.startswith(("=", "+", "-", "@"))]
    assert [harmless(x) for x in ("+1", "\t=1", "a=b", -1.5)] == [
        "'+1",
        "'\t=1",
        "a=b",
        -1.5,
    ]


# -- the command


def test_command_prints_and_writes(run, tmp_path):
    out = tmp_path / "chart.csv"
    status, words, said = run("chart", TAPPING, *ARGUMENTS, "--csv", out, "--workers", 1)
    assert status == 0
    assert words.count("NPS") == 9
    assert said == f"Wrote {out}\n"
    assert len(out.read_text(encoding="utf-8").splitlines()) == 10
    assert not journal_path(out).exists()


def test_command_finds_a_current(run):
    options = ("--solve-for", "current", "--wait-max", "40 s", "--json", "--workers", 1)
    status, words, _ = run("chart", TAPPING, "--over", "size=1/2,3/4", *options)
    found = [row["found_current_A"] for row in json.loads(words)["rows"]]
    assert status == 0
    assert found[0] < found[1]


@pytest.mark.parametrize(
    ("arguments", "status", "words"),
    [
        ((), 2, "--over"),
        (("--over", "curent=1 A"), 2, "did you mean 'current'"),
        (("--over", "size=1/2", "--resume"), 2, "--resume needs"),
        (("--over", "size=1/2", "--figure", "x.gif"), 2, "must end in"),
        (("--over", "size=1/2", "--wait-max", "2 min"), 2, "belong to solve-for"),
        (("--over", "size=9/2"), 5, ""),
    ],
)
def test_command_tells_what_is_wrong(run, arguments, status, words):
    got, _, said = run("chart", TAPPING, *arguments)
    assert got == status
    assert words in said


def test_mistakes_of_the_case_come_with_their_line(run, tmp_path):
    bad = tmp_path / "bad.toml"
    text = TAPPING.read_text(encoding="utf-8").replace('"11 V"', '"11"')
    bad.write_text(text, encoding="utf-8")
    status, _, said = run("chart", bad, "--over", "size=1/2")
    assert status == 3
    assert "bad.toml:15" in said


# -- stopped, killed, resumed


def launch(out, *more):
    """Start the chart as a process with a group of its own, as a terminal would."""
    options = ("--csv", out, "--workers", "2", *more)
    return start("chart", TAPPING, *ARGUMENTS, *options, start_new_session=True)


def wait_for_rows(out, count, process):
    path = journal_path(out)
    until = time.monotonic() + 60
    while time.monotonic() < until and process.poll() is None:
        if path.exists() and path.read_bytes().count(b"\n") > count:
            return
        time.sleep(0.005)


def is_gone(group, seconds=1.0):
    """Whether every process of a group has ended within a time."""
    until = time.monotonic() + seconds
    while alive(group):
        if time.monotonic() > until:
            return False
        time.sleep(0.02)
    return True


def alive(group):
    """Processes of a group that have not ended; who reaps the dead is not our matter."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        with suppress(OSError):
            state, _, its_group = stat.read_text().rpartition(")")[2].split()[:3]
            if int(its_group) == group and state != "Z":
                found.append(stat.parent.name)
    return found


@pytest.fixture(scope="module")
def expected(tapped):
    """CSV of the chart that nobody stopped."""
    return csv_text(*tapped)


@pytest.mark.slow
def test_killed_it_goes_on_where_it_was(run, tmp_path, expected):
    out = tmp_path / "chart.csv"
    with launch(out) as process:
        wait_for_rows(out, 2, process)
        process.kill()
        process.communicate()
        assert is_gone(process.pid)  # its children too
    assert not out.exists()
    kept = journal_path(out).read_bytes()
    assert run("chart", TAPPING, *ARGUMENTS, "--csv", out, "--workers", 1)[0] == 2
    assert journal_path(out).read_bytes() == kept
    status, *_ = run(
        "chart", TAPPING, *ARGUMENTS, "--csv", out, "--resume", "--workers", 1
    )
    assert status == 0
    assert out.read_text(encoding="utf-8") == expected
    assert not journal_path(out).exists()


def test_stopped_by_the_user_it_ends_at_once_and_keeps_its_rows(tmp_path):
    out = tmp_path / "chart.csv"
    many = ["--over", "air=0 degC..30 degC/1 degC"]  # so that it is not done first
    with launch(out, *many) as process:
        wait_for_rows(out, 1, process)
        began = time.monotonic()
        os.killpg(process.pid, signal.SIGINT)
        _, said = process.communicate()
        took = time.monotonic() - began
        assert is_gone(process.pid)
    assert process.returncode == 130
    assert took < 1.5  # a second, and a busy machine
    assert "go on with --resume" in said
    assert "Traceback" not in said
    assert journal_path(out).read_bytes().count(b"\n") >= 2


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_killed_at_random_moments_no_row_is_lost_or_doubled(tmp_path, seed, expected):
    moment = random.Random(seed)
    out = tmp_path / "chart.csv"
    for attempt in range(30):
        with launch(out, *(["--resume"] if attempt else [])) as process:
            with suppress(Exception):
                process.wait(moment.uniform(0.5, 2.5 + attempt))
            process.kill()
            _, said = process.communicate()
            assert process.returncode in (0, -signal.SIGKILL), said
            assert is_gone(process.pid)
        if process.returncode == 0:
            break
    assert out.read_text(encoding="utf-8") == expected
