"""Files in and out: text of sensible size in; whole files out, never over another's.

Nothing that a command has read is written by it, whatever name it is given; a file that the
program did not write is replaced only when that is asked for.
"""

import os
import re
import select
import stat
import tempfile
from pathlib import Path

from .errors import CaseError, ExitStatus, Mistake, ThermoError

LARGEST = 1_000_000  # bytes of a text that is read
PATIENCE = 10.0  # s without a byte from a pipe or a device
_LONGEST = 100  # letters of a name that the file beside it bears
MADE_BY = "Made by interpass"  # stands in every picture and page that the program writes

OURS = re.compile(  # what begins like this, or holds the mark, was written by the program
    rb'\{\n "schema": '
    rb"|time_s,phase,hottest_degC"  # history
    rb"|title,number,arc_on_clock"  # record of a review
    rb"|what,unit,A,"  # comparison
    rb"|[^\n]*,state,([^\n]*,)?total_s,hottest_interpass_degC,"  # chart
)

ENDS_AS_REPORT = re.compile(rb"\nVerdict: [^\0]{1,4000}\Z")
A_CASE = re.compile(rb"^\s*(\[+\s*)?(pass|pipe)\b", re.MULTILINE)  # people work on it
A_CASE_FILE = "a case file"
_DRAWN = (b"<", b"\x89PNG", b"%PDF", b"GIF8")  # pages and pictures begin like this


class FileError(ThermoError):
    """A file that must not be written."""

    status = ExitStatus.USAGE


_inputs: set[object] = set()  # real names and (device, inode) of what was read


def forget_inputs() -> None:
    """Begin a command: nothing has been read yet."""
    _inputs.clear()


def text_of(path: str | Path, right: str, format_: str) -> str:
    """Text of a file, or of a pipe that somebody writes to.

    Parameters
    ----------
    path : str or Path
        The file; noted, so that ``replace_file`` does not write over it.
    right : str
        What the file should be, to say so: "a case file".
    format_ : str
        "UTF-8 text", how it must be saved.

    Raises
    ------
    CaseError
        It is no text of sensible size, or cannot be read.
    """
    name = str(path)
    try:
        raw = _bytes(path)
    except FileNotFoundError:
        remedy = "check the path"
        if right == A_CASE_FILE:
            remedy += "; interpass new writes a case"
        raise alone(name, "there is no such file", remedy) from None
    except IsADirectoryError:
        raise alone(name, "this is a directory", f"give {right} in it") from None
    except TimeoutError:
        problem = f"nothing came from it for {PATIENCE:g} s"
        raise alone(name, problem, f"give {right} on disk") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name cannot be used"
        raise alone(name, f"cannot be read: {reason}", "check the path") from None
    return decoded(raw, name, right, format_)


def _bytes(path: str | Path) -> bytes:
    """Bytes of a file, one more than LARGEST at most; never waits for ever."""
    handle = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
    try:
        status = os.fstat(handle)
        if stat.S_ISDIR(status.st_mode):
            raise IsADirectoryError
        _inputs.update({_identity(status), os.path.realpath(path)})
        parts: list[bytes] = []
        while (room := LARGEST + 1 - sum(map(len, parts))) > 0:
            if not (part := _some(handle, room, is_first=not parts)):
                break
            parts.append(part)
        return b"".join(parts)
    finally:
        os.close(handle)


def _some(handle: int, room: int, *, is_first: bool) -> bytes:
    """Return what comes next; waits a while for who has the other end of a pipe."""
    if is_first and stat.S_ISFIFO(os.fstat(handle).st_mode):
        _wait(handle)
    try:
        return os.read(handle, room)
    except BlockingIOError:
        _wait(handle)
        return os.read(handle, room)


def _wait(handle: int) -> None:
    if not select.select([handle], [], [], PATIENCE)[0]:
        raise TimeoutError


def _identity(status: os.stat_result) -> tuple[int, int]:
    return status.st_dev, status.st_ino


def case_text(path: str | Path) -> str:
    """Text of a case file; CaseError when it is no text file of sensible size."""
    return text_of(path, A_CASE_FILE, "UTF-8 text")


def csv_text(path: str | Path) -> str:
    """Text of a CSV file; CaseError when it is no text file of sensible size."""
    return text_of(path, "a CSV file", "CSV, UTF-8")


def decoded(
    raw: bytes, name: str, right: str = "a CSV file", format_: str = "CSV, UTF-8"
) -> str:
    """Text of the bytes of a file."""
    if len(raw) > LARGEST:
        problem = f"more than {LARGEST / 1e6:g} MB"
        raise alone(name, problem, f"{right} is a page of text; is it the right file?")
    remedy = f"save it as {format_}"
    if b"\0" in raw and format_.startswith("CSV"):
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


def refuse_to_replace(path: Path, content: bytes = b"", *, force: bool = False) -> None:
    """Refuse a file that must stay: one that was read, another's, or a read-only one.

    Parameters
    ----------
    path : Path
        Where something is to be written.
    content : bytes
        What is to be written; the same bytes may always be.
    force : bool
        Whether a file that the program did not write may be replaced.

    Raises
    ------
    FileError
        Saying which, why, and what to do.
    """
    try:
        status = path.stat()
    except OSError:  # not there, or told when it is written
        status = None
    names = {os.path.realpath(path)} | ({_identity(status)} if status else set())
    if names & _inputs:
        msg = f"{path}: this command reads it, so it does not write it"
        raise FileError(msg, "give another name")
    if status is None or not stat.S_ISREG(status.st_mode):
        return
    if _is_read_only(path, status.st_mode):
        msg = f"{path}: the file is read-only"
        raise FileError(msg, "give another name, or make it writable")
    if not (force or status.st_size == 0 or is_ours(path, content)):
        msg = f"{path}: there is a file that interpass did not write"
        raise FileError(msg, "give another name, or --force to replace it")


def _is_read_only(path: Path, mode: int) -> bool:
    """Whether a file may not be changed; a disk that takes nothing tells that itself."""
    if not mode & 0o222:
        return True
    disk = os.statvfs(path).f_flag & os.ST_RDONLY
    return not disk and not os.access(path, os.W_OK)


def is_ours(path: Path, content: bytes = b"") -> bool:
    """Whether the program wrote a file, or would write the same again."""
    try:
        with path.open("rb") as stream:
            raw = stream.read(max(100_000, len(content) + 1))
    except OSError:
        return False
    if content and raw == content:
        return True
    if OURS.match(raw) or ENDS_AS_REPORT.search(raw):
        return True
    is_text = not raw.startswith(_DRAWN)
    return MADE_BY.encode() in raw and not (is_text and A_CASE.search(raw))


def replace_file(path: Path, content: bytes, *, force: bool = False) -> None:
    """Put a file in place in one step: written beside it first, then renamed.

    A link stays a link and its target is replaced; permissions are kept; a device or a
    pipe is written to.

    Raises
    ------
    FileError
        The file must stay (``refuse_to_replace``).
    OSError
        When that cannot be done; it names ``path``, which is as it was.
    """
    refuse_to_replace(path, content, force=force)
    try:
        _put(path, content)
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(path)) from error


def _put(path: Path, content: bytes) -> None:
    mode = _mode(path)
    if mode is not None and not stat.S_ISREG(mode) and not stat.S_ISDIR(mode):
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_NONBLOCK), "wb") as stream:
            os.set_blocking(stream.fileno(), True)
            stream.write(content)
        return
    given = 0o666 & ~_umask() if mode is None else stat.S_IMODE(mode)
    _replace(Path(os.path.realpath(path)), content, given)


def _mode(path: Path) -> int | None:
    """Type and permissions of what is there, through links."""
    try:
        return path.stat().st_mode
    except FileNotFoundError:
        return None


def _replace(path: Path, content: bytes, mode: int) -> None:
    handle, name = tempfile.mkstemp(prefix=f".{path.name[:_LONGEST]}.", dir=path.parent)
    beside = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
        beside.chmod(mode)
        beside.replace(path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise


def _umask() -> int:
    """Permissions that new files are not given; can only be read by setting it."""
    mask = os.umask(0o022)
    os.umask(mask)
    return mask
