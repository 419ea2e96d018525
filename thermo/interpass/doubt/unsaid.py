"""What the waits would be if something gripped the piece and the case does not say so.

Not drawn among the plausible joints: one look at the bench settles it, and a safe wait
must not count on a hold that nobody spoke of. So it is told beside the bands.

What it computes: ``thermo/MODEL.md``, section 8.
"""

from dataclasses import dataclass, replace

from ..heat import stand_in as quickly
from ..heat.model import make_model
from ..heat.more import Quick
from ..heat.probes import make_probes
from ..joint.held import FIRMEST, LEAST_GRIP, device_of, usual_grip

GRIP = device_of(FIRMEST)


@dataclass(frozen=True)
class Gripped:
    """Typical waits with a hold that the case does not speak of."""

    words: str  # "fitting in a chuck"
    waits: tuple[float, ...]  # s before each pass


def if_gripped(quick: Quick) -> Gripped | None:
    """Plan the waits with the fitting in a chuck.

    None where the case says how the piece is held, has no fitting to grip, or has no
    wait to find.
    """
    case = quick.case
    is_free = any(p.wait is None for p in case.passes[1:])
    if case.surroundings.holding_is_said or case.is_bare or not is_free:
        return None
    grip = usual_grip(GRIP, case.pipe, case.fitting, case.leg_pipe)
    if case.surroundings.holding is not None or grip.length < LEAST_GRIP:
        return None
    held = replace(case, surroundings=replace(case.surroundings, holding=grip))
    model = make_model(held)
    drawn = replace(quick, model=model, probes=make_probes(model), redrawn={})
    return Gripped(GRIP.words, quickly.plan_waits(drawn, held))
