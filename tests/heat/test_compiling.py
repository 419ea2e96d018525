"""Kernels into machine code, each of the ways: the same numbers, and nothing else changed."""

import re
import sys

import numpy as np
import pytest
from conftest import read_shipped
from interpass.heat import compiling, kernel, lowering, machine, solver
from interpass.heat.arrays import KERNELS
from interpass.heat.waits import plan
from numba import carray, cfunc, types


@pytest.fixture
def shares(monkeypatch):
    """A small kernel, compiled anew for every call."""
    monkeypatch.setitem(solver.RESULTS, "ring_shares", ())
    monkeypatch.setattr(solver, "kept", lambda *_: None)
    monkeypatch.setattr(solver, "store", lambda *_: None)

    def run():
        monkeypatch.setattr(solver, "_codes", {})
        out = np.zeros(12)
        solver.run("ring_shares", 0.3, 0.5, out)
        return out

    return run


def test_short_way_to_compile_is_taken_here(shares, monkeypatch):
    """Fails when numba is no longer built as `lowering` takes it to be."""
    monkeypatch.setattr(compiling, "parsed", None)  # of the long way
    assert shares().sum() == pytest.approx(1.0)


def test_kernel_compiled_the_long_way_gives_the_same(shares, monkeypatch):
    short = shares()
    with monkeypatch.context() as patch:
        patch.setattr(lowering, "cpu_target", object())  # the inside of numba is another
        np.testing.assert_array_equal(shares(), short)
    monkeypatch.setitem(sys.modules, lowering.__name__, None)  # or cannot be imported
    np.testing.assert_array_equal(shares(), short)


def test_kernels_that_python_calls_are_compiled_as_ever(shares):
    """Before and after: what is written for the solver has no machine code of its own."""
    before, after = np.zeros(12), np.zeros(12)
    kernel.ring_shares(0.3, 0.5, before)
    written = shares()
    kernel.ring_shares(0.3, 0.5, after)
    np.testing.assert_array_equal([before, after], [written, written])
    assert kernel.implicitness(0.0) == 0.5  # not before: compiled just now


def test_machine_code_is_optimised(monkeypatch):
    arguments = 0.3, 0.5, np.zeros(12)
    done = len(compiling.object_code("ring_shares", arguments, ()))
    monkeypatch.setattr(machine, "_optimise", lambda *_: None)
    assert len(compiling.object_code("ring_shares", arguments, ())) > 3 * done


@pytest.mark.slow
def test_every_kernel_is_compiled_once_and_either_way_gives_the_same(monkeypatch):
    """A literal, or a tuple with one, is another kind of argument: all below it goes twice.

    Fifteen kernels did so once.
    """
    monkeypatch.setattr(solver, "kept", lambda *_: None)
    monkeypatch.setattr(solver, "store", lambda *_: None)
    case, rings = read_shipped("sampling-stub", ring=12), []
    for inside in (lowering.cpu_target, object()):  # the short way; the long one
        monkeypatch.setattr(solver, "_codes", {})
        monkeypatch.setattr(lowering, "cpu_target", inside)
        rings.append(plan(case).ring)
    for again in lowering._apart(*(f"interpass.heat.{name}" for name in KERNELS)):
        kinds = {k: len(getattr(v, "overloads", ())) for k, v in vars(again).items()}
        assert not {k for k, n in kinds.items() if n > 1}
    np.testing.assert_array_equal(*rings)


ROWS = """
from numba import njit
@njit(_nrt=False)
def doubled(a, b):
    for i in range(a.size):
        b[i] = 2.0 * a[i]
doubled.no_alias = {}
"""


@pytest.mark.parametrize("marked", [True, False])
def test_arrays_of_a_kernel_marked_so_do_not_overlap(tmp_path, monkeypatch, marked):
    """LLVM may compute many items at once without looking whether they do."""
    name = f"rows_{marked}"
    (tmp_path / f"{name}.py").write_text(ROWS.format(marked))
    monkeypatch.syspath_prepend(tmp_path)

    def compiled(module, **options):
        doubled = module.doubled

        def called(a, b):
            doubled(carray(a, (8,)), carray(b, (8,)))

        pointer = types.CPointer(types.float64)
        return cfunc(types.void(pointer, pointer), **options)(called)

    module, _ = lowering.written(compiled, name)
    assert bool(re.search(r"\(.*ptr noalias [^,]*%arg.b.4", str(module))) == marked
