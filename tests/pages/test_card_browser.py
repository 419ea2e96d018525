"""The card's page in a real browser: timers, readings, what it keeps, and for whom.

Time is moved by replacing ``Date.now``, so nothing here waits.
"""

import json
import shutil
from dataclasses import replace

import numpy as np
import pytest
from conftest import read_shipped
from interpass.doubt.bands import find_bands
from interpass.doubt.families import pick
from interpass.heat.waits import plan
from interpass.pages.card import card_of
from interpass.pages.phone import card_page
from interpass.text.kinds import SI, US
from pages.test_card import contrast

webdriver = pytest.importorskip("selenium.webdriver")
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")
FLAGS = (
    "--headless=new --no-sandbox --disable-gpu --disable-quic --no-first-run "
    "--disable-background-networking --disable-component-update --disable-sync"
)
PHONE = {"width": 390, "height": 844, "deviceScaleFactor": 1, "mobile": True}
SAMPLES = 16
LEAST_TARGET = 48.0  # CSS px, for gloves
CLOCK = """
window.ahead = 0;
const real = Date.now.bind(Date);
Date.now = () => real() + window.ahead;
"""
SLEEP = """
window.ahead += 1000 * arguments[0];
document.dispatchEvent(new Event("visibilitychange"));
"""
FORGET = "try { localStorage.clear(); } catch (e) {}"
NO_STORE = """
Object.defineProperty(window, "localStorage", {get() { throw new Error("denied"); }});
"""


@pytest.fixture(scope="session")
def browser(tmp_path_factory):
    """One headless browser for all of it, of the size of a phone."""
    found = next(filter(None, map(shutil.which, BROWSERS)), None)
    driver = shutil.which("chromedriver")
    if found is None or driver is None:
        pytest.skip("no Chromium with its driver on this machine")
    options = webdriver.ChromeOptions()
    options.binary_location = found
    for flag in FLAGS.split():
        options.add_argument(flag)
    options.add_argument(f"--user-data-dir={tmp_path_factory.mktemp('browser')}")
    options.set_capability("goog:loggingPrefs", {"performance": "ALL", "browser": "ALL"})
    service = webdriver.ChromeService(executable_path=driver)
    running = webdriver.Chrome(options=options, service=service)
    running.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", PHONE)
    running.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": CLOCK})
    yield running
    running.quit()


@pytest.fixture(scope="session")
def stub_with_bands(stub):
    case, history = stub
    return case, history, find_bands(case, history, samples=SAMPLES)


@pytest.fixture(scope="session")
def pages(tmp_path_factory, stub_with_bands):
    """Addresses of the pages: one wait in SI, two in US units, one without readings."""
    folder = tmp_path_factory.mktemp("pages")
    drain = read_shipped("steam-drain")
    drain = replace(drain, model=replace(drain.model, cell=2e-3))
    history = plan(drain)
    bands = find_bands(drain, history, samples=SAMPLES)
    cards = {
        "stub": (card_of(*stub_with_bands), SI),
        "drain": (card_of(drain, history, bands), US),
        "quick": (card_of(*stub_with_bands[:2]), SI),
    }
    for name, (card, units) in cards.items():
        (folder / f"{name}.html").write_bytes(card_page(card, units))
    return {name: (folder / f"{name}.html").as_uri() for name in cards}


@pytest.fixture
def at(browser, pages):
    """Open a page afresh: nothing kept, the clock right."""

    def call(name="stub"):
        if browser.current_url.startswith("file:"):  # pages from files share one store
            browser.execute_script(FORGET)
        browser.get(pages[name])
        return browser

    return call


def part(browser, name, wait=2):
    return browser.find_element(By.CSS_SELECTOR, f"#wait-{wait} .{name}")


def text(browser, name, wait=2):
    script = "return document.querySelector(arguments[0]).innerText.trim()"
    return browser.execute_script(script, f"#wait-{wait} .{name}")


def seconds(clock):
    minutes, s = clock.split(":")
    return 60 * int(minutes) + int(s)


def phase(browser, wait=2):
    return browser.execute_script(
        "return document.getElementById('wait-' + arguments[0]).dataset.phase", wait
    )


def sleep(browser, s):
    """Let the phone sleep: only the wall clock goes on."""
    browser.execute_script(SLEEP, s)


def reload(browser):
    """Load the page anew; the clock stays where ``sleep`` put it."""
    ahead = browser.execute_script("return window.ahead")
    script = browser.execute_cdp_cmd(
        "Page.addScriptToEvaluateOnNewDocument", {"source": f"window.ahead = {ahead};"}
    )
    browser.refresh()
    browser.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", script)


def read(browser, degrees, at="", wait=2):
    """Type a reading and use it."""
    browser.execute_script(
        "const box = document.getElementById('wait-' + arguments[0]);"
        "box.querySelector('.degrees').value = arguments[1];"
        "box.querySelector('.at').value = arguments[2];"
        "box.querySelector('.use').click();",
        wait, str(degrees), at,
    )  # fmt: skip


# the rule


def test_page_picks_the_member_the_program_picks(at, stub_with_bands):
    """Same score, wait and allow over times and readings, possible and not quite."""
    browser = at()
    (family,) = stub_with_bands[2].families
    rng = np.random.default_rng(3)
    since = rng.uniform(0.0, 1.2 * family.time[-1], 200)
    curve = [[np.interp(t, family.time, row) for row in family.reading] for t in since]
    T = np.array([rng.uniform(min(c) - 30.0, max(c) + 30.0) for c in curve])
    found = browser.execute_script(
        "const f = CARD.waits[0].family;"
        "return arguments[0].map(([t, T]) => pick(f, t, T)).map((p) => [p.wait, p.allow]);",
        [[t, x - 273.15] for t, x in zip(since, T, strict=True)],
    )
    expected = [pick(family, t, x)[1:] for t, x in zip(since, T, strict=True)]
    assert np.ptp([wait for wait, _ in expected]) > 100.0  # they differ
    assert np.abs(np.array(found) - expected).max() < 0.5


def test_a_reading_on_the_best_curve_gives_back_its_wait(at, stub_with_bands):
    _, history, bands = stub_with_bands
    (family,) = bands.families
    best = int(np.flatnonzero(family.score == 0.0)[0])
    T = float(np.interp(100.0, family.time, family.reading[best])) - 273.15
    found = at().execute_script("return pick(CARD.waits[0].family, 100, arguments[0])", T)
    assert found["score"] == pytest.approx(0.0, abs=0.01)
    assert found["wait"] == pytest.approx(history.passes[1].wait, abs=2.0)


def test_numbers_are_read_as_people_type_them(at):
    browser = at()
    typed = ["195", " 195,5 ", "-3", "1e3", "", "abc", "19 5", "\u22123"]
    got = browser.execute_script("return arguments[0].map(numberIn)", typed)
    assert got == [195, 195.5, -3, None, None, None, None, -3]
    typed = ["1:20", "80", "0:05", "1:5", "1:75", "", "x", "1:20:00"]
    got = browser.execute_script("return arguments[0].map(secondsIn)", typed)
    assert got == [80, 80, 5, None, None, None, None, None]
    shown = browser.execute_script("return [0, 59.2, 60, 384.01, 3725].map(clockText)")
    assert shown == ["0:00", "1:00", "1:00", "6:25", "62:05"]


# the timer


def test_timer_starts_at_a_tap_and_counts_to_best_and_then_to_allow(at):
    browser = at()
    best, allow = seconds(text(browser, "best")), seconds(text(browser, "allow"))
    assert phase(browser) == "idle"
    part(browser, "start").click()
    assert phase(browser) == "hold"
    assert seconds(text(browser, "left")) in (best, best - 1)
    sleep(browser, 100)
    assert seconds(text(browser, "left")) in (best - 100, best - 101)
    sleep(browser, best - 100 + 1)
    assert phase(browser) == "best"
    assert seconds(text(browser, "left")) in range(allow - best - 3, allow - best + 1)
    assert "or measure" in text(browser, "status")
    sleep(browser, allow - best)
    assert phase(browser) == "over"
    assert text(browser, "left") == "0:00"
    assert "wait is over" in text(browser, "status")


def test_timer_goes_on_over_a_reload_and_stays_with_its_page(at, pages):
    browser = at()
    part(browser, "start").click()
    sleep(browser, 50)
    left = seconds(text(browser, "left"))
    reload(browser)
    assert phase(browser) == "hold"
    assert seconds(text(browser, "left")) in (left, left - 1)
    browser.get(pages["drain"])
    assert phase(browser) == "idle"


def test_reading_stays_over_a_reload(at):
    browser = at()
    part(browser, "start").click()
    sleep(browser, 60)
    read(browser, 330)
    best, words = text(browser, "best"), text(browser, "moved")
    assert words.startswith("With 330 degC at 1:0")
    reload(browser)
    assert (text(browser, "best"), text(browser, "moved")) == (best, words)


def test_what_the_browser_kept_badly_is_forgotten(at):
    browser = at()
    for kept in ("{", "null", '{"runs": {"2": {"arcOff": "x"}}}', "[1]"):
        browser.execute_script(
            "start(CARD.waits[0]); localStorage.setItem(STORE, arguments[0]);"
            "dispatchEvent(new Event('storage'))",
            kept,
        )
        assert phase(browser) == "idle", kept
    reload(browser)
    part(browser, "start").click()
    assert phase(browser) == "hold"


def test_page_works_where_the_browser_keeps_nothing(at):
    browser = at()
    script = browser.execute_cdp_cmd(
        "Page.addScriptToEvaluateOnNewDocument", {"source": NO_STORE}
    )
    try:
        reload(browser)
        assert "keeps nothing" in browser.find_element(By.ID, "not-kept").text
        part(browser, "start").click()
        assert phase(browser) == "hold"
    finally:
        browser.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", script)


def test_clearing_takes_two_taps(at):
    browser = at()
    part(browser, "start").click()
    part(browser, "clear").click()  # the tap bounced
    assert text(browser, "clear") == "Clear timer"
    sleep(browser, 2)
    part(browser, "clear").click()
    assert phase(browser) == "hold"
    assert text(browser, "clear") == "Tap again to clear"
    part(browser, "clear").click()
    assert phase(browser) == "idle"
    reload(browser)
    assert phase(browser) == "idle"


def test_a_late_tap_can_be_made_good(at):
    browser = at()
    part(browser, "start").click()
    left = seconds(text(browser, "left"))
    part(browser, "earlier").click()
    part(browser, "earlier").click()
    assert seconds(text(browser, "left")) in (left - 10, left - 11)


def test_a_later_wait_ends_the_one_before(at):
    browser = at("drain")
    part(browser, "start").click()
    part(browser, "start", 3).click()
    assert (phase(browser), phase(browser, 3)) == ("done", "hold")
    assert not part(browser, "left").is_displayed()


def test_yesterdays_timer_says_it_is_old(at):
    browser = at()
    part(browser, "start").click()
    sleep(browser, 20 * 3600)
    assert "Old timer" in text(browser, "status")


# readings


def test_a_hot_reading_lengthens_the_wait_and_a_cool_one_shortens_it(at):
    browser = at()
    planned = seconds(text(browser, "best"))
    part(browser, "start").click()
    sleep(browser, 60)
    family = "CARD.waits[0].family"
    low, high = browser.execute_script(
        f"const T = curvesAt({family}, 60); return [T[1], T[T.length - 2]]"
    )
    read(browser, round(high), "1:00")
    hot = seconds(text(browser, "best"))
    assert "hotter than planned" in text(browser, "moved")
    read(browser, f"{low:.1f}".replace(".", ","), "1:00")
    cool = seconds(text(browser, "best"))
    assert "cooler than planned" in text(browser, "moved")
    assert cool < planned - 30 < planned + 30 < hot
    assert seconds(text(browser, "left")) in range(cool - 70, cool - 59)
    part(browser, "forget").click()
    assert seconds(text(browser, "best")) == planned


def test_degF_gives_the_same_wait(at):
    browser = at()
    part(browser, "start").click()
    sleep(browser, 60)
    read(browser, 320, "0:50")
    best = text(browser, "best")
    browser.find_element(By.XPATH, "//label[normalize-space()='degF']").click()
    assert text(browser, "unit") == "degF"
    assert "With 608 degF at 0:50" in text(browser, "moved")
    assert (
        browser.find_element(By.CSS_SELECTOR, ".limit strong").text == "347 degF or less"
    )
    read(browser, 608, "0:50")
    assert text(browser, "best") == best
    reload(browser)
    assert text(browser, "unit") == "degF"


def test_a_reading_that_cannot_be_is_refused_in_words(at):
    browser = at()
    part(browser, "start").click()
    sleep(browser, 60)
    best = text(browser, "best")
    for degrees, time, words in (
        ("20", "", "no joint like this reads 20 degC"),
        ("608", "0:50", "Was it degF?"),
        ("hot", "", "as a number"),
        ("", "", "as a number"),
        ("320", "soon", "as min:s"),
        ("320", "5:00", "still to come"),
    ):
        read(browser, degrees, time)
        assert words in text(browser, "refused")
        assert text(browser, "best") == best
        assert part(browser, "degrees").get_attribute("aria-invalid") == "true"
    read(browser, 320, "0:50")
    assert text(browser, "refused") == ""


def test_a_reading_after_the_curves_end_is_refused(at):
    browser = at()
    part(browser, "start").click()
    sleep(browser, 3600)
    read(browser, 60)
    assert "Too late: the curves end" in text(browser, "refused")


def test_now_fills_in_the_time(at):
    browser = at()
    part(browser, "start").click()
    sleep(browser, 65)
    part(browser, "now").click()
    assert part(browser, "at").get_attribute("value") in ("1:05", "1:06")


# for everybody


def test_targets_are_large_enough_for_gloves(at):
    browser = at("drain")
    for wait in (2, 3):
        part(browser, "start", wait).click()
    sleep(browser, 30)
    read(browser, 750, wait=3)
    shown = browser.find_elements(By.CSS_SELECTOR, "button, input[type=text], .choice")
    sizes = {e.get_attribute("class"): e.size for e in shown if e.is_displayed()}
    assert {"clear", "earlier", "use", "forget", "now", "degrees", "at", "choice"} <= set(
        sizes
    )
    assert min(min(s["height"], s["width"]) for s in sizes.values()) >= LEAST_TARGET
    start = at().find_element(By.CSS_SELECTOR, ".start")
    assert min(start.size.values()) >= LEAST_TARGET


@pytest.mark.parametrize("name", ["stub", "drain"])
def test_page_is_no_wider_than_a_phone(at, name):
    browser = at(name)
    part(browser, "start").click()
    sizes = "return [document.documentElement.scrollWidth, innerWidth]"
    wide, room = browser.execute_script(sizes)
    assert wide <= room == PHONE["width"]


def test_figures_stand_out_in_every_phase(at):
    """WCAG 2.1 contrast of the wait figures as the browser draws them."""
    browser = at()
    colours = (
        "const box = arguments[0]; let back = box;"
        "while (getComputedStyle(back).backgroundColor === 'rgba(0, 0, 0, 0)')"
        " back = back.parentElement;"
        "return [getComputedStyle(box).color, getComputedStyle(back).backgroundColor]"
    )
    part(browser, "start").click()
    seen = set()
    for s in (0, seconds(text(browser, "best")) + 1, 300):
        sleep(browser, s)
        seen.add(phase(browser))
        for name in ("left", "best", "allow", "left-of", "status"):
            drawn = browser.execute_script(colours, part(browser, name))
            ink, paper = (
                "#" + "".join(f"{int(x):02x}" for x in c[4:-1].split(",")) for c in drawn
            )
            assert contrast(ink, paper) >= 7.0, (name, drawn)
    assert seen == {"hold", "best", "over"}


def test_everything_to_touch_has_a_name(at):
    browser = at("drain")
    part(browser, "start").click()
    for element in browser.find_elements(By.CSS_SELECTOR, "button, input, img, form"):
        if element.is_displayed():
            assert element.accessible_name, element.get_attribute("outerHTML")
    timer = part(browser, "left")
    assert timer.aria_role == "timer"
    assert timer.accessible_name.startswith("Wait before pass 2 left to best")
    assert len(browser.find_elements(By.TAG_NAME, "h1")) == 1


def test_only_events_are_announced(at):
    """The timer itself is silent; live regions change with the phase, not the second."""
    browser = at()
    part(browser, "start").click()
    browser.execute_script(
        "window.spoken = 0;"
        "for (const e of document.querySelectorAll('[aria-live=polite], [role=alert]'))"
        " new MutationObserver((all) => { window.spoken += all.length; })"
        "  .observe(e, {childList: true, characterData: true, subtree: true});"
    )
    for _ in range(5):
        sleep(browser, 3)
    assert browser.execute_script("return window.spoken") == 0
    sleep(browser, seconds(text(browser, "best")))
    assert browser.execute_script("return window.spoken") > 0
    assert part(browser, "left").get_attribute("aria-live") == "off"


def test_keyboard_is_enough(at):
    browser = at()
    browser.find_element(By.CSS_SELECTOR, "input[name=unit]").send_keys(Keys.TAB)
    active = browser.switch_to.active_element
    assert "start" in active.get_attribute("class")
    active.send_keys(Keys.ENTER)
    assert phase(browser) == "hold"
    sleep(browser, 60)
    browser.switch_to.active_element.send_keys(Keys.TAB)
    field = browser.switch_to.active_element
    assert "degrees" in field.get_attribute("class")
    field.send_keys("330" + Keys.ENTER)
    assert text(browser, "moved").startswith("With 330 degC")


def test_without_bands_there_is_a_timer_and_no_reading(at):
    browser = at("quick")
    assert not browser.find_elements(By.CSS_SELECTOR, "form")
    best = seconds(text(browser, "best"))
    part(browser, "start").click()
    sleep(browser, best + 1)
    assert phase(browser) == "over"


def test_nothing_is_asked_of_the_network(at):
    browser = at("drain")
    browser.get_log("performance")
    reload(browser)
    part(browser, "start").click()
    asked = [
        message["params"]["request"]["url"]
        for entry in browser.get_log("performance")
        if (message := json.loads(entry["message"])["message"])["method"]
        == "Network.requestWillBeSent"
    ]
    assert asked
    assert all(url.startswith(("file:", "data:")) for url in asked)
    assert not [e for e in browser.get_log("browser") if e["level"] == "SEVERE"]


def test_text_of_a_case_never_runs(browser, stub_with_bands, tmp_path):
    hostile = "</script><img src=x onerror='window.bad=1'><script>window.bad=1</script>"
    card = card_of(*stub_with_bands)
    card = replace(card, case=replace(card.case, title=hostile))
    page = tmp_path / "hostile.html"
    page.write_bytes(card_page(card))
    browser.get(page.as_uri())
    assert browser.execute_script("return window.bad") is None
    assert browser.find_element(By.TAG_NAME, "h1").text == hostile
    assert phase(browser) == "idle"
