"""Whether the solver has been compiled on this machine before."""

import os
from collections.abc import Iterator
from pathlib import Path

KERNELS = Path(__file__).with_name("kernels.py")
INDEX = "kernels.march-*.nbi"  # numba's index of the compiled time loop


def is_compiled() -> bool:
    """Whether a compiled solver at least as new as its source lies in numba's cache.

    A guess from file times, good enough to warn of a slow start; nothing depends on it.
    """
    if os.environ.get("NUMBA_DISABLE_JIT", "0") not in ("", "0"):
        return True
    source = KERNELS.stat().st_mtime
    return any(index.stat().st_mtime >= source for index in _indexes())


def _indexes() -> Iterator[Path]:
    """Index files in the places where numba keeps its cache."""
    if own := os.environ.get("NUMBA_CACHE_DIR"):
        yield from Path(own).glob(f"*/{INDEX}")
        return
    yield from (KERNELS.parent / "__pycache__").glob(INDEX)
    yield from (Path.home() / ".cache" / "numba").glob(f"*/{INDEX}")
