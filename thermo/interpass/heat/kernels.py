"""Heat conduction in a body of revolution ``[r, theta, z]``: compiled kernels.

Plain arrays and floats in SI units: nothing here knows about case files, fittings
or the terminal. Arrays over cells are in rows, (nr, rows, cells in a row): round the ring,
or along z where there is none (`arrays.Field`); `arrays` names them. ``built[m]`` says whether the bead of the current pass is there at angle ``m``.

Areas, volumes, heat and power are per radian of azimuth. ``n_theta = 1`` is the
axisymmetric case. Heat into the body is positive.

A function named after a row works on one row, or some: plain loops that the compiler turns
into many cells at a time. What calls them goes through the rows of one radius, ``i``.

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
    T_AHEAD,
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
BESIDE = 3  # rows beside those that missed that are solved again with them
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


@inner
def extent(body, n_theta, window, i):
    """Rows of one radius, first and past the last, and the same for the cells in them."""
    if n_theta == 1:
        return 0, 1, body.span[0, i], body.span[1, i]
    return max(body.span[0, i], window[0]), min(body.span[1, i], window[1]), 0, n_theta


@inner
def place(n_theta, m, j):
    """Row and cell in it of angle ``m`` and column ``j``."""
    if n_theta == 1:
        return 0, j
    return j, m


@inner
def all_angles(n_theta, j):
    """Row of column ``j``, and its cells there: first, and past the last."""
    if n_theta == 1:
        return 0, j, j + 1
    return j, 0, n_theta


@inner
def put_metal(body, i, b, built, work):
    """Metal of each cell of a row of the ring: how much, and which."""
    before, after = body.section[VOLUME, 0, i, b], body.section[VOLUME, 1, i, b]
    fill_row(before, after, built, work.room[VOLUME, 0, 0])
    metal_row(body.material[i, b], work.metal[0])


@inner
def put_faces(body, i, b, built, work):
    """Half paths to the faces of each cell of a row of the ring, and its share of the arc."""
    for n in range(R_BELOW, ARC_SHARE + 1):
        before, after = body.section[n, 0, i, b], body.section[n, 1, i, b]
        fill_row(before, after, built, work.room[n, 0, 0])


@row
def fill_row(before, after, built, out):
    """One property: as it is without the bead, or with it."""
    for m in range(out.size):
        out[m] = after if built[m] > 0 else before


@row
def metal_row(metal, out):
    """One metal all round."""
    for m in range(out.size):
        out[m] = metal


@inner
def coefficients(body, tables, field, dt, carry, work, i):
    """Conductivity at the mid-point; heat capacity per cell as a secant over the step.

    T_AHEAD is the temperature from which the line solves set out: the weight of the
    step's end times ``carry`` of the rise predicted.
    """
    ahead, cell, built = implicitness(dt) * carry * dt, work.cell, field.built
    has_ring = built.size > 1
    rows = work.room if has_ring else body.section
    metals = work.metal if has_ring else body.material
    first, last, low, high = extent(body, built.size, work.window, i)
    p, q = (0, 0) if has_ring else (built[0], i)
    for b in range(first, last):
        if has_ring:
            put_metal(body, i, b, built, work)
        coefficients_row(
            rows[VOLUME, p, q, low:high], metals[q, low:high], tables,
            field.T[i, b, low:high], field.H[i, b, low:high],
            cell[SLOPE, i, b, low:high], dt, ahead, work.plane[K, i % 2, b, low:high],
            cell[CAPACITY, i, b, low:high], work.plane[T_AHEAD, i % 2, b, low:high],
        )  # fmt: skip


@row
def coefficients_row(
    volume, material, tables, T, H, slope, dt, ahead, k, capacity, T_ahead
):
    """One row of `coefficients`; cells without metal get 1, which keeps them still."""
    per_step, top = 1 / tables.step, tables.enthalpy.shape[1] - 2
    last = float(top)
    for j in range(T.size):
        rise, here = dt * slope[j], volume[j]
        T_ahead[j] = T[j] + ahead * slope[j] if here > 0.0 else T[j]
        x = (T[j] + rise / 2 - tables.start) * per_step
        n = node(x, last)
        low = tables.conductivity[material[j], n]
        k_j = low + (x - n) * (tables.conductivity[material[j], n + 1] - low)
        x = (T[j] + rise - tables.start) * per_step
        n = node(x, last)
        low = tables.enthalpy[material[j], n]
        climb = tables.enthalpy[material[j], n + 1] - low
        secant = (low + (x - n) * climb - H[j]) / rise
        c = here * (secant if abs(rise) > 0.01 else climb * per_step)
        k[j] = k_j if here > 0.0 else 1.0
        capacity[j] = c if here > 0.0 else 1.0


@inner
def surface_conductances(body, films, tables, field, dt, work, i):
    """Conductance to air of every surface element, and their sum per cell [W/K/rad]."""
    cell, n_theta, window = work.cell, field.built.size, work.window
    for b in range(2):
        for e in range(body.surface_rows[b, i], body.surface_rows[b, i + 1]):
            place, low, high = all_angles(n_theta, body.surface[b, e, 1])
            if not window[0] <= place < window[1]:
                continue
            clear_row(cell[TO_AIR, i, place, low:high])
    for b in range(2):
        if not stands(field.built, b):
            continue
        for e in range(body.surface_rows[b, i], body.surface_rows[b, i + 1]):
            place, low, high = all_angles(n_theta, body.surface[b, e, 1])
            if not window[0] <= place < window[1]:
                continue
            surface_row(
                body.surface_size[0, b, e], body.surface_size[1, b, e],
                films.surface[body.surface[b, e, 2]], tables,
                field.T[i, place, low:high], cell[SLOPE, i, place, low:high],
                work.plane[K, i % 2, place, low:high],
                work.plane[T_AHEAD, i % 2, place, low:high], field.built, b, dt / 2,
                work.G_surface[e], work.loss_of[e], cell[TO_AIR, i, place, low:high],
            )  # fmt: skip


@row
def clear_row(values):
    """Begin a sum."""
    for m in range(values.size):
        values[m] = 0.0


@inner
def stands(built, b):
    """Whether the bead is there (b = 1), or is not (0), at any angle."""
    for m in range(built.size):  # noqa: SIM110 - kernels know no generators
        if built[m] == b:
            return True
    return False


@row
def surface_row(
    area, depth, film, tables, T, slope, k, T_ahead, built, b, half, G, loss, to_air
):
    """One element of the surface at the angles where the bead is there, or is not."""
    per_step, last = 1 / tables.step, float(film.size - 2)
    for m in range(T.size):
        x = (T[m] + half * slope[m] - tables.start) * per_step
        n = node(x, last)
        h = film[n] + (x - n) * (film[n + 1] - film[n])
        through = area * h * k[m] / (k[m] + h * depth)
        G[m] = through if built[m] == b else G[m]
        loss[m] = T_ahead[m] if built[m] == b else loss[m]
        to_air[m] += through if built[m] == b else 0.0


@inner
def heat_in(body, films, tables, field, dt, carry, work, i):
    """Conductances of the faces of one radius, and the heat missing from its cells [W/rad].

    Missing is what flows at T_AHEAD less what ``carry`` of the predicted rise takes.

    The index of a conductance [W/K/rad] is that of the cell after the face.
    Every flow is taken from one cell and given to its neighbour, so heat is kept.
    """
    cell, built, n_theta = work.cell, field.built, field.built.size
    has_ring = n_theta > 1
    rows = work.room if has_ring else body.section
    first, last, low, high = extent(body, n_theta, work.window, i)
    p, q = (0, 0) if has_ring else (built[0], i)
    for b in range(first, last):
        if has_ring:
            put_faces(body, i, b, built, work)
        D, T, k = (
            cell[RISE, i, b, low:high], work.plane[T_AHEAD, i % 2, b, low:high],
            work.plane[K, i % 2, b, low:high],
        )  # fmt: skip
        from_outside(
            work.around[POWER], rows[ARC_SHARE, p, q, low:high],
            cell[TO_AIR, i, b, low:high], T, films.air,
            cell[CAPACITY, i, b, low:high], cell[SLOPE, i, b, low:high], carry, D,
        )  # fmt: skip
        if i > 0:
            G = cell[G_R, i, b, low:high]
            series(
                rows[R_BELOW, p, q, low:high], work.plane[K, (i - 1) % 2, b, low:high],
                rows[R_ABOVE, p, q, low:high], k, G,
            )  # fmt: skip
            if i == body.film_row:
                across_clearance(body, films, tables, field.T, n_theta, b, dt, work)
            exchange(
                G,
                work.plane[T_AHEAD, (i - 1) % 2, b, low:high],
                T,
                cell[RISE, i - 1, b, low:high],
                D,
            )
        if n_theta > 1 and b == first and b > body.span[0, i]:
            add_row(1.0, work.edge[0, i], D)
        if n_theta > 1 and b == last - 1 and b < body.span[1, i] - 1:
            add_row(-1.0, work.edge[1, i], D)
        if b > first:
            G = cell[G_Z, i, b]
            series(
                rows[Z_BELOW, p, q, low:high], work.plane[K, i % 2, b - 1],
                rows[Z_ABOVE, p, q, low:high], k, G,
            )  # fmt: skip
            exchange(G, work.plane[T_AHEAD, i % 2, b - 1], T, cell[RISE, i, b - 1], D)
        if has_ring:
            size = body.section[RADIUS, 1, i, b] * (2 * np.pi / n_theta) ** 2
            round_the_ring(
                work.room[PLANE, 0, 0], size, k, T, cell[G_THETA, i, b], work.line, D
            )
        elif high - low > 1:
            G = cell[G_Z, i, b, low + 1 : high]
            series(
                rows[Z_BELOW, p, q, low + 1 : high], k[:-1],
                rows[Z_ABOVE, p, q, low + 1 : high], k[1:], G,
            )  # fmt: skip
            flow_along(G, T, work.line[: high - low], D)
    across_end_gap(body, films, tables, field.T, n_theta, dt, work, i)


@row
def from_outside(power, source, loss, T, air, capacity, slope, carry, D):
    """Heat from the arc, less the heat to air and what the predicted rise takes."""
    if power.size == 1:
        for j in range(T.size):
            taken = carry * capacity[j] * slope[j]
            D[j] = power[0] * source[j] - loss[j] * (T[j] - air) - taken
    else:
        for j in range(T.size):
            taken = carry * capacity[j] * slope[j]
            D[j] = power[j] * source[j] - loss[j] * (T[j] - air) - taken


@row
def add_row(sign, heat, D):
    """Heat over the edge of a window."""
    for m in range(D.size):
        D[m] += sign * heat[m]


@row
def series(below, k_below, above, k_above, G):
    """Two half cells in series; zero where the face has no metal (infinite path)."""
    for j in range(G.size):
        path = below[j] * k_above[j] + above[j] * k_below[j]
        G[j] = k_below[j] * k_above[j] / path


@row
def exchange(G, T_a, T_b, D_a, D_b):
    """Heat between two rows."""
    for j in range(G.size):
        heat = G[j] * (T_a[j] - T_b[j])
        D_a[j] -= heat
        D_b[j] += heat


@row
def flow_along(G, T, flow, D):
    """Heat along one row; ``G[j]`` lies between cells j and j + 1."""
    for j in range(G.size):
        flow[j] = G[j] * (T[j] - T[j + 1])
    for j in range(G.size):
        D[j] -= flow[j]
    for j in range(G.size):
        D[j + 1] += flow[j]


@row
def round_the_ring(plane, size, k, T, G, flow, D):
    """Conductances and heat between neighbours of a row that closes on itself.

    ``size`` is the cell's radius times the square of its angle.
    """
    n = G.size
    area = min(plane[n - 1], plane[0])
    G[0] = 2 * k[n - 1] * k[0] * area / ((k[n - 1] + k[0]) * size)
    flow[0] = G[0] * (T[n - 1] - T[0])
    for m in range(1, n):
        area = min(plane[m - 1], plane[m])
        G[m] = 2 * k[m - 1] * k[m] * area / ((k[m - 1] + k[m]) * size)
        flow[m] = G[m] * (T[m - 1] - T[m])
    for m in range(n):
        D[m] += flow[m]
    for m in range(n - 1):
        D[m] -= flow[m + 1]
    D[n - 1] -= flow[0]


@inner
def across_clearance(body, films, tables, T, n_theta, b, dt, work):
    """Put the film of the radial clearance in series with the metal either side."""
    cell, i, first, last = work.cell, body.film_row, 0, body.film.shape[1]
    if n_theta > 1:
        first, last = b, b + 1
    for j in range(first, last):
        area, below, above = body.film[0, j], body.film[1, j], body.film[2, j]
        if area > 0.0:
            row, low, high = all_angles(n_theta, j)
            clearance_row(
                area, below, above, films.clearance, tables, dt / 4,
                T[i - 1, row, low:high], T[i, row, low:high],
                cell[SLOPE, i - 1, row, low:high], cell[SLOPE, i, row, low:high],
                work.plane[K, (i - 1) % 2, row, low:high], work.plane[K, i % 2, row, low:high],
                cell[G_R, i, row, low:high],
            )  # fmt: skip


@row
def clearance_row(
    area, below, above, film, tables, quarter, T_a, T_b, slope_a, slope_b, k_a, k_b, G
):
    """One place of the clearance at all angles."""
    for m in range(G.size):
        mean = (T_a[m] + T_b[m]) / 2 + quarter * (slope_a[m] + slope_b[m])
        h = at(film, tables.start, tables.step, mean)
        G[m] = 1 / (below / k_a[m] + above / k_b[m] + 1 / (h * area))


@inner
def across_end_gap(body, films, tables, T, n_theta, dt, work, i):
    """Heat over the end gap: slow, so explicit at the extrapolated mid-point."""
    cell, window = work.cell, work.window
    for n in range(body.link_area.size):
        if body.link[n, 0] != i:
            continue
        a, low, high = all_angles(n_theta, body.link[n, 1])
        b, start, end = all_angles(n_theta, body.link[n, 3])
        if not window[0] <= a < window[1]:
            continue  # then neither is the other
        gap_row(
            body.link_area[n], films.gap, tables, dt / 2,
            T[i, a, low:high], T[i, b, start:end],
            cell[SLOPE, i, a, low:high], cell[SLOPE, i, b, start:end],
            cell[RISE, i, a, low:high], cell[RISE, i, b, start:end],
        )  # fmt: skip


@row
def gap_row(area, film, tables, half, T_a, T_b, slope_a, slope_b, D_a, D_b):
    """One place of the end gap at all angles."""
    for m in range(T_a.size):
        a, b = T_a[m] + half * slope_a[m], T_b[m] + half * slope_b[m]
        heat = at(film, tables.start, tables.step, (a + b) / 2) * area * (b - a)
        D_a[m] += heat
        D_b[m] -= heat


@inner
def eliminate(body, dt, n_theta, work, i):
    """Forward half of (capacity + w G) rise = dt heat along r; w = implicitness dt."""
    cell, w = work.cell, implicitness(dt) * dt
    first, last, low, high = extent(body, n_theta, work.window, i)
    p, q = i - 1, (i + 1) % cell.shape[1]  # at the ends the conductance is zero
    for b in range(first, last):
        eliminate_row(
            cell[CAPACITY, i, b, low:high], cell[TO_AIR, i, b, low:high],
            cell[G_R, i, b, low:high], cell[G_R, q, b, low:high],
            cell[CHAIN, p, b, low:high], cell[RISE, p, b, low:high], dt, w,
            cell[CHAIN, i, b, low:high], cell[RISE, i, b, low:high],
        )  # fmt: skip


@inner
def substitute(body, n_theta, work, i):
    """Backward half."""
    cell = work.cell
    first, last, low, high = extent(body, n_theta, work.window, i)
    for b in range(first, last):
        substitute_row(
            cell[CHAIN, i, b, low:high], cell[RISE, i + 1, b, low:high],
            cell[RISE, i, b, low:high],
        )  # fmt: skip


@row
def eliminate_row(capacity, loss, near, far, E_before, D_before, dt, w, E, D):
    """Forward half of the line solve, for a whole row of lines at once."""
    for j in range(D.size):
        a, c = w * near[j], w * far[j]
        pivot = 1 / (capacity[j] + w * loss[j] + a + c - a * E_before[j])
        D[j] = (dt * D[j] + a * D_before[j]) * pivot
        E[j] = c * pivot


@row
def substitute_row(E, D_after, D):
    """Backward half of the line solve."""
    for j in range(D.size):
        D[j] += E[j] * D_after[j]


@inner
def sweep_theta(body, dt, work, i):
    """Solve round the ring, in place, many rows at a time.

    Rows are turned into columns of ``work.lanes`` first: side by side they overlap.
    """
    w, nz = implicitness(dt) * dt, work.cell.shape[2]
    low, high, _, _ = extent(body, work.cell.shape[3], work.window, i)
    room = work.lanes
    for start in range(low, high, LANES):
        lines, lanes = i * nz + start, min(LANES, high - start)
        turned(work.lines[RISE], lines, lanes, room[0])
        turned(work.lines[CAPACITY], lines, lanes, room[1])
        turned(work.lines[G_THETA], lines, lanes, room[2])
        rings(w, lanes, room[0], room[1], room[2], room[3], room[4], room[5])
        turned_back(room[4], room[5], room[3, 0], lines, lanes, work.lines[RISE])


@row
def turned(rows, start, lanes, columns):
    """So many rows as columns."""
    for lane in range(lanes):
        for m in range(rows.shape[1]):
            columns[m, lane] = rows[start + lane, m]


@row
def turned_back(X, U, share, start, lanes, rows):
    """Columns of a solution and of its correction as rows."""
    for lane in range(lanes):
        for m in range(rows.shape[1]):
            rows[start + lane, m] = X[m + 1, lane] - share[lane] * U[m + 1, lane]


@row
def rings(w, lanes, D, C, G, E, X, U):
    """Solve so many columns, each closed on itself: the answer is X less E[0] of U.

    The closed chain is tridiagonal plus two corners; U solves for the corner vector
    (Sherman-Morrison), both by one elimination.
    """
    n, lanes = D.shape[0] - 2, (lanes + 7) // 8 * 8  # in whole vectors
    for lane in range(lanes):
        E[0, lane] = X[0, lane] = U[0, lane] = 0.0
    for m in range(n):
        begins, ends = 1.0 if m == 0 else 0.0, 1.0 if m == n - 1 else 0.0
        after = m + 1 if m < n - 1 else 0
        for lane in range(lanes):
            near, far, c = w * G[m, lane], w * G[after, lane], C[m, lane]
            edge = near * begins + far * ends
            a, b = near * (1 - begins), far * (1 - ends)
            pivot = 1 / (c + near + far + edge - a * E[m, lane])
            X[m + 1, lane] = (c * D[m, lane] + a * X[m, lane]) * pivot
            U[m + 1, lane] = (a * U[m, lane] - edge) * pivot
            E[m + 1, lane] = b * pivot
    for m in range(n - 1, 0, -1):
        for lane in range(lanes):
            X[m, lane] += E[m, lane] * X[m + 1, lane]
            U[m, lane] += E[m, lane] * U[m + 1, lane]
    for lane in range(lanes):
        total, closing = X[1, lane] + X[n, lane], 1 + U[1, lane] + U[n, lane]
        E[0, lane] = total / closing


@inner
def sweep_across(body, dt, work, i):
    """Solve along z across the rows of a ring, in place.

    What there was before is left in the row CHAIN of ``work.cell``.
    """
    cell, E, w = work.cell, work.chain, implicitness(dt) * dt
    nz = cell.shape[2]
    first, last, _, _ = extent(body, cell.shape[3], work.window, i)
    for b in range(first, last):
        p, q = (b - 1) % nz, min(b + 1, nz - 1)
        across_row(
            cell[CAPACITY, i, b], cell[G_Z, i, b], cell[G_Z, i, q],
            w if b > first else 0.0, w if b < last - 1 else 0.0,
            E[p], cell[RISE, i, p], cell[CHAIN, i, b], E[b], cell[RISE, i, b],
        )  # fmt: skip
    for b in range(last - 2, first - 1, -1):
        substitute_row(E[b], cell[RISE, i, b + 1], cell[RISE, i, b])


@row
def across_row(capacity, near, far, w_near, w_far, E_before, D_before, before, E, D):
    """Forward half of the solve across rows; ``before`` keeps what there was."""
    for m in range(D.size):
        a, c = w_near * near[m], w_far * far[m]
        pivot = 1 / (capacity[m] + a + c - a * E_before[m])
        before[m] = D[m]
        D[m] = (capacity[m] * D[m] + a * D_before[m]) * pivot
        E[m] = c * pivot


@inner
def sweep_along(body, dt, work):
    """Solve along z along the rows, in place, many at a time.

    What there was before is left in the row CHAIN of ``work.cell``.
    """
    w, room = implicitness(dt) * dt, work.lanes
    for start in range(0, work.lines.shape[1], LANES):
        lanes = min(LANES, work.lines.shape[1] - start)
        low, high = body.span[0, start], body.span[1, start]
        for i in range(start + 1, start + lanes):
            low, high = min(low, body.span[0, i]), max(high, body.span[1, i])
        turned(work.lines[RISE], start, lanes, room[0])
        turned(work.lines[CAPACITY], start, lanes, room[1])
        turned(work.lines[G_Z], start, lanes, room[2])
        chains(w, lanes, low, high, room[0], room[1], room[2], room[3], room[4])
        turned_from(room[0], start, lanes, low, high, work.lines[CHAIN])
        turned_from(room[4, 1:], start, lanes, low, high, work.lines[RISE])


@row
def turned_from(columns, start, lanes, low, high, rows):
    """So many columns as rows, from ``low`` to ``high``."""
    for lane in range(lanes):
        for m in range(low, high):
            rows[start + lane, m] = columns[m, lane]


@row
def chains(w, lanes, low, high, D, C, G, E, X):
    """Solve so many columns with open ends: X, one place further on."""
    lanes = (lanes + 7) // 8 * 8  # in whole vectors
    for lane in range(lanes):
        E[low, lane] = X[low, lane] = X[high + 1, lane] = 0.0
    for j in range(low, high):
        before, beyond = w if j > low else 0.0, w if j < high - 1 else 0.0
        after = min(j + 1, high - 1)
        for lane in range(lanes):
            near, far, c = before * G[j, lane], beyond * G[after, lane], C[j, lane]
            pivot = 1 / (c + near + far - near * E[j, lane])
            X[j + 1, lane] = (c * D[j, lane] + near * X[j, lane]) * pivot
            E[j + 1, lane] = far * pivot
    for j in range(high - 1, low, -1):
        for lane in range(lanes):
            X[j, lane] += E[j, lane] * X[j + 1, lane]


@inner
def apply_rise(body, tables, field, work, dt, carry, control, i):
    """Put the heat of the step into the cells of one radius; note the worst miss.

    The miss is the measure of error that sets the next step: the distance between the
    new temperature and the prediction or the line solves' own, or what the last of the
    line solves still changed, for so much may the first ones be wrong. It is infinite
    where a temperature is out of all bounds.
    """
    cell, built = work.cell, field.built
    has_ring = built.size > 1
    rows = work.room if has_ring else body.section
    metals = work.metal if has_ring else body.material
    first, last, low, high = extent(body, built.size, work.window, i)
    p, q = (0, 0) if has_ring else (built[0], i)
    for b in range(first, last):
        if has_ring:
            put_metal(body, i, b, built, work)
        apply_row(
            rows[VOLUME, p, q, low:high], metals[q, low:high], tables,
            field.T[i, b, low:high], field.H[i, b, low:high],
            cell[SLOPE, i, b, low:high], cell[CAPACITY, i, b, low:high],
            cell[RISE, i, b, low:high], cell[CHAIN, i, b, low:high], dt, carry, control,
            cell[T_NEW, i, b, low:high], cell[H_NEW, i, b, low:high],
            work.worst[b, : high - low],
        )  # fmt: skip


@inner
def apply_row(
    volume, material, tables, T, H, slope, capacity, rise, before, dt, carry, control,
    T_new, H_new, worst,
):  # fmt: skip
    """One row of `apply_rise`."""
    table, start, step = tables.enthalpy, tables.start, tables.step
    hottest, weight = control.hottest_possible, 0.0 if control.twice else SPLITTING
    take_up_row(volume, H, slope, capacity, carry * dt, rise, H_new)
    if look_up_row(material, table, start, step, T, rise, H_new, T_new) > 0:
        search_row(material, table, start, step, T, rise, hottest, H_new, T_new)
    wrong = miss_row(
        volume, T, slope, rise, before, dt, carry, weight, hottest, control.ease_above,
        T_new, worst,
    )  # fmt: skip
    if wrong > 0:
        keep_row(T, H, rise, hottest, T_new, H_new)


@row
def take_up_row(volume, H, slope, capacity, ahead, rise, H_new):
    """Rise and enthalpy of a row from what the line solves found."""
    for j in range(H.size):
        rise[j] += ahead * slope[j]
        taken = capacity[j] * rise[j] / volume[j]
        H_new[j] = H[j] + (taken if volume[j] > 0.0 else 0.0)


@row
def look_up_row(material, table, start, step, T, rise, H_new, T_new):
    """Temperatures of a row, in the intervals of the table where the line solves expect them.

    Returns how many lie outside: few but where metal changes or melts.
    """
    per_step, last, lost = 1 / step, float(table.shape[1] - 2), 0
    for j in range(T.size):
        n = node((T[j] + rise[j] - start) * per_step, last)
        low = table[material[j], n]
        share = (H_new[j] - low) / (table[material[j], n + 1] - low)
        T_new[j] = start + step * (n + share)
        lost += 0 if (share >= 0.0) & (share <= 1.0) else 1
    return lost


@inner
def search_row(material, table, start, step, T, rise, hottest, H_new, T_new):
    """Temperatures that have the enthalpies of a row, however far: in metal that melts."""
    for j in range(T.size):
        guess = T[j] + rise[j]
        if COLDEST_POSSIBLE < guess < 2 * hottest:
            T_new[j] = temperature_of(table[material[j]], start, step, H_new[j], guess)


@row
def miss_row(
    volume, T, slope, rise, before, dt, carry, weight, hottest, ease_above, T_new, worst
):
    """How far one row may be off [K], at its worst so far; how many cells are impossible."""
    wrong, per_100 = 0, 1 / 100
    for j in range(T.size):
        old, new, so_far = T[j], T_new[j], worst[j]
        guess, ahead = old + rise[j], dt * slope[j]
        split = weight * abs(before[j] + carry * ahead - rise[j])
        ease = (new - ease_above) * per_100
        miss = max(abs(new - old - ahead), split, abs(new - guess))
        miss /= 1 + max(0.0, ease)
        possible = (guess > COLDEST_POSSIBLE) & (guess < 2 * hottest)
        possible = possible & (new > COLDEST_POSSIBLE) & (new < hottest)
        there = volume[j] > 0.0
        miss = miss if possible else np.inf
        miss = miss if there else 0.0
        worst[j] = max(so_far, miss)
        wrong += 1 if there & (not possible) else 0
    return wrong


@inner
def keep_row(T, H, rise, hottest, T_new, H_new):
    """Keep what cannot be as it was, to set out from if the step is solved again."""
    for j in range(T.size):
        if not COLDEST_POSSIBLE < T[j] + rise[j] < 2 * hottest:
            T_new[j], H_new[j] = T[j], H[j]


@inner
def astray(body, field, work, hottest):
    """Cell (i, m, j) whose temperature is out of all bounds."""
    n_theta, cell = field.built.size, work.cell
    for i in range(cell.shape[1]):
        first, last, low, high = extent(body, n_theta, work.window, i)
        for b in range(first, last):
            for q in range(low, high):
                guess, new = field.T[i, b, q] + cell[RISE, i, b, q], cell[T_NEW, i, b, q]
                if not (
                    COLDEST_POSSIBLE < guess < 2 * hottest
                    and COLDEST_POSSIBLE < new < hottest
                ):
                    return (i, q, b) if n_theta > 1 else (i, 0, q)
    return 0, 0, 0


@inner
def accept(body, field, lost, work, dt):
    """Make the new temperatures the present ones; book what was lost.

    The drift says nothing but under a travelling arc, which has turned the field before.
    """
    lose(body, field.built, work, dt, lost)
    cell = work.cell
    for i in range(cell.shape[1]):
        first, last, low, high = extent(body, field.built.size, work.window, i)
        for b in range(first, last):
            accept_row(
                cell[T_NEW, i, b, low:high], cell[H_NEW, i, b, low:high],
                cell[TURNED, i, b, low:high], 1 / dt, field.T[i, b, low:high],
                field.H[i, b, low:high], cell[SLOPE, i, b, low:high],
                cell[DRIFT, i, b, low:high], cell[PEAK, i, b, low:high],
            )  # fmt: skip


@row
def accept_row(new, new_H, turned, per_dt, T, H, slope, drift, peak):
    """One row of `accept`."""
    for j in range(T.size):
        slope[j] = (new[j] - T[j]) * per_dt
        drift[j] = (new[j] - turned[j]) * per_dt
        peak[j] = max(peak[j], new[j])
        T[j], H[j] = new[j], new_H[j]


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
            b, q = place(n_theta, m, j)
            carried[i, b, q] = cell[TO_AIR, i, b, q] = cell[SLOPE, i, b, q] = 0.0
    for n in range(body.moved_volume.size):
        i, j, p, r = body.moved[n]
        b, q = place(n_theta, m, j)
        c, s = place(n_theta, m, r)
        carried[p, c, s] += body.moved_volume[n] * H[i, b, q]
        carried[i, b, q] -= body.moved_volume[n] * H[i, b, q]
    for i in range(nr):
        for j in range(body.span[0, i], body.span[1, i]):
            old, new = body.section[VOLUME, 0, i, j], body.section[VOLUME, 1, i, j]
            gain = body.section[GAIN, 1, i, j]
            if old == new and gain == 0.0:
                continue
            b, q = place(n_theta, m, j)
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
        there = angle + np.sign(arc.turn_rate) * min(part * width, half)
        m = int(np.floor(there / width)) % power.size
        if field.built[m] == 0:
            lay_bead(body, tables, field, work, m, films.air)


@entry
def zone_temperatures(body, T, built, ring):
    """Hottest of the interpass zone at each angle into ``ring``; mean and coldest [K].

    ``T`` (nr, rows, cells in a row) is laid out as `Field.T`.
    """
    coldest, heat, volume = np.inf, 0.0, 0.0
    for m in range(ring.size):
        ring[m] = -np.inf
    for b in range(2):
        if not stands(built, b):
            continue
        for n in range(body.zone.shape[1]):
            i, j, p, q = body.zone[b, n]
            share, metal = body.zone_size[0, b, n], body.zone_size[1, b, n]
            a, low, _ = all_angles(built.size, j)
            c, start, _ = all_angles(built.size, q)
            for m in range(ring.size):
                if built[m] == b:
                    now = T[i, a, low + m]
                    now += share * (T[p, c, start + m] - now)
                    ring[m] = max(ring[m], now)
                    coldest = min(coldest, now)
                    heat += metal * now
                    volume += metal
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
        record.probe[n, p] = probed(probes, p, work.cell[T_NEW], work.around.shape[1])


@inner
def probed(probes, p, temperature, n_theta):
    """Temperature at one probe [K]."""
    total = 0.0
    for n in range(probes.weight.shape[1]):
        i, m, j = probes.cell[p, n]
        b, q = place(n_theta, m, j)
        total += probes.weight[p, n] * temperature[i, b, q]
    return total


@inner
def judged(control, probes, temperature, work):
    """Temperature that ends the phase: a probe's, or the hottest of the zone [K]."""
    if control.stop_probe >= 0:
        return probed(probes, control.stop_probe, temperature, work.around.shape[1])
    hottest = work.around[HOTTEST, 0]
    for m in range(1, work.around.shape[1]):
        hottest = max(hottest, work.around[HOTTEST, m])
    return hottest


@inner
def book_losses(body, films, built, work, dt, i):
    """Heat each kind of surface takes at one radius; exact for the line solves."""
    n_theta, window = built.size, work.window
    for b in range(2):
        if not stands(built, b):
            continue
        for e in range(body.surface_rows[b, i], body.surface_rows[b, i + 1]):
            place, low, high = all_angles(n_theta, body.surface[b, e, 1])
            if not window[0] <= place < window[1]:
                continue
            loss_row(
                work.G_surface[e], built, b, films.air, implicitness(dt), work.cell[RISE, i, place, low:high],
                work.loss_of[e],
            )  # fmt: skip


@row
def loss_row(G, built, b, air, ahead, rise, loss):
    """Heat one element takes where the bead is there, or is not [W/rad]."""
    for m in range(G.size):
        T = loss[m]
        loss[m] = G[m] * (T - air + ahead * rise[m]) if built[m] == b else T


@inner
def lose(body, built, work, dt, lost):
    """Add to what each kind of surface has taken [J]."""
    for b in range(2):
        if not stands(built, b):
            continue
        for e in range(body.surface_rows[b, -1]):
            heat = 0.0
            for m in range(built.size):
                heat += work.loss_of[e, m] if built[m] == b else 0.0
            lost[body.surface[b, e, 2]] += heat * dt * 2 * np.pi / built.size


@inner
def turn(body, field, shift, dt, work, i):
    """Predict that the arc takes the field along, by ``shift`` cells of the ring.

    Seen from the arc little changes once the pool is there, so this is far nearer than
    what each place did before. Whole cells are exact, between them it is a cubic.
    """
    cell, whole = work.cell, int(np.floor(shift))
    x = 1 - (shift - whole)  # from the second of four cells to the third
    share = (
        -x * (x - 1) * (x - 2) / 6, (x + 1) * (x - 1) * (x - 2) / 2,
        -(x + 1) * x * (x - 2) / 2, (x + 1) * x * (x - 1) / 6,
    )  # fmt: skip
    for b in range(body.span[0, i], body.span[1, i]):
        turn_row(field.T[i, b], whole, share, work.wide, cell[TURNED, i, b])
        turn_row(cell[DRIFT, i, b], whole, share, work.wide, cell[SLOPE, i, b])
        seen_from_place(cell[TURNED, i, b], field.T[i, b], 1 / dt, cell[SLOPE, i, b])


@row
def turn_row(values, whole, share, wide, out):
    """One row, turned; ``wide`` is room for it and three cells more."""
    n = out.size
    start = (whole + 2) % n  # cells of the end that come first
    for m in range(start):
        wide[m] = values[n - start + m]
    for m in range(n - start):
        wide[start + m] = values[m]
    for m in range(3):
        wide[n + m] = wide[m]
    for m in range(n):
        a, b, c, d = wide[m], wide[m + 1], wide[m + 2], wide[m + 3]
        out[m] = share[0] * a + share[1] * b + share[2] * c + share[3] * d


@row
def seen_from_place(turned, T, per_dt, slope):
    """Slope at a place from the drift seen from the arc, which fades in hot metal."""
    for j in range(slope.size):
        fade = min(max((DRIFTING - turned[j]) / FADING, 0.0), 1.0)
        slope[j] = fade * slope[j] + (turned[j] - T[j]) * per_dt


@inner
def solve_step(body, films, tables, field, dt, shift, again, work, control):
    """Coefficients, heat, three line solves, new temperatures: SLOPE predicts.

    Radius by radius, outward and back in, so that what one needs is still at hand.
    """
    n_theta, nr = field.built.size, work.cell.shape[1]
    carry = CARRY_AGAIN if again else CARRY
    for b in range(work.window[0], work.window[1]):
        clear_row(work.worst[b])
    for i in range(nr):
        if again:
            repredict(body, tables, field, dt, work, i)
        elif shift != 0.0:
            turn(body, field, shift, dt, work, i)
        coefficients(body, tables, field, dt, carry, work, i)
        surface_conductances(body, films, tables, field, dt, work, i)
        heat_in(body, films, tables, field, dt, carry, work, i)
        if i > 0:
            eliminate(body, dt, n_theta, work, i - 1)
    eliminate(body, dt, n_theta, work, nr - 1)
    for i in range(nr - 1, -1, -1):
        if i > 0:  # before the other line solves change this radius
            substitute(body, n_theta, work, i - 1)
        book_losses(body, films, field.built, work, dt, i)
        if n_theta > 1:
            sweep_theta(body, dt, work, i)
            sweep_across(body, dt, work, i)
            apply_rise(body, tables, field, work, dt, carry, control, i)
    if n_theta == 1:
        sweep_along(body, dt, work)
        for i in range(nr):
            apply_rise(body, tables, field, work, dt, carry, control, i)


@inner
def try_step(body, films, tables, field, arc, angle, dt, work, control):
    """Compute one step into ``work``; return the worst miss [K].

    Where metal melts and freezes the prediction is bad: there the step is solved twice,
    the second time with coefficients at the first one's temperatures, and again while
    that still changes much.
    """
    place_arc(body, films, tables, field, arc, angle, dt, work)
    shift = arc.turn_rate * dt * work.around.shape[1] / (2 * np.pi)
    solves, fair = 0, ENOUGH * control.tolerance
    work.window[0], work.window[1] = 0, work.cell.shape[2]
    while True:
        solve_step(body, films, tables, field, dt, shift, solves > 0, work, control)
        solves += 1
        miss = worst_of(work.worst)
        if not control.twice or solves == MOST_SOLVES or miss <= fair:
            break
        if solves == 1 and field.built.size > 1:
            choose_window(body, work, fair)
            note_edges(body, field, dt, work)
        fair = AGAIN * control.tolerance
    work.window[0], work.window[1] = 0, work.cell.shape[2]
    return miss


@inner
def worst_of(values):
    """Largest of (rows, cells)."""
    found = 0.0
    for b in range(values.shape[0]):
        for m in range(values.shape[1]):
            found = max(found, values[b, m])
    return found


@inner
def choose_window(body, work, fair):
    """Solve again the rows of a ring that missed, and some beside them."""
    rows = work.worst.shape[0]
    first, last = rows, 0
    for b in range(rows):
        if worst_of(work.worst[b : b + 1]) > fair:
            first, last = min(first, b), b + 1
    first, last = max(first - BESIDE, 0), min(last + BESIDE, rows)
    for n in range(body.link_area.size):  # both sides of the end gap, or none
        low, high = body.link[n, 1], body.link[n, 3]
        low, high = min(low, high), max(low, high)
        if first <= high and low < last:
            first, last = min(first, low), max(last, high + 1)
    work.window[0], work.window[1] = first, last


@inner
def note_edges(body, field, dt, work):
    """Heat that has crossed the edges of a window: it stays as the first solve had it.

    So heat is kept, and what lies beyond is not touched.
    """
    cell, ahead = work.cell, implicitness(dt)
    for i in range(cell.shape[1]):
        for side in range(2):
            b = work.window[side]
            if body.span[0, i] < b < body.span[1, i]:
                edge_row(
                    cell[G_Z, i, b], ahead, field.T[i, b - 1], cell[RISE, i, b - 1],
                    field.T[i, b], cell[RISE, i, b], work.edge[side, i],
                )  # fmt: skip


@row
def edge_row(G, ahead, T_a, rise_a, T_b, rise_b, heat):
    """Heat from one row to the next over a step, as the last line solve left it [W/rad]."""
    for m in range(G.size):
        heat[m] = G[m] * (T_a[m] - T_b[m] + ahead * (rise_a[m] - rise_b[m]))


@inner
def repredict(body, tables, field, dt, work, i):
    """Take the step just computed as the prediction for computing it again.

    Where metal melts or freezes, the rise that the line solves found and that of the
    enthalpy are at odds. There a cell settles by itself, against neighbours as they are:
    taking either rise goes to and fro, too stiff, far too hot, too soft.
    """
    cell, w = work.cell, implicitness(dt) * dt
    first, last, low, high = extent(body, field.built.size, work.window, i)
    for b in range(first, last):
        repredict_row(
            field.T[i, b, low:high], cell[RISE, i, b, low:high],
            cell[T_NEW, i, b, low:high], 1 / dt, cell[SLOPE, i, b, low:high], work.line,
        )  # fmt: skip
        for q in range(low, high):
            if work.line[q - low] > AT_ODDS:
                rise = settled(body, tables, field, work, i, b, q, w)
                cell[SLOPE, i, b, q] = rise / dt


@row
def repredict_row(T, rise, new, per_dt, slope, at_odds):
    """Take the rise of a row; tell by how much enthalpy and line solves are at odds."""
    for j in range(T.size):
        slope[j] = rise[j] * per_dt
        at_odds[j] = abs(T[j] + rise[j] - new[j])


@inner
def all_faces(cell, i, b, q, n_theta):
    """Conductance of a cell to its neighbours and to air [W/K/rad]."""
    _, nr, rows, n = cell.shape
    G = cell[TO_AIR, i, b, q] + cell[G_R, i, b, q] + cell[G_Z, i, b, q]
    if i + 1 < nr:
        G += cell[G_R, i + 1, b, q]
    if n_theta > 1:
        G += cell[G_THETA, i, b, q] + cell[G_THETA, i, b, (q + 1) % n]
        if b + 1 < rows:
            G += cell[G_Z, i, b + 1, q]
    elif q + 1 < n:
        G += cell[G_Z, i, b, q + 1]
    return G


@inner
def settled(body, tables, field, work, i, b, q, w):
    """Rise [K] of a cell that keeps some of its heat and gives the rest to what is round it."""
    n_theta, cell = field.built.size, work.cell
    m, j = (q, b) if n_theta > 1 else (0, q)
    volume, metal = body.section[VOLUME, field.built[m], i, j], body.material[i, j]
    T, H, rise = field.T[i, b, q], field.H[i, b, q], cell[RISE, i, b, q]
    if volume == 0.0:
        return rise
    G = w * all_faces(cell, i, b, q, n_theta)
    heat = (cell[CAPACITY, i, b, q] + G) * rise
    top = tables.enthalpy.shape[1] - 2
    n = np.int64(node((cell[T_NEW, i, b, q] - tables.start) / tables.step, float(top)))
    here = missing(tables, metal, volume, G, heat, T, H, n)
    while n > 0 and here < 0.0:
        n -= 1
        here = missing(tables, metal, volume, G, heat, T, H, n)
    after = missing(tables, metal, volume, G, heat, T, H, n + 1)
    while n < top and after > 0.0:
        n += 1
        here, after = after, missing(tables, metal, volume, G, heat, T, H, n + 1)
    return tables.start + tables.step * (n + here / (here - after)) - T


@inner
def missing(tables, metal, volume, G, heat, T, H, n):
    """Heat left over at node ``n`` of the tables [J/rad]; it falls with temperature."""
    rise = tables.start + n * tables.step - T
    return heat - volume * (tables.enthalpy[metal, n] - H) - G * rise


@inner
def is_even(body, T, ring, limit):
    """Tell whether the ring bends so little that neighbours can be one cell."""
    if most_bend(ring) > limit:  # the hottest alone: nearly always enough to say no
        return False
    for i in range(body.span.shape[1]):
        for b in range(body.span[0, i], body.span[1, i]):
            if most_bend(T[i, b]) > limit:
                return False
    return True


@inner
def most_bend(values):
    """How far a cell of a row is off the mean of its neighbours, twice, at most."""
    n = values.size
    found = abs(values[n - 1] - 2 * values[0] + values[1])
    found = max(found, abs(values[n - 2] - 2 * values[n - 1] + values[0]))
    for m in range(1, n - 1):
        found = max(found, abs(values[m - 1] - 2 * values[m] + values[m + 1]))
    return found


@entry
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
    time, tries, where = control.time_start, 0, (0, 0, 0)
    count = np.int64(0)  # one type from the start: what takes it is compiled once
    step, landing, angle = control.step_first, -1.0, arc.angle
    ring = work.around[HOTTEST]
    zone_temperatures(body, field.T, field.built, ring)
    before = judged(control, probes, field.T, work)
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
        miss = try_step(body, films, tables, field, arc, angle, dt, work, control)
        tries += 1
        if miss == np.inf and dt < 1e-4:
            where = astray(body, field, work, control.hottest_possible)
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
        if control.even > 0.0 and is_even(body, field.T, ring, control.even):
            return EVEN, time, step, count, where, tries
