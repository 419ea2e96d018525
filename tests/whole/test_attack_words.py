"""Words of a case or a log that were chosen to do harm: they stay words in every file."""

import csv
import html.parser
import io
import json
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest
from interpass.case_file.read import parse_case
from interpass.heat.history import Trace
from interpass.heat.waits import plan
from interpass.pages import files as saving
from interpass.pictures.style import picture
from interpass.pictures.temperature import temperature_figure
from interpass.results.plan import csv_text, json_text
from interpass.text.errors import ExitStatus
from interpass.text.records import harmless, plain_text
from terminal import ROOT, STUB, no_constant

LOG = ROOT / "cases" / "sampling-stub-log.csv"
READINGS = ROOT / "cases" / "sampling-stub-readings.csv"
ONCE = "--axisymmetric"
WORDS = [
    "</script><img src=x onerror=alert(1)>",
    "\"'><svg/onload=alert(1)>",
    "]]><!--&lt;&#0;",
    "=cmd|' /C calc'!A0",
    "+1+1",
    "-2+3",
    "@SUM(A1)",
    "../../x",
    "/etc/x\\y",
    "$\\frac{1}{$ ^{",
    'a,b;c"d',
    "x" * 120,
]
REFUSED = ["a\nb", "a\r=1+1", "\t=1", "\u202egnp.exe", "\u2066a", "\u2028", "x" * 10_000,
           " ", "", "\0", "\x1b[2J"]  # fmt: skip
RUNS = {"script", "img", "svg", "iframe", "object", "embed", "base", "meta", "link"}


def case_text(word):
    """The stub with a word for its title, and for the name of a place."""
    text = Path(STUB).read_text(encoding="utf-8")
    quoted = json.dumps(word)  # TOML reads what JSON escapes
    text = text.replace('"Sampling stub into a coupling"', quoted)
    return f'{text}\n[[probe]]\nname = {quoted}\nr = "14 mm"\nz = "3 mm"\n'


@pytest.fixture(scope="module")
def planned():
    """A run with a place followed that can take any name."""
    return plan(parse_case(case_text("a place"), "case.toml"))


@pytest.fixture(params=WORDS)
def harmed(request, planned):
    """A word, the case as read that has it everywhere, and its run."""
    word = request.param
    case = parse_case(case_text(word), "case.toml")
    assert [probe.name for probe in case.probes] == [word]
    names = {"a place": word}
    traces = [replace(x, name=names.get(x.name, x.name)) for x in planned.traces]
    return word, case, replace(planned, traces=tuple(traces))


# files of a plan


def test_column_of_a_place_is_no_formula(harmed):
    word, _, history = harmed
    rows = list(csv.reader(io.StringIO(csv_text(history))))
    named = f"{word}_degC"
    assert rows[0].count(harmless(named)) == 1
    assert not [head for head in rows[0] if head.startswith(("=", "+", "-", "@"))]
    assert {len(row) for row in rows} == {len(rows[0])}


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t=", "\r=", " =", "\n=", " \n+"])
def test_no_blank_hides_a_formula(start):
    assert harmless(f"{start}1") == plain_text(f"'{start}1")


def test_json_keeps_every_letter(harmed):
    word, case, history = harmed
    found = json.loads(json_text(case, history), parse_constant=no_constant)
    assert found["title"] == word
    assert word in [probe["name"] for probe in found["probes"]]


def test_picture_has_nothing_that_runs(harmed):
    word, case, history = harmed
    assert any(
        isinstance(trace, Trace) and trace.name == word for trace in history.traces
    )
    root = ElementTree.fromstring(picture(temperature_figure(case, history), "svg"))
    for element in root.iter():
        tag = element.tag.rpartition("}")[2]
        assert tag not in {"script", "foreignObject", "image", "a", "animate", "set"}
        for key, value in element.attrib.items():
            name = key.rpartition("}")[2]
            assert not name.startswith("on")
            assert name != "href" or value.startswith("#")


class Page(html.parser.HTMLParser):
    """Tags that could run or fetch something, and every attribute that could."""

    def __init__(self, text):
        super().__init__()
        self.found = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        names = [name for name, _ in attrs if name.startswith("on")]
        if tag in RUNS or names:
            self.found.append((tag, names))


@pytest.fixture
def calm(run, tmp_path):
    """Pages of the stub as shipped, with a place of an innocent name."""
    return pages(run, tmp_path / "calm", "a place")


def pages(run, folder, word):
    """Write every file of plan and card; what each page has that runs."""
    folder.mkdir()
    case = folder / "case.toml"
    case.write_text(case_text(word), encoding="utf-8")
    out = folder / "out"
    files = ("--out", out, "--report", out / "report.html")
    assert run("plan", case, ONCE, "--quick", *files)[0] == ExitStatus.OK
    files = ("--out", out / "card.pdf", "--html", out / "card.html")
    assert run("card", case, ONCE, "--quick", *files)[0] == ExitStatus.OK
    found = [
        Page((out / f"{name}.html").read_text("utf-8")) for name in ("report", "card")
    ]
    return [page.found for page in found]


FEW = WORDS[:1] + WORDS[7:8]


@pytest.mark.parametrize(
    "word", FEW + [pytest.param(x, marks=pytest.mark.slow) for x in WORDS if x not in FEW]
)
def test_pages_run_and_fetch_nothing_new(run, tmp_path, monkeypatch, calm, word):
    """And the words name no file: names are those of the case file and the options."""
    before = sorted(tmp_path.parent.iterdir())
    assert pages(run, tmp_path / "harmed", word) == calm
    told = [sorted(path.name for path in (tmp_path / name / "out").iterdir())
            for name in ("calm", "harmed")]  # fmt: skip
    assert told[0] == told[1]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["calm", "harmed"]
    assert sorted(tmp_path.parent.iterdir()) == before


@pytest.fixture(autouse=True)
def plain(monkeypatch):
    """Pictures take seconds to draw, and are looked at on their own."""
    monkeypatch.setattr(saving, "plan_pictures", lambda *_: {})


@pytest.mark.parametrize("word", REFUSED)
@pytest.mark.parametrize("command", ["plan", "card", "fit", "review"])
def test_words_on_more_than_a_line_are_refused(run, tmp_path, monkeypatch, command, word):
    monkeypatch.chdir(tmp_path)
    case = tmp_path / "case.toml"
    case.write_text(case_text(word), encoding="utf-8")
    second = {"fit": [READINGS], "review": [LOG]}.get(command, [])
    status, out, err = run(command, case, *second)
    assert (status, out) == (ExitStatus.CASE, "")
    assert f"{case}:3: title" in err
    assert len(err) < 1000
    assert not set(err) & set("\r\t\0\x1b\u202e\u2066\u2028")
    assert list(tmp_path.iterdir()) == [case]


# readings and logs


@pytest.mark.parametrize(("command", "good"), [("fit", READINGS), ("review", LOG)])
@pytest.mark.parametrize(
    ("size", "line", "told"),
    [
        (50_000_000, None, "more than 1 MB"),
        (0, 3, "this is not a text (zero bytes)"),
    ],
)
def test_what_is_no_table_is_refused_at_once(
    run, tmp_path, command, good, size, line, told
):
    path = tmp_path / "table.csv"
    raw = good.read_bytes()
    if size:
        raw += (raw.splitlines(keepends=True)[-1] * (1 + size // 10))[:size]
    else:
        lines = raw.splitlines(keepends=True)
        raw = b"".join([*lines[: line - 1], b"1,\0,\n", *lines[line - 1 :]])
    path.write_bytes(raw)
    status, out, err = run(command, STUB, path, ONCE)
    place = f"{path}:{line}" if line else f"{path}"
    assert (status, out) == (ExitStatus.CASE, "")
    assert err.startswith(f"Error: {place}: {told}")
    assert err.count("\n") == 1


@pytest.mark.parametrize("command", ["fit", "review"])
@pytest.mark.parametrize("device", ["/dev/zero", "/dev/urandom", "/dev/null"])
def test_devices_are_no_tables(run, command, device):
    status, out, err = run(command, STUB, device, ONCE)
    assert (status, out) == (ExitStatus.CASE, "")
    assert err.startswith(f"Error: {device}")
