"""Checks of the joint's discrete system against values known without it."""

import numpy as np
import scipy.sparse as sp
import skfem
from fem_materials import AIR
from fem_section import (
    CLEARANCE,
    PIPE_END,
    PIPE_OUT,
    SOCKET,
    bead_volume,
    in_thirds,
    metal_volume,
    outer_area,
)


def deviation(system, sources, basis):
    """Worst relative deviation of integrals and matrices from what they should be."""
    v, mesh = system.volume, basis.mesh
    r, z = mesh.p[:, mesh.t].mean(axis=1)
    each = basis.dx.shape[1]
    ratios = [v.weight.sum() / metal_volume(), system.surface.weight.sum() / outer_area()]
    for k in (1, 2, 3):
        beads = v.weight @ np.repeat(in_thirds(r, z, 0, k), each)
        ratios += [
            beads / bead_volume(np.sqrt(k / 3)),
            sources[k - 1].sum() / sources[0].sum(),
        ]
    pipe = (basis.doflocs[0] < PIPE_OUT + 1e-6) * 1.0  # 1 K across the clearance
    area = np.pi * (PIPE_OUT + SOCKET) * PIPE_END
    ratios.append(pipe @ (system.coupling @ pipe) / (CLEARANCE * area))
    return max(abs(np.array(ratios) - 1).max(), _matrix_deviation(system, basis))


def _matrix_deviation(system, basis):
    """The assembly maps against scikit-fem's own assembly, for a field 20 to 900 degC."""
    z = basis.doflocs[1]
    T = AIR + 880 * (z - z.min()) / np.ptp(z)
    _, c, k = system.law(system.volume.value @ T)

    @skfem.BilinearForm
    def both(u, v, w):
        conduction = w.k * (u.grad[0] * v.grad[0] + u.grad[1] * v.grad[1])
        return 2 * np.pi * w.x[0] * (w.c * u * v + 0.01 * conduction)

    shape = basis.dx.shape
    expected = both.assemble(basis, c=c.reshape(shape), k=k.reshape(shape))
    data = system.volume.mass(c) + 0.01 * (system.volume.stiffness(k))
    ours = sp.csc_matrix((data, *system.pattern), shape=expected.shape)
    return abs(ours - expected).max() / abs(expected).max()
