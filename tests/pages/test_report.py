"""The report that is filed: its numbers are the JSON's, and nothing gets out of it."""

import base64
import html.parser
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import combinations
from math import floor

import pytest
from interpass.doubt.bands import find_bands
from interpass.pages.report import report_page
from interpass.pages.templates import is_tall
from interpass.pictures.heat import heat_figure
from interpass.pictures.style import picture
from interpass.pictures.temperature import temperature_figure
from interpass.report.strike import strike_line, strikes
from interpass.report.verdicts import shown_value, verdict_text
from interpass.results.plan import results
from interpass.rules.judge import checks
from interpass.text.kinds import SI, US, to_degF
from interpass.text.times import clock
from pages.test_card_browser import browser  # noqa: F401 - a fixture
from terminal import STUB

HOSTILE = "</title></script><script>stolen()</script><img src=x onerror=y>\"'&{{7*7}}{%x%} $x_1$"
OUTSIDE = r"https?:|//[a-z]|@import|<link|<iframe|<script|url\(|(?:src|href|action)=\"(?!data:|#)"
VOID = {"meta", "img", "br", "link", "input", "hr"}
SAMPLES = 16  # of the bands: enough for numbers that differ


class Page(html.parser.HTMLParser):
    """A page read as a browser does: tags in order, tables by heading, and its text."""

    def __init__(self, text):
        super().__init__()
        self.open, self.tags, self.heading = [], [], ""
        self.tables, self.words = {}, []
        self.feed(text)
        self.close()
        assert not self.open

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)
        if tag in {"h2", "h3"}:
            self.heading = ""
        if tag == "tr":
            self.tables.setdefault(self.heading, []).append([])
        if tag in {"th", "td"}:
            self.tables[self.heading][-1].append("")

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.words.append(data)
        if self.open and self.open[-1] in {"h2", "h3"}:
            self.heading += data
        if {"th", "td"} & set(self.open):
            self.tables[self.heading][-1][-1] += data

    def rows(self, heading):
        """Rows below the heads."""
        return self.tables[heading][1:]

    @property
    def text(self):
        return " ".join(" ".join(self.words).split())


@pytest.fixture(scope="module")
def stub_bands(stub):
    case, history = stub
    return find_bands(case, history, samples=SAMPLES)


def pictures_of(case, history):
    figures = {"temperature": temperature_figure, "heat": heat_figure}
    return {
        f"{name}.{kind}": picture(draw(case, history), kind)
        for name, draw in figures.items()
        for kind in ("svg", "png")
    }


@pytest.fixture(scope="module")
def pictures(stub):
    return pictures_of(*stub)


# numbers


def test_waits_and_passes_are_those_of_the_json(stub, stub_bands):
    data = results(*stub, bands=stub_bands)
    page = Page(report_page(*stub, bands=stub_bands))
    done, doubt = data["passes"][1], data["doubt"]["passes"][1]
    low, high = doubt["wait_s"]["low"], doubt["wait_s"]["high"]
    assert page.rows("Waits") == [[
        "2", clock(doubt["allow_in_shop_s"]),
        f"{floor(doubt['strike_at_degC']):.0f} degC or less",
        clock(done["wait_in_shop_s"]), f"{done['wait_s']:.1f}",
        f"{done['expect_to_read_degC']:.0f}",
        f"{low:.0f} to {high:.0f}",
        *(f"{doubt[key]['low']:.0f} to {doubt[key]['high']:.0f}"
          for key in ("hottest_degC", "reading_degC")),
    ]]  # fmt: skip
    assert doubt["allow_in_shop_s"] > done["wait_in_shop_s"]
    for row, p in zip(page.rows("Passes"), data["passes"], strict=True):
        assert row[0] == str(p["number"])
        told = [float(cell) for cell in row[1:3]]  # the JSON rounds before
        assert told == pytest.approx([p["arc_on_s"], p["arc_off_s"]], abs=0.06)
        spots = [p["interpass_degC"], p["end_degC"]]
        expected = [f"{at[name]:.0f}" for at in spots for name in ("hottest", "mean")]
        assert row[4:-1] == expected
    shares = [[row["words"], row["key"]] for row in data["doubt"]["shares"]]
    assert [row[:2] for row in page.rows("What the doubt comes from")] == shares


def test_heat_is_that_of_the_json(shipped_run):
    data, page = results(*shipped_run), Page(report_page(*shipped_run))
    energy = data["energy"]
    title = next(heading for heading in page.tables if "heat went" in heading)
    told = [float(row[1]) for row in page.rows(title)]
    kept = [energy["arc_kJ"], *energy["lost_by_surface_kJ"].values(), energy["stored_kJ"]]
    assert told == pytest.approx(kept, abs=0.011)  # the JSON rounds before
    for row, p in zip(page.rows("Energy of the passes"), data["passes"], strict=True):
        assert row[-1] == f"{p['net_energy_kJ']:.1f}"
        assert row[4:6] == [
            "-" if p[key] is None else f"{p[key]:.3f}"
            for key in ("arc_energy_kJ_per_mm", "heat_input_kJ_per_mm")
        ]


def test_every_check_and_every_number_used_is_there(shipped_run):
    case, history = shipped_run
    metric = replace(case, report_units="si")  # the page speaks SI, rules in words too
    found, page = checks(metric, history), Page(report_page(case, history))
    data = results(case, history, assumptions=True)
    rows = page.rows("Checks")
    assert sorted((row[0].split()[1].lower(), row[1], row[2]) for row in rows) == sorted(
        (check.verdict, check.rule, shown_value(check, SI)) for check in found
    )
    order = [["FAIL", "NOTE", "PASS"].index(row[0].split()[1]) for row in rows]
    assert order == sorted(order)
    assert len({row[0].split()[0] for row in rows}) == len(set(order))  # a sign for each
    sourced = page.rows("Inputs") + page.rows("Assumptions")
    expected = [
        [r["key"], r["value"], r["source"], r["standing"]] for r in data["assumptions"]
    ]
    assert sorted(sourced) == sorted(expected)
    assert all(row[3] == "given" for row in page.rows("Inputs"))


def test_verdict_is_said_in_words(shipped_run):
    case, history = shipped_run
    words = verdict_text(checks(case, history), history)
    text = Page(report_page(case, history)).text
    outcome, _, rest = words.partition(". ")
    sign = "✓" if outcome == "the limits hold" else "✗"
    assert f"{sign} {outcome[0].upper()}{outcome[1:]} {rest}" in text


def test_ring_has_its_near_field(small_ring):
    data, page = results(*small_ring), Page(report_page(*small_ring))
    rows = page.rows("Near the arc (estimate)")
    for row, p in zip(rows, data["near_arc"], strict=True):
        assert row[1:3] == [f"{p['meets_degC']:.0f}", f"{p['pool_width_mm']:.1f}"]
        assert (row[7] == "melts") == p["melts_through"]
    assert len(page.rows("Passes")[0]) == 11
    assert "12 cells round the ring" in page.text


def test_units_of_the_user(stub):
    page = Page(report_page(*stub, US))
    done = results(*stub)["passes"][1]
    hottest = to_degF(done["interpass_degC"]["hottest"] + 273.15)
    assert page.rows("Passes")[1][4] == f"{hottest:.0f}"
    assert "1.050 in" in page.text
    assert "degF" in page.text


def test_run_that_stopped_says_so(shipped):
    from interpass.heat.waits import plan

    case = shipped("sampling-stub")
    limits = replace(case.limits, wait_max=20.0)
    case = replace(case, limits=limits)
    page = Page(report_page(case, plan(case)))
    assert "✗ NO PLAN" in page.text
    assert "passes run so far" in page.text


# what the page is told


def test_date_is_the_users_or_none(stub):
    assert "Date none given" in Page(report_page(*stub)).text
    assert "Date 3 May" in Page(report_page(*stub, date="3 May")).text


def test_what_would_help_has_its_place(stub):
    assert "shorten" not in report_page(*stub)
    page = Page(report_page(*stub, helps=[("Fan <b>", "saves 3 min & more")]))
    assert "Fan <b> saves 3 min & more" in page.text


def test_pictures_are_data_and_each_is_there_once(stub, pictures):
    page = Page(report_page(*stub, figures=pictures))
    sources = [attrs["src"] for tag, attrs in page.tags if tag == "img"]
    names = {name.partition(".")[0] for name in pictures}
    assert len(sources) == len(names)
    for source in sources:
        kind, _, coded = source.partition(";base64,")
        assert kind == "data:image/svg+xml"
        picture = base64.b64decode(coded)
        ET.fromstring(picture)
        assert picture in pictures.values()
    assert all(attrs["alt"] for tag, attrs in page.tags if tag == "img")
    alone = report_page(*stub, figures={"odd.png": pictures["temperature.png"]})
    assert "data:image/png;base64,iVBOR" in alone
    assert "Figure 1. Odd." in Page(alone).text


@pytest.mark.parametrize(("width", "height", "tall"), [(7, 5, False), (5, 7, True)])
def test_tall_pictures_are_told_apart(width, height, tall):
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width, height))
    assert [is_tall(picture(figure, kind)) for kind in ("svg", "png")] == [tall] * 2


# attacks


@pytest.mark.parametrize(
    "title",
    [
        HOSTILE,
        "a\nb\r\n\u2028c",
        "\u202egnp.exe \u200f",
        "",
        " ",
        "x" * 3000,
        "\x1b[2J\x00\ufffe",
    ],
    ids=["markup", "newlines", "right to left", "empty", "blank", "long", "controls"],
)
def test_hostile_title_stays_text(stub, title):
    case, history = stub
    calm = Page(report_page(case, history))
    text = report_page(
        replace(case, title=title, file=f"/x/{title}"), history, date=title
    )
    page = Page(text)
    strip = [tag for tag in page.tags if tag[0] != "bdi"]
    assert strip == [tag for tag in calm.tags if tag[0] != "bdi"]
    shown = re.sub("[\x00-\x08\x1b\ufffe]", "\ufffd", " ".join(title.split()))
    assert (shown or "Plan of a weld") in page.text
    assert not re.search("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe]", text)


def test_hostile_names_stay_text(stub):
    case, history = stub
    traces = tuple(replace(trace, name=HOSTILE) for trace in history.traces)
    page = Page(report_page(case, replace(history, traces=traces)))
    assert page.rows("Places followed")[0][0] == HOSTILE
    assert "script" not in {tag for tag, _ in page.tags}


def test_page_reaches_for_nothing_outside(stub, pictures, stub_bands):
    page = report_page(*stub, figures=pictures, bands=stub_bands)
    without_pictures = re.sub(r"base64,[A-Za-z0-9+/=]+", "", page)
    assert not re.findall(OUTSIDE, without_pictures)
    assert "default-src 'none'; img-src data:;" in page
    links = [attrs["href"][1:] for tag, attrs in Page(page).tags if tag == "a"]
    ids = [attrs["id"] for _, attrs in Page(page).tags if "id" in attrs]
    assert set(links) <= set(ids)
    assert len(set(ids)) == len(ids)
    named = {a["aria-labelledby"] for _, a in Page(page).tags if "aria-labelledby" in a}
    assert named <= set(ids)


def test_page_is_the_same_every_time(stub, stub_bands, pictures):
    case, history = stub
    first = report_page(case, history, bands=stub_bands, figures=pictures)
    again = replace(case, file=f"/elsewhere/{case.file.rpartition('/')[2]}")
    assert first == report_page(
        again, history, bands=stub_bands, figures=pictures_of(*stub)
    )


def test_both_commands_write_it(run, tmp_path):
    """With the pictures of the plan, the date given, and what would help."""
    quick = ("--axisymmetric", "--report", tmp_path / "plan.html", "--date", "1 May")
    assert run("plan", STUB, *quick)[0] == 0
    page = (tmp_path / "plan.html").read_text(encoding="utf-8")
    assert page.count("data:image/svg+xml") >= 4
    assert "1 May" in page
    assert "What would shorten" in page
    files = ("--out", tmp_path / "a.pdf", "--html", tmp_path / "a.html", "--quick")
    given = ("--axisymmetric", "--report", tmp_path / "card.html", *files)
    assert run("card", STUB, *given)[0] == 0
    assert "data:image/svg+xml" in (tmp_path / "card.html").read_text(encoding="utf-8")
    status, _, err = run("plan", STUB, "--report", "report.txt")
    assert status == 2
    assert "must end in .html" in " ".join(err.split())


# page 1, in a browser


@pytest.fixture(scope="module")
def opened(browser, stub, stub_bands, tmp_path_factory):  # noqa: F811
    """The report of the stub in a browser; call it with a width of the window."""
    path = tmp_path_factory.mktemp("report") / "report.html"
    path.write_text(report_page(*stub, SI, bands=stub_bands), encoding="utf-8")

    def call(width, media=""):
        size = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False}
        browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": media})
        browser.get(path.as_uri())
        return browser

    yield call
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


BOXES = (
    "return [...document.querySelectorAll(arguments[0])].map((e) => {"
    " const at = e.getBoundingClientRect();"
    " return [at.left, at.top, at.right, at.bottom]; })"
)


@pytest.mark.parametrize("media", ["", "print"])
@pytest.mark.parametrize("width", [320, 700, 1200])
def test_contents_and_fields_overlap_nowhere(opened, width, media):
    page = opened(width, media)
    for name in ("nav li", ".fields div", "main > *"):
        boxes = page.execute_script(BOXES, name)
        assert len(boxes) >= 6
        for a, b in combinations(boxes, 2):
            across = min(a[2], b[2]) - max(a[0], b[0])
            down = min(a[3], b[3]) - max(a[1], b[1])
            assert across <= 0.5 or down <= 0.5, (name, a, b)
    wide = page.execute_script("return document.documentElement.scrollWidth")
    assert wide <= width or media == "print"  # on paper tables go beyond a phone


def test_first_page_leads_with_the_wait_and_has_room_to_sign(opened, stub, stub_bands):
    """A4 at 96 points an inch, less its margins, is 1005 px high."""
    page = opened(688, "print")
    for name in (".strikes", ".computed", ".fields"):
        ((_, _, _, bottom),) = page.execute_script(BOXES, name)
        assert bottom < 1005
    text = Page(report_page(*stub, SI, bands=stub_bands)).text
    assert "Computed, not measured on this joint: the reading decides." in text
    for name in ("Procedure (WPS) no.", "Job", "Welder", "Date welded", "Approved by"):
        assert name in text
    later = strikes(*stub, stub_bands)[1]
    assert f"Before pass 2: {strike_line(later, SI)} (typical wait " in text
    assert text.index("Before pass 2: wait") < text.index("Case file")
