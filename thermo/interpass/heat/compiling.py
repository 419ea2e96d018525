"""Kernels into machine code that needs neither the compiler nor Python's objects.

What a kernel takes, named tuples of arrays and numbers, is put together again from plain
addresses inside the code: the compiler is spared the hundreds of arguments that the tuples
hold, and loading is spared the compiler.

What it computes: ``thermo/MODEL.md``, section 5.
"""

import gc
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from itertools import count
from types import ModuleType
from typing import Any

import numpy as np
from numba import carray, cfunc, types

from . import arrays, kernels
from .machine import ENTRY, assemble, parsed

FLOATS, INTS = types.CPointer(types.float64), types.CPointer(types.int64)
SIGNATURE = types.void(types.CPointer(FLOATS), types.CPointer(INTS), INTS, FLOATS, FLOATS)


def object_code(name: str, arguments: tuple[Any, ...], results: tuple[Any, ...]) -> bytes:
    """Compile a kernel for such arguments into an object file of `machine`."""
    source = _source(name, arguments, results)
    with _collector_off():
        return assemble(*_in_llvm(name, source))


def _in_llvm(name: str, source: str) -> tuple[Any, str]:
    """Return the module in LLVM's language, and what the function is named in it."""

    def compiled(module: ModuleType, **options: Any) -> Any:
        names = vars(arrays) | {"carray": carray, name: getattr(module, name)}
        exec(source, names)  # noqa: S102 - of names and numbers alone
        return cfunc(SIGNATURE, error_model="numpy", **options)(names[ENTRY])

    with suppress(ImportError, AttributeError, TypeError):  # numba is built otherwise
        from .lowering import written  # noqa: PLC0415 - as far as it is there

        modules = (f"{__package__}.{module}" for module in arrays.KERNELS)
        return written(compiled, *modules)
    made = compiled(kernels)
    return parsed(made.inspect_llvm()), made.native_name


@contextmanager
def _collector_off() -> Iterator[None]:
    """Spare compiling the search for cycles among millions of new objects."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _source(name: str, arguments: tuple[Any, ...], results: tuple[Any, ...]) -> str:
    """Write the function that puts the arguments together and takes the results apart."""
    arrays_seen, sizes_seen, numbers_seen = count(), count(), count()

    def put(value: Any) -> str:
        if isinstance(value, tuple):
            return f"{type(value).__name__}({', '.join(put(item) for item in value)})"
        if isinstance(value, np.ndarray):
            of = {np.dtype(np.float64): "floats", np.dtype(np.int64): "ints"}[value.dtype]
            shape = "".join(f"sizes[{next(sizes_seen)}], " for _ in value.shape)
            return f"carray({of}[{next(arrays_seen)}], ({shape}))"
        number = f"numbers[{next(numbers_seen)}]"
        if isinstance(value, bool | np.bool_):
            return f"{number} != 0.0"
        return f"int({number})" if isinstance(value, int | np.integer) else number

    call = f"found = {name}({', '.join(put(argument) for argument in arguments)})"
    out = [f"results[{n}] = found{path}" for n, path in enumerate(_paths(results))]
    lines = [f"def {ENTRY}(floats, ints, sizes, numbers, results):", call, *out]
    return "\n    ".join(lines)


def _paths(shape: tuple[Any, ...], before: str = "") -> Iterator[str]:
    """Where the numbers of tuples in tuples are: [0], [1][0], [1][1] ..."""
    for n, item in enumerate(shape):
        here = f"{before}[{n}]"
        if isinstance(item, tuple):
            yield from _paths(item, here)
        else:
            yield here
