"""Shares of the arc round the ring against quadrature and limits."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.integrate import quad

from closed_forms.arcs import gaussian_ring_weights


@given(
    st.floats(-100, 100),
    st.integers(1, 96),
    st.one_of(st.just(0.0), st.floats(1e-3, 30)),
)
def test_weights_of_the_ring_sum_to_one(angle, n_theta, sigma):
    weights = gaussian_ring_weights(angle, n_theta, sigma)
    assert weights.shape == (n_theta,)
    assert abs(weights.sum() - 1) < 1e-14
    assert weights.min() > -1e-16


@pytest.mark.parametrize("sigma", [0.05, 0.3, 1.0, 4.0])
def test_weights_equal_quadrature_of_the_wrapped_gaussian(sigma):
    """Independent: scipy.quad of the Fourier series of the wrapped normal."""

    def density(x):
        n = np.arange(1, 1 + int(9 / sigma) + 1)
        waves = np.exp(-((n * sigma) ** 2) / 2) * np.cos(n * (x - 6.0))
        return (1 + 2 * waves.sum()) / (2 * np.pi)

    edges = np.linspace(0, 2 * np.pi, 13)
    expected = [
        quad(density, a, b, points=[6.0] if a < 6.0 < b else None, epsabs=1e-12)[0]
        for a, b in pairwise(edges)
    ]
    assert_allclose(gaussian_ring_weights(6.0, 12, sigma), expected, atol=1e-11)


def test_weights_turn_with_the_arc():
    """Turned by whole cells or whole turns: the same weights, moved."""
    weights = gaussian_ring_weights(1.0, 48, 0.18)
    step = 2 * np.pi / 48
    assert_allclose(
        gaussian_ring_weights(1.0 + 7 * step, 48, 0.18), np.roll(weights, 7), atol=1e-14
    )
    assert_allclose(gaussian_ring_weights(1.0 - 6 * np.pi, 48, 0.18), weights, atol=1e-14)
    assert np.argmax(weights) == int(1.0 / step)


def test_limits_of_the_spread():
    assert list(gaussian_ring_weights(2 * np.pi - 1e-9, 4, 0.0)) == [0, 0, 0, 1]
    assert_allclose(gaussian_ring_weights(1.0, 8, 8.999), 1 / 8, atol=1e-16)
    assert_allclose(gaussian_ring_weights(1.0, 8, 9.001), 1 / 8, atol=1e-16)
