"""The scripts that print tables of cost run, on sizes too small to be timed.

Nothing here asserts a time.
"""

import pytest
import scaling
import start_up
from interpass.physics import metals


@pytest.mark.parametrize(
    ("study", "sizes"),
    [(scaling.of_cells, (3e-3, 1.5e-3)), (scaling.of_ring, (8, 16)),
     (scaling.of_passes, (1, 2)), (scaling.of_joints, (1, 2))],
    ids=["cells", "ring", "passes", "joints"],
)  # fmt: skip
def test_scaling(study, sizes):
    found = study(sizes, rounds=1)
    assert len(found.seconds) == len(found.sizes) == 2
    assert found.sizes[0] < found.sizes[1]
    assert all(t > 0 for t in found.seconds)
    assert found.what in scaling.table(found)[0]


def test_exponent_of_a_power():
    study = scaling.Study("size", [1.0, 2.0, 4.0], [3.0, 6.0, 12.0])
    assert study.exponent == pytest.approx(1.0)
    assert study.late_exponent == pytest.approx(1.0)


@pytest.mark.slow
def test_start_up():
    stages = start_up.least([start_up.one_round()])
    assert stages["whole"] > stages["import numpy"] > 0
    assert len(start_up.table(stages)) == len(stages)


def test_a_metal_is_built(benchmark):
    """About 0.5 ms with the rows of the tables read."""

    def build():
        metals.conductivity_curve.cache_clear()
        metals.specific_heat_curve.cache_clear()
        return metals.tabulated.__wrapped__("carbon steel")  # without its cache

    assert benchmark(build).name == "carbon steel"
