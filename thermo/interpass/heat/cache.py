"""Where the compiled solver is kept, and a cache that a damaged file cannot stop.

Places, in order: ``NUMBA_CACHE_DIR``; beside the source; the user's cache folder; a private
folder for temporary files. Where none can be written the solver is compiled in memory,
each time. A compiled solver that lies beside the source, readable alone, is copied to the
place that can be written.

What it computes: ``thermo/MODEL.md``, section 5.
"""

import hashlib
import os
import shutil
import stat
import tempfile
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

SOURCE = Path(__file__).with_name("kernels.py")
LAYOUT = Path(__file__).with_name("arrays.py")  # what it names is compiled in
SUM = ".sum"  # ending of the file beside a compiled one that holds its SHA-256


@dataclass(frozen=True)
class Place:
    """Where compiled code is kept: a folder, or beside the source."""

    folder: Path | None  # None: in memory alone
    words: str
    is_own: bool = True  # False: numba's own choice, beside the source


@cache
def place() -> Place:
    """Return the first place that can be written."""
    for folder, words in _places():
        if _can_write(folder):
            return Place(folder, words, folder != SOURCE.parent / "__pycache__")
    return Place(None, "in memory alone: no folder can be written")


def place_words(where: Place) -> str:
    """Say where compiled code is kept."""
    if where.folder is None:
        return where.words
    return f"in {where.folder}, {where.words}" if where.is_own else where.words


def _places() -> Iterator[tuple[Path, str]]:
    if given := os.environ.get("NUMBA_CACHE_DIR"):
        yield Path(given), "NUMBA_CACHE_DIR"
    yield SOURCE.parent / "__pycache__", "beside the program"
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


def is_compiled() -> bool:
    """Whether the compiled time loop is kept whole, at least as new as its source."""
    if os.environ.get("NUMBA_DISABLE_JIT", "0") not in ("", "0"):
        return True
    source = SOURCE.stat().st_mtime
    folders = [place().folder, SOURCE.parent / "__pycache__"]
    return any(
        index.stat().st_mtime >= source and _data(index)
        for folder in folders
        if folder is not None
        for index in _indexes(folder)
    )


def _indexes(folder: Path) -> Iterator[Path]:
    for pattern in ("kernels.march-*.nbi", "*/kernels.march-*.nbi"):
        yield from folder.glob(pattern)


def _data(index: Path) -> list[Path]:
    """Whole files of compiled code that belong to an index."""
    found = index.parent.glob(f"{index.stem}.*.nbc")
    return [path for path in found if is_whole(path)]


def is_whole(path: Path) -> bool:
    """Whether a file is, byte for byte, what was written."""
    try:
        told = path.with_name(path.name + SUM).read_text(encoding="ascii")
        return told == _sum(path)
    except (OSError, UnicodeDecodeError):
        return False


def _sum(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def keeping(compiled: Callable[..., Any], config: Any) -> Callable[..., Any]:
    """Return a decorator that compiles a function and keeps it at ``place()``.

    Parameters
    ----------
    compiled : callable
        numba's decorator, without its cache.
    config : module
        ``numba.config``.
    """

    def decorate(function: Callable[..., Any]) -> Any:
        made, where = compiled(function), place()
        if where.folder is None or not hasattr(made, "enable_caching"):
            return made
        before = config.CACHE_DIR
        config.CACHE_DIR = str(where.folder) if where.is_own else ""
        try:
            made.enable_caching()
        except (RuntimeError, OSError):  # no place suits numba
            return made
        finally:
            config.CACHE_DIR = before
        made._cache = Kept(made._cache)
        return made

    return decorate


class Kept:
    """numba's cache of one function; what it cannot read or write is compiled in memory."""

    def __init__(self, own: Any) -> None:
        self._own = own
        self._file = own._cache_file
        self._index = Path(self._file._index_path)
        self._file._source_stamp = (self._file._source_stamp, _sum(LAYOUT))
        self._take_from_source()

    def __getattr__(self, name: str) -> Any:
        """Everything else is numba's."""
        return getattr(self._own, name)

    def load_overload(self, signature: Any, target: Any) -> Any:
        """Compiled code for a signature, or None: damaged files are thrown away."""
        try:
            names = set(self._file._load_index().values())
            if all(is_whole(self._index.with_name(name)) for name in names):
                return self._own.load_overload(signature, target)
        except Exception:  # noqa: BLE001, S110 - a cut pickle raises anything
            pass
        self._discard()
        return None

    def save_overload(self, signature: Any, data: Any) -> None:
        """Keep compiled code, where that can be done."""
        try:
            self._own.save_overload(signature, data)
            for path in self._index.parent.glob(f"{self._index.stem}.*.nbc"):
                beside = path.with_name(path.name + SUM)
                beside.write_text(_sum(path), encoding="ascii")
        except Exception:  # noqa: BLE001 - a full disk, a damaged index
            self._discard()

    def _discard(self) -> None:
        with suppress(OSError):
            self._index.unlink(missing_ok=True)

    def _take_from_source(self) -> None:
        """Copy what was compiled beside the source, where that may only be read."""
        there = SOURCE.parent / "__pycache__" / self._index.name
        with suppress(OSError):
            if not self._index.exists() and there != self._index and _data(there):
                for path in (*there.parent.glob(f"{there.stem}.*.nbc*"), there):
                    shutil.copy2(path, self._index.parent)
