"""The page for the wall: everything on it fits, nothing overlaps, grey tells it all."""

import io

import numpy as np
import pytest
from charts.test_chart import make
from interpass.charts.joints import DONE, IMPOSSIBLE, ChartRow
from interpass.charts.solve import make_search
from interpass.pictures import wall
from interpass.pictures.boxes import kept_as_given
from matplotlib import rc_context
from matplotlib.patches import Rectangle
from PIL import Image

LONG = "fitting.class: no NPS 4 socket fitting of class '9000' (available: 3000, 6000)"
CHARTS = {
    "one": (["size=1/2,3/4,1"], 1),
    "two": (["size=1/2,3/4,1,1 1/2", "current=60 A..120 A/20 A"], 2),
    "many waits": (["size=1/2,3/4", "current=60 A,80 A"], 6),
    "three": (["size=1/2,3/4,1,1 1/2,2", "air=0 degC..40 degC/10 degC",
               "current=60 A..120 A/10 A"], 2),
}  # fmt: skip


def rows_for(chart, waits):
    """Made up: every fifth joint cannot be, every third misses two rules."""
    rows = []
    for n in range(len(chart.places)):
        if n % 5 == 4:
            rows.append(ChartRow(n, IMPOSSIBLE, LONG))
            continue
        each = tuple(60.0 * (n + k) + 655 for k in range(waits))
        failed = ("leg", "throat") if n % 3 == 0 else ()
        rows.append(ChartRow(n, DONE, waits=each, is_auto=(True,) * waits, total=sum(each),
                        hottest=448.0, limit=448.15, failed=failed, solved=80.0))  # fmt: skip
    return rows


def drawn(chart, rows):
    with rc_context(wall.STYLE):
        figure = wall.draw_chart(chart, rows)
        figure.canvas.draw()
    return figure


@pytest.mark.parametrize("name", CHARTS)
@pytest.mark.parametrize("search", [None, make_search("voltage", "2 min", None)])
def test_words_stay_on_the_page_and_apart(name, search):
    over, waits = CHARTS[name]
    chart = make(over, search)
    figure = drawn(chart, rows_for(chart, waits))
    boxes = [text.get_window_extent() for text in figure.texts if text.get_text()]
    page = figure.bbox
    assert len(boxes) > 10
    for n, box in enumerate(boxes):
        assert box.x0 >= page.x0
        assert box.x1 <= page.x1
        assert box.y0 >= page.y0
        assert box.y1 <= page.y1
        for other in boxes[:n]:
            wide = min(box.x1, other.x1) - max(box.x0, other.x0)
            high = min(box.y1, other.y1) - max(box.y0, other.y0)
            assert min(wide, high) < 1.5  # pixels of 100 per inch


def test_type_is_large_and_the_paper_grows_for_many():
    few, many = (make(CHARTS[name][0]) for name in ("two", "three"))
    sizes = [drawn(c, rows_for(c, 2)).get_size_inches()[0] for c in (few, many)]
    assert sizes[0] == pytest.approx(297 / 25.4)
    assert sizes[1] > sizes[0]


def test_longer_waits_are_darker_and_letters_read_on_all_of_them():
    """Contrast by WCAG 2 (published): (L1 + 0.05) / (L2 + 0.05), at least 7."""
    shades = [luminance(wall._colour(t)) for t in np.linspace(0, 1, 11)]
    assert np.all(np.diff(shades) < 0)
    assert (min(shades) + 0.05) / 0.05 >= 7


def luminance(colour):
    """Relative luminance of sRGB (WCAG 2)."""
    c = np.array(colour)
    linear = np.where(c <= 0.03928, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


def test_what_cannot_be_is_hatched_and_explained_once():
    chart = make(CHARTS["two"][0])
    rows = rows_for(chart, 1)
    figure = drawn(chart, rows)
    hatched = [a for a in figure.artists if isinstance(a, Rectangle) and a.get_hatch()]
    assert len(hatched) == sum(row.state == IMPOSSIBLE for row in rows)
    words = " ".join(text.get_text() for text in figure.texts)
    assert words.count("no NPS 4 socket fitting") == 1


def test_waits_on_the_wall_are_those_of_the_rows():
    chart = make(CHARTS["two"][0])
    texts = [t.get_text() for t in drawn(chart, rows_for(chart, 1)).texts]
    assert "10:55" in texts  # 655 s
    assert "11:55" in texts
    assert any(text.startswith("Measure before you strike") for text in texts)


def test_heading_tells_what_is_kept_and_not_what_is_varied():
    words = kept_as_given(make(CHARTS["two"][0]))
    assert "80S, 316L, length 80 mm" in words
    assert "NPS" not in words
    assert "current" not in words
    assert "70 A" not in words
    held = {"surroundings__holding": "fitting in a chuck", "surroundings__air": "20 degC"}
    words = kept_as_given(make(["size=1/2,3/4"], **held))
    assert "holding fitting in a chuck" in words
    assert "air 20 degC" in words
    assert "air" not in kept_as_given(make(["air=10 degC,30 degC"], **held))


@pytest.mark.parametrize("with_bands", [False, True])
def test_the_page_says_which_of_the_waits_it_tells(with_bands):
    chart = make(CHARTS["two"][0])
    object.__setattr__(chart, "allow", with_bands)
    words = " ".join(t.get_text() for t in drawn(chart, rows_for(chart, 1)).texts)
    assert ("every second joint needs longer" in words) != with_bands
    assert ("typical / safe" in words) == with_bands
    assert ("typical wait before pass 2" in words) != with_bands


@pytest.mark.parametrize("kind", ["pdf", "svg", "png"])
def test_same_chart_same_bytes(kind):
    chart = make(CHARTS["one"][0])
    rows = rows_for(chart, 1)
    first = wall.wall_chart(chart, rows, kind)
    assert first == wall.wall_chart(chart, rows, kind)
    if kind == "png":
        assert Image.open(io.BytesIO(first)).size == (1753, 1240)


def test_hostile_words_are_only_words():
    chart = make(["size=1/2", "fitting.size=$x_{1}$"])
    object.__setattr__(chart, "title", r"$\frac{1}$ <script>")
    figure = drawn(chart, [ChartRow(0, IMPOSSIBLE, r"$\alpha")])
    assert figure.texts[0].get_text() == r"$\frac{1}$ <script>"
