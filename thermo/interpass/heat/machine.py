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


def parsed(text: str) -> Any:
    """Make a module of LLVM's language."""
    return llvm.parse_assembly(text)


def assemble(module: Any, function: str) -> bytes:
    """Make an object file of a module; ``function`` is what ``ENTRY`` stands for.

    What would raise an exception aborts: the compiler's own runtime is not there.
    """
    _start()
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
    _optimise(module, target)
    return bytes(target.emit_object(module))


def _optimise(module: Any, target: Any) -> None:
    """Run LLVM's passes over all of it."""
    for value in [*module.functions, *module.global_variables]:
        if not value.is_declaration and value.name != ENTRY:
            value.linkage = "internal"  # may be changed, put into others, dropped
    tuning = llvm.create_pipeline_tuning_options(speed_level=3)
    tuning.loop_vectorization = tuning.slp_vectorization = True
    tuning.loop_interleaving = tuning.loop_unrolling = False
    passes = llvm.create_pass_builder(target, tuning)
    passes.getModulePassManager().run(module, passes)


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
