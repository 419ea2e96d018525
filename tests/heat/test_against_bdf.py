"""Time stepping alone: the same cells, stepped by scipy's BDF to a hundredth of a kelvin.

Source: `method_of_lines`, written apart from the solver; scipy's ``solve_ivp``
(standing: computed). What is left of the difference is the solver's steps.
"""

from dataclasses import replace

import method_of_lines as mol
import numpy as np
import pytest
from interpass.case_file.read import read_case
from interpass.heat import march
from interpass.heat.model import make_model
from interpass.heat.probes import make_probes
from joints import ROOT, advance, as_tube, reference, reference_run
from numpy.testing import assert_allclose


@pytest.fixture(scope="module")
def resolved():
    """Reference joint at the default cell: its lines, its probes and its answer."""
    model = make_model(reference())
    answers, begins, _ = mol.solve(model, mol.SCHEDULE, rtol=1e-6, atol=1e-3)
    return mol.lines_of(model), make_probes(model), answers, begins


def differences(history, resolved):
    """Worst difference at each probe, and of the hottest point [K]."""
    lines, probes, answers, begins = resolved
    T = mol.sampled(answers, begins, history.time)
    found = np.array([trace.temperature for trace in history.traces])
    by_probe = np.abs(mol.at_probes(lines, probes, T) - found).max(axis=1)
    hottest = np.abs(mol.hottest(lines, 0, T) - history.hottest).max()
    return np.append(by_probe, hottest)


def test_default_steps_are_close_enough(resolved):
    """Probes, measuring place and hottest point, at every step: 0.4 K measured."""
    assert differences(reference_run(), resolved).max() < 0.7


def test_small_steps_find_the_same_answer(resolved):
    """Nothing but the steps differs: at a tolerance of 0.01 K, 0.04 K is left."""
    assert differences(reference_run(tolerance=0.01), resolved).max() < 0.1


@pytest.mark.parametrize("name", ["steam-drain", "duplex-instrument"])
def test_real_surroundings_find_the_same_answer(name):
    """Open or purged bore, end gap, clearance gas, natural convection, open ends."""
    case = read_case(ROOT / "cases" / f"{name}.toml")
    options = replace(case.model, ring=1, cell=2e-3)
    case = replace(case, model=options, metal_in_place=True)
    model = make_model(case)
    power = case.passes[0].net_power
    schedule = ((40.0, 0, power), (200.0, None, 0.0))
    answers, begins, _ = mol.solve(model, schedule, rtol=1e-6, atol=1e-3)
    state = march.start(model, make_probes(model))
    march.begin_pass(state, 1)
    body = as_tube(state)
    body.films = model.films_arc
    advance(body, 40.0, 0.02, tolerance=0.01, step_max=10.0, power=power)
    body.films = model.films_wait
    advance(body, 200.0, 0.02, tolerance=0.01, step_max=10.0)
    metal = mol.lines_of(model).index >= 0
    found = body.field.temperature[:, 0][metal]
    expected = mol.sampled(answers, begins, np.array([240.0]))[:, 0]
    assert np.ptp(expected) > 20.0
    assert_allclose(found, expected, atol=0.1)


def test_rates_conserve_heat():
    """The right-hand side itself: insulated, all that goes in is the arc."""
    model = make_model(reference())
    lines = mol.lines_of(model)
    films = model.films_wait._replace(surface=np.zeros_like(model.films_wait.surface))
    y = mol.start(lines) * 0 + np.random.default_rng(2).uniform(0, 800, lines.volume.size)
    rate = mol.right_side(lines, y, films, 900.0) * mol.SCALE * lines.volume
    assert rate.sum() * 2 * np.pi == pytest.approx(900.0, rel=1e-9)
