"""Measured against computed: a made-up logger whose truth is known."""

import json
from dataclasses import replace
from pathlib import Path

import interpass
import numpy as np
import pytest
from conftest import read_shipped
from interpass.case_file.read import parse_case
from interpass.doubt.priors import priors
from interpass.doubt.samples import joint_at
from interpass.heat.waits import plan
from interpass.logs.as_welded import as_welded
from interpass.logs.joints import joint_with_logger
from interpass.logs.log import parse_log
from interpass.logs.logger import Channel, Logger, parse_logger
from interpass.logs.measured import EVENED, measure
from interpass.pictures.measured import measured_figure
from interpass.pictures.style import picture
from interpass.readings.fit import fit
from interpass.report.measured import advice, measured_blocks, measured_verdict
from interpass.results.measured import measured_entry
from interpass.text.errors import CatalogueError
from interpass.text.kinds import SI, US
from interpass.text.layout import lines_of
from terminal import ROOT, STUB, no_constant

LOG = "pass,arc_on,arc_off\n1,0 s,84 s\n2,500 s,592 s\n"
HEADS = ("T1 pipe 5 mm [degC]", "T2 pipe 15 mm [degC]", "T3 fitting 10 mm [degC]")
TIMES = np.arange(0.0, 1100.0, 5.0)


@pytest.fixture(scope="module")
def case():
    text = Path(STUB).read_text(encoding="utf-8")
    return parse_case(text + "\n[model]\nring = 1\n")


@pytest.fixture(scope="module")
def log(case):
    return parse_log(LOG, len(case.passes))


def logged(case, log, **scores):
    """A logger that shows the joint as it would be at some scores, exactly."""
    header = "time_s," + ",".join(HEADS) + "\n"
    bare = parse_logger(header + "0,20,20,20\n", case, log)
    welded = as_welded(case, log)
    found = priors(welded)
    row = np.array([scores.get(p.key.rpartition(".")[2], 0.0) for p in found])
    probes = tuple(channel.probe for channel in bare.channels)
    joint = replace(joint_at(welded, found, row), probes=probes)
    run = plan(replace(joint, model=replace(case.model, end_after=520.0)))
    channels = tuple(
        replace(c, time=TIMES, temperature=np.interp(TIMES, run.time, t.temperature))
        for c, t in zip(bare.channels, run.traces, strict=False)
    )
    return replace(bare, channels=channels)


@pytest.fixture(scope="module")
def true(case, log):
    """The joint exactly as the case says."""
    return logged(case, log)


@pytest.fixture(scope="module")
def exact(case, log, true):
    return measure(case, log, true)


def changed_channel(logger, n, change):
    channels = list(logger.channels)
    channels[n] = change(channels[n])
    return replace(logger, channels=tuple(channels))


def words(found, units=SI):
    return " ".join(advice(found, units))


def test_what_is_as_computed_agrees(exact):
    assert exact.rms < 0.2
    for one in exact.channels:
        assert one.inside == 1
        assert one.lag is None
        assert np.all(one.low < one.computed)
        assert np.all(one.computed < one.high)
        assert one.channel.time[one.is_cooling].min() >= 84 + EVENED
    assert (
        words(exact)
        == "measured and computed agree within the doubt that the program states"
    )


def test_late_clock_is_found_and_told(case, log, true):
    late = replace(
        true,
        channels=tuple(replace(c, time=c.time + 12.0) for c in true.channels),
    )
    found = measure(case, log, late)
    assert [one.lag for one in found.channels] == pytest.approx([12.0] * 3, abs=0.5)
    assert (
        "all channels are 12 s late: set the logger's clock by that of the log"
        in words(found)
    )


def test_a_channel_off_by_itself_is_named_and_its_place_doubted(case, log, true):
    """T1 reads what a place 3 mm farther along the pipe would have."""
    moved = parse_logger("time_s,T1 pipe 8 mm [degC]\n0,20\n", case, log).channels[0]
    welded = as_welded(case, log)
    run = plan(
        replace(welded, probes=(moved.probe,), model=replace(case.model, end_after=520.0))
    )
    shown = np.interp(TIMES, run.time, run.traces[0].temperature)
    found = measure(
        case,
        log,
        changed_channel(true, 0, lambda c: replace(c, temperature=shown - 12.0)),
    )
    told = words(found)
    assert "T1 alone reads" in told
    assert "T2 alone" not in told
    shown_more = words(
        measure(case, log, changed_channel(
            true, 0, lambda c: replace(c, temperature=c.temperature + 80.0)))
    )  # fmt: skip
    assert "more than a wrong place explains" in shown_more


def test_a_hotter_joint_is_told_from_wrong_places(case, log):
    found = measure(case, log, logged(case, log, efficiency=1.0))
    assert all(one.bias > 6.0 for one in found.channels)
    assert "the joint was hotter than computed" in words(found)
    assert "alone reads" not in words(found)
    far = measure(case, log, logged(case, log, efficiency=2.5, emissivity=-2.0))
    assert "of the samples lie within the band: do not rely on the waits" in words(far)


def test_dead_channels_are_told(case, log, true):
    flat = changed_channel(true, 1, lambda c: replace(c, temperature=0 * c.time + 293.15))
    assert "T2 moves by 0.0 degC in all: is it on the metal" in words(
        measure(case, log, flat)
    )
    early = changed_channel(
        true,
        1,
        lambda c: Channel(c.name, c.probe, c.place, TIMES[:10], c.temperature[:10]),
    )
    found = measure(case, log, early)
    assert "T2: no sample while the joint cools" in words(found)
    assert "2 thermocouples while cooling" in measured_verdict(found, SI)
    entry = measured_entry(found)
    assert entry["channels"][1]["rms_K"] is None
    assert entry["channels"][1]["share_within_band"] is None  # not 0: nothing was judged
    assert entry["rms_cooling_K"] < 0.2
    assert "nan" not in measured_verdict(found, SI)
    assert b"no sample while cooling" in picture(measured_figure(case, found), "svg")


def test_channels_teach_what_the_joint_was(case, log):
    """A fit to the thinned channels finds the efficiency that was hidden."""
    logger = logged(case, log, efficiency=-1.0)
    joint = joint_with_logger(case, log, logger, ())
    assert len(joint.readings) == 36
    assert {r.after_pass for r in joint.readings} == {1, 2}
    assert min(r.since for r in joint.readings) >= EVENED
    assert joint.readings[0].error == pytest.approx(3.0 * np.sqrt(12))  # as one reading
    found = fit(joint.case, joint.readings, samples=16)
    number = next(n for n in found.numbers if n.key == "arc.efficiency")
    truth = case.passes[0].efficiency * (number.before.low / number.before.best) ** 0.608
    assert number.after.best == pytest.approx(truth, rel=0.02)
    assert number.learnt > 0.5


def test_words_fit_the_terminal_in_both_units(exact):
    for units in (SI, US):
        for width in (60, 80):
            lines = lines_of(measured_blocks(exact, units), width)
            assert max(map(len, lines)) <= width
    assert "degF" in " ".join(lines)


def test_figure_is_the_same_again(case, exact):
    first, second = (picture(measured_figure(case, exact, US), "svg") for _ in range(2))
    assert first == second
    for text in (b"measured", b"computed", b"9 in 10 plausible joints", b"T3: fitting"):
        assert text in first


def test_review_and_fit_take_a_logger(run, tmp_path):
    names = (STUB, ROOT / "cases" / "sampling-stub-log.csv", "--logger",
             ROOT / "cases" / "sampling-stub-logger.csv", "--axisymmetric")  # fmt: skip
    code, out, _ = run("review", *names, "--quick", "--json", "--out", tmp_path)
    assert code == 0
    told = json.loads(out, parse_constant=no_constant)["logger"]
    assert [one["name"] for one in told["channels"]] == ["T1", "T2", "T3", "T4"]
    assert told["channels"][3]["on"] == "bore"
    assert (tmp_path / "sampling-stub-log.review.logger.svg").exists()
    code, out, _ = run("review", *names, "--quick")
    assert "Measured against computed" in out
    assert "Logger: 4 thermocouples while cooling" in " ".join(out.split())
    code, out, _ = run("fit", *names, "--samples", "16", "--json")
    assert code == 0
    by_command = json.loads(out, parse_constant=no_constant)
    by_call = interpass.fit(
        read_shipped("sampling-stub"), names[1], logger=names[3], samples=16
    )
    assert by_call.to_dict() == by_command
    assert len(by_command["readings"]) > 2 + 4  # by hand, and of every channel
    with pytest.raises(CatalogueError, match="needs the log of the weld"):
        interpass.fit(by_call.case, by_call.fit.readings, logger=names[3])


def test_a_logger_needs_a_log_and_a_beginning_a_logger(run):
    readings = ROOT / "cases" / "sampling-stub-readings.csv"
    logger = ROOT / "cases" / "sampling-stub-logger.csv"
    code, _, err = run("fit", STUB, readings, "--logger", logger)
    assert code == 2
    assert "a logger's file needs the log of the weld" in " ".join(
        err.replace("│", " ").split()
    )
    for command in ("fit", "review"):
        code, _, err = run(command, STUB, readings, "--began", "14:00:00")
        assert code == 2
        assert "--began belongs to a logger's file" in " ".join(
            err.replace("│", " ").split()
        )
    assert Logger("a", ()).channels == ()
