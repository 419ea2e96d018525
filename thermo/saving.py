"""Write the files of a run: named by the case, replaced whole or not at all.

The names depend on the case file alone, so a second run replaces the first; a run that
is cut short leaves the old files as they were.
"""

import os
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from . import report
from .bands import Bands
from .figures import picture, temperature_figure
from .figures_cut import section_figure
from .figures_heat import heat_figure
from .figures_limit import limit_figure
from .figures_ring import draw_ring
from .history import History
from .joint import Case
from .report_data import csv_text, json_text
from .units import SI, UnitSystem


def plan_files(
    folder: Path,
    case: Case,
    history: History,
    units: UnitSystem = SI,
    *,
    assumptions: bool = False,
    bands: Bands | None = None,
) -> dict[Path, bytes]:
    """Report, data, histories and figures of a plan: bytes by path, nothing written."""
    stem = Path(case.file).stem or "case"
    contents = _contents(case, history, units, bands, assumptions=assumptions)
    return {folder / f"{stem}.{ending}": content for ending, content in contents}


def _contents(
    case: Case,
    history: History,
    units: UnitSystem,
    bands: Bands | None,
    *,
    assumptions: bool,
) -> Iterator[tuple[str, bytes]]:
    """Make every file: its ending and its bytes."""
    words = report.text(case, history, units, assumptions=assumptions, bands=bands)
    yield "report.txt", words.encode()
    data = json_text(case, history, assumptions=assumptions, bands=bands)
    yield "json", data.encode()
    yield "history.csv", csv_text(history).encode()
    yield from plan_pictures(case, history, units, bands).items()


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


def replace_file(path: Path, content: bytes) -> None:
    """Put a file in place in one step: written beside it first, then renamed."""
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    beside = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
        beside.chmod(0o666 & ~_umask())
        beside.replace(path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise


def _umask() -> int:
    """Permissions that new files are not given; can only be read by setting it."""
    mask = os.umask(0o022)
    os.umask(mask)
    return mask
