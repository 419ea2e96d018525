"""Kernels of one step: predict, solve, solve again where it missed, accept.

One step is linearly implicit in temperature and conserves enthalpy: conductances at
the extrapolated mid-point, capacities as the secant of enthalpy over the predicted
change, Douglas splitting into line solves along r, theta and z. These find what is missing
from a share of the predicted rise, so that what splitting leaves out is small.

What it computes: ``thermo/MODEL.md``, section 5.
"""

import numpy as np

from .arrays import (
    CAPACITY,
    DRIFT,
    G_R,
    G_THETA,
    G_Z,
    H_NEW,
    PEAK,
    RISE,
    SLOPE,
    T_NEW,
    TO_AIR,
    TURNED,
    VOLUME,
)
from .balance import (
    book_losses,
    coefficients,
    heat_in,
    lose,
    put_metal,
    surface_conductances,
)
from .bead import place_arc
from .kernel import implicitness, inner, node
from .line_solves import (
    eliminate,
    extent,
    substitute,
    sweep_across,
    sweep_along,
    sweep_theta,
)
from .rows import (
    COLDEST_POSSIBLE,
    accept_row,
    apply_row,
    clear_row,
    drift_row,
    edge_row,
    repredict_row,
    seen_from_place,
    turn_row,
)

CARRY = 0.6  # share of the predicted rise that the line solves set out from
CARRY_AGAIN = 0.8  # the same when a step is solved again, from its own result
MOST_SOLVES = 4  # of one step
BESIDE = 3  # rows beside those that missed that are solved again with them
ENOUGH = 0.5  # tolerances of miss up to which a step is solved once
AGAIN = 2.0  # and above which it is solved oftener than twice
AT_ODDS = 0.5  # K between line solves and enthalpy from which a cell settles by itself


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
            eliminate(body.span, dt, n_theta, work.window, work.cell, i - 1)
    eliminate(body.span, dt, n_theta, work.window, work.cell, nr - 1)
    for i in range(nr - 1, -1, -1):
        if i > 0:  # before the other line solves change this radius
            substitute(body.span, n_theta, work.window, work.cell, i - 1)
        book_losses(body, films, field.built, work, dt, i)
        if n_theta > 1:
            sweep_theta(
                body.span, dt, work.cell.shape[2], work.window, work.lines, work.lanes, i
            )
            sweep_across(
                body.span, dt, work.window, work.cell, work.chain, work.before[0], i
            )
            apply_rise(body, tables, field, work, dt, carry, control, i)
    if n_theta == 1:
        sweep_along(body.span, dt, work.lines, work.lanes, work.before)
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
            choose_window(body.link, work.worst, fair, work.window)
            note_edges(body.span, field.T, dt, work.window, work.cell, work.edge)
        fair = AGAIN * control.tolerance
    work.window[0], work.window[1] = 0, work.cell.shape[2]
    return miss


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
    first, last, low, high = extent(body.span, built.size, work.window, i)
    p, q = (0, 0) if has_ring else (built[0], i)
    for b in range(first, last):
        if has_ring:
            put_metal(body.section, body.material, i, b, built, work.room, work.metal)
        apply_row(
            rows[VOLUME, p, q, low:high], metals[q, low:high], tables,
            field.T[i, b, low:high], field.H[i, b, low:high],
            cell[SLOPE, i, b, low:high], cell[CAPACITY, i, b, low:high],
            cell[RISE, i, b, low:high], work.before[q, b, low:high], dt, carry, control,
            cell[T_NEW, i, b, low:high], cell[H_NEW, i, b, low:high],
            work.worst[b, : high - low],
        )  # fmt: skip


@inner
def astray(body, field, work, hottest):
    """Cell (i, m, j) whose temperature is out of all bounds."""
    n_theta, cell = field.built.size, work.cell
    for i in range(cell.shape[1]):
        first, last, low, high = extent(body.span, n_theta, work.window, i)
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
def accept(body, field, lost, work, dt, travels):
    """Make the new temperatures the present ones; book what was lost.

    Where the arc travels, it has turned the field before.
    """
    lose(body, field.built, work, dt, lost)
    cell = work.cell
    for i in range(cell.shape[1]):
        first, last, low, high = extent(body.span, field.built.size, work.window, i)
        for b in range(first, last):
            accept_row(
                cell[T_NEW, i, b, low:high], cell[H_NEW, i, b, low:high], 1 / dt,
                field.T[i, b, low:high], field.H[i, b, low:high],
                cell[SLOPE, i, b, low:high], cell[PEAK, i, b, low:high],
            )  # fmt: skip
            if travels:
                drift_row(
                    cell[T_NEW, i, b], cell[TURNED, i, b], 1 / dt, cell[DRIFT, i, b]
                )


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


@inner
def repredict(body, tables, field, dt, work, i):
    """Take the step just computed as the prediction for computing it again.

    Where metal melts or freezes, the rise that the line solves found and that of the
    enthalpy are at odds. There a cell settles by itself, against neighbours as they are:
    taking either rise goes to and fro, too stiff, far too hot, too soft.
    """
    cell, w = work.cell, implicitness(dt) * dt
    first, last, low, high = extent(body.span, field.built.size, work.window, i)
    for b in range(first, last):
        repredict_row(
            field.T[i, b, low:high], cell[RISE, i, b, low:high],
            cell[T_NEW, i, b, low:high], 1 / dt, cell[SLOPE, i, b, low:high], work.line,
        )  # fmt: skip
        for q in range(low, high):
            if work.line[q - low] > AT_ODDS:
                rise = settled(body, tables, field, work, i, b, q, w)
                cell[SLOPE, i, b, q] = rise / dt


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
def missing(tables, metal, volume, G, heat, T, H, n):
    """Heat left over at node ``n`` of the tables [J/rad]; it falls with temperature."""
    rise = tables.start + n * tables.step - T
    return heat - volume * (tables.enthalpy[metal, n] - H) - G * rise


@inner
def worst_of(values):
    """Largest of (rows, cells)."""
    found = 0.0
    for b in range(values.shape[0]):
        for m in range(values.shape[1]):
            found = max(found, values[b, m])
    return found


@inner
def choose_window(link, worst, fair, window):
    """Solve again the rows of a ring that missed, and some beside them."""
    rows = worst.shape[0]
    first, last = rows, 0
    for b in range(rows):
        if worst_of(worst[b : b + 1]) > fair:
            first, last = min(first, b), b + 1
    first, last = max(first - BESIDE, 0), min(last + BESIDE, rows)
    for n in range(link.shape[0]):  # both sides of the end gap, or none
        low, high = min(link[n, 1], link[n, 3]), max(link[n, 1], link[n, 3])
        if first <= high and low < last:
            first, last = min(first, low), max(last, high + 1)
    window[0], window[1] = first, last


@inner
def note_edges(span, T, dt, window, cell, edge):
    """Heat that has crossed the edges of a window: it stays as the first solve had it.

    So heat is kept, and what lies beyond is not touched.
    """
    ahead = implicitness(dt)
    for i in range(cell.shape[1]):
        for side in range(2):
            b = window[side]
            if span[0, i] < b < span[1, i]:
                edge_row(
                    cell[G_Z, i, b], ahead, T[i, b - 1], cell[RISE, i, b - 1], T[i, b],
                    cell[RISE, i, b], edge[side, i],
                )  # fmt: skip
