"""Kernels of the arc and of the bead it lays.

What it computes: ``thermo/MODEL.md``, section 5.
"""

from math import sqrt

import numpy as np

from .arrays import CHAIN, GAIN, H_NEW, POWER, SLOPE, T_NEW, TO_AIR, VOLUME
from .kernel import at, entry, inner, ring_shares, temperature_of
from .line_solves import row_and_cell
from .rows import clear_row


@entry
def lay_bead(body, tables, field, work, m, air):
    """Put the bead of the current pass in place at one angle, at air temperature.

    Heat is kept: metal that changes owner takes its heat along.
    """
    T, H, cell, n_theta = field.T, field.H, work.cell, field.built.size
    nr, nz = body.material.shape
    field.built[m] = 1
    carried = cell[CHAIN]  # room that is free between steps
    for i in range(nr):
        for j in range(nz):
            b, q = row_and_cell(n_theta, m, j)
            carried[i, b, q] = cell[TO_AIR, i, b, q] = cell[SLOPE, i, b, q] = 0.0
    for n in range(body.moved_volume.size):
        i, j, p, r = body.moved[n]
        b, q = row_and_cell(n_theta, m, j)
        c, s = row_and_cell(n_theta, m, r)
        carried[p, c, s] += body.moved_volume[n] * H[i, b, q]
        carried[i, b, q] -= body.moved_volume[n] * H[i, b, q]
    for i in range(nr):
        for j in range(body.span[0, i], body.span[1, i]):
            old, new = body.section[VOLUME, 0, i, j], body.section[VOLUME, 1, i, j]
            gain = body.section[GAIN, 1, i, j]
            if old == new and gain == 0.0:
                continue
            b, q = row_and_cell(n_theta, m, j)
            table = tables.enthalpy[body.material[i, j]]
            cold = at(table, tables.start, tables.step, air)
            heat = old * H[i, b, q] + carried[i, b, q] + gain * cold
            H[i, b, q] = heat / new if new > 0.0 else cold
            T[i, b, q] = temperature_of(table, tables.start, tables.step, H[i, b, q], air)
            cell[T_NEW, i, b, q], cell[H_NEW, i, b, q] = T[i, b, q], H[i, b, q]


@inner
def place_arc(body, films, tables, field, arc, angle, dt, work):
    """Power at each angle over the step, and the bead under the arc."""
    power = work.around[POWER]
    clear_row(power)
    if arc.power == 0.0:
        return
    width = 2 * np.pi / power.size
    swept = arc.turn_rate * dt
    spread = sqrt(arc.spread**2 + swept**2 / 12)  # and over the way of the step
    ring_shares(angle + swept / 2, spread, power)
    for m in range(power.size):
        power[m] *= arc.power / width
    half = abs(swept) / 2
    for part in range(int(half / width) + 2):
        there = angle + np.sign(arc.turn_rate) * min(part * width, half)
        m = int(np.floor(there / width)) % power.size
        if field.built[m] == 0:
            lay_bead(body, tables, field, work, m, films.air)
