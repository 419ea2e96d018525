"""Limits, preheat, wires, efficiencies, electrodes; the source beside each check."""

from dataclasses import dataclass
from itertools import pairwise
from math import inf

import pytest
from interpass.physics.metals import material, material_names
from interpass.text.errors import CatalogueError
from interpass.trade.practice import (
    efficiencies,
    efficiency,
    interpass_limit,
    limit_rows,
    preheat_min,
    tungstens,
)
from interpass.trade.rows import STANDINGS, NominalSize, record, table_rows

ZERO = 273.15


# Interpass maxima [degC]: API RP 582 (from memory) for austenitic, low alloy and nickel;
# NORSOK M-601 (from memory) for carbon steel, the stricter; guides for duplex.
@pytest.mark.parametrize(
    ("name", "maximum"),
    [("316L", 175), ("347", 175), ("carbon steel", 250), ("1.25Cr-0.5Mo", 315),
     ("2205", 150), ("625", 175)],
)  # fmt: skip
def test_interpass_limits(name, maximum):
    row = interpass_limit(material(name))
    assert row.maximum - ZERO == pytest.approx(maximum)
    assert row.source
    assert row.standing in STANDINGS


def test_degF_of_the_source_within_what_rounding_moves():
    """API RP 582 prints 350, 300, 600 degF (from memory): the degC beside them, rounded."""
    for row in limit_rows():
        us = row.told_in("us")
        assert row.told_in("si") is row
        assert abs(us.maximum - row.maximum) < 2.5  # K
        degF = us.maximum * 1.8 - 459.67
        if us is not row:
            assert degF == pytest.approx(50 * round(degF / 50))
    for name, degF in (("316L", 350), ("2205", 300), ("carbon steel", 482)):
        row = interpass_limit(material(name)).told_in("us")
        assert row.maximum * 1.8 - 459.67 == pytest.approx(degF)


def test_no_customary_limit_for_copper():
    with pytest.raises(
        CatalogueError, match="default interpass limit for material family 'copper'"
    ):
        interpass_limit(material("copper"))


def test_each_family_has_one_default_limit():
    for family in {row.family for row in limit_rows()}:
        own = [row for row in limit_rows() if row.family == family]
        assert sum(row.is_default for row in own) == 1
    stricter = [
        row for row in limit_rows() if row.family == "austenitic" and not row.is_default
    ]
    assert [row.maximum - ZERO for row in stricter] == pytest.approx([150])


# ASME B31.3 Table 330.1.1, 2014 and 2010 (published restatement) [degC].
@pytest.mark.published
@pytest.mark.parametrize(
    ("family", "wall", "carbon", "strength", "y2014", "y2010"),
    [
        ("carbon steel", 5e-3, 0.25, 0, 10, 10),
        ("carbon steel", 25e-3, 0.35, 0, 10, 10),
        ("carbon steel", 26e-3, 0.30, 0, 10, 79),
        ("carbon steel", 26e-3, 0.35, 0, 95, 79),
        ("carbon steel", 5e-3, 0.25, 500e6, 10, 79),
        ("C-0.5Mo", 5e-3, 0.2, 400e6, 10, 10),
        ("C-0.5Mo", 5e-3, 0.2, 480e6, 95, 79),
        ("C-0.5Mo", 15e-3, 0.2, 400e6, 95, 79),
        ("low alloy", 5e-3, 0.1, 0, 120, 149),
        ("2.25Cr to 9Cr", 5e-3, 0.1, 400e6, 150, 177),
        ("martensitic", 5e-3, 0.1, 0, 200, 149),
        ("austenitic", 5e-3, 0.1, 0, 10, 10),
        ("9Cr-1Mo-V", 5e-3, 0.1, 0, 200, 204),
    ],
)
def test_preheat_rows(family, wall, carbon, strength, y2014, y2010):
    for edition, minimum in ((2014, y2014), (2010, y2010)):
        row = preheat_min(family, wall, carbon, strength, edition)
        assert row.minimum - ZERO == pytest.approx(minimum)
        assert row.edition == edition


def test_every_metal_has_a_preheat_minimum():
    for name in material_names():
        row = preheat_min(material(name), 5e-3)
        assert row.minimum - ZERO == pytest.approx(120 if "Cr-0.5Mo" in name else 10)


# Mass of wire [g/m] (computed); metres per kg of mild steel wire (maker page).
@pytest.mark.published
def test_wire_masses():
    rows = table_rows("wires")
    by_diameter = {
        float(row["diameter_mm"]) * 1e-3: float(row["mass_g_per_m"]) * 1e-3
        for row in rows
    }
    for diameter, mass in by_diameter.items():
        area = 3.141592653589793 / 4 * diameter**2
        assert mass == pytest.approx(7850 * area, rel=1e-4)
    scale = (1.5875 / 1.6) ** 2  # 1/16 in
    assert 1 / (by_diameter[1.6e-3] * scale) == pytest.approx(64.4, rel=0.01)
    scale = (2.38125 / 2.4) ** 2  # 3/32 in
    assert 1 / (by_diameter[2.4e-3] * scale) == pytest.approx(28.8, rel=0.01)


# EN 1011-1 / ISO/TR 17671-1 (published restatement): k 0.6 GTAW, 0.8 SMAW, 1.0 SAW.
@pytest.mark.published
def test_standard_efficiencies():
    found = [
        efficiency(process, "standard k").value for process in ("GTAW", "SMAW", "SAW")
    ]
    assert found == [0.6, 0.8, 1.0]


# DuPont & Marder 1995 (0.67) and Stenbacka et al., IIW XII-2070-12 (0.78), published: the
# default's band holds both.
@pytest.mark.published
def test_default_efficiency_is_among_the_measured():
    default = efficiency("GTAW")
    measured = [row.value for row in efficiencies("GTAW") if row.kind == "measured"]
    assert min(measured) == 0.67
    assert max(measured) == 0.78
    assert default.low <= min(measured) <= default.value <= max(measured) <= default.high


def test_tungsten_ranges_rise_with_diameter():
    for source in {row.source for row in tungstens()}:
        rows = [row for row in tungstens() if row.source == source]
        assert len(rows) >= 4
        for thin, thick in pairwise(rows):
            assert thin.diameter < thick.diameter
            assert thin.current_min < thick.current_min < thick.current_max


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("A312 TP304L", "304L"), ("ASTM A312 TP316L", "316L"), ("SA-312 TP316L", "316L"),
        ("F316L", "316L"), ("A182 F316L", "316L"), ("SA182-F304L", "304L"), ("A105", "A105"),
        ("SA-105", "A105"), ("A105N", "A105N"), ("A106 Gr. B", "A106 B"), ("A106 grade B", "A106 B"),
        ("ASTM A106", "A106"), ("A335 P11", "P11"),
    ],
)  # fmt: skip
def test_metals_as_the_trade_writes_them(written, name):
    assert material(written).name in (name, material(name).name)


@pytest.mark.parametrize(
    "written", ["SS", "stainless", "Stainless Steel", "A312", "A182"]
)
def test_a_word_for_several_metals_asks_which(written):
    with pytest.raises(
        CatalogueError, match="does not say which metal; write its grade, like"
    ):
        material(written)


@dataclass(frozen=True)
class Odd:
    """A record with every sort of field."""

    size: NominalSize
    names: tuple[str, ...]
    count: int
    is_open: bool
    wall: float
    top: float
    words: str
    plain: float
    most: float = inf


def test_a_row_becomes_a_record_by_its_annotations():
    row = {"size": "3/4", "names": "a b", "count": "3", "is_open": "1", "wall_max_mm": "9",
           "wall_in": "0.5", "top_degC": "20", "words": "", "plain": "2", "most_A": ""}  # fmt: skip
    expected = Odd(NominalSize("NPS 3/4"), ("a", "b"), 3, True, 0.0127, 293.15, "", 2.0)
    assert record(Odd, row) == expected
    with pytest.raises(TypeError, match="wall"):
        record(Odd, row | {"wall_in": ""})
