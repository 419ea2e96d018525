"""The lesson: its numbers are the program's, its sums come out, small pieces get hotter."""

import base64
import html.parser
import io
import itertools
import re
import zlib
from math import log, pi, sqrt
from pathlib import Path

import numpy as np
import pytest
from interpass.case_file.questions import answers_from
from interpass.case_file.read import parse_case, read_case
from interpass.case_file.write import case_file, new_case_text
from interpass.heat.model import make_model
from interpass.heat.waits import plan
from interpass.lesson import figures as lesson_figures
from interpass.lesson.figures import history_figure, pictures
from interpass.lesson.joints import (
    LENGTHS,
    METALS,
    SAME_WAIT,
    TO_LIMIT,
    Choices,
    comparisons,
)
from interpass.lesson.movie import filled, make_movie, metal_path
from interpass.lesson.numbers import run_joints
from interpass.lesson.page import conclusion, lesson_page
from interpass.lesson.plate import make_plate, run_plate, strip_rise
from interpass.lesson.questions import exercises
from interpass.lesson.tables import struck_table, tell_why
from interpass.text.errors import CatalogueError, ExitStatus
from interpass.text.files import case_text
from interpass.text.kinds import SI, US
from interpass.text.times import clock, spelled
from interpass.text.toml import case_table
from pages.test_card_browser import browser  # noqa: F401 - a fixture
from PIL import Image
from terminal import SHORT, STUB, changed

OWN = Path(__file__).parents[2] / "thermo/interpass/lesson/lesson.toml"
THICK = 10e-3  # m of plate
OUTSIDE = r"https?:|//[a-z]|@import|<link|<iframe|<script|url\(|(?:src|href)=\"/"


def own_table():
    return case_table(case_text(OWN), "lesson.toml")


@pytest.fixture(scope="module")
def lesson():
    """The lesson as it is, but axisymmetric; its comparisons by key."""
    joints = comparisons(own_table(), Choices(ring=1))
    return {one.comparison.key: one for one in run_joints(joints, THICK)}


@pytest.fixture(scope="module")
def drawn(lesson):
    """Every figure of the lesson, drawn once."""
    return pictures(tuple(lesson.values()))


@pytest.fixture(scope="module")
def page(lesson, drawn):
    return lesson_page(tuple(lesson.values()), drawn).decode()


class Reader(html.parser.HTMLParser):
    """Collects tags, and the text between them."""

    def __init__(self):
        super().__init__()
        self.tags, self.text = [], ""

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.text += data


def read(page):
    reader = Reader()
    reader.feed(page)
    return reader


# the claim


def test_smaller_pieces_get_hotter(lesson):
    """NPS 1/2, 1, 2, 4 and the plate, before every pass after the first, same wait."""
    same = lesson[SAME_WAIT]
    for n in range(1, 3):
        hottest = [r.history.passes[n].at_arc_on.hottest for r in same.results]
        hottest.append(same.plate.at_arc_on[n])
        assert all(small > large for small, large in itertools.pairwise(hottest))


def test_same_waits_climb(lesson):
    """Every pass starts hotter than the one before it, on every size."""
    for result in lesson[SAME_WAIT].results:
        at_on = [done.at_arc_on.hottest for done in result.history.passes]
        assert np.all(np.diff(at_on) > 30.0)


def test_short_stub_waits_longer(lesson):
    short, long = (r.history.passes for r in lesson[LENGTHS].results)
    assert all(s.wait > 1.1 * w.wait for s, w in zip(short[1:], long[1:], strict=True))


def test_stainless_waits_longer(lesson):
    """At one limit: it conducts a third as well as carbon steel."""
    stainless, carbon = (r.history.passes for r in lesson[METALS].results)
    assert stainless[0].at_arc_off.mean > carbon[0].at_arc_off.mean + 100.0
    assert stainless[1].wait > 1.1 * carbon[1].wait


def test_ring_climbs_in_the_same_order():
    """With the arc travelling, two sizes on a coarse ring."""
    table = own_table()
    table["model"] = {"cell": "2 mm", "end_after": "1 s"}
    joints = comparisons(table, Choices(sizes=("1/2", "1"), ring=8))[:1]
    (same,) = run_joints(joints, THICK)
    small, large = (r.history.passes[-1].at_arc_on.hottest for r in same.results)
    assert small > large + 20.0


# the joints


@pytest.mark.parametrize("key", [SAME_WAIT, TO_LIMIT])
def test_weld_is_the_same_on_every_size(lesson, key):
    cases = [r.case for r in lesson[key].results]
    first = cases[0]
    for case in cases:
        assert (case.leg_pipe, case.leg_socket) == (first.leg_pipe, first.leg_socket)
        for mine, theirs in zip(case.passes, first.passes, strict=True):
            for name in ("current", "voltage", "travel", "efficiency", "wait"):
                assert getattr(mine, name) == getattr(theirs, name)
    assert len({case.pipe.outside_diameter for case in cases}) == len(cases)


def test_files_are_the_cases_that_ran(lesson, tmp_path):
    """A student who runs the file gets the lesson's number."""
    result = lesson[SAME_WAIT].results[0]
    path = tmp_path / "x.toml"
    path.write_text(result.variant.text, encoding="utf-8")
    again = plan(read_case(path))
    assert again.passes[-1].at_arc_on == result.history.passes[-1].at_arc_on


def test_case_file_is_read_back():
    """Inline tables, lists, flags and awkward text survive."""
    table = {
        "title": 'a "b" \\ ü \x7f',
        "pipe": {"size": "NPS 1", "length": "long"},
        "materials": {"house alloy": {"conductivity": [["20 degC", "15 W/m/K"]]}},
        "pass": [{"wire": {"diameter": "1.6 mm", "feed": "130 mm/min"}}, {}],
        "joint": {"metal_in_place": True},
        "model": {"ring": 12, "cell": "1 mm"},
        "arc": {"efficiency": 0.7},
    }
    assert case_table(case_file(table)) == table


def test_case_with_turns_keeps_its_travel(tmp_path):
    """Travel given by the turn is the same travel on every size, not the same turn."""
    path = changed(tmp_path, ('travel = "60 mm/min"', 'turn = "0.8 rev/min"'))
    case = read_case(path)
    joints = comparisons(case_table(case_text(path)), Choices(sizes=("1/2", "1"), ring=1))
    for variant in joints[0].variants:
        assert variant.case.passes[0].travel == pytest.approx(case.passes[0].travel, 1e-5)


def test_leg_too_long_for_the_smallest_is_shortened(tmp_path):
    """The fillet of NPS 3/4 is cut to what the face of NPS 1/8 carries."""
    joints = comparisons(case_table(case_text(STUB)), Choices(sizes=("1/8", "1"), ring=1))
    small, large = (v.case for v in joints[0].variants)
    assert small.leg_socket == large.leg_socket <= 3.18e-3 + small.clearance + 1e-9


@pytest.mark.parametrize(
    ("choices", "told"),
    [
        (Choices(sizes=("1/2",)), "two sizes or more"),
        (Choices(sizes=("1/2", "5")), "pipe size"),
        (Choices(materials=("316L", "cheese")), "cheese"),
        (Choices(lengths=("long", "long")), "two lengths or more"),
    ],
)
def test_impossible_choices_are_refused(choices, told):
    with pytest.raises(CatalogueError, match=told):
        comparisons(own_table(), choices)


def test_one_pass_and_a_sleeve_are_refused():
    table = own_table()
    table["pass"] = table["pass"][:1]
    with pytest.raises(CatalogueError, match="two or more"):
        comparisons(table, Choices(ring=1))
    sleeve = case_table(case_text(SHORT))
    with pytest.raises(CatalogueError, match="sleeve"):
        comparisons(sleeve, Choices(ring=1))


# the sums, worked out again


def by_hand(result):
    """Mass and heat of pass 1 from the trade's dimensions; closed forms, not the drawing."""
    case = result.case
    D, t = case.pipe.outside_diameter, case.pipe.wall
    fitting = case.fitting
    inside = fitting.socket_depth - case.end_gap
    pipe = pi * (D - t) * t * (result.length + inside)
    outer = fitting.socket_bore / 2 + fitting.socket_wall
    ring = pi * (outer**2 - (fitting.socket_bore / 2) ** 2) * fitting.socket_depth
    rest = sum(
        pi * (b.r_out**2 - b.r_in**2) * (b.z_end - b.z_start)
        for b in fitting.boxes
        if b.z_start >= fitting.socket_depth
    )
    leg = case.leg_pipe
    weld = pi * leg**2 * (D / 2 + leg / 3)  # triangle turned about the axis (Pappus)
    mass = (pipe + ring + rest + weld) * case.pipe.material.density
    return mass, 0.75 * 11 * 80 * pi * D / (75e-3 / 60)


@pytest.mark.parametrize("place", range(4))
def test_sums_of_every_size(lesson, place):
    result = lesson[SAME_WAIT].results[place]
    mass, heat = by_hand(result)
    assert result.mass == pytest.approx(mass, rel=1e-9)
    assert result.energy == pytest.approx(heat, rel=1e-9)
    capacity = mass * result.heat_capacity / result.mass
    assert result.rise == pytest.approx(heat / capacity, rel=1e-9)


def test_specific_heat_of_316L(lesson):
    """Mean of 20 to 150 degC; handbooks give 500 J/kg/K at 0 to 100 degC (from memory)."""
    result = lesson[SAME_WAIT].results[0]
    assert result.heat_capacity / result.mass == pytest.approx(505, abs=10)


def test_sums_agree_with_the_grid(lesson):
    """Volumes of the cells and surfaces of the mesh, summed in another module."""
    for one in lesson.values():
        for r in one.results:
            lumped = r.history.lumped
            assert r.mass == pytest.approx(lumped.mass, rel=1e-9)
            assert r.time_constant == pytest.approx(lumped.time_constant, rel=1e-9)


def test_pipe_surface_is_a_cylinder(lesson):
    """Outside of the bare pipe: pi D times what the weld leaves of the stub."""
    result = lesson[SAME_WAIT].results[0]
    case, area = result.case, next(s.area for s in result.skins if s.name == "pipe")
    bare = result.length - case.leg_pipe
    assert area == pytest.approx(pi * case.pipe.outside_diameter * bare, rel=1e-9)


def test_plate_by_the_sudden_source():
    """Q / (d sqrt(4 pi k rho c t)) (Carslaw and Jaeger, from memory), and by images."""
    case = parse_case(case_text(OWN))
    plate = make_plate(case, THICK, 0.3)
    heat = 2 / 3 * 0.75 * 11 * 80 / (75e-3 / 60)  # J/m
    expected = heat / (THICK * sqrt(4 * pi * plate.k * plate.capacity * 300.0))
    assert strip_rise(plate, plate.powers[0], 300.0) == pytest.approx(expected)
    run = run_plate(plate, (None, 60.0, 60.0), case.limits.interpass_max)
    assert run.at_arc_on[1] - plate.air == pytest.approx(
        strip_rise(plate, plate.powers[0], 300.0), rel=0.01
    )


def test_plate_waits_for_the_limit():
    """A thin short seam has to wait, and is then at the limit."""
    case = parse_case(case_text(OWN))
    plate = make_plate(case, 4e-3, 0.05)
    run = run_plate(plate, (None, None, None), case.limits.interpass_max)
    assert min(run.waits[1:]) > 10.0
    assert run.at_arc_on[1:] == pytest.approx([case.limits.interpass_max] * 2, abs=1e-3)


# questions


def test_three_questions_each(lesson):
    for one in lesson.values():
        assert len(exercises(one)) == 3
        for question in exercises(one):
            assert question.asks.count("?") >= 1
            assert all("nan" not in line for line in (*question.sums, question.so))


def test_answers_on_sizes(lesson):
    """Rise, ratio of rises and the plate, from numbers of the trade."""
    same = lesson[SAME_WAIT]
    warms, why, plate = exercises(same)
    mass, heat = by_hand(same.results[0])
    assert warms.value == pytest.approx(heat / mass / 506.5, rel=1e-3)
    large, more = by_hand(same.results[-1])
    assert why.value == pytest.approx(more / large / 506.5, rel=1e-3)
    t = pi * 114.3e-3 / (75e-3 / 60) + 60.0
    heat_per_metre = 2 / 3 * 0.75 * 11 * 80 / (75e-3 / 60)
    k, c = same.plate.plate.k, same.plate.plate.capacity
    assert plate.value == pytest.approx(heat_per_metre / THICK / sqrt(4 * pi * k * c * t))
    assert f"{plate.value:.0f} degC" in " ".join(plate.sums)


def test_answers_on_waits(lesson):
    """A lump falls as exp(-t / tau)."""
    first, later, _ = exercises(lesson[TO_LIMIT])
    lump = lesson[TO_LIMIT].results[0].history.lumped
    assert first.value == pytest.approx(
        lump.time_constant * log(lump.rise_per_pass[0] / 130)
    )
    (_, *_, told), *_ = struck_table(lesson[TO_LIMIT]).rows
    assert told == clock(first.value)  # as the answer has it, seconds too
    after = 130 + lump.rise_per_pass[1]
    assert after * np.exp(-later.value / lump.time_constant) == pytest.approx(130)


def test_the_longest_wait_is_explained_where_it_is_not_that_of_the_smallest(lesson):
    shown = lesson[TO_LIMIT]
    last = [r.history.passes[-1].wait for r in shown.results]
    told = "waits longest" in tell_why(shown)
    assert told == (max(last) > last[0])
    assert "waits longest" not in tell_why(lesson[SAME_WAIT])


def test_answers_on_lengths_and_metals(lesson):
    more, reach, fin = exercises(lesson[LENGTHS])
    short = lesson[LENGTHS].results[0]
    area = pi / 4 * (33.4e-3**2 - 24.3e-3**2)
    density, c = short.case.pipe.material.density, short.heat_capacity / short.mass
    assert more.value * area * density * c == pytest.approx(short.heat_capacity, rel=1e-3)
    long = lesson[LENGTHS].results[1]
    assert reach.value == pytest.approx(
        sqrt(pi * long.alpha * long.history.passes[1].arc_on)
    )
    film = next(s.film for s in long.skins if s.name == "pipe")
    k = long.alpha * 4.099e6  # J/m³/K, 7955 x 515
    assert fin.value == pytest.approx(sqrt(k * area / (film * pi * 33.4e-3)), rel=2e-3)
    ratio, spread, wait = exercises(lesson[METALS])
    stainless, carbon = (r.history.lumped for r in lesson[METALS].results)
    assert ratio.value == pytest.approx(carbon.heat_capacity / stainless.heat_capacity)
    assert 1.6 < spread.value < 2.0
    rise = carbon.rise_per_pass[0]  # its own limit is 250 degC in NORSOK M-601
    assert wait.value == pytest.approx(carbon.time_constant * log((230 + rise) / 230))


FACTORS = {
    "kJ": 1e3, "mm": 1e-3, "mm2": 1e-6, "mm2/s": 1e-6, "mm/min": 1e-3, "g": 1e-3,
}  # fmt: skip
UNIT = r"(kJ|mm2/s|mm/min|mm2|mm|in2/s|in/min|in2|in|J/lb/degF|J/in3/degF|J/degF|W/degF|lb|degF|J/kg/degC|J/m3/degC|J/degC|W/degC|kg/m3|kg|s/min|[AVWJsm]|degC|times)\b"


def worth(text):
    """Value in SI of a piece of a sum; None where it is no plain arithmetic."""
    text = text.split(": ")[-1].split(", so ")[-1].split(" at the limit")[0]
    text = text.replace("sqrt", " sqrt")
    text = re.sub(
        rf"([\d.e+]+|\)) {UNIT}", lambda m: f"{m[1]} * {FACTORS.get(m[2], 1)}"
        if m[1] == ")" else f"({m[1]} * {FACTORS.get(m[2], 1)})", text,
    )  # fmt: skip
    text = text.replace(" x ", " * ").replace("²", "**2")
    if not re.search(r"\d", text) or re.search(
        r"[^\d.e+\-*/() ]", text.replace("sqrt", "")
    ):
        return None
    return float(eval(text, {"sqrt": sqrt}))  # digits and signs alone


@pytest.mark.parametrize("units", [SI, US], ids=["si", "us"])
def test_every_sum_comes_out(lesson, units):
    """What stands left and right of an equals sign is equal, within the figures shown."""
    checked = 0
    for one in lesson.values():
        for question in exercises(one, units):
            for line in question.sums:
                values = [worth(part) for part in line.split(" = ")]
                for left, right in itertools.pairwise(values):
                    if left is not None and right is not None:
                        assert left == pytest.approx(right, rel=0.015), line
                        checked += 1
    assert checked >= 25


# the page and its pictures


def test_page_has_the_numbers_of_the_program(lesson, page):
    text = read(page).text
    for one in lesson.values():
        for r in one.results:
            assert f"{r.energy:.0f}" in text
            assert f"{r.mass:.4f}" in text
            assert f"{r.conductance:.4f}" in text
            for done in r.history.passes[1:]:
                assert f"{done.at_arc_on.hottest - 273.15:.0f}" in text
                assert clock(done.wait) in text


def test_page_asks_the_network_for_nothing(page):
    assert not re.search(OUTSIDE, re.sub(r"base64,[A-Za-z0-9+/=]+", "", page))


def test_page_is_accessible(page):
    """A language, one h1, no heading skipped, words for every picture, heads in tables."""
    tags = read(page).tags
    names = [tag for tag, _ in tags]
    assert ("html", {"lang": "en"}) in tags
    levels = [int(tag[1]) for tag in names if re.fullmatch("h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert max(np.diff(levels)) <= 1
    images = [attrs for tag, attrs in tags if tag == "img"]
    assert len(images) == 12
    assert all(len(image["alt"]) > 40 for image in images)
    assert all("scope" in attrs for tag, attrs in tags if tag == "th")


def test_links_lead_somewhere(page, lesson):
    tags = read(page).tags
    ids = [attrs["id"] for _, attrs in tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    files = {
        f"{r.variant.stem}.toml": r.variant.text
        for x in lesson.values()
        for r in x.results
    }
    for tag, attrs in tags:
        if tag == "a" and "download" in attrs:
            kind, _, coded = attrs["href"].partition(";base64,")
            assert kind == "data:text/plain"
            assert base64.b64decode(coded).decode() == files.pop(attrs["download"])
        elif tag == "a":
            assert attrs["href"][1:] in ids
    assert not files


def test_page_is_one_file_and_begins_with_the_conclusion(lesson, page):
    """Pictures are in it; three sentences come first, with numbers of the run."""
    reader = read(page)
    images = [attrs for tag, attrs in reader.tags if tag == "img"]
    assert all(image["src"].startswith("data:image/png;base64,") for image in images)
    told = conclusion(tuple(lesson.values()))
    assert len(told) == 3
    assert reader.text.index(told[0][:40]) < reader.text.index("This lesson welds")
    small, large = (lesson[TO_LIMIT].results[n].history.passes[-1].wait for n in (0, -1))
    assert spelled(small) in told[2]
    assert spelled(large) in told[2]


def test_us_page_is_in_us_units_throughout(lesson):
    compared = tuple(lesson.values())
    text = read(lesson_page(compared, pictures(compared, US), US).decode()).text
    body = text[text.index("Why small pieces overheat", 100) :]
    body = body.replace("stub 40 mm", "").replace("API RP 582: 315 degC", "")  # as named
    for unit in (r"degC", r"\bmm\b", r"mm²", r"\bkg\b", r"cm²", r"W/m", r"/m\b"):
        found = re.findall(rf".{{0,30}}{unit}.{{0,10}}", body)
        assert not found, found[:5]


def test_page_prints_without_an_empty_page(browser, page, tmp_path):  # noqa: F811
    """Every printed page has writing or a picture on it."""
    path = tmp_path / "lesson.html"
    path.write_text(page, encoding="utf-8")
    browser.get(path.as_uri())
    for size in ((8.27, 11.69), (8.5, 11.0)):
        asked = {
            "paperWidth": size[0],
            "paperHeight": size[1],
            "preferCSSPageSize": False,
        }
        printed = browser.execute_cdp_cmd("Page.printToPDF", asked)["data"]
        marks = marks_by_page(base64.b64decode(printed))
        assert len(marks) > 5
        assert min(marks) > 3


def marks_by_page(pdf):
    """Commands that draw text or pictures on every page of a PDF."""
    found = {}
    for number, body in re.findall(rb"(\d+) 0 obj\s*(.*?)endobj", pdf, re.DOTALL):
        found[int(number)] = body
    pages = [b for b in found.values() if re.search(rb"/Type\s*/Page\b", b)]
    counts = []
    for body in pages:
        number = int(re.search(rb"/Contents\s+(\d+)", body)[1])
        stream = found[number].partition(b"stream")[2].lstrip(b"\r\n")
        drawn = zlib.decompressobj().decompress(stream)
        counts.append(len(re.findall(rb"\b(?:Tj|TJ|Do)\b", drawn)))
    return counts


def test_words_of_the_case_cannot_break_out(drawn):
    table = own_table()
    table["title"] = "</title><script>stolen()</script>"
    table["materials"] = {"<img src=x onerror=y>": own_metal()}
    names = ("316L", "carbon steel")
    table["pipe"]["material"] = table["fitting"]["material"] = "<img src=x onerror=y>"
    table["joint"]["filler"] = "316L"
    table["model"] = {"cell": "2 mm", "end_after": "1 s"}
    joints = comparisons(table, Choices(sizes=("1/2", "1"), materials=names, ring=1))
    compared = run_joints(joints, THICK)
    text = lesson_page(compared, drawn).decode()
    assert "<script" not in text
    assert "<img src=x" not in text


def own_metal():
    return {
        "density": "7900 kg/m^3",
        "conductivity": [["20 degC", "15 W/m/K"]],
        "specific_heat": [["20 degC", "500 J/kg/K"]],
        "solidus": "1400 degC",
        "liquidus": "1450 degC",
    }


def test_dots_are_at_the_temperatures_of_the_model(lesson):
    one = lesson[SAME_WAIT]
    figure = history_figure(one, SI)
    for axes, result in zip(figure.axes, one.results, strict=False):
        numbers = [t.get_text() for t in axes.texts]
        later = result.history.passes[1:]
        assert numbers == [f"{d.at_arc_on.hottest - 273.15:.0f}" for d in later]


# the animation


def test_cells_without_metal_take_a_neighbour():
    T = np.full((2, 1, 3), np.nan)
    T[0, 0, 0], T[1, 0, 2] = 300.0, 400.0
    assert not np.isnan(filled(T)).any()
    assert filled(T)[0, 0, 1] in (300.0, 400.0)


def test_metal_in_the_picture_is_that_of_the_model():
    """Middles of cells full of metal are inside the outline, above and below the axis."""
    model = make_model(parse_case(case_text(OWN)))
    r, z = model.lines.r, model.lines.z
    full = np.outer(np.diff(r**2) / 2, np.diff(z))
    i, j = np.nonzero(model.stages[-1].volume > 0.999 * full)
    middle = np.column_stack([(z[j] + z[j + 1]) / 2, (r[i] + r[i + 1]) / 2])
    for sign in (1, -1):
        shape = metal_path(model.outline, model.fillets[-1], sign)
        inside = shape.contains_points(middle * [1, sign])
        assert inside.mean() > 0.999


def small_movie():
    table = own_table()
    table["model"] = {"cell": "2 mm"}
    joint = comparisons(table, Choices(sizes=("1/2", "1"), ring=1))[0].variants[0]
    return make_movie(joint)


@pytest.mark.slow
def test_movie_runs_from_cold_to_the_end():
    movie = small_movie()
    with Image.open(io.BytesIO(movie.gif)) as gif:
        assert 80 <= gif.n_frames <= 150
        assert gif.size == movie.size == (800, 560)
        first = np.asarray(gif.convert("RGB")).copy()
        gif.seek(gif.n_frames - 1)
        last = np.asarray(gif.convert("RGB")).copy()
        assert gif.info["loop"] == 0
    assert len(movie.gif) < 3e6
    assert (np.abs(first.astype(int) - last).max(axis=2) > 30).mean() > 0.05
    assert small_movie().gif == movie.gif


# the command


def test_command_writes_the_whole_lesson(run, tmp_path, monkeypatch, drawn):
    monkeypatch.setattr(lesson_figures, "pictures", lambda *_: drawn)  # drawn already
    folder = tmp_path / "class"
    status, out, err = run(
        "lesson", "--axisymmetric", "--no-movie", "--size", "1/2,1", "--out", folder
    )
    assert status == ExitStatus.OK
    assert "NPS 1/2, pass 3" in out
    assert err.count("Wrote ") == 9
    page = (folder / "lesson.html").read_text(encoding="utf-8")
    assert "data:image/gif" not in page
    assert len(list((folder / "cases").iterdir())) == 8


def test_command_tells_mistakes_of_the_case_with_their_line(run, tmp_path):
    path = changed(tmp_path, ('current = "80 A"', 'current = "80"'))
    status, _, err = run("lesson", path, "--out", tmp_path / "none")
    assert status == ExitStatus.CASE
    assert re.search(r"changed\.toml:\d+: .*80", err)
    assert not (tmp_path / "none").exists()


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("--size", "1/2,1", "--plate", "3 m"), "no plate"),
        (("--size", "1/2"), "two sizes"),
        (("--wait", "soon"), "soon"),
        (("--axisymmetric", "--ring", "8"), "give one of the two"),
    ],
)
def test_command_refuses_what_makes_no_lesson(run, tmp_path, arguments, told):
    status, _, err = run("lesson", *arguments, "--out", tmp_path / "none")
    assert status in (ExitStatus.USAGE, ExitStatus.CASE)
    assert told in err
    assert "Traceback" not in err


def test_a_case_of_ones_own_is_taught_in_its_units(run, tmp_path):
    case = tmp_path / "own.toml"
    case.write_text(new_case_text(answers_from(
        {"size": "1/2", "material": "316L", "length": "3 in"}, US), US))  # fmt: skip
    few = ("--size", "1/2,1", "--material", "316L,2205", "--length", "3 in,4 in")
    folder = tmp_path / "lesson"
    quick = ("--axisymmetric", "--no-movie", "--out", folder)
    status, out, _ = run("lesson", case, *few, *quick)
    assert status == ExitStatus.OK
    assert "degF" in out
    assert "degC" not in out
