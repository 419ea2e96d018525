"""A current that is looked for stays within the printed tables for its pipe, and says so."""

import interpass
import pytest
from interpass.case_file.read import parse_case
from interpass.rules.of_joint import table_currents
from terminal import STUB

SIZES = ["1/2", "3/4", "1", "1 1/2"]
LAX, TIGHT = "55 min", "2 min"


def tables_of(size):
    table = {
        "pipe": {"size": f"NPS {size}", "schedule": "80S", "material": "316L"},
        "fitting": {"kind": "coupling"},
        "pass": [{"current": "80 A", "travel": "60 mm/min"}],
    }
    case = parse_case(table)
    return table_currents(case, case.passes[0])


def looked_for(wait_max, between=None, ring=1):
    options = {"solve_for": "current", "wait_max": wait_max, "between": between}
    return interpass.chart(STUB, {"size": SIZES}, ring=ring, **options).rows


@pytest.mark.parametrize("wait_max", [LAX, TIGHT])
def test_no_answer_outside_the_tables(wait_max):
    for size, row in zip(SIZES, looked_for(wait_max), strict=True):
        least, most = tables_of(size)
        if row.solved is None:
            assert row.reason
            continue
        assert (least or 0) <= row.solved <= most
        assert not [rule for rule in row.failed if "current for this wall" in rule]
        if wait_max == LAX:
            assert (
                row.note == "the most current that the printed tables give for this pipe"
            )


def test_a_range_inside_the_tables_keeps_its_own_ends():
    rows = looked_for(LAX, "75 A..85 A/1 A")
    least, most = tables_of("3/4")
    assert (least or 0) < 75
    assert most > 85
    assert rows[1].solved == 85
    assert rows[1].note == "the end of the range looked through"


def test_a_range_outside_the_tables_is_told():
    for row in looked_for(LAX, "400 A..500 A/10 A"):
        assert row.solved is None
        assert "the printed tables give" in row.reason
