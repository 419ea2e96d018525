"""The drawn joint: metal where it is, dimensions as given, isotherms where the heat is."""

from dataclasses import replace
from itertools import combinations, pairwise

import matplotlib
import numpy as np
import pytest
from interpass.case_file.questions import answers_from
from interpass.case_file.read import parse_case
from interpass.case_file.write import new_case_text
from interpass.heat.waits import plan
from interpass.joint.beads import bead_areas, fillets
from interpass.pictures.cut import isotherms, section_figure, shown_snapshots
from interpass.pictures.isotherms import heat_of
from interpass.pictures.parts import bead_shape, fitting_shape, view_of
from interpass.pictures.section import draw_dimensions, draw_section
from interpass.pictures.style import picture
from interpass.text.kinds import SI, US
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import Normalize
from matplotlib.figure import Figure

SHIPPED = (
    "check-joint", "duplex-instrument", "mixed-drain", "sampling-stub", "steam-drain",
    "us-manifold",
)  # fmt: skip


@pytest.fixture(scope="module")
def shot(shipped):
    """The stub on a coarse ring, photographed at every arc on and off."""
    case = shipped("sampling-stub", ring=12)
    case = replace(case, model=replace(case.model, cell=2e-3, end_after=5.0))
    return case, plan(case, frames=0.0)


def axes_of(size=(6.0, 3.9), place=(0.0, 0.0, 1.0, 1.0)):
    """Axes on a figure of their own."""
    figure = Figure(figsize=size)
    FigureCanvasAgg(figure)
    return figure.add_axes(place)


def words(axes):
    """Every text drawn on the axes."""
    return [t.get_text() for t in axes.texts if t.get_text()]


def area(shape):
    """Area inside a closed line (shoelace)."""
    z, r = shape.vertices.T
    return abs(float(np.dot(z[:-1], r[1:]) - np.dot(z[1:], r[:-1]))) / 2


def boxes(axes):
    """Every text and the room it takes [pixels]."""
    axes.figure.canvas.draw()
    return [
        (t.get_text(), t.get_window_extent(axes.figure.canvas.get_renderer()))
        for t in axes.texts
        if t.get_text()
    ]


def test_beads_have_the_area_of_their_passes(shipped):
    case = shipped("mixed-drain")
    grown = fillets(case)
    drawn = [area(bead_shape(13e-3, a, b)) for a, b in pairwise(grown)]
    assert drawn == pytest.approx(bead_areas(case))


def test_fitting_has_the_area_of_its_rings(shipped):
    """Rings that touch are drawn as one outline; cut to the view."""
    case = shipped("duplex-instrument")
    view = view_of(case, 4e-3)
    rings = sum(
        (min(b.z_end, view.z_high) - b.z_start) * (b.r_out - b.r_in)
        for b in case.fitting.boxes
        if b.z_start < view.z_high
    )
    assert area(fitting_shape(view)) == pytest.approx(rings)


def test_a_pass_without_metal_has_no_bead(shipped):
    fillet = fillets(shipped("sampling-stub"))[1]
    assert bead_shape(13e-3, fillet, fillet) is None


def test_section_numbers_the_passes_laid(shipped):
    case = shipped("check-joint")
    all_of_them, first = axes_of(), axes_of()
    draw_section(all_of_them, case)
    draw_section(first, case, number=1)
    assert words(all_of_them) == ["pipe", "sleeve", "pass 1", "pass 2", "pass 3"]
    assert words(first) == ["pipe", "sleeve", "pass 1"]


def test_leaders_point_into_their_beads(shipped):
    case = shipped("check-joint")
    axes = axes_of()
    draw_section(axes, case)
    grown = fillets(case)
    root = case.pipe.outside_diameter / 2
    leaders = [t for t in axes.texts if t.get_text().startswith("pass")]
    for leader, (a, b) in zip(leaders, pairwise(grown), strict=True):
        assert bead_shape(root, a, b).contains_point(leader.xy)


@pytest.mark.parametrize("name", SHIPPED)
def test_dimensions_are_those_of_the_case(shipped, name):
    case = shipped(name)
    axes = axes_of()
    draw_dimensions(axes, case)
    shown = words(axes)
    pipe, grown = case.pipe, fillets(case)[-1]
    bore = pipe.outside_diameter - 2 * pipe.wall
    assert {
        f"outside {SI.length(pipe.outside_diameter)}",
        f"wall {SI.length(pipe.wall)}",
        f"bore {SI.length(bore)}",
        f"socket depth {SI.length(case.fitting.socket_depth)}",
        f"end gap {SI.length(case.end_gap)}",
    } <= set(shown)
    legs = [w for w in shown if w.startswith("leg")]
    equal = abs(grown.leg_pipe - grown.leg_socket) < 5e-5
    assert len(legs) == (1 if equal else 2)
    assert SI.length(grown.leg_pipe) in legs[0]
    assert SI.length(grown.leg_socket) in legs[-1]


@pytest.mark.parametrize("name", SHIPPED)
@pytest.mark.parametrize("size", [(6.0, 3.9), (5.2, 1.8), (3.0, 3.0)])
def test_dimensions_overlap_nowhere_and_stay_inside(shipped, name, size):
    axes = axes_of(size)
    draw_dimensions(axes, shipped(name), US, size=7.0)
    found = boxes(axes)
    width, height = axes.figure.canvas.get_width_height()
    for (one, a), (other, b) in combinations(found, 2):
        assert not a.overlaps(b), f"{one!r} lies on {other!r}"
    for text, box in found:
        assert box.x0 >= 0, text
        assert box.x1 <= width, text
        assert box.y0 >= 0, text
        assert box.y1 <= height, text


@pytest.mark.parametrize("kind", ["cap", "half coupling", "flange"])
def test_dimensions_of_a_fitting_that_ends_soon_stay_inside(kind):
    """Behind the socket of a cap is no room for the words of its depth."""
    joint = {"size": "1 1/2", "material": "P11", "kind": kind}
    axes = axes_of((4.84, 2.9))
    draw_dimensions(axes, parse_case(new_case_text(answers_from(joint))), SI, size=7.0)
    width, _ = axes.figure.canvas.get_width_height()
    found = boxes(axes)
    for text, box in found:
        assert box.x0 >= 0, text
        assert box.x1 <= width + 0.5, text
    for (one, a), (other, b) in combinations(found, 2):
        assert not a.overlaps(b), f"{one!r} lies on {other!r}"


def test_metal_in_the_view_is_round_in_scale(shipped):
    """A mm is as long along the axis as across it."""
    axes = axes_of((6.0, 3.0), (0.1, 0.2, 0.7, 0.6))
    draw_dimensions(axes, shipped("sampling-stub"))
    (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
    assert (x1 - x0) / (y1 - y0) == pytest.approx(6.0 * 0.7 / (3.0 * 0.6))


def test_pictures_are_arc_off_and_the_next_arc_on(shot):
    told = [(s.what, s.number) for s in shown_snapshots(shot[1])]
    assert told == [("arc off", 1), ("arc on", 2), ("arc off", 2)]


def test_every_section_says_when_where_and_what(shot):
    figure = section_figure(*shot)
    titles = [ax.get_title(loc="left") for ax in figure.axes]
    assert titles[0].startswith("arc off, pass 1, 1:24 min")
    assert all(t.endswith("at 0 deg") for t in titles[:3])
    texts = {t.get_text() for t in figure.findobj(matplotlib.text.Text)}
    assert "interpass limit 175 degC" in texts
    assert "Temperature, degC; isotherms as labelled" in texts


def test_isotherms_are_labelled_where_the_metal_has_that_temperature(shot):
    case, history = shot
    snapshot = history.snapshots[1]
    axes = axes_of()
    levels, told = (473.15, 673.15), ("200", "400")
    heat = heat_of(
        case, snapshot, Normalize(293, 1073), angle=0.0, levels=levels, words=told
    )
    draw_section(axes, case, number=1, heat=heat, labels=False)
    lines = heat.model.lines
    z, r = ((x[1:] + x[:-1]) / 2 for x in (lines.z, lines.r))
    labels = [t for t in axes.texts if t.get_text() in told]
    assert len(labels) >= 3
    for label in labels:
        x, y = label.get_position()
        row = heat.temperature[int(np.argmin(np.abs(r - y)))]
        metal = np.isfinite(row)
        here = np.interp(x, z[metal], row[metal])
        assert here == pytest.approx(float(label.get_text()) + 273.15, abs=15.0)


def test_ring_mean_or_one_angle(shot):
    case, history = shot
    snapshot, colours = history.snapshots[1], Normalize(293, 1073)
    mean = heat_of(case, snapshot, colours).temperature
    apart = [heat_of(case, snapshot, colours, angle=a).temperature for a in (0.0, np.pi)]
    assert np.nanmax(apart[0]) > np.nanmax(mean) > np.nanmax(apart[1])
    assert np.array_equal(heat_of(case, snapshot, colours, angle=2 * np.pi - 0.01)
                          .temperature, snapshot.temperature[:, -1], equal_nan=True)  # fmt: skip


def test_isotherms_are_round_in_the_users_degrees():
    seen = np.array([400.0, 900.0])
    for units, degree, zero in ((SI, 1.0, -273.15), (US, 1.8, -459.67)):
        levels = isotherms(seen, units)
        assert 3 <= len(levels) <= 9
        for kelvin, text in levels:
            assert kelvin * degree + zero == pytest.approx(float(text))
            assert seen[0] <= kelvin <= seen[1]


def test_same_run_gives_same_bytes(shot):
    one, other = (section_figure(*shot) for _ in range(2))
    for kind in ("svg", "png"):
        assert picture(one, kind) == picture(other, kind)


def test_a_history_without_snapshots_says_what_to_do(stub):
    with pytest.raises(ValueError, match=r"frames=0\.0"):
        section_figure(*stub)
