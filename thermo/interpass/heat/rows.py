"""Kernels over one row of cells: loops that the compiler turns into many cells at a time.

A row goes round the ring, or along z where there is none (`arrays.Field`). What a row has in
common, as its faces, comes as a row as well. Areas, volumes, heat and power are per radian.

What it computes: ``thermo/MODEL.md``, section 5.
"""

import numpy as np

from .kernel import at, inner, node, row, temperature_of

COLDEST_POSSIBLE = 150.0  # K; outside these bounds the run has failed
SPLITTING = 0.5  # weight in the miss of what the last line solve still changed
DRIFTING = (
    1000.0  # K: what freezes jumps about, so hotter metal is predicted without drift
)
FADING = 200.0  # K below it over which the drift fades


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


@row
def clear_row(values):
    """Begin a sum."""
    for m in range(values.size):
        values[m] = 0.0


@row
def copy_row(values, out):
    """Write the same once more."""
    for m in range(values.size):
        out[m] = values[m]


@row
def add_row(sign, heat, D):
    """Heat over the edge of a window."""
    for m in range(D.size):
        D[m] += sign * heat[m]


@row
def coefficients_row(
    volume, material, tables, T, H, slope, dt, ahead, k, capacity, T_ahead
):
    """One row of `coefficients`; cells without metal get 1, which keeps them still."""
    per_step, last = 1 / tables.step, float(tables.enthalpy.shape[1] - 2)
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


@row
def surface_row(
    area, depth, film, start, step, T, slope, k, T_ahead, built, b, adds, half, G, loss,
    to_air,
):  # fmt: skip
    """One element of the surface at the angles where the bead is there, or is not."""
    per_step, last = 1 / step, float(film.size - 2)
    for m in range(T.size):
        x = (T[m] + half * slope[m] - start) * per_step
        n = node(x, last)
        h = film[n] + (x - n) * (film[n + 1] - film[n])
        through = area * h * k[m] / (k[m] + h * depth)
        old_G, old_loss, there = G[m], loss[m], to_air[m]
        here = built[m] == b
        G[m] = through if here else old_G
        loss[m] = T_ahead[m] if here else old_loss
        to_air[m] = adds * there + through if here else there


@row
def loss_row(G, built, b, air, ahead, rise, loss):
    """Heat one element takes where the bead is there, or is not [W/rad]."""
    for m in range(G.size):
        T = loss[m]
        loss[m] = G[m] * (T - air + ahead * rise[m]) if built[m] == b else T


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


@row
def clearance_row(
    area, below, above, film, tables, quarter, T_a, T_b, slope_a, slope_b, k_a, k_b, G
):
    """One place of the clearance at all angles."""
    for m in range(G.size):
        mean = (T_a[m] + T_b[m]) / 2 + quarter * (slope_a[m] + slope_b[m])
        h = at(film, tables.start, tables.step, mean)
        G[m] = 1 / (below / k_a[m] + above / k_b[m] + 1 / (h * area))


@row
def gap_row(area, film, tables, half, T_a, T_b, slope_a, slope_b, D_a, D_b):
    """One place of the end gap at all angles."""
    for m in range(T_a.size):
        a, b = T_a[m] + half * slope_a[m], T_b[m] + half * slope_b[m]
        heat = at(film, tables.start, tables.step, (a + b) / 2) * area * (b - a)
        D_a[m] += heat
        D_b[m] -= heat


@row
def edge_row(G, ahead, T_a, rise_a, T_b, rise_b, heat):
    """Heat from one row to the next over a step, as the last line solve left it [W/rad]."""
    for m in range(G.size):
        heat[m] = G[m] * (T_a[m] - T_b[m] + ahead * (rise_a[m] - rise_b[m]))


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


@row
def repredict_row(T, rise, new, per_dt, slope, at_odds):
    """Take the rise of a row; tell by how much enthalpy and line solves are at odds."""
    for j in range(T.size):
        slope[j] = rise[j] * per_dt
        at_odds[j] = abs(T[j] + rise[j] - new[j])


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


@row
def accept_row(new, new_H, per_dt, T, H, slope, peak):
    """One row of `accept`."""
    for j in range(T.size):
        slope[j] = (new[j] - T[j]) * per_dt
        peak[j] = max(peak[j], new[j])
        T[j], H[j] = new[j], new_H[j]


@row
def drift_row(new, turned, per_dt, drift):
    """How one row has changed, seen from the arc."""
    for m in range(drift.size):
        drift[m] = (new[m] - turned[m]) * per_dt


@inner
def most_bend(values):
    """How far a cell of a row is off the mean of its neighbours, twice, at most."""
    n = values.size
    found = abs(values[n - 1] - 2 * values[0] + values[1])
    found = max(found, abs(values[n - 2] - 2 * values[n - 1] + values[0]))
    for m in range(1, n - 1):
        found = max(found, abs(values[m - 1] - 2 * values[m] + values[m + 1]))
    return found
