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
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from .cache import any_kept, kept, store
from .machine import Code, load, processor

INTERPRETED = os.environ.get("NUMBA_DISABLE_JIT", "0") not in ("", "0")
RESULTS: dict[str, tuple[Any, ...]] = {  # of every function that Python calls
    "march": (int, float, float, int, (int, int, int), int),
    "zone_temperatures": (float, float),
    "lay_bead": (),
}
NUMBERS = {float: "f", np.float64: "f", int: "i", np.int64: "i", bool: "b", np.bool_: "b"}
MOST_RESULTS = 8
OF_IT = ("kernels", "arrays", "compiling", "machine", "solver")
SOURCES = [Path(__file__).with_name(f"{name}.py") for name in OF_IT]


def run(kernel: str, *arguments: Any) -> Any:
    """Run a function of `kernels`, one of ``RESULTS``; return what it returns."""
    if INTERPRETED:
        from . import kernels  # noqa: PLC0415 - it imports the compiler

        return getattr(kernels, kernel)(*arguments)
    flat = Flat()
    take_apart(arguments, flat)
    results = array("d", bytes(8 * MOST_RESULTS))
    given = (flat.pointers, flat.pointers, flat.sizes, flat.numbers, results)
    code = _code(kernel, "".join(flat.kinds), arguments)
    code(*(values.buffer_info()[0] for values in given))
    return _shaped(RESULTS[kernel], iter(results))


@dataclass
class Flat:
    """Leaves of tuples in tuples, as machine code takes them."""

    kinds: list[str] = field(default_factory=list)  # type and dimensions of each
    pointers: "array[int]" = field(default_factory=lambda: array("Q"))  # of the arrays
    sizes: "array[int]" = field(default_factory=lambda: array("q"))
    numbers: "array[float]" = field(default_factory=lambda: array("d"))


def take_apart(values: tuple[Any, ...], flat: Flat) -> None:
    """Add the leaves of tuples in tuples to what there is, in order."""
    for value in values:
        if isinstance(value, np.ndarray):
            if not value.flags.c_contiguous:
                msg = f"the solver takes arrays in one piece, not strides {value.strides}"
                raise ValueError(msg)
            flat.kinds.append(f"{value.dtype.char}{value.ndim}")
            flat.pointers.append(_address(value) if value.size else 0)
            flat.sizes.extend(value.shape)
        elif isinstance(value, tuple):
            take_apart(value, flat)
        else:
            flat.kinds.append(NUMBERS[type(value)])
            flat.numbers.append(value)


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
