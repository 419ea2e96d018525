"""Curves in pieces, as standards print them, with their exact integrals.

One piece is ``factor (a0 + a1 x + a2 x² + a3 x³) + b / (x - pole)`` with x the
temperature on the scale of the source. The first and last value are held outside.

What it computes: ``thermo/MODEL.md``, section 1.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import inf, nan

import numpy as np
from numpy.typing import ArrayLike

from ..text.arrays import Array


@dataclass(frozen=True)
class Piece:
    """One formula, valid from ``start`` to ``end`` [K]."""

    start: float
    end: float
    coefficients: tuple[float, ...]  # a0, a1, ...
    factor: float = 1.0
    b: float = 0.0
    pole: float = nan
    zero: float = 0.0  # K at which the scale of the source reads 0


Curve = tuple[Piece, ...]


def polynomial(coefficients: Sequence[float], x: Array) -> Array:
    """Sum of a0 + a1 x + a2 x² + ..."""
    total = np.zeros_like(x)
    for a in reversed(coefficients):
        total = total * x + a
    return total


def piece_value(piece: Piece, T: ArrayLike) -> Array:
    """Value of one formula at T [K], inside its range or not."""
    x = np.asarray(T, dtype=float) - piece.zero
    value = piece.factor * polynomial(piece.coefficients, x)
    return value + piece.b / (x - piece.pole) if piece.b else value


def piece_antiderivative(piece: Piece, T: ArrayLike) -> Array:
    """Antiderivative of one formula at T [K]; only differences mean anything."""
    x = np.asarray(T, dtype=float) - piece.zero
    raised = (0.0, *(a / (n + 1) for n, a in enumerate(piece.coefficients)))
    value = piece.factor * polynomial(raised, x)
    return value + piece.b * np.log(np.abs(x - piece.pole)) if piece.b else value


def curve_value(curve: Curve, T: ArrayLike, side: str = "above") -> Array:
    """Value of a curve at T [K]; at a joint, the limit from ``side``.

    Parameters
    ----------
    curve : tuple of Piece
        Touching pieces in order; the first starts at -inf, the last ends at inf.
    T : array_like
        Temperature [K].
    side : {"above", "below"}
        Which piece answers where two meet.

    Examples
    --------
    >>> step = constant_curve(1.0, end=300.0) + constant_curve(2.0, start=300.0)
    >>> float(curve_value(step, 300.0)), float(curve_value(step, 300.0, side="below"))
    (2.0, 1.0)
    """
    T = np.asarray(T, dtype=float)
    joints = [piece.start for piece in curve[1:]]
    index = np.searchsorted(joints, T, side="right" if side == "above" else "left")
    value = np.empty_like(T)
    for number, piece in enumerate(curve):
        here = index == number
        value[here] = piece_value(piece, T[here])
    return value


def curve_integral(curve: Curve, start: float, T: ArrayLike) -> Array:
    """Exact integral of a curve from ``start`` to T [K].

    Examples
    --------
    >>> float(curve_integral(constant_curve(2.0), 300.0, 350.0))
    100.0
    """
    T = np.asarray(T, dtype=float)
    total = np.zeros_like(T)
    for piece in curve:
        top = np.clip(T, piece.start, piece.end)
        bottom = np.clip(start, piece.start, piece.end)
        moved = top != bottom  # elsewhere the ends may be infinite
        total[moved] += piece_antiderivative(piece, top[moved])
        total[moved] -= piece_antiderivative(piece, bottom)
    return total


def constant_curve(value: float, start: float = -inf, end: float = inf) -> Curve:
    """One piece that does not change."""
    return (Piece(start, end, (float(value),)),)


def linear_piece(start: float, end: float, first: float, last: float) -> Piece:
    """Straight line between two points, as a formula in T - start."""
    slope = (last - first) / (end - start)
    return Piece(start, end, (first, slope), zero=start)


def points_curve(points: Iterable[tuple[float, float]]) -> Curve:
    """Curve through (T [K], value) points: linear between, held outside.

    Examples
    --------
    >>> curve = points_curve([(300.0, 10.0), (400.0, 20.0)])
    >>> curve_value(curve, [200.0, 350.0, 500.0]).tolist()
    [10.0, 15.0, 20.0]
    """
    points = list(points)
    lines = [linear_piece(a[0], b[0], a[1], b[1]) for a, b in pairwise(points)]
    low = constant_curve(points[0][1], end=points[0][0])
    high = constant_curve(points[-1][1], start=points[-1][0])
    return (*low, *lines, *high)


def held(pieces: Sequence[Piece]) -> Curve:
    """Pieces with their end values held to either side."""
    first, last = pieces[0], pieces[-1]
    low = constant_curve(float(piece_value(first, first.start)), end=first.start)
    high = constant_curve(float(piece_value(last, last.end)), start=last.end)
    return (*low, *pieces, *high)


def cut(curve: Curve, start: float, end: float) -> Curve:
    """Return the part of a curve between two temperatures [K]."""
    return tuple(
        replace(piece, start=max(piece.start, start), end=min(piece.end, end))
        for piece in curve
        if piece.start < end and piece.end > start
    )


def melting_curve(
    solid: Curve, liquid: Curve | None, solidus: float, liquidus: float
) -> Curve:
    """Solid curve to the solidus, a line to the liquidus, then the liquid curve.

    Without a liquid curve the solid's value at the solidus is held.

    Parameters
    ----------
    solid, liquid : tuple of Piece
        Curves over all temperatures.
    solidus, liquidus : float
        Start and end of melting [K].
    """
    below = cut(solid, -inf, solidus)
    last = float(piece_value(below[-1], solidus))
    if liquid is None:
        return below + constant_curve(last, start=solidus)
    above = cut(liquid, liquidus, inf)
    first = float(piece_value(above[0], liquidus))
    return (*below, linear_piece(solidus, liquidus, last, first), *above)
