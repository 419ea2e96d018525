"""Kernels of the heat balance of one radius ``i``: coefficients, flows, what air takes.

References
----------
.. [1] S. V. Patankar, "Numerical Heat Transfer and Fluid Flow", Hemisphere, 1980,
       section 4.2-3 (conductivity at the face between unlike cells).

What it computes: ``thermo/MODEL.md``, section 5.
"""

import numpy as np

from .arrays import (
    ARC_SHARE,
    CAPACITY,
    G_R,
    G_THETA,
    G_Z,
    PLANE,
    POWER,
    R_ABOVE,
    R_BELOW,
    RADIUS,
    RISE,
    SLOPE,
    T_AHEAD,
    TO_AIR,
    VOLUME,
    Z_ABOVE,
    Z_BELOW,
    K,
)
from .kernel import implicitness, inner, node
from .line_solves import all_angles, extent
from .rows import (
    add_row,
    clearance_row,
    coefficients_row,
    exchange,
    fill_row,
    flow_along,
    from_outside,
    gap_row,
    loss_row,
    metal_row,
    round_the_ring,
    series,
    surface_row,
)


@inner
def stands(built, b):
    """Whether the bead is there (b = 1), or is not (0), at any angle."""
    for m in range(built.size):  # noqa: SIM110 - kernels know no generators
        if built[m] == b:
            return True
    return False


@inner
def put_metal(section, material, i, b, built, room, metal):
    """Metal of each cell of a row of the ring: how much, and which."""
    before, after = section[VOLUME, 0, i, b], section[VOLUME, 1, i, b]
    fill_row(before, after, built, room[VOLUME, 0, 0])
    metal_row(material[i, b], metal[0])


@inner
def put_faces(section, i, b, built, room):
    """Half paths to the faces of each cell of a row of the ring, and its share of the arc."""
    for n in range(R_BELOW, ARC_SHARE + 1):
        before, after = section[n, 0, i, b], section[n, 1, i, b]
        fill_row(before, after, built, room[n, 0, 0])


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
    first, last, low, high = extent(body.span, built.size, work.window, i)
    p, q = (0, 0) if has_ring else (built[0], i)
    for b in range(first, last):
        if has_ring:
            put_metal(body.section, body.material, i, b, built, work.room, work.metal)
        coefficients_row(
            rows[VOLUME, p, q, low:high], metals[q, low:high], tables,
            field.T[i, b, low:high], field.H[i, b, low:high],
            cell[SLOPE, i, b, low:high], dt, ahead, work.plane[K, i % 2, b, low:high],
            cell[CAPACITY, i, b, low:high], work.plane[T_AHEAD, i % 2, b, low:high],
        )  # fmt: skip


@inner
def surface_conductances(body, films, tables, field, dt, work, i):
    """Conductance to air of every surface element, and their sum per cell [W/K/rad]."""
    if field.built.size == 1:
        surface_cells(body, films, tables, field, dt / 2, work, i)
        return
    for b in range(2):
        if not stands(field.built, b):
            continue
        before = -1
        for e in range(body.surface_rows[b, i], body.surface_rows[b, i + 1]):
            j = body.surface[b, e, 1]
            adds = 1.0 if j == before else 0.0  # to what the one before has put there
            before = j
            if work.window[0] <= j < work.window[1]:
                surface_row(
                    body.surface_size[0, b, e], body.surface_size[1, b, e],
                    films.surface[body.surface[b, e, 2]], tables.start, tables.step,
                    field.T[i, j], work.cell[SLOPE, i, j], work.plane[K, i % 2, j],
                    work.plane[T_AHEAD, i % 2, j], field.built, b, adds, dt / 2,
                    work.G_surface[e], work.loss_of[e], work.cell[TO_AIR, i, j],
                )  # fmt: skip


@inner
def surface_cells(body, films, tables, field, half, work, i):
    """Do the same where there is no ring, without a row for every element."""
    b, side, before = field.built[0], i % 2, -1
    per_step, last = 1 / tables.step, float(films.surface.shape[1] - 2)
    for e in range(body.surface_rows[b, i], body.surface_rows[b, i + 1]):
        j, kind = body.surface[b, e, 1], body.surface[b, e, 2]
        x = field.T[i, 0, j] + half * work.cell[SLOPE, i, 0, j] - tables.start
        n = node(x * per_step, last)
        h = films.surface[kind, n]
        h += (x * per_step - n) * (films.surface[kind, n + 1] - h)
        area, k = body.surface_size[0, b, e], work.plane[K, side, 0, j]
        G = area * h * k / (k + h * body.surface_size[1, b, e])
        work.G_surface[e, 0], work.loss_of[e, 0] = G, work.plane[T_AHEAD, side, 0, j]
        work.cell[TO_AIR, i, 0, j] = G + (
            work.cell[TO_AIR, i, 0, j] if j == before else 0.0
        )
        before = j


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
    first, last, low, high = extent(body.span, n_theta, work.window, i)
    p, q = (0, 0) if has_ring else (built[0], i)
    for b in range(first, last):
        if has_ring:
            put_faces(body.section, i, b, built, work.room)
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
            width = 2 * np.pi / n_theta
            size = body.section[RADIUS, 1, i, b] * width * width
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


@inner
def book_losses(body, films, built, work, dt, i):
    """Heat each element takes at one radius [W/rad]; exact for the line solves."""
    ahead, window = implicitness(dt), work.window
    for b in range(2):
        if not stands(built, b):
            continue
        for e in range(body.surface_rows[b, i], body.surface_rows[b, i + 1]):
            j = body.surface[b, e, 1]
            if built.size == 1:
                above = work.loss_of[e, 0] - films.air + ahead * work.cell[RISE, i, 0, j]
                work.loss_of[e, 0] = work.G_surface[e, 0] * above
            elif window[0] <= j < window[1]:
                loss_row(
                    work.G_surface[e], built, b, films.air, ahead,
                    work.cell[RISE, i, j], work.loss_of[e],
                )  # fmt: skip


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
