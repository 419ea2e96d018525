"""Read a text file of sensible size; put a file in place whole or not at all.

Put files in place whole, or not at all.

The text of a CSV file, or why its bytes are none.
"""

import os
import tempfile
from pathlib import Path

from .errors import CaseError, Mistake

LARGEST = 1_000_000  # bytes


LONGEST = 100  # letters of a name that the file beside it bears


def replace_file(path: Path, content: bytes) -> None:
    """Put a file in place in one step: written beside it first, then renamed.

    Raises
    ------
    OSError
        When that cannot be done; it names ``path``, which is as it was.
    """
    try:
        _replace(path, content)
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(path)) from error


def _replace(path: Path, content: bytes) -> None:
    handle, name = tempfile.mkstemp(prefix=f".{path.name[:LONGEST]}.", dir=path.parent)
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


def csv_text(path: str | Path) -> str:
    """Text of a CSV file; CaseError when it is no text file of sensible size."""
    name, file = str(path), Path(path)
    try:
        if file.is_dir():
            raise alone(name, "this is a directory", "give a CSV file in it")
        with file.open("rb") as stream:
            raw = stream.read(LARGEST + 1)
    except FileNotFoundError:
        raise alone(name, "there is no such file", "check the path") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name cannot be used"
        raise alone(name, f"cannot be read: {reason}", "check the path") from None
    return decoded(raw, name)


def decoded(raw: bytes, name: str) -> str:
    """Text of the bytes of a file."""
    if len(raw) > LARGEST:
        problem = f"more than {LARGEST / 1e6:g} MB"
        raise alone(name, problem, "a log is a page of text; is it the right file?")
    remedy = "save it as CSV, UTF-8"
    if b"\0" in raw:
        line = raw.count(b"\n", 0, raw.index(b"\0")) + 1
        raise CaseError([Mistake(name, line, "this is not a text (zero bytes)", remedy)])
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise CaseError([Mistake(name, line, "this is not UTF-8 text", remedy)]) from None


def alone(file: str, problem: str, remedy: str) -> CaseError:
    """One mistake that no line of a file is to blame for."""
    return CaseError([Mistake(file, None, problem, remedy)])


def case_text(path: str | Path) -> str:
    """Text of a case file; CaseError when it is no text file of sensible size."""
    name, file = str(path), Path(path)
    try:
        if file.is_dir():
            raise _alone(name, "this is a directory", "give a case file in it")
        with file.open("rb") as stream:
            raw = stream.read(LARGEST + 1)
    except FileNotFoundError:
        raise _alone(name, "there is no such file", "check the path") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name cannot be used"
        raise _alone(name, f"cannot be read: {reason}", "check the path") from None
    return _decoded(raw, name)


def _decoded(raw: bytes, name: str) -> str:
    """Text of the bytes of a file."""
    if len(raw) > LARGEST:
        problem = f"more than {LARGEST / 1e6:g} MB"
        raise _alone(name, problem, "a case file is a page of text; is it the right one?")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        remedy = "save it as UTF-8 text"
        raise CaseError([Mistake(name, line, "this is not UTF-8 text", remedy)]) from None


def _alone(file: str, problem: str, remedy: str) -> CaseError:
    return CaseError([Mistake(file, None, problem, remedy)])
