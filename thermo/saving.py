"""Write the files of a run: named by the case, replaced whole or not at all.

The names depend on the case file alone, so a second run replaces the first; a run that
is cut short leaves the old files as they were.
"""

import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

from . import report
from .figures import picture, temperature_figure
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
) -> dict[Path, bytes]:
    """Report, data, histories and figures of a plan: bytes by path, nothing written."""
    stem = Path(case.file).stem or "case"
    contents = _contents(case, history, units, assumptions=assumptions)
    return {folder / f"{stem}.{ending}": content for ending, content in contents}


def _contents(
    case: Case, history: History, units: UnitSystem, *, assumptions: bool
) -> Iterator[tuple[str, bytes]]:
    """Make every file: its ending and its bytes."""
    words = report.text(case, history, units, assumptions=assumptions)
    yield "report.txt", words.encode()
    yield "json", json_text(case, history, assumptions=assumptions).encode()
    yield "history.csv", csv_text(history).encode()
    figures = {"temperature": temperature_figure(case, history, units)}
    if history.model == "ring" and history.passes:
        figures["ring"] = draw_ring(case, history, units)
    for name, figure in figures.items():
        for kind in ("svg", "png"):
            yield f"{name}.{kind}", picture(figure, kind)


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
