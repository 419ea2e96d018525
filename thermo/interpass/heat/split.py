"""Where the heat of a run went, told by what took it: air, fan, radiation, holding.

The ledger of a run knows the surfaces. What left a surface outside by radiation, to still
air and to a fan is an estimate: the shares are those of an axisymmetric run at the same
waits, taken at every few steps from the temperature of every piece of surface, and each
stretch of the ledger is divided by them. So is the heat that is still in the piece, by
how far it has gone. The sums are the ledger's own.

What it computes: ``thermo/MODEL.md``, section 5.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..joint.case import Case
from ..joint.outline import KIND, SURFACES
from ..physics import films as surfaces
from ..physics.metals import TABLE_TEMPERATURE
from ..text.arrays import Array
from . import march
from . import stand_in as quick
from .history import History
from .model import Model, make_films, make_model
from .probes import make_probes

OUTSIDE = ("pipe", "fillet", "fitting", "faces")
EVERY = 4  # steps between two looks at the surfaces
NEAR, FAR = "in the joint", "further along pipe and fitting"
RADIATION, STILL, FAN = "radiation", "still air", "fan"
BORE, HOLDING = "into the bore", "what holds the piece"


@dataclass(frozen=True, eq=False)
class HeatSplit:
    """Heat since the first arc on, (n,) J over ``time``; all of ``parts`` sum to ``given``.

    A piece that came warm brings its own heat, which counts as given.
    """

    time: Array  # s
    given: Array  # by the arc, and what the piece brought with it
    parts: dict[str, Array]  # stored first; then lost
    near: float  # m from the socket face on either side that count as the joint


@dataclass
class Looks:
    """Surfaces as an axisymmetric run saw them: one row per look."""

    time: list[float]
    rates: list[Array]  # (kinds, 3) W by radiation, to still air, by the fan
    near: list[float]  # share of the stored heat that is near
    burnt: float = 0.0  # J of the arc at the last look


def split_heat(case: Case, history: History) -> HeatSplit:
    """Divide the ledger of a run by what took the heat.

    Raises
    ------
    ValueError
        For a history that did not note its heat, or has no finished pass.
    """
    flow = history.heat
    if flow is None or not history.passes:
        msg = "history has no heat to divide; run the case with at least one pass"
        raise ValueError(msg)
    near = case.pipe.outside_diameter
    brought, looks = _look(case, history, near)
    stored = flow.stored + brought
    share = np.interp(flow.time, looks.time, looks.near)
    parts = {NEAR: share * stored, FAR: (1 - share) * stored}
    parts |= {RADIATION: 0.0 * flow.time, STILL: 0.0 * flow.time, FAN: 0.0 * flow.time}
    parts |= {BORE: 0.0 * flow.time, HOLDING: 0.0 * flow.time}
    for name, lost in flow.lost.items():
        if name in OUTSIDE:
            shares = _shares(flow.time, looks, KIND[name])
            for n, way in enumerate((RADIATION, STILL, FAN)):
                steps = np.diff(lost, prepend=0.0) * shares[:, n]
                parts[way] = parts[way] + np.cumsum(steps)
        else:
            way = HOLDING if name == "holding" else BORE
            parts[way] = parts[way] + lost
    kept = {name: heat for name, heat in parts.items() if np.any(heat != 0.0)}
    return HeatSplit(flow.time, flow.arc + brought, kept, near)


def _look(case: Case, history: History, near: float) -> tuple[float, Looks]:
    """Run the axisymmetric model at the waits of a run; heat it began with, and looks."""
    done = case.passes[: len(history.passes)]
    options = replace(case.model, ring=1)
    model = make_model(replace(case, model=options, passes=done))
    state = march.start(model, make_probes(model))
    films = _films_by_way(model)
    looks = Looks([], [], [])
    inside = np.abs((model.lines.z[1:] + model.lines.z[:-1]) / 2) <= near

    def observe(state: march.State, _: bool) -> None:
        burns = state.arc_energy > looks.burnt
        looks.burnt = state.arc_energy
        looks.time.append(state.time)
        looks.rates.append(_rates(state, films["arc" if burns else "wait"]))
        looks.near.append(_share_near(state, inside))

    observe(state, True)
    state.chunk, state.observe = EVERY, observe
    for p, result in zip(done, history.passes, strict=True):
        if result.wait > 0:
            march.cool(state, result.wait)
        quick.weld(state, p)
    rest = float(history.time[-1]) - state.time
    if rest > 1e-6:
        march.cool(state, rest)
    return state.stored_at_start, looks


def _films_by_way(model: Model) -> dict[str, Array]:
    """Conductances of the surfaces, (3, kinds, table): radiation, still air, fan."""
    case = model.case
    s = case.surroundings
    calm = make_films(replace(case, surroundings=replace(s, fan=0.0)), with_fan=False)
    glow = surfaces.radiation(TABLE_TEMPERATURE, s.air, s.emissivity)
    found = {}
    for name, films in (("arc", model.films_arc), ("wait", model.films_wait)):
        fan = films.surface - calm.surface
        still = calm.surface - glow
        found[name] = np.stack([np.broadcast_to(glow, still.shape), still, fan])
    return found


def _rates(state: march.State, films: Array) -> Array:
    """Heat leaving every kind of surface now, (kinds, 3) [W]."""
    built = int(state.field.built[0])
    i, j, kind = state.body.surface[built].T
    T = state.field.temperature[i, 0, j]
    air = state.model.case.surroundings.air
    place = (T - TABLE_TEMPERATURE[0]) / (TABLE_TEMPERATURE[1] - TABLE_TEMPERATURE[0])
    row = np.clip(place.astype(int), 0, TABLE_TEMPERATURE.size - 1)
    heat = state.body.surface_area[built] * (T - air) * films[:, kind, row]
    out = [np.bincount(kind, way, minlength=len(SURFACES)) for way in heat]
    return np.asarray(2 * np.pi * np.array(out).T, dtype=float)


def _share_near(state: march.State, inside: NDArray[np.bool_]) -> float:
    """Share of the heat in the piece that is beside the joint."""
    volume = state.body.volume[state.field.built[0]]
    heat = volume * (state.field.enthalpy[:, 0] - state.at_air)
    total = float(heat.sum())
    return float(heat[:, inside].sum()) / total if total > 0.0 else 1.0


def _shares(time: Array, looks: Looks, kind: int) -> Array:
    """Shares of radiation, still air and fan in the stretch before each time, (n, 3)."""
    seen = np.array(looks.time)
    rates = np.array([r[kind] for r in looks.rates])
    steps = np.diff(seen)[:, None] * (rates[1:] + rates[:-1]) / 2
    heat = np.concatenate([np.zeros((1, 3)), np.cumsum(steps, axis=0)])
    at = np.stack([np.interp(time, seen, column) for column in heat.T], axis=1)
    stretch = np.maximum(np.diff(at, axis=0, prepend=0.0), 0.0)
    total = stretch.sum(axis=1, keepdims=True)
    overall = heat[-1] / heat[-1].sum() if heat[-1].sum() > 0 else np.ones(3) / 3
    return np.where(total > 0.0, stretch / np.where(total > 0.0, total, 1.0), overall)
