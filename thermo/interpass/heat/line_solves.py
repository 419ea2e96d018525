"""Kernels of the line solves: across rows along r and z, along rows round the ring or along z.

Each solves (capacity + w G) rise = heat along one direction, w = implicitness dt, for the
rows of one radius ``i`` that `extent` names.

References
----------
.. [1] J. Douglas, "Alternating direction methods for three space variables",
       Numerische Mathematik 4 (1962) 41-63.

What it computes: ``thermo/MODEL.md``, section 5.
"""

from .arrays import CAPACITY, CHAIN, G_R, G_THETA, G_Z, LANES, RISE, TO_AIR
from .kernel import implicitness, inner, row
from .rows import copy_row


@inner
def extent(span, n_theta, window, i):
    """Rows of one radius, first and past the last, and the same for the cells in them."""
    if n_theta == 1:
        return 0, 1, span[0, i], span[1, i]
    return max(span[0, i], window[0]), min(span[1, i], window[1]), 0, n_theta


@inner
def row_and_cell(n_theta, m, j):
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
def eliminate(span, dt, n_theta, window, cell, i):
    """Forward half of (capacity + w G) rise = dt heat along r; w = implicitness dt."""
    w = implicitness(dt) * dt
    first, last, low, high = extent(span, n_theta, window, i)
    p, q = i - 1, (i + 1) % cell.shape[1]  # at the ends the conductance is zero
    for b in range(first, last):
        eliminate_row(
            cell[CAPACITY, i, b, low:high], cell[TO_AIR, i, b, low:high],
            cell[G_R, i, b, low:high], cell[G_R, q, b, low:high],
            cell[CHAIN, p, b, low:high], cell[RISE, p, b, low:high], dt, w,
            cell[CHAIN, i, b, low:high], cell[RISE, i, b, low:high],
        )  # fmt: skip


@inner
def substitute(span, n_theta, window, cell, i):
    """Backward half."""
    first, last, low, high = extent(span, n_theta, window, i)
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
def sweep_theta(span, dt, nz, window, lines, room, i):
    """Solve round the ring, in place, many rows at a time.

    Rows are turned into columns of ``room`` first: side by side they overlap.
    """
    w, n = implicitness(dt) * dt, lines.shape[2]
    low, high, first, _ = extent(span, n, window, i)
    for start in range(low, high, LANES):
        row_0, lanes = i * nz + start, min(LANES, high - start)
        turned(lines[RISE], row_0, lanes, first, n, room[0])
        turned(lines[CAPACITY], row_0, lanes, first, n, room[1])
        turned(lines[G_THETA], row_0, lanes, first, n, room[2])
        rings(w, lanes, room[0], room[1], room[2], room[3], room[4], room[5])
        turned_back(room[4], room[5], room[3, 0], row_0, lanes, lines[RISE])


@row
def turned(rows, start, lanes, low, high, columns):
    """So many rows as columns, from ``low`` to ``high``."""
    for lane in range(lanes):
        for m in range(low, high):
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
def sweep_across(span, dt, window, cell, E, before, i):
    """Solve along z across the rows of a ring, in place; ``before`` keeps what there was."""
    w, nz = implicitness(dt) * dt, cell.shape[2]
    first, last, _, _ = extent(span, cell.shape[3], window, i)
    for b in range(first, last):
        p, q = (b - 1) % nz, min(b + 1, nz - 1)
        across_row(
            cell[CAPACITY, i, b], cell[G_Z, i, b], cell[G_Z, i, q],
            w if b > first else 0.0, w if b < last - 1 else 0.0,
            E[p], cell[RISE, i, p], before[b], E[b], cell[RISE, i, b],
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
def sweep_along(span, dt, lines, room, before):
    """Solve along z along the rows, in place, many at a time; ``before`` keeps what there was."""
    w = implicitness(dt) * dt
    for start in range(0, lines.shape[1], LANES):
        lanes = min(LANES, lines.shape[1] - start)
        low, high = span[0, start], span[1, start]
        for i in range(start + 1, start + lanes):
            low, high = min(low, span[0, i]), max(high, span[1, i])
        for line in range(start, start + lanes):
            copy_row(lines[RISE, line], before[line, 0])
        turned(lines[RISE], start, lanes, low, high, room[0])
        turned(lines[CAPACITY], start, lanes, low, high, room[1])
        turned(lines[G_Z], start, lanes, low, high, room[2])
        chains(w, lanes, low, high, room[0], room[1], room[2], room[3], room[4])
        turned_from(room[4, 1:], start, lanes, low, high, lines[RISE])


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
