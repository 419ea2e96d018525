"""One check: what came out here, what should, how far apart, and how far is allowed."""

import csv
import io
from dataclasses import astuple, dataclass, fields

import numpy as np

ROUND_OFF = 10.0  # digits; beyond, what is left differs from machine to machine


@dataclass(frozen=True)
class Compared:
    """Values set side by side by one comparison, all (n,)."""

    ours: np.ndarray
    theirs: np.ndarray
    allowed: np.ndarray


@dataclass(frozen=True)
class Check:
    """The worst of all values of one check; the others agree better."""

    group: str
    what: str
    source: str
    standing: str
    values: int
    unit: str
    theirs: float
    ours: float
    difference: float
    allowed: float
    digits: float  # -log10 of the difference over its scale
    where: str  # the test, or the module here, that makes it

    @property
    def is_round_off(self):
        """Whether nothing but the order of the sums is left."""
        return self.digits >= ROUND_OFF

    @property
    def holds(self):
        """Whether it is within its own bound."""
        return self.difference <= self.allowed


def scale_of(compared, scale, largest):
    """What a difference is measured against: (n,) or a number."""
    if scale == "each":
        return np.maximum(np.abs(compared.theirs), 1e-300)
    if scale == "largest":  # of all values of the check
        return largest
    if scale == "span":
        return np.ptp(compared.theirs)
    return float(scale)


def worst_of(found, scale):
    """Worst value of many comparisons: theirs, ours, difference, allowed, digits."""
    largest = max(np.abs(c.theirs).max() for c in found)
    rows = np.concatenate(
        [
            np.transpose(
                np.broadcast_arrays(
                    c.theirs, c.ours, np.abs(c.ours - c.theirs), c.allowed,
                    scale_of(c, scale, largest),
                )
            )
            for c in found
        ]
    )  # fmt: skip
    off = rows[:, 2] / rows[:, 4]
    if off.max() < 10**-ROUND_OFF:  # which is worst is chance: show the largest
        row, digits = rows[np.abs(rows[:, 0]).argmax()], ROUND_OFF
        return len(rows), row[0], row[0], 0.0, row[3], digits
    row = rows[off.argmax()]
    return len(rows), *row[:4], float(-np.log10(off.max()))


def make_check(found, group, what, source, standing, unit, scale, where):
    """Sum up comparisons as one check; none of them may be beyond its bound."""
    for c in found:
        assert np.all(np.abs(c.ours - c.theirs) <= c.allowed), f"{what}: beyond bound"
    count, *worst = worst_of(found, scale)
    return Check(group, what, source, standing, count, unit, *map(float, worst), where)


def one(ours, theirs, allowed):
    """Comparison of a single number, or of arrays with one bound."""
    ours, theirs = np.atleast_1d(ours).ravel(), np.atleast_1d(theirs).ravel()
    return Compared(ours, theirs, np.broadcast_to(float(allowed), ours.shape))


def table(rows):
    """Checks or other flat data as CSV."""
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n").writerow
    write([f.name for f in fields(rows[0])])
    for row in rows:
        write([f"{v:.6g}" if isinstance(v, float) else v for v in astuple(row)])
    return out.getvalue()


def read_table(kind, text):
    """Rows of `table` as they were."""
    kinds = {f.name: f.type for f in fields(kind)}
    return [
        kind(**{name: kinds[name](value) for name, value in row.items()})
        for row in csv.DictReader(io.StringIO(text))
    ]
