"""Grid lines: on every feature, no coarser than asked, halved by half the cell.

There is no outside source: these are the rules the grid is made by.
"""

import numpy as np
import pytest
from interpass.heat.grid import GROWTH_LENGTH, MERGE, distinct, graded_lines
from numpy.testing import assert_allclose

FEATURES = [-80e-3, 0.0, -5e-3, 12.5e-3, 10.9e-3, 40e-3]
FINE = (-10e-3, 10e-3)
CELLS = (2e-3, 1e-3, 0.7e-3, 0.5e-3, 0.25e-3)


def wanted(x, cell):
    """Cell asked for at x."""
    away = np.maximum(np.maximum(FINE[0] - x, x - FINE[1]), 0.0)
    return cell * (1 + away / GROWTH_LENGTH)


@pytest.mark.parametrize("cell", CELLS)
def test_every_feature_is_a_line_and_no_cell_is_larger_than_asked(cell):
    lines = graded_lines(FEATURES, FINE, cell)
    assert (np.diff(lines) > 0).all()
    assert set(FEATURES) <= set(lines)
    assert (lines[0], lines[-1]) == (min(FEATURES), max(FEATURES))
    largest = wanted(
        np.where(np.abs(lines[1:]) > np.abs(lines[:-1]), lines[1:], lines[:-1]), cell
    )
    assert (np.diff(lines) <= largest * (1 + 1e-9)).all()


@pytest.mark.parametrize("cell", CELLS)
def test_no_more_cells_than_features_force(cell):
    """One cell too many for each stretch between features at most."""
    lines = graded_lines(FEATURES, FINE, cell)
    at = np.linspace(lines[0], lines[-1], 200001)
    ideal = np.trapezoid(1 / wanted(at, cell), at)
    assert ideal <= lines.size - 1 <= ideal + len(FEATURES)


def test_half_the_cell_is_half_of_every_cell():
    """So that errors can be compared from one grid to the next."""
    counts = [
        graded_lines(FEATURES, FINE, cell).size - 1 for cell in (1e-3, 0.5e-3, 0.25e-3)
    ]
    assert counts[1] == pytest.approx(2 * counts[0], abs=len(FEATURES))
    assert counts[2] == pytest.approx(4 * counts[0], abs=2 * len(FEATURES))


def test_mirrored_features_give_mirrored_lines():
    lines = graded_lines(FEATURES, FINE, 1e-3)
    mirrored = graded_lines([-x for x in FEATURES], (-FINE[1], -FINE[0]), 1e-3)
    assert_allclose(mirrored[::-1], -lines, atol=1e-15)


def test_neighbouring_cells_grow_gently():
    """Smooth within a stretch: the ratio of neighbours is 1 + cell / growth length."""
    lines = graded_lines([0.0, 0.2], (0.0, 0.01), 1e-3)
    ratio = np.diff(lines)[1:] / np.diff(lines)[:-1]
    assert ratio.min() > 0.999
    assert ratio.max() < 1 + 1.3e-3 / GROWTH_LENGTH


def test_close_features_share_the_line_of_the_first():
    cell = 1e-3
    near, far = 5e-3 + 0.9 * MERGE * cell, 5e-3 + 1.1 * MERGE * cell
    assert distinct([0.0, 5e-3, near, 10e-3], FINE, cell) == [0.0, 5e-3, 10e-3]
    assert distinct([0.0, 5e-3, far, 10e-3], FINE, cell) == [0.0, 5e-3, far, 10e-3]
    near_end = 10e-3 - 0.5 * MERGE * cell  # an end is never given up
    assert distinct([0.0, near_end, 10e-3], FINE, cell) == [0.0, 10e-3]


def test_coarse_cells_leave_only_the_features():
    assert graded_lines([0.0, 2e-3, 7e-3], (0.0, 7e-3), 1.0).tolist() == [0.0, 7e-3]
    assert graded_lines([0.0, 2e-3, 7e-3], (0.0, 7e-3), 5e-3).tolist() == [
        0.0,
        2e-3,
        7e-3,
    ]
