"""How the doubt is told: words, table and JSON say the same numbers."""

import json
from dataclasses import replace

import pytest
from interpass.doubt.bands import Band, Bands, DoubtShare, PassBand
from interpass.heat.history import planned_wait
from interpass.report.passes import doubt_words, first_table, waits_table
from interpass.report.strike import (
    SAFE,
    TYPICAL,
    most_text,
    strike_at,
    strike_line,
    strikes,
    why_below,
)
from interpass.results.plan import doubt_data
from interpass.text.kinds import UNIT_SYSTEMS
from interpass.text.times import clock
from terminal import SHORT, STUB


def made(**changes):
    """Bands of two passes, made up."""
    import numpy as np

    rows = (
        PassBand(1, None, None, Band(293.0, 293.0, 293.0), Band(293.0, 293.0, 293.0)),
        PassBand(
            2, Band(80.0, 100.0, 131.0), 123.0,
            Band(430.15, 448.15, 466.15), Band(410.0, 420.0, 430.0),
        ),
    )  # fmt: skip
    none = np.zeros(0)
    shares = (DoubtShare("arc.efficiency", "arc efficiency", 0.64),)
    given = {"passes": rows, "shares": shares, "time": none}
    given |= {"low": none, "high": none, "reading_low": none, "reading_high": none}
    return Bands(**(given | {"samples": 8, "seed": 1, "how": "8 joints"} | changes))


@pytest.mark.parametrize(
    ("share", "words"),
    [(0.95, "Nearly all"), (0.75, "Three quarters"), (0.64, "Two thirds"),
     (0.5, "About half"), (0.33, "A third"), (0.1, "A tenth")],
)  # fmt: skip
def test_shares_in_words(share, words):
    told = doubt_words((DoubtShare("", "arc efficiency", share),))
    assert told == f"{words} of the doubt is arc efficiency."


def test_no_share_worth_a_word():
    assert "No one number" in doubt_words((DoubtShare("", "film", 0.03),))


def test_table_has_safe_and_typical_as_the_shop_times_them(stub):
    case, history = stub
    old = made().passes
    wide = PassBand(2, Band(300.0, 397.0, 460.0), 441.0, old[1].hottest, old[1].reading)
    bands = made(passes=(old[0], wide))
    (row,) = waits_table(case, history, UNIT_SYSTEMS["si"], bands).rows
    typical = clock(planned_wait(history.passes[1]))
    assert (row[1], row[3]) == ("7:25", typical)
    assert row[-3:] == ("300 to 460", "157 to 193", "137 to 157")
    us = waits_table(case, history, UNIT_SYSTEMS["us"], bands)
    assert us.rows[0][-2] == "315 to 379"
    first = first_table(strikes(case, history, bands), UNIT_SYSTEMS["si"])
    assert first.rows[1][1:4] == ("7:25", row[2], typical)
    assert first.heads[1].startswith("safe wait")


def test_given_wait_is_called_given(given_waits):
    case, history = given_waits
    bands = made(passes=tuple(
        PassBand(n, None, None, *(Band(410.0, 420.0, 430.0),) * 2) for n in (1, 2, 3)
    ))  # fmt: skip
    rows = waits_table(case, history, UNIT_SYSTEMS["si"], bands).rows
    assert [row[1] for row in rows] == ["1:30 (given)", "2:00 (given)"]
    assert [row[3] for row in rows] == ["-", "-"]
    first = first_table(strikes(case, history, bands), UNIT_SYSTEMS["si"])
    assert first.rows[1][1] == "1:30 (given)"
    assert "safe" not in " ".join(first.heads)


def test_data_carries_every_unit():
    row = doubt_data(made())["passes"][1]
    assert row["wait_s"] == {"low": 80.0, "best": 100.0, "high": 131.0}
    assert row["allow_s"] == 123.0
    assert row["allow_in_shop_s"] == 125.0
    assert row["hottest_degC"] == {"low": 157.0, "best": 175.0, "high": 193.0}


def second_pass(found):
    return found["passes"][1]


def test_plan_tells_bands_unless_it_is_to_be_quick(run):
    status, out, _ = run("plan", STUB, "--axisymmetric", "--json")
    found = json.loads(out)
    (first, second) = found["doubt"]["passes"]
    assert first["wait_s"] is None
    assert second["wait_s"]["best"] == found["passes"][1]["wait_s"]
    assert second["wait_s"]["best"] < second["allow_s"] < second["wait_s"]["high"]
    assert sum(s["share"] for s in found["doubt"]["shares"]) == pytest.approx(1, abs=1e-3)
    quick = json.loads(run("plan", STUB, "--axisymmetric", "--json", "--quick")[1])
    assert "doubt" not in quick
    added = {key: second_pass(found).pop(key) for key in ("allow_s", "strike_at_degC")}
    assert added["allow_s"] == second["allow_s"]
    assert added["strike_at_degC"] < found["limit"]["interpass_max_degC"]
    assert quick["passes"] == found["passes"]
    assert "(typical) before pass 2" in quick["verdict_text"]
    assert status == 0


def test_text_of_a_plan_with_given_waits_has_bands_of_temperature(run):
    bare = ("plan", SHORT, "--axisymmetric", "--show", "waits")
    assert "9 in 10 joints" in run(*bare)[1]
    assert "9 in 10" not in run(*bare, "--quick")[1]


# one number to strike by


def struck(stub, bands, units=UNIT_SYSTEMS["si"]):
    case, history = stub
    found = strikes(case, history, bands)
    return found, [strike_line(one, units) for one in found]


def test_safe_wait_leads_and_the_sentence_is_one(stub):
    history = stub[1]
    found, lines = struck(stub, made())
    assert (found[1].wait, found[1].kind) == (planned_wait(history.passes[1]), SAFE)
    assert lines[0] == "strike only if the place marked reads 10 degC or more"
    assert "then strike only if the place marked reads" in lines[1]
    _, us = struck(stub, made(), UNIT_SYSTEMS["us"])
    assert us[1].endswith("degF or less")
    typical, _ = struck(stub, None)
    assert typical[1].kind == TYPICAL
    assert "(typical)" in strike_line(typical[1], UNIT_SYSTEMS["si"])


def test_reading_to_strike_by_is_never_above_what_the_bands_say(stub):
    case, history = stub

    class Band:
        number, allow, strike_at = 2, 500.0, 419.9

    assert strike_at(case, history.passes[1], Band()) == 419.9
    assert most_text(419.9, UNIT_SYSTEMS["si"]) == "146 degC"
    without = strike_at(case, history.passes[1])
    assert without == pytest.approx(history.passes[1].expect_reading, abs=0.05)


def test_limit_that_is_meant_for_the_reading_is_the_number(stub):
    case, history = stub
    limits = replace(case.limits, applies_to="reading")
    of_reading = replace(case, limits=limits)
    found = strikes(of_reading, history)
    assert found[1].reading == case.limits.interpass_max
    assert why_below(of_reading, found, UNIT_SYSTEMS["si"]) == ""
    assert "the hottest metal, which the limit of 175 degC is for" in why_below(
        case, strikes(case, history), UNIT_SYSTEMS["si"]
    )
