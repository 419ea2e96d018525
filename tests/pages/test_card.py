"""The card: its numbers are the plan's, it fits its paper, and nothing gets out of it."""

import html.parser
import json
import re
from dataclasses import replace
from itertools import combinations
from math import floor

import numpy as np
import pytest
from interpass.case_file.read import read_case
from interpass.doubt.bands import find_bands
from interpass.heat.waits import plan
from interpass.joint.case import Holding, Measure
from interpass.joint.places import measuring_place
from interpass.pages.booth import MARK, card_pdf, draw_card
from interpass.pages.card import card_of, setting_rows, summary
from interpass.pages.phone import card_page, page_data
from interpass.pictures import sheet as card_sheet
from interpass.report.cautions import cautions, short_cautions
from interpass.report.strike import reading_text, strike_line
from interpass.results.plan import results
from interpass.text.errors import ExitStatus
from interpass.text.kinds import SI, US, to_degF
from interpass.text.times import clock, shop_time
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.lines import Line2D
from terminal import ROOT, SHORT, STUB

HOSTILE = (
    "</title></script><script>stolen()</script><img src=//x onerror=y>\"'&{{7*7}} $x_1$"
)
OUTSIDE = r"https?:|//[a-z]|@import|<link|<iframe|url\(|(?:src|href|action)=\"(?!data:)"
SAMPLES = 16  # of the bands: enough for numbers that differ


@pytest.fixture(scope="session")
def stub_card(stub):
    """The card of the stub with its bands."""
    case, history = stub
    return card_of(case, history, find_bands(case, history, samples=SAMPLES))


@pytest.fixture(scope="session")
def given_card(given_waits):
    """The card of given waits that are too short, without bands."""
    return card_of(*given_waits)


def many_passes(number):
    """The stub with many small passes, as the run of it would be if it took no time."""
    case = read_case(STUB)
    case = replace(case, model=replace(case.model, ring=1, cell=2e-3, end_after=1.0))
    first, second = case.passes
    more = [
        replace(second, number=n, wire=None, deposit=2e-6, arc_time=8.0, wait=600.0 + n)
        for n in range(2, number + 1)
    ]
    first = replace(first, wire=None, deposit=2e-6, arc_time=8.0)
    case = replace(case, passes=(first, *more), title="Long title " * 12)
    return card_of(case, plan(case))


def texts(figure):
    """Every piece of writing on the sheet, with its box in points."""
    canvas = FigureCanvasAgg(figure)
    renderer = canvas.get_renderer()
    return [
        (t.get_text(), t.get_window_extent(renderer))
        for t in figure.texts
        if t.get_text()
    ]


def words_of(figure):
    return " ".join(text for text, _ in texts(figure))


# numbers


def test_waits_are_those_of_the_plan(stub_card):
    """Card, page and JSON of ``plan`` show one number."""
    told = results(stub_card.case, stub_card.history, bands=stub_card.bands)["passes"][1]
    (wait,), (paged,) = stub_card.waits, page_data(stub_card)["waits"]
    assert wait.strike.typical == paged["typical_s"] == told["wait_in_shop_s"]
    assert wait.strike.wait == paged["wait_s"] == shop_time(told["allow_s"])
    assert paged["strike_at_degC"] == told["strike_at_degC"]
    shown = words_of(draw_card(stub_card))
    assert clock(wait.strike.wait) in shown
    assert f"{floor(told['strike_at_degC'])} degC" in shown


def test_the_safe_wait_is_that_of_the_bands_rounded_up_as_a_shop_times_it(stub_card):
    case, history = stub_card.case, stub_card.history
    bands = find_bands(case, history, samples=SAMPLES)
    (wait,) = stub_card.waits
    assert wait.strike.kind == "safe"
    assert wait.strike.wait == shop_time(bands.passes[1].allow)
    assert wait.strike.typical < wait.strike.wait


def test_card_and_page_say_the_line_the_plan_says(stub_card):
    """Wait, and the reading to strike by, in the words of ``report/strike``."""
    (wait,) = stub_card.waits
    line = strike_line(wait.strike, SI)
    assert f"Before pass 2: {line} (typical wait " in " ".join(
        summary(stub_card, SI).split()
    )
    page = re.sub(r"<[^>]+>", "", card_page(stub_card).decode())
    reading = reading_text(wait.strike, SI)
    assert f"then strike only if the place marked reads{reading}" in page
    assert reading_text(wait.strike, SI) in words_of(draw_card(stub_card))


def test_no_reading_is_trusted_before_the_place_marked_cools(stub_card):
    """From then on every member of the family falls."""
    (wait,) = stub_card.waits
    later = wait.family.time >= wait.warms_until
    assert (np.diff(wait.family.reading[:, later], axis=1) <= 0.0).all()
    assert 0.0 < wait.warms_until < 60.0


def test_limit_holding_and_fields_to_write_in_stand_on_the_sheet(stub_card, given_card):
    """The limit with who says so at the foot; a line for each pass to write on."""
    figure = draw_card(stub_card)
    shown = words_of(figure)
    for name in ("Date", "Welder", "Joint", "it read"):
        assert f" {name} " in f" {shown} "
    strokes = [a for a in figure.artists if isinstance(a, Line2D) and a.get_lw() == 0.6]
    lengths = [float(np.ptp(a.get_xdata())) for a in strokes]
    assert sum(0.1 < x < 0.35 for x in lengths) == 3 + len(stub_card.strikes)
    foot = [t.get_text() for t in figure.texts if t.get_fontsize() < 6.0]
    limit = stub_card.case.limits
    assert any(line.startswith("Interpass limit 175 degC") for line in foot)
    assert limit.interpass_max_source.split(";")[0][:20] in " ".join(foot)
    assert "held by nothing that takes heat" in shown
    held = replace(
        given_card.case.surroundings, holding=Holding("pipe", 80e-3, 25e-3, 500.0)
    )
    card = replace(given_card, case=replace(given_card.case, surroundings=held))
    assert "held on the pipe from 80.0" in words_of(draw_card(card)).replace(
        "80.00", "80.0"
    )


def test_settings_are_those_of_the_case(stub_card):
    """As the case file of the stub gives them; once round is 2 pi 13.35 mm / 60 mm/min."""
    assert setting_rows(stub_card, SI) == [
        ("1", "80", "11.0", "60", "1:24", "1.6 mm at 130 mm/min"),
        ("2", "85", "11.0", "55", "1:32", "fill to leg 4.3 mm"),
    ]
    assert setting_rows(stub_card, US)[0][3:] == ("2.4", "1:24", "0.063 in at 5.1 in/min")


def test_family_in_the_page_is_that_of_the_bands(stub_card):
    (family,) = find_bands(stub_card.case, stub_card.history, samples=SAMPLES).families
    data = page_data(stub_card)["waits"][0]["family"]
    assert data["wait_s"] == pytest.approx(family.wait, abs=0.006)
    assert data["reading_degC"][0] == pytest.approx(family.reading[0] - 273.15, abs=0.006)
    assert data["time_s"] == pytest.approx(family.time, abs=0.006)


def test_given_waits_are_shown_as_given(given_card):
    strikes = [wait.strike for wait in given_card.waits]
    assert [(x.wait, x.typical, x.kind) for x in strikes] == [
        (90.0, None, "given"),
        (120.0, None, "given"),
    ]
    assert "given" in words_of(draw_card(given_card))
    assert "given wait, min:s" in card_page(given_card).decode()


def test_summary_ends_with_the_verdict(stub_card, given_card):
    assert summary(stub_card, US).splitlines()[-1].startswith("Verdict: the limits hold.")
    assert "Before pass 2: wait 1:30 (given), then strike only if" in summary(
        given_card, SI
    )


def test_a_plan_that_stopped_says_so_on_both(shipped):
    """The limit is out of reach within the longest wait allowed: no pass 2."""
    case = shipped("sampling-stub")
    case = replace(case, limits=replace(case.limits, wait_max=10.0))
    card = card_of(case, plan(case))
    assert not card.waits
    assert "NO PLAN" in words_of(draw_card(card))
    assert "<strong>NO PLAN</strong>" in card_page(card).decode()


# the sheet


@pytest.mark.parametrize("paper", card_sheet.PAPERS)
@pytest.mark.parametrize("units", [SI, US], ids=["si", "us"])
def test_nothing_overlaps_or_leaves_the_sheet(shipped_run, paper, units):
    """On every case shipped."""
    _assert_tidy(draw_card(card_of(*shipped_run), paper, units))


@pytest.mark.parametrize("passes", [2, 5, 12])
@pytest.mark.parametrize("paper", card_sheet.PAPERS)
@pytest.mark.parametrize("units", [SI, US], ids=["si", "us"])
def test_many_passes_and_long_waits_fit(passes, paper, units):
    """Waits of ten minutes have a figure more."""
    figure = draw_card(with_long_waits(many_passes(passes)), paper, units)
    assert "10:40" in words_of(figure)
    _assert_tidy(figure)
    (drawing,) = figure.axes
    assert drawing.get_position().height * 210.0 > 30.0  # mm


def with_long_waits(card):
    """The same with safe waits of 10:40, typical ones of 10:05, and five-figure clocks."""
    waits = tuple(
        replace(
            wait,
            strike=replace(
                wait.strike, wait=640.0, typical=605.0, kind="safe", reading=533.0
            ),
        )
        for wait in card.waits
    )
    return replace(card, waits=waits)


@pytest.mark.parametrize("paper", card_sheet.PAPERS)
@pytest.mark.parametrize("units", [SI, US], ids=["si", "us"])
def test_bands_fit_too(stub_card, paper, units):
    _assert_tidy(draw_card(stub_card, paper, units))
    _assert_tidy(draw_card(with_long_waits(stub_card), paper, units))


def _assert_tidy(figure):
    page = figure.bbox
    found = texts(figure)
    for text, box in found:
        assert box.x0 > page.x0, text
        assert box.x1 < page.x1, text
        assert box.y0 > page.y0, text
        assert box.y1 < page.y1, text
    for (a, one), (b, two) in combinations(found, 2):
        across = min(one.x1, two.x1) - max(one.x0, two.x0)
        down = min(one.y1, two.y1) - max(one.y0, two.y0)
        # Boxes of the letters include the room of their descenders.
        assert across < 0.5 or down < 0.25 * min(one.height, two.height), (a, b)
    (drawing,) = figure.axes
    frame = drawing.get_window_extent()
    assert not [t for t, box in found if box.overlaps(frame.padded(-1.5))]


def test_safe_wait_and_reading_to_strike_by_are_the_largest_writing(stub_card):
    figure = draw_card(stub_card)
    by_size = sorted(figure.texts, key=lambda t: -t.get_fontsize())
    (wait,) = stub_card.waits
    assert by_size[0].get_text() == clock(wait.strike.wait)
    readings = {reading_text(x, SI).rsplit(" or ")[0] for x in stub_card.strikes}
    assert {t.get_text() for t in by_size[1:3]} == readings
    assert by_size[0].get_fontsize() > 24.0  # points: 6 mm high figures


@pytest.mark.parametrize(
    ("paper", "width", "height"), [("a5", 148, 210), ("half-letter", 139.7, 215.9)]
)
def test_pdf_is_one_page_of_its_paper_and_bears_no_date(stub_card, paper, width, height):
    """ISO 216 A5; half of ANSI letter, 5.5 by 8.5 in (published)."""
    pdf = card_pdf(stub_card, paper)
    assert pdf == card_pdf(stub_card, paper)
    box = re.search(rb"/MediaBox \[ ?0 0 ([\d.]+) ([\d.]+) ?\]", pdf)
    assert [float(x) / 72 * 25.4 for x in box.groups()] == pytest.approx(
        [width, height], abs=0.1
    )
    assert pdf.count(b"/Type /Page ") + pdf.count(b"/Type /Page\n") == 1
    assert b"CreationDate" not in pdf


def test_a_limit_not_met_is_said_large_and_white_on_black(given_card):
    figure = draw_card(given_card)
    (said,) = [t for t in figure.texts if t.get_text() == "NOT MET"]
    assert said.get_fontsize() > 15.0
    assert said.get_color() == "white"
    assert "<strong>NOT MET</strong>" in card_page(given_card).decode()


@pytest.mark.parametrize(
    "measure",
    [Measure(), Measure("pipe", 3e-3), Measure("fitting"), Measure("fitting", 3e-3)],
)
def test_triangle_points_at_the_measuring_place(stub, measure):
    """Its point is within half its height of the surface, and on no writing."""
    case, history = stub
    case = replace(case, measure=measure)
    figure = draw_card(card_of(case, history))
    (drawing,) = figure.axes
    (mark,) = [line for line in drawing.lines if line.get_marker() in ("^", "v")]
    place = measuring_place(case)
    (x,), (y,) = mark.get_data()
    assert x == pytest.approx(place.z, abs=1e-6)
    at, surface = (drawing.transData.transform((x, r))[1] for r in (abs(y), place.r))
    assert 0.4 * MARK < (at - surface) / figure.dpi * 72 < 0.8 * MARK
    box = mark.get_window_extent(FigureCanvasAgg(figure).get_renderer())
    assert not [t for t in drawing.texts if t.get_window_extent().overlaps(box)]
    assert "at the triangle: " in words_of(figure)


def test_a_place_off_the_drawing_is_told_without_a_triangle(stub):
    case, history = stub
    figure = draw_card(card_of(replace(case, measure=Measure("pipe", 80e-3)), history))
    assert "Measure on the pipe, 80 mm from the toe" in words_of(figure)


def test_letters_the_type_lacks_are_replaced():
    assert card_sheet.printable("Ø 5 \u6f22\x07\n") == "Ø 5 ?? "
    lines = card_sheet.wrapped("x" * 300, 10.0, 50.0)
    assert max(card_sheet.width(line, 10.0) for line in lines) <= 50.0
    assert "".join(lines) == "x" * 300


def test_words_beyond_the_lines_allowed_end_in_dots():
    lines = card_sheet.wrapped("word " * 100, 10.0, 50.0, most=2)
    assert len(lines) == 2
    assert lines[-1].endswith(" ...")


# the page


class Tags(html.parser.HTMLParser):
    """Start tags of a page, with their attributes, and the text of its headings."""

    def __init__(self, page):
        super().__init__()
        self.tags, self.heading = [], ""
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data):
        if self.tags and self.tags[-1][0] == "h1" and not self.heading:
            self.heading = data


def hostile(card):
    return replace(card, case=replace(card.case, title=HOSTILE))


def test_hostile_title_stays_text(stub_card):
    page = card_page(hostile(stub_card)).decode()
    calm = Tags(card_page(stub_card).decode())
    found = Tags(page)
    assert [tag for tag, _ in found.tags] == [tag for tag, _ in calm.tags]
    assert found.heading == HOSTILE
    assert "49" not in found.heading
    assert "$x_1$" in words_of(draw_card(hostile(stub_card)))


def test_page_reaches_for_nothing_outside(stub_card):
    page = card_page(stub_card).decode()
    without_picture = re.sub(r"base64,[A-Za-z0-9+/=]+", "", page)
    assert not re.findall(OUTSIDE, without_picture)
    assert "default-src 'none'" in page
    for kind in ("script", "link", "iframe", "object", "base", "form"):
        for tag, attributes in Tags(page).tags:
            assert tag != kind or not {"src", "href", "data", "action"} & set(attributes)


def test_page_lets_only_its_own_script_run(stub_card):
    """The policy names the script by its hash, so text of a case can never run."""
    import base64
    import hashlib

    page = card_page(stub_card).decode()
    script = page.rpartition("<script>")[2].partition("</script>")[0]
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    assert f"script-src 'sha256-{digest}'" in page


def test_page_is_the_same_every_time(stub_card):
    assert card_page(stub_card) == card_page(stub_card)


def test_key_follows_the_content(stub_card):
    """What a browser keeps for one plan is never shown for another."""
    keys = {
        page_data(card)["key"]
        for card in (
            stub_card,
            hostile(stub_card),
            replace(stub_card, waits=(replace(stub_card.waits[0], warms_until=1.0),)),
            card_of(stub_card.case, stub_card.history),
        )
    }
    assert len(keys) == 4
    assert page_data(stub_card)["key"] == page_data(stub_card, US)["key"]


def test_without_bands_the_waits_are_called_typical(stub):
    card = card_of(*stub)
    page = card_page(card).decode()
    assert page.count('role="timer"') == 1
    assert "typical wait, min:s" in page
    assert "safe wait" not in page.partition("<script")[0]
    assert "the doubt about them was not computed" in page
    assert "safe wait" not in words_of(draw_card(card))


def test_temperatures_start_in_the_units_asked_for(stub_card):
    page = card_page(stub_card, US).decode()
    limit = stub_card.case.limits.interpass_max
    shown = f'data-degc="{limit - 273.15:.2f}" data-way="down">{to_degF(limit):.0f} degF<'
    assert shown in page
    assert 'value="degF" checked' in page


def luminance(colour):
    """Relative luminance of a colour; WCAG 2.1, definition (published)."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one, two):
    """Contrast of two colours; WCAG 2.1 (published)."""
    light, dark = sorted((luminance(one), luminance(two)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_by_its_definition():
    """Black on white is 21; #777777 on white 4.48 (published examples)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize(
    ("ink", "paper"),
    [
        ("ink", "paper"),
        ("typical-ink", "typical-paper"),
        ("over-ink", "over-paper"),
        ("stop-ink", "stop-paper"),
        ("bad", "paper"),
    ],
)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_writing_of_the_page_stands_out(stub_card, ink, paper, scheme):
    page = card_page(stub_card).decode()
    light, _, rest = page.partition("prefers-color-scheme: dark")
    found = re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", light)
    if scheme == "dark":
        found += re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", rest.partition("* {")[0])
    colours = dict(found)
    assert contrast(colours[ink], colours[paper]) >= 7.0


# cautions


@pytest.mark.parametrize("name", ["sampling-stub", "steam-drain"])
def test_short_cautions_say_what_the_long_ones_say(shipped, name):
    case = shipped(name)
    history = plan(case)
    long, short = cautions(case, history, SI), short_cautions(case, history, SI)
    assert len(short) == len(long)
    assert max(map(len, short)) < 90
    for key in ("cause cancer", "quench"):
        assert (key in " ".join(long)) == (key.replace("cause ", "") in " ".join(short))
    burn = re.search(r"still at (\d+ degC)", long[0])[1]
    assert burn in short[0]


# the command


@pytest.fixture
def run_card(run, tmp_path, monkeypatch):
    """Run the command in a folder of its own, quickly."""
    monkeypatch.chdir(tmp_path)
    return lambda *arguments: run("card", "--axisymmetric", "--quick", *arguments)


def test_command_names_its_files_after_the_case(run_card, tmp_path):
    status, out, err = run_card(STUB)
    assert status == ExitStatus.OK
    assert out.startswith("Before pass 2: wait ")
    assert "(typical), then strike only if the place marked reads " in " ".join(
        out.split()
    )
    assert err == "Wrote sampling-stub.card.pdf\nWrote sampling-stub.card.html\n"
    names = sorted(p.name for p in tmp_path.iterdir())
    assert names == ["sampling-stub.card.html", "sampling-stub.card.pdf"]
    before = [(tmp_path / name).read_bytes() for name in names]
    run_card(STUB)
    assert [(tmp_path / name).read_bytes() for name in names] == before


def test_command_puts_files_where_it_is_told(run_card, tmp_path):
    pdf, page = tmp_path / "booth" / "a.pdf", tmp_path / "phone" / "b.html"
    status, _, _ = run_card(STUB, "--out", pdf, "--html", page, "--paper", "half-letter")
    assert status == ExitStatus.OK
    assert pdf.read_bytes().startswith(b"%PDF")
    assert page.read_bytes().startswith(b"<!DOCTYPE html>")


def test_command_ends_with_5_when_a_limit_is_not_met(run_card, tmp_path):
    status, out, _ = run_card(SHORT)
    assert status == ExitStatus.LIMIT
    assert "Verdict: NOT MET." in out
    assert (tmp_path / "check-joint.card.pdf").exists()


@pytest.mark.parametrize(
    ("option", "name"), [("--out", "card.html"), ("--html", "card.pdf")]
)
def test_command_refuses_a_name_of_the_wrong_kind(run_card, tmp_path, option, name):
    status, _, err = run_card(STUB, option, name)
    assert status == ExitStatus.USAGE
    assert f"{name} must end in ." in " ".join(err.replace("│", " ").split())
    assert not list(tmp_path.iterdir())


def test_command_with_bands_puts_the_family_into_the_page(run, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("interpass.doubt.bands.SAMPLES", SAMPLES)
    monkeypatch.setattr(
        find_bands, "__defaults__", (None, SAMPLES)
    )  # progress, samples: fewer, for time
    status, out, _ = run("card", "--axisymmetric", STUB)
    assert status == ExitStatus.OK
    assert "(typical wait " in out
    page = (tmp_path / "sampling-stub.card.html").read_text(encoding="utf-8")
    data = json.loads(re.search(r'id="card-data">(.*?)</script>', page)[1])
    assert data["waits"][0]["family"]["error_K"] > 0


def test_help_shows_the_papers(run):
    text = run("card", "--help")[1]
    assert "half-letter" in text
    assert str(ROOT) not in text
