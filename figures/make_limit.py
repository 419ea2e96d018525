"""Make the picture of the waits against the interpass limit.

    python figures/make_limit.py

It asserts what is said of the picture before it writes anything.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
from interpass.case_file.read import read_case
from interpass.heat.history import History
from interpass.heat.waits import plan
from interpass.joint.case import Case
from interpass.pictures.limit import limit_figure
from interpass.pictures.style import picture
from interpass.remedies.trials import waits_over_limits
from interpass.text.files import replace_file

ROOT = Path(__file__).parent.parent
CASE = ROOT / "cases" / "mixed-drain.toml"
PICTURE = ROOT / "figures" / "limit"
OTHERS = (403.15, 503.15)  # K, 130 and 230 degC: run in full beside the picture


def check(case: Case, history: History) -> None:
    """Fail unless the picture shows what is said of it."""
    found = waits_over_limits(case, history)
    assert np.all(np.diff(found.wait, axis=0) < 0), "a higher limit shortens every wait"
    own = int(np.argmin(np.abs(found.limit - case.limits.interpass_max)))
    planned = [p.wait for p in history.passes[1:]]
    assert np.allclose(found.wait[own], planned, rtol=0.01), "it is the plan at its limit"
    assert np.all(found.wait[0] > 1.8 * found.wait[own]), "100 degC takes twice as long"
    assert np.all(found.wait[:, 1] > found.wait[:, 0]), "pass 3 waits longer than pass 2"
    for limit in OTHERS:
        limits = replace(case.limits, interpass_max=limit)
        full = [p.wait for p in plan(replace(case, limits=limits)).passes[1:]]
        there = [np.interp(limit, found.limit, column) for column in found.wait.T]
        assert np.allclose(there, full, rtol=0.05), "it is what full runs say"


def main() -> None:
    """Run the case, then write its picture twice."""
    case = read_case(CASE)
    history = plan(case)
    check(case, history)
    for kind in ("svg", "png"):
        content = picture(limit_figure(case, history), kind)
        replace_file(PICTURE.with_suffix(f".{kind}"), content, force=True)


if __name__ == "__main__":
    main()
