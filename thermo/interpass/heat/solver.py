"""The solver as Python calls it: machine code, compiled once, kept, and loaded by itself.

The compiler takes longer to import than a joint to run, and what it makes needs nothing of
it: `compiling` is imported only where no code is kept.

``NUMBA_DISABLE_JIT=1`` runs the kernels as plain Python.

What it computes: ``thermo/MODEL.md``, section 5.
"""

import ctypes
import hashlib
import os
from array import array
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from .arrays import KERNELS
from .cache import any_kept, kept, store
from .machine import Code, load, processor

INTERPRETED = os.environ.get("NUMBA_DISABLE_JIT", "0") not in ("", "0")
RESULTS: dict[str, tuple[Any, ...]] = {  # of every function that Python calls
    "march": (int, float, float, int, (int, int, int), int),
    "zone_temperatures": (float, float),
    "lay_bead": (),
}
NUMBERS = {float: "f", np.float64: "f", int: "i", np.int64: "i", bool: "b", np.bool_: "b"}
ROOM = bytes(8 * 8)  # for the results
OF_IT = (*KERNELS, "arrays", "compiling", "lowering", "machine", "solver")
SOURCES = [Path(__file__).with_name(f"{name}.py") for name in OF_IT]


def run(kernel: str, *arguments: Any) -> Any:
    """Run a function of `kernels`, one of ``RESULTS``; return what it returns."""
    if INTERPRETED:
        from . import kernels  # noqa: PLC0415 - it imports the compiler

        return getattr(kernels, kernel)(*arguments)
    parts = [_kept(value) for value in arguments]
    pointers = b"".join([part.pointers for part in parts])
    sizes = b"".join([part.sizes for part in parts])
    numbers = b"".join([part.numbers for part in parts])
    results = array("d", ROOM)
    code = _code(kernel, "".join([part.kinds for part in parts]), arguments)
    code(pointers, pointers, sizes, numbers, results.buffer_info()[0])
    return _shaped(RESULTS[kernel], iter(results))


class Flat(NamedTuple):
    """Leaves of an argument, of tuples in tuples, as machine code takes them."""

    kinds: str  # type and dimensions of each
    pointers: bytes  # addresses of the arrays
    sizes: bytes
    numbers: bytes


MOST_KNOWN = 256  # tuples: those of a joint or two
_known: dict[int, tuple[Any, Flat]] = {}  # by identity, which a tuple kept here keeps


def _kept(value: Any) -> Flat:
    """Leaves of an argument; those of tuples that hold arrays are kept for other calls."""
    known = _known.get(id(value))
    if known is not None:
        return known[1]
    flat = flattened(value)
    if (
        isinstance(value, tuple) and flat.pointers
    ):  # an array may be made anew in its place
        if len(_known) >= MOST_KNOWN:
            _known.clear()
        _known[id(value)] = value, flat
    return flat


def flattened(value: Any) -> Flat:
    """Take an argument apart, in order."""
    kinds: list[str] = []
    pointers, sizes, numbers = array("Q"), array("q"), array("d")
    for leaf in _leaves(value):
        if isinstance(leaf, np.ndarray):
            if not leaf.flags.c_contiguous:
                msg = f"the solver takes arrays in one piece, not strides {leaf.strides}"
                raise ValueError(msg)
            kinds.append(f"{leaf.dtype.char}{leaf.ndim}")
            pointers.append(_address(leaf) if leaf.size else 0)
            sizes.extend(leaf.shape)
        else:
            kinds.append(NUMBERS[type(leaf)])
            numbers.append(leaf)
    made = (pointers.tobytes(), sizes.tobytes(), numbers.tobytes())
    return Flat("".join(kinds), *made)


def _leaves(value: Any) -> list[Any]:
    """Return what is no tuple, of tuples in tuples, in order."""
    if not isinstance(value, tuple):
        return [value]
    return [leaf for item in value for leaf in _leaves(item)]


def _address(values: Any) -> int:
    """Address of the first item; ``values.ctypes.data`` takes four times as long."""
    return ctypes.addressof(ctypes.c_char.from_buffer(values))


def _shaped(shape: Any, results: Iterator[float]) -> Any:
    """Put results back into tuples of integers and floats."""
    if isinstance(shape, tuple):
        return tuple(_shaped(item, results) for item in shape)
    return shape(next(results))


def is_compiled() -> bool:
    """Whether the time loop is kept for this program and this processor."""
    return INTERPRETED or any_kept(f"march-{_version()}-")


_codes: dict[tuple[str, str], Code] = {}  # of this process, by function and layout


def _code(name: str, layout: str, arguments: tuple[Any, ...]) -> Code:
    """Machine code of a function for arguments of a layout: known, kept or made."""
    if (name, layout) not in _codes:
        file = f"{name}-{_version()}-{hashlib.sha256(layout.encode()).hexdigest()[:16]}"
        data = kept(file)
        if data is None:
            from .compiling import object_code  # noqa: PLC0415 - it imports the compiler

            data = object_code(name, arguments, RESULTS[name])
            store(file, data)
        _codes[name, layout] = load(data)
    return _codes[name, layout]


@cache
def _version() -> str:
    """Name what machine code depends on: the sources it is made of, and the processor."""
    sources = b"".join(path.read_bytes() for path in SOURCES)
    return hashlib.sha256(sources + processor().encode()).hexdigest()[:16]
