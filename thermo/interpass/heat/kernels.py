"""Heat conduction in a body of revolution ``[r, theta, z]``: compiled kernels.

Plain arrays and floats in SI units: nothing here knows about case files, fittings
or the terminal. Every array over cells is (nr, n_theta, nz); the module `arrays` names
them. ``built[m]`` says whether the bead of the current pass is there at angle ``m``.

Areas, volumes, heat and power are per radian of azimuth. ``n_theta = 1`` is the
axisymmetric case: its sweep round the ring is skipped. Heat into the body is positive.

All kernels stay in this one file and import no function: `solver` tells by its content
whether machine code that is kept is still theirs, so a change elsewhere would go unseen.

One step is linearly implicit in temperature and conserves enthalpy: conductances at
the extrapolated mid-point, capacities as the secant of enthalpy over the predicted
change, Douglas splitting into line solves along r, theta and z. These find what is missing
from a share of the predicted rise, so that what splitting leaves out is small.

References
----------
.. [1] J. Douglas, "Alternating direction methods for three space variables",
       Numerische Mathematik 4 (1962) 41-63.
.. [2] S. V. Patankar, "Numerical Heat Transfer and Fluid Flow", Hemisphere, 1980,
       section 4.2-3 (conductivity at the face between unlike cells).

What it computes: ``thermo/MODEL.md``, section 5.
"""

from math import erf, sqrt
from typing import Any

import numpy as np
from numba import njit

from .arrays import (
    ARC_SHARE,
    CAPACITY,
    CHAIN,
    DRIFT,
    EVEN,
    FAILED,
    FINISHED,
    FULL,
    G_R,
    G_THETA,
    G_Z,
    GAIN,
    H_NEW,
    HOTTEST,
    LANES,
    PEAK,
    PLANE,
    POWER,
    R_ABOVE,
    R_BELOW,
    RADIUS,
    REACHED,
    RISE,
    SLOPE,
    T_NEW,
    TO_AIR,
    TURNED,
    VOLUME,
    Z_ABOVE,
    Z_BELOW,
    K,
)  # fmt: skip

COLDEST_POSSIBLE = 150.0  # K; outside these bounds the run has failed
CARRY = 0.6  # share of the predicted rise that the line solves set out from
CARRY_AGAIN = 0.8  # the same when a step is solved again, from its own result
SPLITTING = 0.5  # weight in the miss of what the last line solve still changed
MOST_SOLVES = 4  # of one step
ENOUGH = 0.5  # tolerances of miss up to which a step is solved once
AGAIN = 2.0  # and above which it is solved oftener than twice
AT_ODDS = 0.5  # K between line solves and enthalpy from which a cell settles by itself
DRIFTING = (
    1000.0  # K: what freezes jumps about, so hotter metal is predicted without drift
)
FADING = 200.0  # K below it over which the drift fades
# Nothing is allocated, so references need no counting; that, and no entry from Python
# where none is needed, more than halves the time it takes to compile.
BARE: dict[str, Any] = {"error_model": "numpy", "_nrt": False}
INSIDE: dict[str, Any] = BARE | {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}
inner = njit(**INSIDE)  # called from kernels alone
put_in = njit(**BARE, inline="always")  # put into its one caller: not optimised twice
entry = njit(**BARE)  # called from anywhere


@entry
def implicitness(dt):
    """Weight of a step's end: centred as steps shrink (order 2), damped from 1 s on."""
    return 0.5 + 0.05 * min(dt, 1.0)


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


@inner
def coefficients(body, tables, field, dt, carry, work):
    """Conductivity at the mid-point; heat capacity per cell as a secant over the step.

    The row T_NEW becomes the temperature from which the line solves set out: the weight
    of the step's end times ``carry`` of the rise predicted.
    """
    ahead = implicitness(dt) * carry * dt
    cell = work.cell
    _, nr, n_theta, _ = cell.shape
    for i in range(nr):
        low, high = body.span[0, i], body.span[1, i]
        material = body.material[i, low:high]
        for m in range(n_theta):
            coefficients_row(
                body.section[VOLUME, field.built[m], i, low:high],
                material,
                tables,
                field.temperature[i, m, low:high],
                field.enthalpy[i, m, low:high],
                cell[SLOPE, i, m, low:high],
                dt,
                ahead,
                cell[K, i, m, low:high],
                cell[CAPACITY, i, m, low:high],
                cell[T_NEW, i, m, low:high],
            )


@inner
def coefficients_row(
    volume, material, tables, T, H, slope, dt, ahead, k, capacity, T_ahead
):
    """One row of `coefficients`; cells without metal get 1, which keeps them still."""
    per_step, top = 1 / tables.step, tables.enthalpy.shape[1] - 2
    for j in range(T.size):
        if volume[j] == 0.0:
            k[j] = capacity[j] = 1.0
            T_ahead[j] = T[j]
            continue
        T_ahead[j] = T[j] + ahead * slope[j]
        rise = dt * slope[j]
        x = (T[j] + rise / 2 - tables.start) * per_step
        n = min(max(int(x), 0), top)
        low = tables.conductivity[material[j], n]
        k[j] = low + (x - n) * (tables.conductivity[material[j], n + 1] - low)
        x = (T[j] + rise - tables.start) * per_step
        n = min(max(int(x), 0), top)
        low = tables.enthalpy[material[j], n]
        climb = tables.enthalpy[material[j], n + 1] - low
        if abs(rise) > 0.01:
            capacity[j] = volume[j] * (low + (x - n) * climb - H[j]) / rise
        else:
            capacity[j] = volume[j] * climb * per_step


@inner
def surface_conductances(body, films, tables, field, dt, work):
    """Conductance to air of every surface element, and their sum per cell [W/K/rad]."""
    G, cell = work.G_surface, work.cell
    for m in range(G.shape[0]):
        b = field.built[m]
        for e in range(G.shape[1]):
            cell[TO_AIR, body.surface[b, e, 0], m, body.surface[b, e, 1]] = 0.0
        for e in range(G.shape[1]):
            area, depth = body.surface_size[0, b, e], body.surface_size[1, b, e]
            if area == 0.0:
                break
            i, j, kind = body.surface[b, e]
            T = field.temperature[i, m, j] + dt / 2 * cell[SLOPE, i, m, j]
            h = at(films.surface[kind], tables.start, tables.step, T)
            if h > 0.0:
                G[m, e] = area / (1 / h + depth / cell[K, i, m, j])
            else:
                G[m, e] = 0.0
            cell[TO_AIR, i, m, j] += G[m, e]


@inner
def heat_in(body, films, tables, field, dt, carry, work):
    """Conductances of all faces, and the heat missing from every cell [W/rad].

    Missing is what flows at T_NEW less what ``carry`` of the predicted rise takes.

    The index i, m or j of a conductance [W/K/rad] is that of the face before the cell.
    Every flow is taken from one cell and given to its neighbour, so heat is kept.
    """
    cell, section = work.cell, body.section
    _, nr, n_theta, _ = cell.shape
    for i in range(nr):
        low, high = body.span[0, i], body.span[1, i]
        for m in range(n_theta):
            b = field.built[m]
            D, T, k = (
                cell[RISE, i, m, low:high], cell[T_NEW, i, m, low:high],
                cell[K, i, m, low:high],
            )  # fmt: skip
            from_outside(
                work.around[POWER, m], section[ARC_SHARE, b, i, low:high],
                cell[TO_AIR, i, m, low:high], T, films.air,
                cell[CAPACITY, i, m, low:high], cell[SLOPE, i, m, low:high], carry, D,
            )  # fmt: skip
            if i > 0:
                G = cell[G_R, i, m, low:high]
                series(
                    section[R_BELOW, b, i, low:high], cell[K, i - 1, m, low:high],
                    section[R_ABOVE, b, i, low:high], k, G,
                )  # fmt: skip
                if i == body.film_row:
                    across_clearance(body, films, tables, field.temperature, m, dt, cell)
                exchange(
                    G, cell[T_NEW, i - 1, m, low:high], T,
                    cell[RISE, i - 1, m, low:high], D,
                )  # fmt: skip
            if high - low > 1:
                G = cell[G_Z, i, m, low + 1 : high]
                series(
                    section[Z_BELOW, b, i, low + 1 : high], k[:-1],
                    section[Z_ABOVE, b, i, low + 1 : high], k[1:], G,
                )  # fmt: skip
                flow_along(G, T, work.line[0, m, : high - low], D)
        if n_theta > 1:
            round_the_ring(section, low, high, field.built, i, cell)
    across_end_gap(body, films, tables, field.temperature, dt, cell)


@inner
def from_outside(power, source, loss, T, air, capacity, slope, carry, D):
    """Heat from the arc, less the heat to air and what the predicted rise takes."""
    for j in range(T.size):
        taken = carry * capacity[j] * slope[j]
        D[j] = power * source[j] - loss[j] * (T[j] - air) - taken


@inner
def series(below, k_below, above, k_above, G):
    """Two half cells in series; zero where the face has no metal (infinite path)."""
    for j in range(G.size):
        path = below[j] * k_above[j] + above[j] * k_below[j]
        G[j] = k_below[j] * k_above[j] / path


@inner
def exchange(G, T_a, T_b, D_a, D_b):
    """Heat between two rows."""
    for j in range(G.size):
        heat = G[j] * (T_a[j] - T_b[j])
        D_a[j] -= heat
        D_b[j] += heat


@inner
def flow_along(G, T, flow, D):
    """Heat along one row; ``G[j]`` lies between cells j and j + 1."""
    for j in range(G.size):
        flow[j] = G[j] * (T[j] - T[j + 1])
    for j in range(G.size):
        D[j] -= flow[j]
    for j in range(G.size):
        D[j + 1] += flow[j]


@inner
def across_clearance(body, films, tables, T, m, dt, cell):
    """Put the film of the radial clearance in series with the metal either side."""
    i = body.film_row
    for j in range(body.film.shape[1]):
        area, below, above = body.film[0, j], body.film[1, j], body.film[2, j]
        if area > 0.0:
            mean = (T[i - 1, m, j] + T[i, m, j]) / 2
            mean += dt * (cell[SLOPE, i - 1, m, j] + cell[SLOPE, i, m, j]) / 4
            h = at(films.clearance, tables.start, tables.step, mean)
            metal = below / cell[K, i - 1, m, j]
            metal += above / cell[K, i, m, j]
            cell[G_R, i, m, j] = 1 / (metal + 1 / (h * area))


@inner
def round_the_ring(section, low, high, built, i, cell):
    """Conductances and heat between neighbouring angles of one row of the section."""
    n_theta = built.size
    width = 2 * np.pi / n_theta
    radius = section[RADIUS, 1, i, low:high]
    for m in range(n_theta):
        before = m - 1 if m > 0 else n_theta - 1
        plane_a = section[PLANE, built[before], i, low:high]
        plane_b = section[PLANE, built[m], i, low:high]
        k_a, k_b = cell[K, i, before, low:high], cell[K, i, m, low:high]
        G = cell[G_THETA, i, m, low:high]
        for j in range(G.size):
            area = min(plane_a[j], plane_b[j])
            both = (k_a[j] + k_b[j]) * radius[j] * width * width
            G[j] = 2 * k_a[j] * k_b[j] * area / both
        exchange(
            G, cell[T_NEW, i, before, low:high], cell[T_NEW, i, m, low:high],
            cell[RISE, i, before, low:high], cell[RISE, i, m, low:high],
        )  # fmt: skip


@inner
def across_end_gap(body, films, tables, T, dt, cell):
    """Heat over the end gap: slow, so explicit at the extrapolated mid-point."""
    for n in range(body.link_area.size):
        i, j, p, q = body.link[n]
        for m in range(T.shape[1]):
            a = T[i, m, j] + dt / 2 * cell[SLOPE, i, m, j]
            c = T[p, m, q] + dt / 2 * cell[SLOPE, p, m, q]
            h = at(films.gap, tables.start, tables.step, (a + c) / 2)
            heat = h * body.link_area[n] * (c - a)
            cell[RISE, i, m, j] += heat
            cell[RISE, p, m, q] -= heat


@inner
def sweep_r(body, dt, work):
    """Solve (capacity + w G) rise = dt heat along r, in place; w = implicitness dt."""
    cell = work.cell
    _, nr, n_theta, _ = cell.shape
    w = implicitness(dt) * dt
    for i in range(nr):
        low, high = body.span[0, i], body.span[1, i]
        p, q = max(i - 1, 0), (i + 1) % nr  # at the ends the conductance is zero
        for m in range(n_theta):
            eliminate_row(
                cell[CAPACITY, i, m, low:high], cell[TO_AIR, i, m, low:high],
                cell[G_R, i, m, low:high], cell[G_R, q, m, low:high],
                cell[CHAIN, p, m, low:high], cell[RISE, p, m, low:high], dt, w,
                cell[CHAIN, i, m, low:high], cell[RISE, i, m, low:high],
            )  # fmt: skip
    for i in range(nr - 2, -1, -1):
        low, high = body.span[0, i], body.span[1, i]
        for m in range(n_theta):
            substitute_row(
                cell[CHAIN, i, m, low:high], cell[RISE, i + 1, m, low:high],
                cell[RISE, i, m, low:high],
            )  # fmt: skip


@inner
def eliminate_row(capacity, loss, near, far, E_before, D_before, dt, w, E, D):
    """Forward half of the line solve, for a whole row of lines at once."""
    for j in range(D.size):
        a, c = w * near[j], w * far[j]
        pivot = 1 / (capacity[j] + w * loss[j] + a + c - a * E_before[j])
        D[j] = (dt * D[j] + a * D_before[j]) * pivot
        E[j] = c * pivot


@inner
def substitute_row(E, D_after, D):
    """Backward half of the line solve."""
    for j in range(D.size):
        D[j] += E[j] * D_after[j]


@inner
def sweep_theta(body, dt, work):
    """Solve round the ring, in place: the closed chain by a rank-one correction.

    The system is tridiagonal plus two corners; U solves for the corner vector
    (Sherman-Morrison), both by one elimination.
    """
    cell, E, U = work.cell, work.line[0], work.line[1]
    _, nr, n, _ = cell.shape
    w = implicitness(dt) * dt
    for i in range(nr):
        low, high = body.span[0, i], body.span[1, i]
        D, G = cell[RISE, i], cell[G_THETA, i]
        for m in range(n):
            after, p = (m + 1) % n, max(m - 1, 0)
            eliminate_ring(
                cell[CAPACITY, i, m, low:high], G[m, low:high], G[after, low:high],
                G[0, low:high], m == 0, m == n - 1, w,
                E[p, low:high], U[p, low:high], D[p, low:high],
                E[m, low:high], U[m, low:high], D[m, low:high],
            )  # fmt: skip
        for m in range(n - 2, -1, -1):
            substitute_row(E[m, low:high], D[m + 1, low:high], D[m, low:high])
            substitute_row(E[m, low:high], U[m + 1, low:high], U[m, low:high])
        share = E[n - 1, low:high]
        for j in range(high - low):
            total = D[0, low + j] + D[n - 1, low + j]
            share[j] = total / (1 + U[0, low + j] + U[n - 1, low + j])
        for m in range(n):
            D_row, U_row = D[m, low:high], U[m, low:high]
            for j in range(high - low):
                D_row[j] -= share[j] * U_row[j]


@inner
def eliminate_ring(C, near, far, corner, is_first, is_last, w, E0, U0, D0, E, U, D):
    """Forward half round the ring: one row of lines at one angle."""
    begins, ends = 1.0 if is_first else 0.0, 1.0 if is_last else 0.0
    for j in range(D.size):
        edge = w * corner[j]
        a = w * near[j] * (1 - begins)
        c = w * far[j] * (1 - ends)
        diagonal = C[j] + w * (near[j] + far[j]) + edge * (begins + ends)
        pivot = 1 / (diagonal - a * E0[j])
        D[j] = (C[j] * D[j] + a * D0[j]) * pivot
        U[j] = (a * U0[j] - edge * (begins + ends)) * pivot
        E[j] = c * pivot


@inner
def sweep_z(body, dt, work):
    """Solve along z, in place, several lines at a time so that they overlap.

    What there was before is left in the row CHAIN of ``work.cell``.
    """
    _, nr, n_theta, nz = work.cell.shape
    lines = nr * n_theta
    D, C = work.lines[RISE], work.lines[CAPACITY]
    G, before = work.lines[G_Z], work.lines[CHAIN]
    w = implicitness(dt) * dt
    E, X, near = work.lanes[0], work.lanes[1], work.lanes[2, 0]
    for start in range(0, lines, LANES):
        lanes = min(LANES, lines - start)
        low, high = nz, 0
        for i in range(start // n_theta, (start + lanes - 1) // n_theta + 1):
            low, high = min(low, body.span[0, i]), max(high, body.span[1, i])
        for lane in range(LANES):
            near[lane] = E[low, lane] = X[low, lane] = 0.0
        for j in range(low, high):
            E_last, X_last, E_row, X_row = E[j], X[j], E[j + 1], X[j + 1]
            ends = 0.0 if j == high - 1 else w
            after = min(j + 1, nz - 1)
            for lane in range(lanes):
                far, c = ends * G[start + lane, after], C[start + lane, j]
                pivot = 1 / (c + near[lane] + far - near[lane] * E_last[lane])
                heat = D[start + lane, j]
                before[start + lane, j] = heat
                X_row[lane] = (c * heat + near[lane] * X_last[lane]) * pivot
                E_row[lane] = far * pivot
                near[lane] = far
        for lane in range(lanes):
            D[start + lane, high - 1] = X[high, lane]
        for j in range(high - 2, low - 1, -1):
            X_row, E_row, X_after = X[j + 1], E[j + 1], X[j + 2]
            for lane in range(lanes):
                X_row[lane] += E_row[lane] * X_after[lane]
                D[start + lane, j] = X_row[lane]


@inner
def apply_rise(body, tables, field, work, dt, carry, control):
    """Put the heat of the step into the cells; return the worst miss and its place.

    The miss is the measure of error that sets the next step: the distance between the
    new temperature and the prediction or the line solves' own, or what the last of the
    line solves still changed, for so much may the first ones be wrong. It is infinite
    where a temperature is out of all bounds.
    """
    cell = work.cell
    _, nr, n_theta, _ = cell.shape
    worst, where = 0.0, (0, 0, 0)
    for i in range(nr):
        low, high = body.span[0, i], body.span[1, i]
        for m in range(n_theta):
            miss, j = apply_row(
                body.section[VOLUME, field.built[m], i, low:high],
                body.material[i, low:high], tables, field.temperature[i, m, low:high],
                field.enthalpy[i, m, low:high], cell[SLOPE, i, m, low:high],
                cell[CAPACITY, i, m, low:high], cell[RISE, i, m, low:high],
                cell[CHAIN, i, m, low:high], dt, carry, control,
                cell[T_NEW, i, m, low:high], cell[H_NEW, i, m, low:high],
            )  # fmt: skip
            if miss > worst:
                worst, where = miss, (i, m, low + j)
    return worst, where


@inner
def apply_row(
    volume, material, tables, T, H, slope, capacity, rise, before, dt, carry, control,
    T_new, H_new,
):  # fmt: skip
    """One row of `apply_rise`: the worst miss in it and its column."""
    worst, where = 0.0, 0
    start, step, top = tables.start, tables.step, tables.enthalpy.shape[1] - 2
    per_step, hottest = 1 / step, control.hottest_possible
    weight = 0.0 if control.twice else SPLITTING
    for j in range(T.size):
        if volume[j] == 0.0:
            continue
        split = weight * abs(before[j] - rise[j])
        rise[j] += carry * dt * slope[j]
        new_H = H[j] + capacity[j] * rise[j] / volume[j]
        guess, metal = T[j] + rise[j], material[j]
        if not COLDEST_POSSIBLE < guess < 2 * hottest:  # nan as well
            worst, where = np.inf, j if worst < np.inf else where
            H_new[j], T_new[j] = H[j], T[j]  # to set out from, if it is solved again
            continue
        n = min(max(int((guess - start) * per_step), 0), top)
        while n > 0 and tables.enthalpy[metal, n] > new_H:
            n -= 1
        while n < top and tables.enthalpy[metal, n + 1] < new_H:
            n += 1
        below = tables.enthalpy[metal, n]
        share = (new_H - below) / (tables.enthalpy[metal, n + 1] - below)
        new = start + step * (n + share)
        H_new[j], T_new[j] = new_H, new
        miss = max(abs(new - T[j] - dt * slope[j]), split, abs(new - guess))
        if not COLDEST_POSSIBLE < new < hottest:
            worst, where = np.inf, j if worst < np.inf else where
            continue
        miss /= 1 + max(new - control.ease_above, 0.0) / 100
        if miss > worst:
            worst, where = miss, j
    return worst, where


@inner
def accept(body, field, lost, work, dt):
    """Make the new temperatures the present ones; book what was lost.

    The drift says nothing but under a travelling arc, which has turned the field before.
    """
    for kind in range(lost.size):
        lost[kind] += work.lost[kind]
    cell = work.cell
    _, nr, n_theta, _ = cell.shape
    for i in range(nr):
        for m in range(n_theta):
            for j in range(body.span[0, i], body.span[1, i]):
                new = cell[T_NEW, i, m, j]
                cell[SLOPE, i, m, j] = (new - field.temperature[i, m, j]) / dt
                cell[DRIFT, i, m, j] = (new - cell[TURNED, i, m, j]) / dt
                cell[PEAK, i, m, j] = max(cell[PEAK, i, m, j], new)
                field.temperature[i, m, j] = new
                field.enthalpy[i, m, j] = cell[H_NEW, i, m, j]


@entry
def lay_bead(body, tables, field, work, m, air):
    """Put the bead of the current pass in place at one angle, at air temperature.

    Heat is kept: metal that changes owner takes its heat along.
    """
    T, H, cell = field.temperature, field.enthalpy, work.cell
    nr, _, nz = T.shape
    field.built[m] = 1
    carried = cell[CHAIN]  # room that is free between steps
    for i in range(nr):
        for j in range(nz):
            carried[i, m, j] = cell[TO_AIR, i, m, j] = cell[SLOPE, i, m, j] = 0.0
    for n in range(body.moved_volume.size):
        i, j, p, q = body.moved[n]
        carried[p, m, q] += body.moved_volume[n] * H[i, m, j]
        carried[i, m, j] -= body.moved_volume[n] * H[i, m, j]
    for i in range(nr):
        for j in range(body.span[0, i], body.span[1, i]):
            old, new = body.section[VOLUME, 0, i, j], body.section[VOLUME, 1, i, j]
            gain = body.section[GAIN, 1, i, j]
            if old == new and gain == 0.0:
                continue
            table = tables.enthalpy[body.material[i, j]]
            cold = at(table, tables.start, tables.step, air)
            heat = old * H[i, m, j] + carried[i, m, j] + gain * cold
            H[i, m, j] = heat / new if new > 0.0 else cold
            T[i, m, j] = temperature_of(table, tables.start, tables.step, H[i, m, j], air)
            cell[T_NEW, i, m, j], cell[H_NEW, i, m, j] = T[i, m, j], H[i, m, j]


@inner
def place_arc(body, films, tables, field, arc, angle, dt, work):
    """Power at each angle over the step, and the bead under the arc."""
    power = work.around[POWER]
    for m in range(power.size):
        power[m] = 0.0
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
        place = angle + np.sign(arc.turn_rate) * min(part * width, half)
        m = int(np.floor(place / width)) % power.size
        if field.built[m] == 0:
            lay_bead(body, tables, field, work, m, films.air)


@entry
def zone_temperatures(body, T, built, ring):
    """Hottest of the interpass zone at each angle into ``ring``; mean and coldest [K]."""
    coldest, heat, volume = np.inf, 0.0, 0.0
    for m in range(ring.size):
        b = built[m]
        ring[m] = -np.inf
        for n in range(body.zone.shape[1]):
            i, j, p, q = body.zone[b, n]
            here = T[i, m, j]
            here += body.zone_size[0, b, n] * (T[p, m, q] - here)
            ring[m] = max(ring[m], here)
            coldest = min(coldest, here)
            heat += body.zone_size[1, b, n] * here
            volume += body.zone_size[1, b, n]
    return heat / volume, coldest


@inner
def keep(record, n, time, work, mean, coldest, probes):
    """Write one moment into the record."""
    record.time[n] = time
    for m in range(work.around.shape[1]):
        record.ring[n, m] = work.around[HOTTEST, m]
    record.mean[n] = mean
    record.coldest[n] = coldest
    for p in range(probes.weight.shape[0]):
        record.probe[n, p] = probed(probes, p, work.cell[T_NEW])


@inner
def probed(probes, p, temperature):
    """Temperature at one probe [K]."""
    total = 0.0
    for q in range(probes.weight.shape[1]):
        i, m, j = probes.cell[p, q]
        total += probes.weight[p, q] * temperature[i, m, j]
    return total


@inner
def judged(control, probes, temperature, work):
    """Temperature that ends the phase: a probe's, or the hottest of the zone [K]."""
    if control.stop_probe >= 0:
        return probed(probes, control.stop_probe, temperature)
    hottest = work.around[HOTTEST, 0]
    for m in range(1, work.around.shape[1]):
        hottest = max(hottest, work.around[HOTTEST, m])
    return hottest


@inner
def book_losses(body, films, built, work, dt):
    """Heat each kind of surface takes in this step [J]; exact for the line solves."""
    for kind in range(work.lost.size):
        work.lost[kind] = 0.0
    n_theta = work.G_surface.shape[0]
    for m in range(n_theta):
        b = built[m]
        for e in range(work.G_surface.shape[1]):
            if body.surface_size[0, b, e] == 0.0:
                break
            i, j, kind = body.surface[b, e]
            above = work.cell[T_NEW, i, m, j] - films.air
            above += implicitness(dt) * work.cell[RISE, i, m, j]
            work.lost[kind] += dt * work.G_surface[m, e] * above
    for kind in range(work.lost.size):
        work.lost[kind] *= 2 * np.pi / n_theta


@inner
def turn(body, field, shift, dt, work):
    """Predict that the arc takes the field along, by ``shift`` cells of the ring.

    Seen from the arc little changes once the pool is there, so this is far nearer than
    what each place did before. Whole cells are exact, between them it is a cubic.
    """
    cell, T = work.cell, field.temperature
    _, nr, n, _ = cell.shape
    whole = int(np.floor(shift))
    x = 1 - (shift - whole)  # from the second of four cells to the third
    share = (
        -x * (x - 1) * (x - 2) / 6, (x + 1) * (x - 1) * (x - 2) / 2,
        -(x + 1) * x * (x - 2) / 2, (x + 1) * x * (x - 1) / 6,
    )  # fmt: skip
    for i in range(nr):
        low, high = body.span[0, i], body.span[1, i]
        for m in range(n):
            a, b, c, d = (
                (m - whole - 2) % n, (m - whole - 1) % n, (m - whole) % n,
                (m - whole + 1) % n,
            )  # fmt: skip
            turn_row(
                T[i, a, low:high], T[i, b, low:high], T[i, c, low:high],
                T[i, d, low:high], share, cell[TURNED, i, m, low:high],
            )  # fmt: skip
            turn_row(
                cell[DRIFT, i, a, low:high], cell[DRIFT, i, b, low:high],
                cell[DRIFT, i, c, low:high], cell[DRIFT, i, d, low:high],
                share, cell[SLOPE, i, m, low:high],
            )  # fmt: skip
            seen_from_place(
                cell[TURNED, i, m, low:high], T[i, m, low:high], 1 / dt,
                cell[SLOPE, i, m, low:high],
            )  # fmt: skip


@inner
def turn_row(a, b, c, d, share, out):
    """One row between its neighbours in the ring."""
    for j in range(out.size):
        out[j] = share[0] * a[j] + share[1] * b[j] + share[2] * c[j] + share[3] * d[j]


@inner
def seen_from_place(turned, T, per_dt, slope):
    """Slope at a place from the drift seen from the arc, which fades in hot metal."""
    for j in range(slope.size):
        fade = min(max((DRIFTING - turned[j]) / FADING, 0.0), 1.0)
        slope[j] = fade * slope[j] + (turned[j] - T[j]) * per_dt


@put_in
def solve_step(body, films, tables, field, dt, carry, work, control):
    """Coefficients, heat, three line solves, new temperatures: SLOPE predicts."""
    coefficients(body, tables, field, dt, carry, work)
    surface_conductances(body, films, tables, field, dt, work)
    heat_in(body, films, tables, field, dt, carry, work)
    sweep_r(body, dt, work)
    book_losses(body, films, field.built, work, dt)
    if work.around.shape[1] > 1:
        sweep_theta(body, dt, work)
    sweep_z(body, dt, work)
    return apply_rise(body, tables, field, work, dt, carry, control)


@put_in
def try_step(body, films, tables, field, arc, angle, dt, work, control):
    """Compute one step into ``work``; return the worst miss [K] and its place.

    Where metal melts and freezes the prediction is bad: the step is solved twice, the
    second time with coefficients at the first one's temperatures, and again while that
    still changes much.
    """
    place_arc(body, films, tables, field, arc, angle, dt, work)
    if arc.turn_rate != 0.0:
        width = 2 * np.pi / work.around.shape[1]
        turn(body, field, arc.turn_rate * dt / width, dt, work)
    solves, carry, fair = 0, CARRY, ENOUGH * control.tolerance
    while True:
        miss, where = solve_step(body, films, tables, field, dt, carry, work, control)
        solves += 1
        if not control.twice or miss <= fair or solves == MOST_SOLVES:
            break
        repredict(body, tables, field, dt, work)
        carry, fair = CARRY_AGAIN, AGAIN * control.tolerance
    return miss, where


@inner
def repredict(body, tables, field, dt, work):
    """Take the step just computed as the prediction for computing it again.

    Where metal melts or freezes, the rise that the line solves found and that of the
    enthalpy are at odds. There a cell settles by itself, against neighbours as they are:
    taking either rise goes to and fro, too stiff, far too hot, too soft.
    """
    cell = work.cell
    _, nr, n_theta, _ = cell.shape
    w = implicitness(dt) * dt
    for i in range(nr):
        for m in range(n_theta):
            b = field.built[m]
            for j in range(body.span[0, i], body.span[1, i]):
                T, volume = field.temperature[i, m, j], body.section[VOLUME, b, i, j]
                rise, new = cell[RISE, i, m, j], cell[T_NEW, i, m, j]
                if volume > 0.0 and abs(T + rise - new) > AT_ODDS:
                    G = w * all_faces(cell, i, m, j)
                    heat = (cell[CAPACITY, i, m, j] + G) * rise
                    rise = settled(
                        tables, body.material[i, j], volume, G, heat, T,
                        field.enthalpy[i, m, j], new,
                    )  # fmt: skip
                cell[SLOPE, i, m, j] = rise / dt


@inner
def all_faces(cell, i, m, j):
    """Conductance of a cell to its neighbours and to air [W/K/rad]."""
    _, nr, n_theta, nz = cell.shape
    G = cell[TO_AIR, i, m, j] + cell[G_R, i, m, j] + cell[G_Z, i, m, j]
    G += cell[G_THETA, i, m, j] + cell[G_THETA, i, (m + 1) % n_theta, j]
    if i + 1 < nr:
        G += cell[G_R, i + 1, m, j]
    if j + 1 < nz:
        G += cell[G_Z, i, m, j + 1]
    return G


@inner
def settled(tables, metal, volume, G, heat, T, H, guess):
    """Rise [K] of a cell that keeps some of ``heat`` [J/rad] and gives ``G`` times it away."""
    start, step, top = tables.start, tables.step, tables.enthalpy.shape[1] - 2
    n = min(max(int((guess - start) / step), 0), top)
    here = missing(tables, metal, volume, G, heat, T, H, n)
    while n > 0 and here < 0.0:
        n -= 1
        here = missing(tables, metal, volume, G, heat, T, H, n)
    after = missing(tables, metal, volume, G, heat, T, H, n + 1)
    while n < top and after > 0.0:
        n += 1
        here, after = after, missing(tables, metal, volume, G, heat, T, H, n + 1)
    return start + step * (n + here / (here - after)) - T


@inner
def missing(tables, metal, volume, G, heat, T, H, n):
    """Heat left over at node ``n`` of the tables [J/rad]; it falls with temperature."""
    rise = tables.start + n * tables.step - T
    return heat - volume * (tables.enthalpy[metal, n] - H) - G * rise


@inner
def is_even(body, T, ring, limit):
    """Tell whether neighbours round the ring are so alike that they can be one cell.

    Two and two when the ring divides by two; else all of them.
    """
    n = ring.size
    apart = 1 if n % 2 == 0 else n - 1
    for m in range(0, n, apart + 1):  # the hottest alone: nearly always enough to say no
        for q in range(m + 1, m + apart + 1):
            if abs(ring[m] - ring[q]) > 2 * limit:
                return False
    for i in range(body.span.shape[1]):
        for m in range(0, n, apart + 1):
            for q in range(m + 1, m + apart + 1):
                for j in range(body.span[0, i], body.span[1, i]):
                    if abs(T[i, m, j] - T[i, q, j]) > 2 * limit:
                        return False
    return True


@put_in
def march(body, films, tables, field, arc, control, probes, record, lost, work):
    """Step one phase: an arc that travels, or cooling until time or temperature.

    Changes ``field``, the row SLOPE of ``work.cell`` and ``lost`` [J by surface kind, (kinds,)] in place
    and fills ``record`` from its start.

    Returns
    -------
    status : int
        FINISHED (time is up), REACHED (hottest, or a probe, fell to the limit),
        FAILED (a temperature no metal can have), FULL (record is full; call again) or EVEN
        (neighbours round the ring have become alike).
    time, step : float
        Time reached and the next step [s].
    count : int
        Entries of ``record`` filled.
    where : (int, int, int)
        Cell of the worst error in the last step.
    tries : int
        Steps computed, rejected ones included.
    """
    time, count, tries, where = control.time_start, 0, 0, (0, 0, 0)
    step, landing, angle = control.step_first, -1.0, arc.angle
    ring = work.around[HOTTEST]
    zone_temperatures(body, field.temperature, field.built, ring)
    before = judged(control, probes, field.temperature, work)
    while True:
        left = control.time_end - time
        if left <= 1e-9 * max(1.0, control.time_end):
            return FINISHED, time, step, count, where, tries
        if count == record.time.size:
            return FULL, time, step, count, where, tries
        dt = min(step, control.step_max)
        if left < 2 * dt:  # no crumbs at the end of a phase
            dt = left if left <= dt else left / 2
        if landing > 0.0:
            dt = landing
        miss, where = try_step(body, films, tables, field, arc, angle, dt, work, control)
        tries += 1
        if miss == np.inf and dt < 1e-4:
            return FAILED, time + dt, step, count, where, tries
        ratio = 0.9 * sqrt(control.tolerance / max(miss, 1e-12))
        known = tries > 1 or not control.fresh
        if miss > 3 * control.tolerance and dt > 1e-4 and (known or miss == np.inf):
            step, landing = dt * max(ratio, 0.2), -1.0
            continue
        mean, coldest = zone_temperatures(body, work.cell[T_NEW], field.built, ring)
        now = judged(control, probes, work.cell[T_NEW], work)
        if now < control.stop_below - 0.005 and before > control.stop_below:
            landing = dt * (before - control.stop_below) / (before - now)
            continue
        rising = control.stop_probe >= 0 and now > before
        if landing < 0.0 and known:
            step = dt * min(max(ratio, 0.3), 2.0)
        accept(body, field, lost, work, dt)
        time += dt
        angle += arc.turn_rate * dt
        before, landing = now, -1.0
        keep(record, count, time, work, mean, coldest, probes)
        count += 1
        if now <= control.stop_below + 0.005 and not rising:
            return REACHED, time, step, count, where, tries
        if control.even > 0.0 and is_even(body, field.temperature, ring, control.even):
            return EVEN, time, step, count, where, tries
