"""Where the compiled solver is kept; a damaged file there is as good as none.

Places, in order: ``NUMBA_CACHE_DIR``; beside the source; the user's cache folder; a private
folder for temporary files. Where none can be written the solver is compiled in memory,
each time. A compiled solver that lies beside the source, readable alone, is read there.

A file is named by kernel, version and layout. Other versions of the program may keep theirs
in the same folder: the few used last stay.

What it computes: ``thermo/MODEL.md``, section 5.
"""

import hashlib
import os
import stat
import tempfile
import time
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path

BESIDE_SOURCE = Path(__file__).parent / "__pycache__"
ENDING = ".code"
OTHER_FILES = 6  # files of a kernel of other versions that stay
USE_NOTED = 24 * 3600.0  # s; how exactly is known when a file was used


@dataclass(frozen=True)
class Place:
    """Where compiled code is kept: a folder, or beside the source."""

    folder: Path | None  # None: in memory alone
    words: str
    is_own: bool = True  # False: beside the source


@cache
def place() -> Place:
    """Return the first place that can be written."""
    for folder, words in _places():
        if _can_write(folder):
            return Place(folder, words, folder != BESIDE_SOURCE)
    return Place(None, "in memory alone: no folder can be written")


def place_words(where: Place) -> str:
    """Say where compiled code is kept."""
    if where.folder is None:
        return where.words
    return f"in {where.folder}, {where.words}" if where.is_own else where.words


def _places() -> Iterator[tuple[Path, str]]:
    if given := os.environ.get("NUMBA_CACHE_DIR"):
        yield Path(given), "NUMBA_CACHE_DIR"
    yield BESIDE_SOURCE, "beside the program"
    if (own := _of_user()) is not None:
        yield own / "interpass", "the user's cache folder"
    if (private := _private()) is not None:
        yield private, "a folder for temporary files"


def _of_user() -> Path | None:
    """Return the user's cache folder, where there is a home."""
    if given := os.environ.get("XDG_CACHE_HOME"):
        return Path(given)
    home = Path(os.path.expanduser("~"))  # noqa: PTH111 - Path.home() raises without one
    return home / ".cache" if home.is_absolute() and home.is_dir() else None


def _private() -> Path | None:
    """Return a folder of temporary files that nobody else can have put code into."""
    with suppress(OSError):
        folder = Path(tempfile.gettempdir()) / f"interpass-{os.geteuid()}"
        with suppress(FileExistsError):
            folder.mkdir(mode=0o700)
        found = folder.lstat()
        is_mine = stat.S_ISDIR(found.st_mode) and found.st_uid == os.geteuid()
        if is_mine and not found.st_mode & 0o077:
            return folder
    return None


def _can_write(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder) as stream:
            stream.write(bytes(4096))  # a full disk takes a name, but nothing in it
            stream.flush()
    except OSError:
        return False
    return True


def kept(name: str) -> bytes | None:
    """Machine code of a name, whole, from where it is kept or from beside the source."""
    for path in _files(f"{name}{ENDING}"):
        if (data := _whole(path)) is not None:
            _note_use(path)
            return data
    return None


def any_kept(beginning: str) -> bool:
    """Whether machine code is kept, whole, whose name begins like this."""
    return any(_whole(path) is not None for path in _files(f"{beginning}*{ENDING}"))


def store(name: str, data: bytes) -> None:
    """Keep machine code, where that can be done: a full disk is no reason to stop."""
    folder = place().folder
    if folder is None:
        return
    with suppress(OSError), tempfile.NamedTemporaryFile(dir=folder, delete=False) as new:
        try:
            new.write(_sum(data) + data)
            new.close()
            os.replace(new.name, folder / f"{name}{ENDING}")  # noqa: PTH105
        except OSError:
            os.unlink(new.name)  # noqa: PTH108
    _remove_old(folder, *name.split("-")[:2])


def _note_use(path: Path) -> None:
    with suppress(OSError):  # it may be there to be read alone
        if time.time() - path.stat().st_mtime > USE_NOTED:
            os.utime(path)


def _remove_old(folder: Path, kernel: str, version: str) -> None:
    """Remove a kernel's files of other versions but for those used last."""
    with suppress(OSError):  # another process may remove them too
        found = folder.glob(f"{kernel}-*{ENDING}")
        others = [path for path in found if path.name.split("-")[1] != version]
        others.sort(key=lambda path: path.stat().st_mtime)
        for path in others[:-OTHER_FILES]:
            path.unlink()


def _files(pattern: str) -> Iterator[Path]:
    for folder in dict.fromkeys([place().folder, BESIDE_SOURCE]):
        if folder is not None:
            yield from folder.glob(pattern)


def _whole(path: Path) -> bytes | None:
    """Read what was written, byte for byte: a file begins with the sum of the rest."""
    try:
        data = path.read_bytes()
    except OSError:
        return None
    start = hashlib.sha256().digest_size
    return data[start:] if data[:start] == _sum(data[start:]) else None


def _sum(data: bytes) -> bytes:
    return hashlib.sha256(data).digest()
