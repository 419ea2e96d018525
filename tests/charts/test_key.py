"""What a row depends on is in the chart's key; a chart of another key says what changed."""

from dataclasses import replace

import interpass
import pytest
from interpass.charts import chart as charting
from interpass.charts import joints
from interpass.charts.chart import header
from interpass.charts.journal import JournalError, journal
from interpass.face.charting import chart_asked

RULE = """
[[set]]
name = "ours"
[[set.rule]]
name = "few passes"
value = "passes"
at_most = "{}"
source = "ours"
"""
CASE = """
[pipe]
size = "NPS 3/4"
schedule = "80"
material = "316L"
[fitting]
kind = "coupling"
[[pass]]
current = "{}"
travel = "60 mm/min"
[limits]
rules = "ours.toml"
[model]
ring = 1
"""
BLUE = "out of the blue"
OVER = ["current=60 A,80 A"]


@pytest.fixture
def asked(tmp_path):
    """A chart of a case with a file of rules, read anew at every call."""

    def ask(amps="70 A", passes=9, over=OVER, search=(None, None, None), **options):
        (tmp_path / "ours.toml").write_text(RULE.format(passes), encoding="utf-8")
        case = tmp_path / "c.toml"
        case.write_text(CASE.format(amps), encoding="utf-8")
        return chart_asked(case, over, search, **options)

    return ask


def refusal(tmp_path, first, then):
    with journal(tmp_path / "rows", first, resume=False):
        pass
    with (
        pytest.raises(JournalError) as refused,
        journal(tmp_path / "rows", then, resume=True),
    ):
        pass
    return str(refused.value).partition("what changed: ")[2].partition(";")[0]


CHANGES = {
    "the case": {"amps": "71 A"},
    "a file of rules": {"passes": 0},
    "what it runs over": {"over": ["current=60 A,81 A"]},
    "what is looked for": {"search": ("travel", "2 min", None)},
    "--bands": {"allow": True},
}


@pytest.mark.parametrize("part", CHANGES)
def test_every_part_counts_and_is_named(asked, tmp_path, part):
    assert refusal(tmp_path, header(asked()), header(asked(**CHANGES[part]))) == part


def test_version_of_the_program_counts(asked, tmp_path, monkeypatch):
    first = asked()
    told = header(first)
    monkeypatch.setattr(charting, "__version__", "99")
    assert header(first)["chart"] != told["chart"]
    assert header(replace(first)) == header(first)


def test_files_of_rules_that_are_varied_count(asked, tmp_path):
    over = [*OVER, "limits.rules=ours.toml,good practice"]
    first = header(asked(over=over))
    assert header(asked(over=over, passes=0))["chart"] != first["chart"]


@pytest.mark.parametrize(
    "error", [ValueError, ZeroDivisionError, IndexError, MemoryError]
)
@pytest.mark.parametrize("solve", [None, "current"])
def test_any_failure_of_one_row_is_that_rows(asked, tmp_path, monkeypatch, error, solve):
    asked()
    real = joints.case_of

    def breaks(cell, extra=()):
        if cell.number == 1:
            raise error(BLUE)
        return real(cell, extra)

    monkeypatch.setattr(joints, "case_of", breaks)
    monkeypatch.setattr("interpass.charts.solve.case_of", breaks)
    rows = interpass.chart(
        tmp_path / "c.toml", {"air": ["10 degC", "20 degC", "30 degC"]}, solve_for=solve,
        wait_max="2 min" if solve else None,
    ).rows  # fmt: skip
    assert error.__name__ in rows[1].reason
    assert BLUE not in rows[0].reason + rows[2].reason


def test_shortest_time_needs_currents(tmp_path):
    path = tmp_path / "c.toml"
    power = 'current = "{}"\ntravel = "60 mm/min"'
    assert power in CASE
    text = CASE.replace(power, 'net_power = "800 W"\narc_time = "60 s"').replace(
        'rules = "ours.toml"', 'interpass_max = "175 degC"'
    )
    text = text.replace(
        "[limits]", '[[pass]]\nnet_power = "800 W"\narc_time = "60 s"\n[limits]'
    )
    path.write_text(text, encoding="utf-8")
    rows = interpass.chart(path, {"air": "10 degC,20 degC"}, solve_for="time").rows
    assert all("give current in place of net_power" in row.reason for row in rows)
