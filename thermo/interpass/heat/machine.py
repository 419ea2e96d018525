"""Machine code and this machine: LLVM without a compiler in front of it.

A piece of machine code is an object file with a function ``ENTRY``. It takes the addresses of:
the addresses of all arrays (twice: as arrays of floats, and of integers), their sizes, the
numbers, room for the results.

What it computes: ``thermo/MODEL.md``, section 5.
"""

import ctypes
from collections.abc import Callable
from contextlib import suppress
from typing import Any

import llvmlite.binding as llvm

ENTRY = "called"
PROTOTYPE = ctypes.PYFUNCTYPE(None, *[ctypes.c_void_p] * 5)
_engines: list[Any] = []  # code lives as long as the engine that holds it

Code = Callable[[bytes, bytes, bytes, bytes, int], None]


def processor() -> str:
    """Name the processor that machine code is for, and what it can do."""
    return f"{llvm.get_host_cpu_name()} {llvm.get_host_cpu_features().flatten()}"


def load(data: bytes) -> Code:
    """Put an object file into memory."""
    _start()
    target = llvm.Target.from_default_triple().create_target_machine()
    engine = llvm.create_mcjit_compiler(llvm.parse_assembly(""), target)
    engine.add_object_file(llvm.ObjectFileRef.from_data(data))
    engine.finalize_object()
    _engines.append(engine)
    return PROTOTYPE(engine.get_function_address(ENTRY))


def assemble(text: str, function: str) -> bytes:
    """Make an object file of LLVM's language; ``function`` is what ``ENTRY`` stands for.

    What would raise an exception aborts: the compiler's own runtime is not there.
    """
    _start()
    module = llvm.parse_assembly(text)
    module.get_function(function).name = ENTRY
    for needed in list(module.functions):
        if needed.is_declaration and needed.name.startswith(("numba_", "NRT_")):
            module.link_in(llvm.parse_assembly(ABORTS.format(needed.name)))
    target = llvm.Target.from_default_triple().create_target_machine(
        cpu=llvm.get_host_cpu_name(),
        features=llvm.get_host_cpu_features().flatten(),
        opt=3,
        codemodel="jitdefault",
        jit=True,
    )
    return bytes(target.emit_object(module))


ABORTS = """declare void @abort()
define void @{}() {{
  call void @abort()
  unreachable
}}"""


def _start() -> None:
    """Make LLVM know this machine."""
    with suppress(RuntimeError):  # newer ones do this part by themselves, and say so
        llvm.initialize()
    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
