"""Run a test and note the numbers it compares, and how close it wants them.

The page shows what the tests themselves compare, so that neither says what the other
does not: nothing is computed twice, and the bound on the page is the bound of the test.
"""

import sys
from contextlib import contextmanager
from itertools import product

import numpy as np
import pytest
from numpy.testing import assert_allclose

from evidence.check import Compared


class Seen:
    """An approximate value that notes what it is compared with."""

    __array_ufunc__ = None  # so that an array on the left asks us, as it asks pytest
    __array_priority__ = 100

    def __init__(self, notes, expected, rel, abs_):
        self.notes, self.expected = notes, expected
        self.rel, self.abs_ = rel, abs_

    def __eq__(self, ours):
        theirs = np.asarray(self.expected, dtype=float)
        note(self.notes, ours, theirs, self.allowed(theirs))
        return ours == pytest.approx(self.expected, rel=self.rel, abs=self.abs_)

    __hash__ = None

    def allowed(self, theirs):
        """Bound of `pytest.approx`: the relative one only where no other is given."""
        rel = 1e-6 if self.rel is None else self.rel
        if self.rel is None and self.abs_ is not None:
            rel = 0.0
        at_least = 1e-12 if self.abs_ is None else self.abs_
        return np.maximum(rel * np.abs(theirs), at_least)


class Spy:
    """Stands in for the module ``pytest`` while a test runs."""

    def __init__(self, notes):
        self.notes = notes

    def approx(self, expected, rel=None, abs=None):
        return Seen(self.notes, expected, rel, abs)

    def __getattr__(self, name):
        return getattr(pytest, name)


def note(notes, ours, theirs, allowed):
    """Add one comparison, broadcast and flattened."""
    arrays = np.broadcast_arrays(np.asarray(ours, dtype=float), theirs, allowed)
    notes.append(Compared(*(np.ravel(a).copy() for a in arrays)))


@contextmanager
def watched(module):
    """Note every ``approx`` and ``assert_allclose`` of a test module."""
    notes, kept = [], {n: getattr(module, n, None) for n in ("pytest", "assert_allclose")}

    def allclose(actual, desired, rtol=1e-7, atol=0.0, **other):
        theirs = np.asarray(desired, dtype=float)
        note(notes, actual, theirs, atol + rtol * np.abs(theirs))
        assert_allclose(actual, desired, rtol=rtol, atol=atol, **other)

    module.pytest = Spy(notes)
    if kept["assert_allclose"] is not None:
        module.assert_allclose = allclose
    try:
        yield notes
    finally:
        for name, value in kept.items():
            if value is not None:
                setattr(module, name, value)


def parameters(test):
    """Every set of arguments that pytest would call the test with, the slow ones not."""
    marks = [m for m in getattr(test, "pytestmark", ()) if m.name == "parametrize"]
    choices = []
    for mark in marks:
        names = mark.args[0]
        if isinstance(names, str):
            names = [name.strip() for name in names.split(",")]
        choices.append([dict(x) for x in named(names, mark.args[1])])
    for chosen in product(*choices):
        yield {name: value for part in chosen for name, value in part.items()}


def named(names, rows):
    """Arguments by name, of each row that is not marked slow."""
    for row in rows:
        values = row
        if hasattr(row, "marks"):
            if any(mark.name == "slow" for mark in row.marks):
                continue
            values = row.values
        elif len(names) == 1:
            values = (row,)
        yield zip(names, values, strict=True)


def compared(test, pick=None):
    """Run a test with all its arguments; what it compared.

    ``pick`` takes some of the comparisons of each call, by their order.
    """
    module, found = sys.modules[test.__module__], []
    for arguments in parameters(test):
        with watched(module) as notes:
            test(**arguments)
        found += notes if pick is None else [notes[n] for n in pick if n < len(notes)]
    assert found, f"{test.__name__} compares nothing"
    return found
