"""How hot every cell has been: what the solver keeps against pictures of every step."""

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from interpass.case_file.read import read_case
from interpass.heat import march
from interpass.heat.model import make_model
from interpass.heat.probes import make_probes
from interpass.heat.waits import plan
from joints import ROOT


@pytest.fixture(scope="module")
def every_step():
    """A coarse duplex joint with a picture of the whole piece after every step."""
    case = read_case(ROOT / "cases" / "duplex-instrument.toml")
    options = replace(case.model, cell=2e-3, ring=12, end_after=0.0)
    return plan(replace(case, model=options), frames=1e-3)


@pytest.mark.parametrize("tolerance", [0.9, 1.5])
def test_long_steps_do_not_heat_the_pool(tolerance):
    """Within 50 K of 0.1 K's 1873 degC: 1900 and 1911; 3065 and 3213 when cells went to and fro."""
    case = read_case(ROOT / "cases" / "sampling-stub.toml")
    case = replace(case, model=replace(case.model, tolerance=tolerance))
    model, weld = make_model(case), case.passes[0]
    state = march.start(model, make_probes(model))
    march.begin_pass(state, 1)
    march.heat(state, weld.net_power, weld.arc_time, 0.0, 2 * pi)
    assert state.work.peak.max() - 273.15 == pytest.approx(1873.5, abs=50.0)


def test_peak_is_the_hottest_of_all_steps(every_step):
    """Pass by pass, wait included. Fewer ring cells late in the wait: 0.1 K at most."""
    for peak in every_step.peaks:
        shots = [s.temperature for s in every_step.snapshots if s.number == peak.number]
        began = 0 if peak.number == 1 else 1  # the first is as the wait left it
        hottest = np.fmax.reduce(shots[began:])
        metal = np.isfinite(peak.temperature)
        assert peak.temperature[metal] == pytest.approx(hottest[metal], abs=0.1)
        assert np.array_equal(metal, np.isfinite(shots[-1]))


def test_every_pass_has_its_peak(every_step):
    """Hotter than the pool's solidus in the weld, cold far away, at least as hot as now."""
    assert [p.number for p in every_step.peaks] == [1, 2]
    for peak, done in zip(every_step.peaks, every_step.passes, strict=True):
        highest = peak.highest
        assert np.nanmax(highest) > done.at_arc_off.hottest - 1e-6
        assert np.nanmax(highest) > 1600.0
        assert highest[:, 0][np.isfinite(highest[:, 0])].max() < 600.0
