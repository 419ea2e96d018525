"""Make the picture of where the heat went, on a joint with a vice to hold it.

    python figures/make_heat.py

It asserts what is said of the picture before it writes anything.
"""

from pathlib import Path

import numpy as np
from interpass.case_file.read import read_case
from interpass.heat.history import History
from interpass.heat.split import FAR, HOLDING, NEAR, RADIATION, STILL, split_heat
from interpass.heat.waits import plan
from interpass.joint.case import Case
from interpass.pictures.heat import heat_figure
from interpass.pictures.style import picture
from interpass.text.files import replace_file

ROOT = Path(__file__).parent.parent
CASE = ROOT / "cases" / "mixed-drain.toml"
PICTURE = ROOT / "figures" / "heat"


def check(case: Case, history: History) -> None:
    """Fail unless the picture shows what is said of it."""
    split = split_heat(case, history)
    missing = np.abs(sum(split.parts.values()) - split.given).max()
    assert missing < 1e-12 * split.given[-1], "the stack is the heat of the arc"
    assert np.isclose(split.given[-1], sum(p.net_energy for p in history.passes))
    for name in (RADIATION, STILL, HOLDING):
        back = -np.diff(split.parts[name]).min()
        assert back < 1e-9, "what is lost does not come back, but for rounding"
    end = {name: heat[-1] / split.given[-1] for name, heat in split.parts.items()}
    assert end[FAR] > 2 * end[NEAR], "what is left has mostly gone along the pipe"
    assert 0.3 < end[NEAR] + end[FAR] < 0.4, "a third of the heat is still in the piece"
    assert 0.7 < end[RADIATION] / end[STILL] < 1.3, "radiation takes about as much as air"
    when = history.passes[1].arc_on
    kept = sum(np.interp(when, split.time, split.parts[name]) for name in (NEAR, FAR))
    share = kept / np.interp(when, split.time, split.given)
    assert share > 0.7, "the wait spreads the heat more than it loses it"


def main() -> None:
    """Run the case, then write its picture twice."""
    case = read_case(CASE)
    history = plan(case)
    check(case, history)
    for kind in ("svg", "png"):
        content = picture(heat_figure(case, history), kind)
        replace_file(PICTURE.with_suffix(f".{kind}"), content, force=True)


if __name__ == "__main__":
    main()
