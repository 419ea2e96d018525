"""The compiler's front half alone: kernels in LLVM's language, nothing optimised.

By itself numba optimises and finishes every function alone, and once more inside each that
calls it: more than half of the time that compiling takes. Here it writes them down and links
them; `machine` optimises them all together, once. What kernels have no need of is left out
(objects, closures, array expressions), and what a call returns is found out once.

Only this module knows the inside of numba. Where that is built otherwise, `compiling` lets
numba go its own way.

What it computes: ``thermo/MODEL.md``, section 5.
"""

import sys
from collections.abc import Callable, Iterable
from contextlib import ExitStack
from functools import cache
from importlib import import_module
from types import ModuleType
from typing import Any

from numba.core import typed_passes, untyped_passes
from numba.core.codegen import JITCodeLibrary, JITCPUCodegen
from numba.core.compiler import CompilerBase
from numba.core.compiler_lock import global_compiler_lock
from numba.core.compiler_machinery import PassManager
from numba.core.dispatcher import Dispatcher
from numba.core.registry import cpu_target

MOST_BLOCKS = 25  # of a function that may become part of another
STEPS = (
    untyped_passes.TranslateByteCode,
    untyped_passes.FixupArgs,
    untyped_passes.GenericRewrites,  # tuple[0] is not tuple[i]
    untyped_passes.InlineInlinables,
    untyped_passes.ReconstructSSA,
    typed_passes.NopythonTypeInference,
    typed_passes.PreLowerStripPhis,
    typed_passes.NativeLowering,
    typed_passes.NoPythonBackend,
)


class Lean(CompilerBase):  # type: ignore[misc]
    """The compiler's steps, as few as kernels need."""

    def define_pipelines(self) -> list[Any]:
        """Put the steps in a row."""
        steps = PassManager("kernel")
        for step in STEPS:
            steps.add_pass(step, step.__name__)
        steps.finalize()
        return [steps]


class Unoptimised(JITCodeLibrary):  # type: ignore[misc]
    """Functions that are linked together, and no more.

    Large ones stay functions: one of everything takes LLVM twice as long, and runs no faster.
    """

    def add_ir_module(self, ir_module: Any) -> None:
        """Add functions; ``noinline`` from here, for not every llvmlite can add it later."""
        for function in ir_module.functions:
            if len(function.blocks) > MOST_BLOCKS:
                function.attributes.add("noinline")
        super().add_ir_module(ir_module)

    def _optimize_functions(self, module: Any) -> None:
        module.data_layout = self.codegen._data_layout

    def finalize(self) -> None:
        """Take no more functions: there is nothing to do to those that are there."""
        self._finalized = True

    def _get_module_for_linking(self) -> Any:
        """Put these functions and all that they need together, each once."""
        module = self._final_module.clone()
        for library in self._below({}):
            mine = isinstance(library, Unoptimised)
            part = library._final_module if mine else library._get_module_for_linking()
            module.link_in(part, preserve=True)
        return module

    def _below(self, found: dict[Any, None]) -> Iterable[Any]:
        """Add the libraries that these functions need, and those that they need."""
        for library in self._linking_libraries:
            if library not in found:
                found[library] = None
                if isinstance(library, Unoptimised):
                    library._below(found)
        return found


class Writer(JITCPUCodegen):  # type: ignore[misc]
    """What makes such libraries, and no machine code."""

    _library_class = Unoptimised

    def _add_module(self, module: Any) -> None:
        pass

    def set_env(self, env_name: str, env: Any) -> None:
        """Do nothing: what would need Python's objects aborts."""


def written(compiled: Callable[..., Any], *modules: str) -> tuple[Any, str]:
    """Let numba compile a C function of kernels; return it not optimised, and its name.

    The kernels are in ``modules``, each built on those before; ``compiled`` is given the last.
    """
    context, typing = cpu_target.target_context, cpu_target.typing_context
    with global_compiler_lock, ExitStack() as then:
        typing.refresh()  # these two compile what they need themselves
        context.refresh()
        _for_now(then, context, "_internal_codegen", _writer())
        _for_now(then, context, "cached_internal_func", {})
        _for_now(then, typing, "resolve_function_type", _remembering(typing))
        made = compiled(_apart(*modules)[-1], pipeline_class=Lean)
        return made._library._get_module_for_linking(), made.native_name


def _for_now(then: ExitStack, holder: Any, name: str, value: Any) -> None:
    """Set an attribute, and put it back afterwards."""
    then.callback(setattr, holder, name, getattr(holder, name))
    setattr(holder, name, value)


@cache
def _remembering(typing: Any) -> Callable[..., Any]:
    """Remember what functions return for arguments of a kind: nine in ten are asked again."""
    resolve = typing.resolve_function_type
    known: dict[Any, Any] = {}

    def resolved(function: Any, arguments: Any, by_name: Any) -> Any:
        if by_name:
            return resolve(function, arguments, by_name)
        key = function, tuple(arguments)
        try:
            return known[key]
        except TypeError:  # a slice of literals cannot be a key
            return resolve(function, arguments, by_name)
        except KeyError:
            known[key] = resolve(function, arguments, by_name)
        return known[key]

    return resolved


@cache
def _writer() -> Writer:
    return Writer("interpass")


@cache
def _apart(*names: str) -> tuple[ModuleType, ...]:
    """Load modules a second time: what Python calls of the first keeps its machine code.

    They are named in the order in which they are built on one another.
    A kernel whose ``no_alias`` is true takes arrays that do not overlap.
    """
    usual = {name: sys.modules.pop(name, None) for name in names}
    try:
        apart = tuple(import_module(name) for name in names)
    finally:
        for name, module in usual.items():
            sys.modules.pop(name, None)
            if module is not None:
                sys.modules[name] = module
                _hang_in(name, module)
    for value in {id(v): v for module in apart for v in vars(module).values()}.values():
        if isinstance(value, Dispatcher):
            _fit(value)
    return apart


def _hang_in(name: str, module: ModuleType) -> None:
    """Have the package of a module know it by its name again."""
    package, _, last = name.rpartition(".")
    if package:
        setattr(sys.modules[package], last, module)


def _fit(kernel: Any) -> None:
    """Compile a kernel in few steps, as a function that Python does not call."""
    kernel.targetoptions.update(no_cpython_wrapper=True, no_cfunc_wrapper=True)
    kernel._compiler.pipeline_class = Lean
    if getattr(kernel, "no_alias", False):
        kernel._compiler._customize_flags = _no_alias


def _no_alias(flags: Any) -> Any:
    """Let LLVM take it that what a function writes is not what it reads elsewhere."""
    flags.noalias = True
    return flags
