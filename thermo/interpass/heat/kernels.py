"""Heat conduction in a body of revolution ``[r, theta, z]``: what Python calls of the kernels.

Plain arrays and floats in SI units: nothing here knows about case files, fittings
or the terminal. Arrays over cells are in rows, (nr, rows, cells in a row): round the ring,
or along z where there is none (`arrays.Field`); `arrays` names them. ``built[m]`` says
whether the bead of the current pass is there at angle ``m``.

Areas, volumes, heat and power are per radian of azimuth. ``n_theta = 1`` is the
axisymmetric case. Heat into the body is positive.

The modules are `kernel`, `rows`, `line_solves`, `balance`, `bead`, `step` and this one, each
built on those before (`arrays.KERNELS`): machine code that is kept bears the sum of all.

What it computes: ``thermo/MODEL.md``, section 5.
"""

from math import sqrt

import numpy as np

from .arrays import EVEN, FAILED, FINISHED, FULL, HOTTEST, REACHED, T_NEW
from .balance import stands
from .bead import lay_bead
from .kernel import entry, inner, ring_shares
from .line_solves import all_angles, row_and_cell
from .rows import most_bend
from .step import accept, astray, try_step

__all__ = ["lay_bead", "march", "ring_shares", "zone_temperatures"]  # Python calls these


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
        b, q = row_and_cell(n_theta, m, j)
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
def is_even(body, T, ring, limit):
    """Tell whether the ring bends so little that neighbours can be one cell."""
    if most_bend(ring) > limit:  # the hottest alone: nearly always enough to say no
        return False
    for i in range(body.span.shape[1]):
        for b in range(body.span[0, i], body.span[1, i]):
            if most_bend(T[i, b]) > limit:
                return False
    return True


@entry
def march(body, films, tables, field, arc, control, probes, record, lost, work):
    """Step one phase: an arc that travels, or cooling until time or temperature.

    Changes ``field``, the rows SLOPE, DRIFT and PEAK of ``work.cell`` and ``lost`` [J by
    surface kind, (kinds,)] in place and fills ``record`` from its start.

    Returns
    -------
    status : int
        FINISHED (time is up), REACHED (hottest, or a probe, fell to the limit),
        FAILED (a temperature no metal can have), FULL (record is full; call again) or EVEN
        (the ring bends so little that neighbours can be one cell).
    time, step : float
        Time reached and the next step [s].
    count : int
        Entries of ``record`` filled.
    where : (int, int, int)
        Cell (i, m, j) out of all bounds where the run has failed, else zeros.
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
        accept(body, field, lost, work, dt, arc.turn_rate != 0.0)
        time += dt
        angle += arc.turn_rate * dt
        before, landing = now, -1.0
        keep(record, count, time, work, mean, coldest, probes)
        count += 1
        if now <= control.stop_below + 0.005 and not rising:
            return REACHED, time, step, count, where, tries
        if control.even > 0.0 and is_even(body, field.T, ring, control.even):
            return EVEN, time, step, count, where, tries
