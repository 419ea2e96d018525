"""Three questions to every comparison, with worked answers computed by the program."""

from .lesson_joints import LENGTHS, METALS, SAME_WAIT, TO_LIMIT
from .lesson_numbers import Compared
from .lesson_pieces import (
    capacities,
    long_enough,
    own_limit,
    reaches_the_end,
    spreads,
    twice_the_metal,
)
from .lesson_sizes import (
    later_passes,
    on_plate,
    one_lump,
    warms_by,
    which_waits,
    why_less,
)
from .lesson_sums import Question
from .units import SI, UnitSystem

ASKED = {
    SAME_WAIT: (warms_by, why_less, on_plate),
    TO_LIMIT: (one_lump, later_passes, which_waits),
    LENGTHS: (twice_the_metal, reaches_the_end, long_enough),
    METALS: (capacities, spreads, own_limit),
}


def questions(compared: Compared, units: UnitSystem = SI) -> tuple[Question, ...]:
    """Return the three questions of a comparison."""
    return tuple(ask(compared, units) for ask in ASKED[compared.comparison.key])
