"""Bodies, joints and runs that several tests share; nothing here asserts."""

from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
from interpass.case_file.read import read_case
from interpass.heat import arrays, march, solver
from interpass.heat.waits import plan
from interpass.joint.outline import SURFACES
from scipy.interpolate import PchipInterpolator

ROOT = Path(__file__).parent.parent
CASES = sorted((ROOT / "cases").glob("*.toml"))
FEM_JOINT = Path(__file__).parent / "reference" / "fem_joint.csv"
TABLE_START, TABLE_STEP = 0.0, 1.0  # K, of the metals made up here
AIR = 300.0  # K

OUTSIDE, BORE, LOW_END, HIGH_END = range(4)  # surface kinds of a tube


@dataclass
class Tube:
    """A plain tube ready for the solver, and its state as it goes on."""

    r: np.ndarray  # (nr,) nodes [m]
    z: np.ndarray  # (nz,)
    body: arrays.Body
    films: arrays.Films
    tables: arrays.Tables
    field: arrays.Field
    work: arrays.Work
    lost: np.ndarray  # (kinds,) [J]
    time: float = 0.0

    @property
    def heat(self):
        """Heat in the metal [J], zero at the zero of the enthalpy table."""
        volume = self.body.volume[self.field.built].transpose(1, 0, 2)
        return 2 * np.pi * float((volume * self.field.enthalpy).sum(axis=(0, 2)).mean())


def constant_metal(k, capacity, size=4000):
    """Tables of a metal that does not change with temperature [W/m/K], [J/m³/K]."""
    T = TABLE_START + TABLE_STEP * np.arange(size)
    return arrays.Tables(
        TABLE_START, TABLE_STEP, np.full((1, size), float(k)), capacity * T[None]
    )


def of_case(metals):
    """Tables of the package's own metals."""
    from interpass.physics.metals import TABLE_START as start
    from interpass.physics.metals import TABLE_STEP as step

    return arrays.Tables(
        start,
        step,
        np.stack([m.conductivity for m in metals]),
        np.stack([m.enthalpy for m in metals]),
    )


def tube(r_lines, z_lines, tables, *, T, h=None, n_theta=1, source=None):
    """Tube of the given grid lines, with films ``h`` [W/m²/K] by surface kind.

    ``T`` is a number or a function of (r, theta, z) nodes [K]. ``source`` (nr, nz) is
    the share of the arc's heat in each cell; none is the lowest column, evenly.
    """
    body, r, z = tube_body(r_lines, z_lines, source)
    shape = (r.size, n_theta, z.size)
    theta = (np.arange(n_theta) + 0.5) * 2 * np.pi / n_theta
    nodes = np.meshgrid(r, theta, z, indexing="ij")
    start = np.empty(shape)  # laid out as the solver was compiled for
    start[:] = T(*nodes) if callable(T) else T
    axis = tables.start + tables.step * np.arange(tables.enthalpy.shape[1])
    film = np.zeros((len(SURFACES), axis.size))
    for kind, value in (h or {}).items():
        film[kind] = value
    return Tube(
        r=r,
        z=z,
        body=body,
        films=arrays.Films(film, np.ones(axis.size), np.ones(axis.size), AIR),
        tables=tables,
        field=arrays.make_field(
            start,
            np.interp(start, axis, tables.enthalpy[0]),
            np.zeros(n_theta, dtype=np.int64),
        ),
        work=march.make_work(shape, body.surface_area.shape[1]),
        lost=np.zeros(len(SURFACES)),
    )


def tube_body(r_lines, z_lines, source=None):
    """Arrays of a plain tube, the same before and with a bead; its nodes."""
    r_lines, z_lines = np.asarray(r_lines), np.asarray(z_lines)
    r, z = (r_lines[1:] + r_lines[:-1]) / 2, (z_lines[1:] + z_lines[:-1]) / 2
    nr, nz = r.size, z.size
    length, washer = np.diff(z_lines), np.diff(r_lines**2) / 2
    below, above = half_paths(r_lines, r, r_lines[1:-1, None] * length)
    low, high = half_paths(z_lines, z, np.tile(washer, (nz - 1, 1)))
    surface, area, depth = tube_surfaces(r_lines, z_lines, r, z)
    if source is None:
        source = np.zeros((nr, nz))
        source[:, 0] = washer / washer.sum()
    every = np.argwhere(np.ones((nr, nz))).astype(np.int64)
    volume = np.outer(washer, length)

    def twice(x):  # laid out as in the package, so that nothing compiles again
        return np.ascontiguousarray(np.stack([x, x]))

    rows = {
        arrays.VOLUME: volume,
        arrays.R_BELOW: below,
        arrays.R_ABOVE: above,
        arrays.Z_BELOW: low.T,
        arrays.Z_ABOVE: high.T,
        arrays.PLANE: np.outer(np.diff(r_lines), length),
        arrays.ARC_SHARE: source,
        arrays.RADIUS: np.repeat(r[:, None], nz, axis=1),
        arrays.GAIN: np.zeros((nr, nz)),
    }
    body = arrays.Body(
        span=np.stack([np.zeros(nr, dtype=np.int64), np.full(nr, nz)]),
        material=np.zeros((nr, nz), dtype=np.int64),
        section=np.stack([twice(rows[n]) for n in range(len(rows))]),
        film_row=nr + 1,
        film=np.zeros((3, nz)),
        link=np.zeros((0, 4), dtype=np.int64),
        link_area=np.zeros(0),
        surface=twice(surface),
        surface_rows=twice(np.searchsorted(surface[:, 0], np.arange(nr + 1))),
        surface_size=np.stack([twice(area), twice(depth)]),
        zone=twice(np.hstack([every, every])),
        zone_size=np.stack([np.zeros((2, len(every))), twice(volume.ravel())]),
        moved=np.zeros((0, 4), dtype=np.int64),
        moved_volume=np.zeros(0),
    )
    return body, r, z


def half_paths(lines, nodes, area):
    """Half distance over area on either side of each inner line, (n, m) [rad/m]."""
    infinite = np.full((1, area.shape[1]), np.inf)
    below = (lines[1:-1] - nodes[:-1])[:, None] / area
    above = (nodes[1:] - lines[1:-1])[:, None] / area
    return np.concatenate([infinite, below]), np.concatenate([infinite, above])


def tube_surfaces(r_lines, z_lines, r, z):
    """Cell and kind (n, 3), area (n,) [m²/rad] and depth (n,) [m] of every surface."""
    rows, columns = np.arange(r.size), np.arange(z.size)
    length, washer = np.diff(z_lines), np.diff(r_lines**2) / 2
    parts = [
        (r.size - 1, columns, OUTSIDE, r_lines[-1] * length, r_lines[-1] - r[-1]),
        (0, columns, BORE, r_lines[0] * length, r[0] - r_lines[0]),
        (rows, 0, LOW_END, washer, z[0] - z_lines[0]),
        (rows, z.size - 1, HIGH_END, washer, z_lines[-1] - z[-1]),
    ]
    place, area, depth = [], [], []
    for i, j, kind, areas, deep in parts:
        for p, q, a in np.broadcast(i, j, areas):
            if a > 0.0:
                place.append((int(p), int(q), kind))
                area.append(float(a))
                depth.append(float(deep))
    order = sorted(range(len(place)), key=lambda n: place[n][:2])
    columns = np.array(place, dtype=np.int64), np.array(area), np.array(depth)
    return tuple(column[order] for column in columns)


def advance(
    tube, duration, step, *, tolerance=1e9, power=0.0, angle=0.0, turn_rate=0.0,
    spread=1.0, step_max=None, probes=None,
):  # fmt: skip
    """Take a tube on by ``duration`` in steps of ``step``, or by error; its record."""
    follow = probes or arrays.Probes(
        np.zeros((0, 1, 3), dtype=np.int64), np.zeros((0, 1))
    )
    tube.work.slope[:] = tube.work.drift[:] = 0.0
    end, kept, status = tube.time + duration, [], arrays.FULL
    while status == arrays.FULL:
        record = march.make_record(2048, tube.field.built.size, follow.weight.shape[0])
        control = arrays.Control(
            tolerance, step, step_max or step, tube.time, end, 0.0, 1e6, 1e6,
            fresh=not kept,
        )  # fmt: skip
        arc = arrays.Arc(
            power, angle + turn_rate * (tube.time - end + duration), turn_rate, spread
        )
        status, tube.time, step, count, _, _ = solver.run(
            "march", tube.body, tube.films, tube.tables, tube.field, arc, control, follow,
            record, tube.lost, tube.work,
        )  # fmt: skip
        kept.append(arrays.Record(*(a[:count] for a in record)))
    assert status == arrays.FINISHED
    return arrays.Record(
        *(np.concatenate(columns) for columns in zip(*kept, strict=True))
    )


def as_tube(state):
    """State of a joint to be taken on by `advance`: one pass, no fan."""
    stage = state.model.stages[-1]
    return Tube(
        stage.r, stage.z, state.body, state.model.films_wait, state.model.tables,
        state.field, state.work, state.lost,
    )  # fmt: skip


def order(sizes, errors):
    """Exponent of a power law fitted through all points."""
    return float(np.polyfit(np.log(sizes), np.log(errors), 1)[0])


def reference(*, cell=1.0e-3, ring=1, tolerance=0.3, **changes):
    """Joint of ``tests/reference/fem_joint.py``, as shipped in ``cases``."""
    case = read_case(ROOT / "cases" / "check-joint.toml")
    model = replace(case.model, cell=cell, ring=ring, tolerance=tolerance)
    return replace(case, model=model, **changes)


def with_passes(case, *waits, **changes):
    """Case with one pass per wait, each like the first but for the changes."""
    first = case.passes[0]
    passes = (
        replace(first, number=n, wait=wait, **changes) for n, wait in enumerate(waits, 1)
    )
    return replace(case, passes=tuple(passes))


def one_pass(case, **changes):
    """Case with its first pass alone."""
    return with_passes(case, 0.0, **changes)


@cache
def shipped(name, **model):
    """History of a shipped case, with other model options."""
    case = read_case(ROOT / "cases" / f"{name}.toml")
    return plan(replace(case, model=replace(case.model, **model)))


@cache
def reference_run(cell=1.0e-3, tolerance=0.3):
    """History of the reference joint."""
    return plan(reference(cell=cell, tolerance=tolerance))


def fem_joint():
    """Times [s] (139,) and temperatures [degC] (139, 5) of the finite elements."""
    text = FEM_JOINT.read_text(encoding="utf-8").splitlines()
    table = np.loadtxt([x for x in text if not x.startswith("#")][1:], delimiter=",")
    return table[:, 0], table[:, 1:]


def probe_errors(history):
    """Worst difference from the finite elements by probe, A to E (5,) [K]."""
    times, expected = fem_joint()
    found = [
        PchipInterpolator(history.time, trace.temperature)(times) - 273.15
        for trace in history.traces[:5]
    ]
    return np.abs(np.transpose(found) - expected).max(axis=0)


def stretch(history, start, end):
    """Samples of a history from start to end [s], as a mask."""
    return (history.time >= start - 1e-9) & (history.time <= end + 1e-9)
