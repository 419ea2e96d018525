"""What the shell offers when a word is completed: case files, sizes, metals, fittings."""

from collections.abc import Iterable
from pathlib import Path


def case_files(incomplete: str) -> list[str]:
    """Case files and folders that begin like the word typed so far.

    Examples
    --------
    >>> case_files("no-such-folder/")
    []
    """
    typed = Path(incomplete or ".")
    folder = typed if not incomplete or incomplete.endswith("/") else typed.parent
    try:
        found = sorted(folder.iterdir())
    except OSError:
        return []
    names = [
        f"{'' if folder == Path() else f'{folder}/'}{p.name}{'/' if p.is_dir() else ''}"
        for p in found
        if not p.name.startswith(".") and (p.is_dir() or p.suffix == ".toml")
    ]
    return [name for name in names if name.startswith(incomplete)]


def sizes(incomplete: str) -> list[str]:
    """Pipe sizes of the catalogue."""
    from .tables import table_rows

    known = dict.fromkeys(f"NPS {row['size']}" for row in table_rows("pipe"))
    return _begins(known, incomplete)


def metals(incomplete: str) -> list[str]:
    """Metals by name."""
    from .materials import material_names

    return _begins(material_names(), incomplete)


def fillers(incomplete: str) -> list[str]:
    """Fillers by name."""
    from .materials import filler_names

    return _begins(filler_names(), incomplete)


def kinds(incomplete: str) -> list[str]:
    """Kinds of fitting."""
    from .schema import KINDS

    return _begins(KINDS, incomplete)


def _begins(known: Iterable[str], incomplete: str) -> list[str]:
    """Return the names that begin like the word typed, in any case."""
    typed = incomplete.lower()
    return [name for name in known if name.lower().startswith(typed)]
