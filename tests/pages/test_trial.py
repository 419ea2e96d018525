"""The sheet for a trial: its places are on the joint, its log and header are read back."""

import base64
import re
from dataclasses import replace
from math import inf

import pytest
from conftest import read_shipped
from interpass.doubt.bands import find_bands
from interpass.heat.waits import plan
from interpass.joint.case import Holding, Watch
from interpass.logs.log import parse_log
from interpass.logs.logger import parse_logger
from interpass.logs.trial import TYPE_K, trial_of
from interpass.pages.trial import trial_page
from interpass.pictures.sheet import PAPERS, POINT
from interpass.report.strike import moment_text
from interpass.report.trial import empty_log, trial_text, trial_verdict
from interpass.report.verdicts import verdict_text
from interpass.rules.judge import checks
from interpass.text.kinds import SI, US
from terminal import STUB

PHONE = {"width": 390, "height": 844, "deviceScaleFactor": 1, "mobile": True}


@pytest.fixture(scope="module")
def trial(stub):
    case, history = stub
    return trial_of(case, history, find_bands(case, history, samples=64))


def test_header_of_the_sheet_is_read_back_as_its_places(trial):
    """Filled in by a logger, it sets every thermocouple where the sheet says."""
    log = parse_log("pass,arc_on,arc_off\n1,0 s,84 s\n", 2)
    head = trial.head.replace("time,", "time_s,", 1)
    text = head + "\n" + "0" + ",20" * len(trial.places) + "\n"
    found = parse_logger(text, trial.case, log)
    for channel, place in zip(found.channels, trial.places, strict=True):
        assert channel.name == place.name
        assert channel.place.on == place.measure.on
        assert channel.place.from_toe == pytest.approx(place.measure.from_toe, abs=1e-6)
        assert channel.place.angle == pytest.approx(place.measure.angle, abs=0.01)
        assert channel.probe.z == pytest.approx(place.from_face, abs=1e-6)


def test_empty_log_is_a_log_once_it_is_filled(trial):
    for units in (SI, US):
        text = empty_log(trial, units).decode()
        assert "Made by interpass" in text
        assert trial.head in text
        filled = text.replace("\n1,,,", "\n1,14:00:00,14:01:20,80").replace(
            "\n2,,,", "\n2,14:09:00,14:10:30,85"
        )
        log = parse_log(filled, 2)
        assert [len(p.burns) for p in log.passes] == [1, 1]


def test_first_place_is_the_one_marked_and_none_is_off_the_metal():
    for name in ("sampling-stub", "bare-pipe", "steam-drain"):
        case = read_shipped(name)
        found = trial_of(case, plan(case))
        first = found.places[0].measure
        assert (first.on, first.angle) == (case.measure.on, case.measure.angle)
        assert len({(p.measure.on, p.measure.from_toe, p.measure.angle)
                    for p in found.places}) == len(found.places) >= 4  # fmt: skip
        for place in found.places:
            assert case.surroundings.air < place.hottest < inf
            assert 0 <= place.per_mm < 60
            assert place.from_face > -case.pipe.length


def held_by(holding, case):
    held = replace(case, surroundings=replace(case.surroundings, holding=holding))
    return trial_of(held, plan(held))


def test_what_holds_the_piece_gets_a_thermocouple(stub):
    found = held_by(Holding("pipe", 0.06, 0.025, 500.0), stub[0])
    (place,) = [p for p in found.places if p.why == "what the holding takes"]
    assert place.from_face == pytest.approx(-0.055)  # 5 mm in front of the jaws


def test_a_held_fitting_is_measured_in_front_of_the_jaws(stub):
    """From the toe it is up the rest of the socket face first, then along the fitting."""
    found = held_by(Holding("fitting", 0.02, 0.01, 500.0), stub[0])
    (place,) = [p for p in found.places if p.why == "what the holding takes"]
    assert place.from_face == pytest.approx(0.015)  # 5 mm in front of them
    assert place.measure.from_toe > 0.015


def test_text_fits_the_terminal_and_says_it_all(trial):
    for units in (SI, US):
        for width in (60, 80):
            text = trial_text(trial, units, width=width)
            assert max(map(len, text.splitlines())) <= width
        for words in ("Where the thermocouples go", "Scribe the places", "Write down",
                      "hexavalent", "Argon", "Hot metal", "licensed practice decide",
                      "--logger"):  # fmt: skip
            assert words in " ".join(text.split())
        assert "after the arc of pass 1 went out" in " ".join(text.split())
        ((_, since),) = trial.moments  # as plan and card tell it
        assert f"about {moment_text(since)} after the arc" in " ".join(text.split())
    assert "degF" in text
    assert text.splitlines()[-1].startswith("Verdict: the limits hold.")
    hot = replace(trial.places[0], hottest=TYPE_K + 1.0)
    told = trial_text(replace(trial, places=(hot, *trial.places[1:])))
    assert "T1: hotter than the" in told


def test_command_writes_sheet_and_log_and_keeps_a_filled_one(run, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    asked = ("card", STUB, "--trial", "--quick", "--axisymmetric")
    code, out, _ = run(*asked)
    assert code == 0
    assert "Where the thermocouples go" in out
    page, log = (
        tmp_path / "sampling-stub.trial.html",
        tmp_path / "sampling-stub.trial-log.csv",
    )
    first = page.read_bytes()
    assert b"data:image/svg+xml" in first
    assert run(*asked)[0] == 0  # the same again
    assert page.read_bytes() == first
    log.write_text(log.read_text().replace("1,,", "1,14:00:00,"), encoding="utf-8")
    code, _, err = run(*asked)
    assert code == 2
    assert "trial-log.csv" in err
    for option, name in (("--out", "a.pdf"), ("--report", "a.html")):
        code, _, err = run("card", STUB, "--trial", option, name)
        assert code == 2
        assert option in err


def test_a_watched_point_is_judged_as_in_the_plan(trial):
    """Probes of the trial stand before those of the case's own watched points."""
    limits = replace(trial.case.limits, watch=(Watch("seat", 0.0167, -0.01, 350.0),))
    case = replace(trial.case, limits=limits)
    planned = plan(case)
    said = verdict_text(checks(case, planned), planned, SI)
    assert "seat" in said
    assert trial_verdict(trial_of(case, planned), SI) == said


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    pytest.importorskip("selenium.webdriver")
    from browsers import NoBrowserError, start_browser

    try:
        running = start_browser(tmp_path_factory.mktemp("browser"))
    except NoBrowserError as error:
        pytest.skip(str(error))
    yield running
    running.quit()


def printed(browser):
    """Width and height of every page as it is printed [mm]."""
    told = browser.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    boxes = re.findall(
        rb"/MediaBox\s*\[\s*0 0 ([0-9.]+) ([0-9.]+)", base64.b64decode(told["data"])
    )
    return [(float(w) * POINT, float(h) * POINT) for w, h in boxes]


def test_page_is_whole_on_a_phone_and_on_paper(browser, trial, tmp_path):
    path = tmp_path / "trial.html"
    path.write_bytes(trial_page(trial, "half-letter"))
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", PHONE)
    browser.get(path.as_uri())
    assert browser.execute_script("return document.documentElement.scrollWidth") <= 390
    seen = browser.execute_script(
        "return [document.images.length, document.images[0].naturalWidth, "
        "document.querySelectorAll('.log tbody tr').length, document.body.innerText]"
    )
    assert seen[0] == 1
    assert seen[1] > 0
    assert seen[2] == 3 * len(trial.case.passes)
    assert "Cautions" in seen[3]
    assert trial.head in " ".join(seen[3].split())
    assert seen[3].index("Verdict: the limits hold") < seen[3].index("Cautions")
    for name, size in PAPERS.items():
        path.write_bytes(trial_page(trial, name))
        browser.get(path.as_uri())
        pages = printed(browser)
        assert len(pages) <= 3
        for width, height in pages:
            assert (width, height) == pytest.approx(size, abs=0.3)
    assert not [e for e in browser.get_log("browser") if e["level"] == "SEVERE"]
