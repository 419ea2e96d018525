"""Case files that are accepted: their values and their defaults."""

import subprocess
import sys
from math import inf, pi
from pathlib import Path

import pytest
from interpass.case_file.change import with_value
from interpass.case_file.defaults import DEFAULTS
from interpass.case_file.read import case_from_table, parse_case, read_case
from interpass.physics.metals import conductivity_at
from interpass.text.errors import CaseError
from interpass.text.toml import case_table
from interpass.trade.rows import STANDINGS

ROOT = Path(__file__).parents[2]
CASES = sorted((ROOT / "cases").glob("*.toml"))
EXAMPLE = ROOT / "tests" / "data" / "example.toml"
PIPE = '[pipe]\nsize = "NPS 1"\nschedule = "80"\nmaterial = "316L"\n'
FITTING = '[fitting]\nkind = "coupling"\n'
PASS = '[[pass]]\ncurrent = "80 A"\ntravel = "60 mm/min"\n'
BASE = PIPE + FITTING + PASS


def test_values_of_the_example():
    """Every value of the example in SI; sizes of ASME B36.19M and B16.11 (maker page)."""
    case = read_case(EXAMPLE)
    pipe, fitting, first, second = case.pipe, case.fitting, *case.passes
    assert (pipe.outside_diameter, pipe.wall) == pytest.approx((26.7e-3, 3.91e-3))
    assert (pipe.length, fitting.length) == (0.12, inf)
    assert fitting.socket_bore == pytest.approx(27.2e-3)
    assert case.leg_pipe == case.leg_socket == pytest.approx(1.09 * 3.91e-3)
    assert case.clearance == pytest.approx(0.25e-3)
    assert case.clearance_conductance == 150
    assert (first.current, first.voltage, first.efficiency) == (80, 11, 0.75)
    assert first.net_power == pytest.approx(660)
    assert first.travel == pytest.approx(1e-3)
    assert first.arc_time == pytest.approx(pi * 26.7)
    assert first.deposit == pytest.approx(pi / 4 * 1.6e-3**2 * 450 / 60)
    assert (second.deposit, second.wait, first.wait) == (None, None, 0.0)
    assert case.limits.interpass_max == pytest.approx(448.15)
    watch = case.limits.watch[0]
    assert (watch.r, watch.z) == pytest.approx((26.7e-3 / 2 - 3.91e-3, 35e-3))
    assert case.surroundings.fan_during == "waits"
    assert case.surroundings.holding.from_face == pytest.approx(0.08)


def test_what_is_left_out_is_assumed_with_its_source():
    """Every default used by the shortest case is told, with source and standing."""
    case = parse_case(BASE)
    told = {a.key: a for a in case.assumptions}
    of_passes = ("voltage", "efficiency", "start_angle", "direction", "overlap")
    unused = {  # of fixed joints, fans, purges, probes
        ("arc", "pause"),
        ("surroundings", "during"),
        ("surroundings", "purge_flow"),
        ("probe", "angle"),
        ("joint", "band"),  # of a bare pipe
        ("joint", "band_depth"),
    }
    for table, key in DEFAULTS:
        where = "pass.1" if table == "arc" and key in of_passes else table
        assert (f"{where}.{key}" in told) is ((table, key) not in unused)
    assert told["arc.process"].value == "GTAW"
    assert told["limits.interpass_max"].value == "175 degC"
    assert told["joint.filler"].value == "ER316L"
    assert told["pass.1.current"].standing == "given"
    assert told["pass.1.current"].source == "line 8"
    for one in case.assumptions:
        assert one.value
        assert one.source
        assert one.standing in (*STANDINGS, "given")


@pytest.mark.parametrize(
    ("kind", "wall", "leg"),
    [
        ('kind = "coupling"', "80", 4.96),  # 1.09 t
        ('kind = "coupling"', "160", 4.98),  # least socket wall of B16.11 class 3000
        ('kind = "flange"', "40", 4.73),  # 1.4 t
        ('kind = "flange"', "160", 7.37),  # hub, (1.94 - 1.36) in / 2
    ],
)
def test_leg_of_the_codes(kind, wall, leg):
    """B31.3 Fig. 328.5.2C and B31.1 Fig. 127.4.4(B), published restatements."""
    pipe = PIPE.replace('"80"', f'"{wall}"')
    case = parse_case(pipe + f"[fitting]\n{kind}\n" + PASS)
    assert 1e3 * case.leg_pipe == pytest.approx(leg, abs=5e-3)
    assert case.leg_rule == "code"


def test_legs_of_ones_own():
    case = parse_case(BASE + '[joint]\nleg_pipe = "9 mm"\n')
    assert case.leg_pipe == pytest.approx(9e-3)
    assert case.leg_socket == pytest.approx(4.9595e-3)
    assert case.leg_rule == "given"


def test_turn_and_arc_time_give_the_same_travel():
    """0.8 rev/min is 75 s for the ring: 26.7 mm pipe at 67.1 mm/min (computed)."""
    pipe = PIPE.replace("NPS 1", "NPS 3/4")
    ways = ['turn = "0.8 rev/min"', 'arc_time = "75 s"', 'travel = "67.104 mm/min"']
    travels = [
        parse_case(pipe + FITTING + f'[[pass]]\ncurrent = "80 A"\n{way}\n')
        .passes[0]
        .travel
        for way in ways
    ]
    assert travels == pytest.approx([26.7e-3 * pi / 75] * 3, rel=1e-5)


def test_a_pass_goes_before_the_arc_table():
    """What [arc] says holds for every pass that does not say it itself."""
    arc = '[arc]\ncurrent = "70 A"\nturn = "0.7 rev/min"\ndeposit = "3 mm^2"\n'
    passes = '[[pass]]\n[[pass]]\ncurrent = "90 A"\narc_time = "90 s"\nwire = "none"\n'
    first, second = parse_case(PIPE + FITTING + arc + passes).passes
    assert (first.current, second.current) == (70, 90)
    assert first.arc_time == pytest.approx(60 / 0.7)
    assert second.arc_time == 90
    assert (first.deposit, second.deposit) == (pytest.approx(3e-6), 0.0)


def test_fixed_position_is_two_halves_from_the_bottom():
    arc = '[arc]\nposition = "fixed"\npause = "12 s"\n'
    first, second = parse_case(BASE + arc).passes[0].segments
    assert (first.start_angle, first.end_angle, first.pause) == (0.0, pi, 0.0)
    assert (second.start_angle, second.end_angle, second.pause) == (0.0, -pi, 12.0)
    turned = parse_case(BASE + 'direction = "clockwise"\nstart_angle = "90 deg"\n' + arc)
    first, second = turned.passes[0].segments
    assert (first.start_angle, first.end_angle) == pytest.approx((pi / 2, -pi / 2))
    assert (second.start_angle, second.end_angle) == pytest.approx((pi / 2, 3 * pi / 2))


def test_segments_close_the_ring_in_any_order():
    quarters = "[" + ", ".join(
        f'{{ start = "{a} deg", end = "{a + 90} deg" }}' for a in (0, 180, 90, 270)
    ) + "]"  # fmt: skip
    one = parse_case(BASE + f"segments = {quarters}\n").passes[0]
    assert [s.start_angle for s in one.segments] == pytest.approx(
        [0, pi, pi / 2, 1.5 * pi]
    )


def test_stricter_limit_of_two_metals():
    """Carbon steel 250, austenitic 175 degC: the lower; 120 degC preheat for 1.25Cr."""
    mixed = PIPE.replace("316L", "carbon steel") + FITTING + 'material = "304L"\n' + PASS
    assert parse_case(mixed).limits.interpass_max == pytest.approx(448.15)
    assert parse_case(mixed).filler_name == "ER309L"
    chrome = PIPE.replace("316L", "1.25Cr-0.5Mo") + FITTING + PASS
    assert parse_case(chrome).limits.preheat_min == pytest.approx(393.15)


def test_own_material_is_used_where_it_is_named():
    own = """
[materials."house alloy"]
density = "8000 kg/m^3"
conductivity = [["20 degC", "10 W/m/K"], ["1020 degC", "30 W/m/K"]]
specific_heat = [["20 degC", "500 J/kg/K"]]
solidus = "1400 degC"
liquidus = "1450 degC"
[limits]
interpass_max = "150 degC"
[joint]
filler = "house alloy"
"""
    case = parse_case(BASE.replace("316L", "house alloy") + own)
    assert case.pipe.material is case.fitting.material is case.filler
    assert conductivity_at(case.pipe.material, 793.15) == pytest.approx(20.0, abs=0.05)


def test_doubt_is_kept_and_its_best_value_used():
    text = BASE + "[arc]\nefficiency = { best = 0.7, low = 0.6, high = 0.8 }\n"
    case = parse_case(text)
    assert case.passes[0].efficiency == 0.7
    assert [(d.key, d.low, d.high) for d in case.doubt] == [("arc.efficiency", 0.6, 0.8)]


@pytest.mark.parametrize(
    ("bore", "flow"),
    [
        ('"argon purge"', 8.0),
        ('"argon purge"\npurge_flow = "5 l/min"', 5.0),
        ('{ gas = "argon", flow = "6 l/min" }', 6.0),
        ('{ gas = "argon" }', 8.0),
        ('"open"', 0.0),
    ],
)
def test_purge_flow(bore, flow):
    around = parse_case(BASE + f"[surroundings]\nbore = {bore}\n").surroundings
    assert around.purge_flow * 60e3 == pytest.approx(flow)
    assert around.bore == ("argon purge" if flow else "open")


@pytest.mark.parametrize(
    "fan",
    [
        'fan = "2 m/s"\nduring = "waits"',
        'fan = "2 m/s"\nfan_during = "waits"',
        'fan = { speed = "2 m/s", during = "waits" }',
    ],
)
def test_fan_in_waits(fan):
    around = parse_case(BASE + f"[surroundings]\n{fan}\n").surroundings
    assert (around.fan, around.fan_during) == (2.0, "waits")


def test_piece_starts_as_warm_as_the_air_unless_told():
    warm = BASE + '[surroundings]\nair = "30 degC"\n'
    assert parse_case(warm).surroundings.start == pytest.approx(303.15)
    hot = parse_case(warm + 'start = "100 degC"\n').surroundings
    assert (hot.air, hot.start) == pytest.approx((303.15, 373.15))


def test_pipe_by_size_and_a_wall_of_ones_own():
    text = BASE.replace('schedule = "80"', 'wall = "4 mm"').replace("NPS 1", "DN 25")
    pipe = parse_case(text).pipe
    assert (pipe.outside_diameter, pipe.wall) == pytest.approx((33.4e-3, 4e-3))
    assert (pipe.size, pipe.schedule) == ("NPS 1", "")


def test_windows_line_ends_and_byte_order_mark(tmp_path):
    file = tmp_path / "case.toml"
    file.write_bytes(b"\xef\xbb\xbf" + BASE.replace("\n", "\r\n").encode())
    assert read_case(file).passes[0].current == 80


def test_a_value_can_be_changed():
    """What a chart does: the table stays as it was, lists take a number or all."""
    table = case_table(BASE + PASS)
    hot = with_value(table, "pass.2.current", "90 A")
    assert [p.current for p in case_from_table(hot).passes] == [80, 90]
    both = with_value(table, "pass.current", "85 A")
    assert [p.current for p in case_from_table(both).passes] == [85, 85]
    air = with_value(table, "surroundings.air", "5 degC")
    assert case_from_table(air).surroundings.air == pytest.approx(278.15)
    assert case_from_table(table) is not None
    with pytest.raises(CaseError, match=r"pass\.3\.current: leads nowhere"):
        with_value(table, "pass.3.current", "90 A")
    with pytest.raises(CaseError, match=r"'pipe\.walls'; did you mean 'wall'"):
        case_from_table(with_value(table, "pipe.walls", "4 mm"))


def test_reading_a_case_imports_nothing_slow():
    """The command answers at once only while these stay unimported."""
    code = (
        "import sys; from interpass.case_file.read import read_case; read_case(sys.argv[1]);"
        "print([m for m in ('scipy', 'numba', 'matplotlib', 'pint') if m in sys.modules])"
    )
    run = subprocess.run(
        [sys.executable, "-c", code, str(CASES[0])],
        capture_output=True, text=True, check=True, cwd=ROOT,
    )  # fmt: skip
    assert run.stdout.strip() == "[]"
