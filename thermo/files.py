"""Put files in place whole, or not at all."""

import os
import tempfile
from pathlib import Path

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
