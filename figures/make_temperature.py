"""Make the picture that README shows first.

    python figures/make_temperature.py

It asserts what README says of it before it writes anything.
"""

from pathlib import Path

from interpass.case_file.read import read_case
from interpass.doubt.bands import find_bands
from interpass.heat.history import History
from interpass.heat.waits import plan
from interpass.joint.case import Case
from interpass.pictures.style import picture
from interpass.pictures.temperature import temperature_figure
from interpass.text.files import replace_file

ROOT = Path(__file__).parent.parent
CASE = ROOT / "cases" / "sampling-stub.toml"
PICTURE = ROOT / "figures" / "temperature.png"


def check(case: Case, history: History) -> None:
    """Fail unless the picture shows what its caption says."""
    first, second = history.passes
    limit = case.limits.interpass_max
    assert history.model == "ring"
    assert first.at_arc_off.mean > limit + 300, "the joint is far above the limit"
    assert abs(second.at_arc_on.hottest - limit) < 0.5, "the wait ends at the limit"
    assert second.wait > 2 * (first.arc_off - first.arc_on), "the wait outlasts the pass"
    apart = second.at_arc_on.hottest - second.at_arc_on.mean
    assert 0 < apart < 10, "by then the heat has evened out round the ring"


def main() -> None:
    """Run the case of README, then write its picture."""
    case = read_case(CASE)
    history = plan(case)
    check(case, history)
    bands = find_bands(case, history)
    figure = temperature_figure(case, history, bands=bands)
    replace_file(PICTURE, picture(figure, "png"), force=True)


if __name__ == "__main__":
    main()
