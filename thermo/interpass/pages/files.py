"""Write the files of a run: named by the case, replaced whole or not at all.

The names depend on the case file alone, so a second run replaces the first; a run that
is cut short leaves the old files as they were.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from ..doubt.bands import Bands
from ..heat.history import History
from ..joint.case import Case
from ..pictures.cut import section_figure
from ..pictures.heat import heat_figure
from ..pictures.limit import limit_figure
from ..pictures.ring import draw_ring
from ..pictures.style import picture
from ..pictures.temperature import temperature_figure
from ..remedies.trials import Helps
from ..report import plan as report
from ..results.plan import csv_text, json_text
from ..text.kinds import SI, UnitSystem
from ..text.records import text_bytes


def plan_files(
    folder: Path,
    case: Case,
    history: History,
    units: UnitSystem = SI,
    *,
    assumptions: bool = False,
    bands: Bands | None = None,
    helps: Helps | None = None,
) -> dict[Path, bytes]:
    """Report, data, histories and figures of a plan: bytes by path, nothing written."""
    told = {"assumptions": assumptions, "bands": bands, "helps": helps}
    contents = _contents(case, history, units, told)
    return {folder / f"{case.stem}.{ending}": content for ending, content in contents}


def _contents(
    case: Case, history: History, units: UnitSystem, told: dict[str, Any]
) -> Iterator[tuple[str, bytes]]:
    """Make every file: its ending and its bytes."""
    yield "report.txt", text_bytes(report.text(case, history, units, **told))
    yield "json", json_text(case, history, **told).encode()
    yield "history.csv", csv_text(history).encode()
    yield from plan_pictures(case, history, units, told["bands"]).items()


def plan_pictures(
    case: Case, history: History, units: UnitSystem = SI, bands: Bands | None = None
) -> dict[str, bytes]:
    """Every figure of a plan as SVG and as PNG, by the ending of its file's name."""
    return {
        f"{name}.{kind}": picture(figure, kind)
        for name, figure in _figures(case, history, units, bands).items()
        for kind in ("svg", "png")
    }


def _figures(
    case: Case, history: History, units: UnitSystem, bands: Bands | None
) -> dict[str, Any]:
    """Figures of a plan by name, as files and report show them."""
    figures = {"temperature": temperature_figure(case, history, units, bands)}
    if history.model == "ring" and history.passes:
        figures["ring"] = draw_ring(case, history, units)
    if any(shot.what == "arc off" for shot in history.snapshots):
        figures["section"] = section_figure(case, history, units)
    if history.heat is not None and history.passes:
        figures["heat"] = heat_figure(case, history, units)
    if 1 < len(history.passes) == len(case.passes):
        figures["limit"] = limit_figure(case, history, units)
    return figures
