"""What the default result rests on: every choice and every doubt moved by itself."""

from contextlib import ExitStack
from dataclasses import dataclass, replace
from functools import cache
from unittest.mock import patch

import joints
from interpass.case_file.read import read_case
from interpass.heat import march, model
from interpass.heat.waits import plan
from interpass.joint import outline
from interpass.trade.rows import table_rows

CHOICE, DOUBT = "modelling choice", "physical doubt"
RESULTS = {
    "sampling-stub": "wait before pass 2",
    "duplex-instrument": "first arc on to last arc off",
}


@dataclass(frozen=True)
class Bar:
    """One number moved down and up, and the result of each [s]."""

    case: str
    kind: str  # CHOICE or DOUBT
    what: str
    low: str  # as moved, with its unit; empty: there is no such side
    high: str
    at_low: float
    at_high: float
    default: float

    @property
    def change(self):
        """Change of the result at either end [%]."""
        return tuple(100 * (x / self.default - 1) for x in (self.at_low, self.at_high))

    @property
    def reach(self):
        """The larger change [%]."""
        return max(map(abs, self.change))


def options(**changes):
    """Move [model] options."""
    return lambda case: replace(case, model=replace(case.model, **changes))


def around(**changes):
    """Move surroundings."""
    return lambda case: replace(case, surroundings=replace(case.surroundings, **changes))


def every_pass(change):
    """Move something of every pass; ``change`` takes a pass and gives its new fields."""
    return lambda case: replace(
        case, passes=tuple(replace(p, **change(p)) for p in case.passes)
    )


def times(name, factor):
    """Move one of the surroundings by a factor."""
    return lambda case: around(**{name: getattr(case.surroundings, name) * factor})(case)


def power(factor):
    """Arc power by a factor."""
    return every_pass(lambda p: {"net_power": p.net_power * factor})


def travel(factor):
    """Travel by a factor: the same power for a shorter or longer time."""
    return every_pass(
        lambda p: {"travel": p.travel * factor, "arc_time": p.arc_time / factor}
    )


def clearance(factor):
    """Conductance between pipe and socket by a factor."""
    return lambda case: replace(case, clearance_factor=factor)


def end_gap(metres):
    """Gap at the bottom of the socket."""
    return lambda case: replace(case, end_gap=metres)


def metal(conductivity=1.0, heat=1.0):
    """Conductivity and heat content of all metals by factors."""

    def moved(m):
        return replace(m, conductivity=m.conductivity * conductivity,
                       enthalpy=m.enthalpy * heat)  # fmt: skip

    return lambda case: replace(
        case,
        pipe=replace(case.pipe, material=moved(case.pipe.material)),
        fitting=replace(case.fitting, material=moved(case.fitting.material)),
        filler=moved(case.filler),
    )


def constant(module, name, value):
    """Move a constant of the package, which no case can reach."""

    def run(case):
        with ExitStack() as stack:
            stack.enter_context(patch.object(module, name, value))
            return plan(case)

    run.plans = True
    return run


@cache
def doubts():
    """Range of each number by key and circumstance: the 5 and 95 % of data/doubt.csv."""
    return {
        (row["key"], row["when"]): (float(row["low"]), float(row["high"]))
        for row in table_rows("doubt")
    }


CHOICES = (
    ("cell", ("0.5 mm", options(cell=0.5e-3)), ("2 mm", options(cell=2e-3))),
    ("tolerance of a step", ("0.1 K", options(tolerance=0.1)),
     ("1 K", options(tolerance=1.0))),
    ("cells round the ring", ("24", options(ring=24)), ("96", options(ring=96))),
    ("arc averaged round the ring", ("", None), ("axisymmetric", options(ring=1))),
    ("steps while the arc moves a spread", ("2", constant(march, "STEPS_PER_SPREAD", 2.0)),
     ("8", constant(march, "STEPS_PER_SPREAD", 8.0))),
    ("spread of the arc", ("1.5 mm", every_pass(lambda _: {"source_spread": 1.5e-3})),
     ("6 mm", every_pass(lambda _: {"source_spread": 6e-3}))),
    ("stirring of the pool", ("x 1", constant(model, "STIRRING", 1.0)),
     ("x 4", constant(model, "STIRRING", 4.0))),
    ("bead laid behind the arc", ("", None), ("yes", options(bead="behind the arc"))),
    ("reach of long ends", ("3 fins", constant(outline, "LONG_FINS", 3.0)),
     ("12 fins", constant(outline, "LONG_FINS", 12.0))),
)  # fmt: skip


def physical(case):
    """Doubts about the joint itself: what, lower end, upper end."""
    fan = "fan" if case.surroundings.fan else "still"

    def two(what, key, change, when=""):
        ends = doubts()[key, when]
        return (what, *((f"x {end:.3g}", change(end)) for end in ends))

    yield two("arc efficiency", "arc.efficiency", power)
    yield two("arc voltage", "arc.voltage", power)
    yield two("travel", "travel", travel, case.position)
    yield two("emissivity", "surroundings.emissivity", lambda f: times("emissivity", f))
    yield two(f"film, {'fan' if fan == 'fan' else 'still air'}",
              "surroundings.film_factor", lambda f: around(film_factor=f), fan)  # fmt: skip
    half, _ = doubts()["joint.clearance_factor", ""]
    yield ("conductance of the clearance", (f"x {half:g}", clearance(half)),
           ("touching", clearance(case.clearance / model.TOUCHING)))  # fmt: skip
    yield "end gap", ("0.5 mm", end_gap(0.5e-3)), ("3 mm", end_gap(3e-3))
    yield "air and piece", ("10 degC", around(air=283.15, start=283.15)), (
        "30 degC", around(air=303.15, start=303.15))  # fmt: skip
    yield "purge flow", ("x 0.5", times("purge_flow", 0.5)), (
        "x 2", times("purge_flow", 2.0))  # fmt: skip
    yield "conductivity of the metal", ("x 0.9", metal(0.9)), ("x 1.1", metal(1.1))
    yield "heat capacity of the metal", ("x 0.95", metal(heat=0.95)), (
        "x 1.05", metal(heat=1.05))  # fmt: skip


def result(name, history):
    """The number of a plan that is followed [s]."""
    assert history.complete
    if name == "sampling-stub":
        return history.passes[1].wait
    return history.passes[-1].arc_off


def moved(name, case, change):
    """Result with one number moved; that of the case itself without a change."""
    if change is None:
        return result(name, plan(case))
    if getattr(change, "plans", False):
        return result(name, change(case))
    return result(name, plan(change(case)))


def shipped_case(name):
    """Case as it is shipped."""
    return read_case(joints.ROOT / "cases" / f"{name}.toml")


def bars_of(name, say=lambda _: None):
    """All bars of a shipped case."""
    case = shipped_case(name)
    default = moved(name, case, None)
    kinds = [(CHOICE, CHOICES), (DOUBT, tuple(physical(case)))]
    for kind, members in kinds:
        for what, low, high in members:
            say(f"{name}: {what}")
            at_low = default if low[1] is None else moved(name, case, low[1])
            at_high = moved(name, case, high[1])
            yield Bar(name, kind, what, low[0], high[0], at_low, at_high, default)


def study(say=lambda _: None):
    """Every bar of both cases."""
    return [bar for name in RESULTS for bar in bars_of(name, say)]
