"""Make the picture of the section: a joint cut along its axis, at every arc off and on.

    python figures/make_section.py

It asserts what is said of the picture before it writes anything.
"""

from pathlib import Path

import numpy as np
from interpass.case_file.read import read_case
from interpass.heat.history import History
from interpass.heat.model import make_model
from interpass.heat.waits import plan
from interpass.joint.case import Case
from interpass.pictures.cut import cut_angle, section_figure, shown_snapshots
from interpass.pictures.style import picture
from interpass.text.files import replace_file

ROOT = Path(__file__).parent.parent
CASE = ROOT / "cases" / "sampling-stub.toml"
PICTURE = ROOT / "figures" / "section"


def check(case: Case, history: History) -> None:
    """Fail unless the picture shows what is said of it."""
    off, on, last = shown_snapshots(history)
    assert (off.what, on.what, last.what) == ("arc off", "arc on", "arc off")
    limit, model = case.limits.interpass_max, make_model(case)
    z = (model.lines.z[1:] + model.lines.z[:-1]) / 2
    row = int(np.argmin(np.abs(model.lines.r - case.pipe.outside_diameter / 2))) - 1
    m = int(cut_angle(case, on) / (2 * np.pi) * case.model.ring)
    pipe = off.temperature[row, m]
    assert pipe[np.argmin(np.abs(z))] > 1200, "the weld is still near melting at arc off"
    assert pipe[np.argmin(np.abs(z + 25e-3))] < limit + 50, "25 mm along the pipe is not"
    joint = on.temperature[
        model.bodies[1].zone[0][:, 0], :, model.bodies[1].zone[0][:, 1]
    ]
    assert abs(float(joint.max()) - limit) < 0.5, "at arc on the joint is at the limit"
    assert np.nanmax(on.temperature) - np.nanmax(joint) < 5, "and the socket hardly above"
    assert np.isfinite(last.temperature).sum() > np.isfinite(on.temperature).sum()


def main() -> None:
    """Run the case, then write its picture twice."""
    case = read_case(CASE)
    history = plan(case, frames=0.0)
    check(case, history)
    for kind in ("svg", "png"):
        content = picture(section_figure(case, history), kind)
        replace_file(PICTURE.with_suffix(f".{kind}"), content, force=True)


if __name__ == "__main__":
    main()
