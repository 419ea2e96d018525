"""The log of a weld on the desk: the same text from the same events, whatever clocks do."""

import time

import pytest
from interpass.desk.bench import add_event, begin_weld, open_bench
from interpass.desk.events import Event, east_now, log_text
from interpass.logs.log import parse_log

CASE = """title = "Stub"
pipe = { size = "NPS 3/4", schedule = "80S", material = "316L", length = "120 mm" }
fitting = { kind = "coupling", class = 3000, material = "316L", length = "long" }
joint = { end_gap = "1.6 mm", leg = "code", filler = "ER316L" }
arc = { process = "GTAW", voltage = "11 V" }
pass = [{ current = "80 A", travel = "60 mm/min" }, { current = "85 A", travel = "55 mm/min" }]
"""
CENTRAL_EUROPE = "CET-1CEST,M3.5.0,M10.5.0/3"  # as POSIX writes it: no database needed
US_EAST = "EST5EDT,M3.2.0,M11.1.0"
SPRING, AUTUMN = 1774746000.0, 1792890000.0  # 2026-03-29 and 2026-10-25, 01:00 UTC


@pytest.fixture
def zone(monkeypatch):
    """Set the zone of this machine."""

    def put(name):
        monkeypatch.setenv("TZ", name)
        time.tzset()

    yield put
    monkeypatch.undo()
    time.tzset()


def weld(change, east=east_now):
    """Two passes, one either side of the change of clocks, 300 s apart."""
    events = []
    for kind, number, since in (
        ("on", 1, -230),
        ("off", 0, -150),
        ("on", 2, 150),
        ("off", 0, 240),
    ):
        at = change + since
        events.append(Event(f"name{since:05d}", kind, at, number, "", east(events, at)))
    return events  # fmt: skip


@pytest.mark.parametrize("change", [SPRING, AUTUMN])
def test_a_weld_over_a_change_of_clocks_keeps_its_waits(zone, change):
    zone(CENTRAL_EUROPE)
    text = log_text(weld(change))
    assert "+01:00" in text
    assert "+02:00" in text
    log = parse_log(text, 2)
    assert [(b.on, b.off) for p in log.passes for b in p.burns] == [(0, 80), (380, 470)]


def test_a_machine_that_moves_to_another_zone_keeps_its_welds(zone, tmp_path):
    zone(CENTRAL_EUROPE)
    one = begin_weld({}, tmp_path, CASE)
    for event in weld(SPRING)[:2]:
        add_event(one, event)
    before = one.log_path.read_text()
    zone(US_EAST)
    (again,) = open_bench(tmp_path).values()
    for event in weld(SPRING)[2:]:
        add_event(again, event)
    assert again.log_path.read_text().startswith(before)
    assert parse_log(again.log, 2).passes[1].burns[0].on == 380


def test_a_log_begun_without_zones_goes_on_without(zone):
    zone(CENTRAL_EUROPE)
    (begun, *_) = weld(SPRING, east=lambda *_: None)
    assert east_now([begun], SPRING) is None
    assert east_now([], SPRING) == 7200.0
