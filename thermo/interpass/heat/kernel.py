"""What kernels are made with, and what several of them look up.

A kernel is a function that is compiled: plain loops over arrays and floats in SI units.

What it computes: ``thermo/MODEL.md``, section 5.
"""

from math import erf, sqrt
from typing import Any

import numpy as np
from numba import njit

# Nothing is allocated, so references need no counting; that, and no entry from Python
# where none is needed, more than halves the time it takes to compile.
BARE: dict[str, Any] = {"error_model": "numpy", "_nrt": False}
INSIDE: dict[str, Any] = BARE | {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}
inner = njit(**INSIDE)  # kernels alone call it
entry = njit(**BARE)  # called from anywhere


def row(function):
    """Make a kernel over rows that do not overlap, so that many cells are computed at once."""
    made = njit(**INSIDE)(function)
    made.no_alias = True  # `lowering` tells the compiler
    return made


@entry
def implicitness(dt):
    """Weight of a step's end: centred as steps shrink (order 2), damped from 1 s on."""
    return 0.5 + 0.05 * min(dt, 1.0)


@inner
def node(x, last):
    """Find the node below ``x``, from the first to ``last``; for nan it is the first."""
    return np.int32(min(last, max(0.0, x)))


@inner
def at(table, start, step, T):
    """Value of a table at ``T``, linear between nodes and beyond the ends."""
    x = (T - start) / step
    n = min(max(int(x), 0), table.size - 2)
    return table[n] + (x - n) * (table[n + 1] - table[n])


@inner
def temperature_of(enthalpy, start, step, H, guess):
    """Temperature that has enthalpy ``H``; the search starts at ``guess``."""
    n = min(max(int((guess - start) / step), 0), enthalpy.size - 2)
    while n > 0 and enthalpy[n] > H:
        n -= 1
    while n < enthalpy.size - 2 and enthalpy[n + 1] < H:
        n += 1
    return start + step * (n + (H - enthalpy[n]) / (enthalpy[n + 1] - enthalpy[n]))


@entry
def ring_shares(angle, spread, out):
    """Share of a Gaussian centred on ``angle`` in each cell of the ring; sums to 1."""
    n = out.size
    if n == 1:
        out[0] = 1.0
        return
    width = 2 * np.pi / n
    scale = 1 / (sqrt(2.0) * spread)
    turns = int(5 * spread / (2 * np.pi)) + 1  # how often the tails go round
    total = 0.0
    for m in range(n):
        out[m] = 0.0
        offset = m * width - angle
        offset -= 2 * np.pi * np.floor(offset / (2 * np.pi) + 0.5)
        for turn in range(-turns, turns + 1):
            low = offset + turn * 2 * np.pi
            out[m] += 0.5 * (erf((low + width) * scale) - erf(low * scale))
        total += out[m]
    for m in range(n):
        out[m] /= total  # the tails left out are below 1e-6
