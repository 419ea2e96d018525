"""The compiler's front half alone: kernels in LLVM's language, nothing optimised.

By itself numba optimises and finishes every function alone, and once more inside each that
calls it: more than half of the time that compiling takes. Here it writes them down and links
them; `machine` optimises them all together, once.

Only this module knows the inside of numba. Where that is built otherwise, `compiling` lets
numba go its own way.

What it computes: ``thermo/MODEL.md``, section 5.
"""

from collections.abc import Callable, Iterable
from functools import cache
from importlib.util import find_spec, module_from_spec
from types import ModuleType
from typing import Any

from numba.core.codegen import JITCodeLibrary, JITCPUCodegen
from numba.core.compiler_lock import global_compiler_lock
from numba.core.dispatcher import Dispatcher
from numba.core.registry import cpu_target


class Unoptimised(JITCodeLibrary):  # type: ignore[misc]
    """Functions that are linked together, and no more."""

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


def written(compiled: Callable[[ModuleType], Any], module: str) -> tuple[Any, str]:
    """Let numba compile a C function of a module's kernels; return it not optimised, named."""
    context = cpu_target.target_context
    with global_compiler_lock:
        cpu_target.typing_context.refresh()  # these two compile what they need themselves
        context.refresh()
        usual = context._internal_codegen, context.cached_internal_func
        context._internal_codegen, context.cached_internal_func = _writer(), {}
        try:
            made = compiled(_apart(module))
            return made._library._get_module_for_linking(), made.native_name
        finally:
            context._internal_codegen, context.cached_internal_func = usual


@cache
def _writer() -> Writer:
    return Writer("interpass")


@cache
def _apart(name: str) -> ModuleType:
    """Load a module a second time: what Python calls of the first keeps its machine code."""
    spec = find_spec(name)
    assert spec is not None  # it is loaded
    assert spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    for value in vars(module).values():
        if isinstance(value, Dispatcher):  # Python calls none of these
            value.targetoptions.update(no_cpython_wrapper=True, no_cfunc_wrapper=True)
    return module
