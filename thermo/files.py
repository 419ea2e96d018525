"""Put files in place whole, or not at all."""

import os
import tempfile
from pathlib import Path


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
