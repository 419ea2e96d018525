"""Where the arc's power falls round the ring, and a way to weld it that no shop asks for."""

from collections.abc import Sequence
from math import ceil, erf, pi, sqrt

import numpy as np
from interpass.joint.case import Segment
from interpass.text.arrays import Array


def gaussian_ring_weights(arc_angle: float, n_theta: int, sigma_angle: float) -> Array:
    """Share of the arc's power in each cell of the ring.

    Parameters
    ----------
    arc_angle : float
        Where the arc is, any number of turns [rad].
    n_theta : int
        Cells round the ring; cell m spans m to m + 1 times 2 pi / n_theta.
    sigma_angle : float
        Standard deviation of the arc along its path, seen from the axis; 0 puts all
        of it in one cell [rad].

    Returns
    -------
    (n_theta,) array
        Integrated exactly over each cell and wrapped round the ring; the sum is 1 to
        round-off.

    Examples
    --------
    >>> gaussian_ring_weights(0.0, 4, 0.5).round(4)
    array([0.4992, 0.0008, 0.0008, 0.4992])
    """
    arc_angle %= 2 * pi
    if sigma_angle <= 0:
        weights = np.zeros(n_theta)
        weights[int(arc_angle / (2 * pi) * n_theta) % n_theta] = 1.0
        return weights
    # Wrapping a Gaussian this wide leaves a ripple of exp(-sigma²/2) < 1e-17.
    if sigma_angle > 9:
        return np.full(n_theta, 1 / n_theta)
    turns = ceil(9 * sigma_angle / (2 * pi)) + 1  # beyond 9 sigma lies less than 1e-18
    edges = np.arange(-turns * n_theta, turns * n_theta + 1) * (2 * pi / n_theta)
    scaled = (edges - arc_angle) / (sigma_angle * sqrt(2))
    below = np.array([erf(x) for x in scaled]) / 2
    return np.diff(below).reshape(-1, n_theta).sum(axis=0)


def quarters(
    order: Sequence[int] = (0, 2, 1, 3), start: float = 0.0, pause: float = 0.0
) -> tuple[Segment, ...]:
    """Four quarters in a given order, opposite ones first by default.

    Parameters
    ----------
    order : sequence of int
        Each of 0 to 3 once; quarter q runs from ``start`` + q pi/2, counter-clockwise.
    start : float
        Where quarter 0 begins [rad].
    pause : float
        Before each quarter but the first [s].

    Raises
    ------
    ValueError
        When a quarter is missing or welded twice.
    """
    if sorted(order) != [0, 1, 2, 3]:
        problem = f"quarters welded in order {tuple(order)}; name each of 0 to 3 once"
        raise ValueError(problem)
    corner = [start + q * pi / 2 for q in order]
    waits = [0.0, pause, pause, pause]
    return tuple(
        Segment(angle, angle + pi / 2, wait)
        for angle, wait in zip(corner, waits, strict=True)
    )
