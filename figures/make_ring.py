"""Make the picture of the ring: an arc going round a small joint, twice.

    python figures/make_ring.py

It asserts what is said of the picture before it writes anything.
"""

from pathlib import Path

import numpy as np
from interpass.case_file.read import read_case
from interpass.heat.history import History
from interpass.heat.waits import plan
from interpass.joint.case import Case
from interpass.pictures.ring import CLIP, draw_ring
from interpass.pictures.style import picture
from interpass.text.files import replace_file

ROOT = Path(__file__).parent.parent
CASE = ROOT / "cases" / "sampling-stub.toml"
PICTURE = ROOT / "figures" / "ring"


def at(history: History, time: float) -> np.ndarray:
    """Hottest at every angle at the moment recorded nearest to a time [K]."""
    return history.ring[int(np.argmin(np.abs(history.time - time)))]


def check(case: Case, history: History) -> None:
    """Fail unless the picture shows what is said of it."""
    first, second = history.passes
    half_way = at(history, first.arc_off / 2)
    n = half_way.size
    assert abs(half_way.argmax() - n / 2) <= 1, "half-way through, the arc is opposite"
    assert half_way.max() > CLIP, "under the arc the colours are clipped"
    assert half_way.min() < 400, "ahead of the arc the joint is still cool"
    end = at(history, first.arc_off)
    assert end.max() - end.min() > 300, "at arc off the ring is far from even"
    later = at(history, first.arc_off + 60.0)
    assert np.ptp(later) < 0.4 * np.ptp(end), "heat spreads round the ring in a minute"
    spots = second.at_arc_on
    limit = case.limits.interpass_max
    assert abs(spots.hottest - limit) < 0.5, "the wait ends with the hottest at the limit"
    assert spots.coldest < spots.mean < spots.start_point <= spots.hottest
    assert 2 < spots.hottest - spots.mean < 10, "the mean alone would end it too soon"


def main() -> None:
    """Run the case, then write its picture twice."""
    case = read_case(CASE)
    history = plan(case)
    check(case, history)
    for kind in ("svg", "png"):
        content = picture(draw_ring(case, history), kind)
        replace_file(PICTURE.with_suffix(f".{kind}"), content, force=True)


if __name__ == "__main__":
    main()
