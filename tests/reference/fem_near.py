"""An independent finite-element answer for the metal next to a travelling arc, in 3-D.

Nothing comes from the package under test. Running the file repeats the study and writes
``fem_near.csv`` beside it::

    python tests/reference/fem_near.py             # about ten minutes

The joint, the arc and the method of ``fem_ring``, with 1600 W, so that the pool goes into
the pipe, and elements that are small only where the arc goes: from 25 degrees behind its
start to 110 degrees. Kept is the hottest each place got in the section at 75 degrees,
which the arc passes after 12.5 s; the run goes on for another 6 s. The metal melts
from 1670 to 1730 K (Kim 1975, as a public repository quotes it) and is not stirred.
"""

import time
from pathlib import Path

import numpy as np
from fem_march import Stepper, lost_power, stored_heat
from fem_materials import AIR, DENSITY_316L, LATENT, ZERO
from fem_ring import ARC_OFF, POWER, build_on, conjugate, versions
from fem_ring_mesh import ROUND, turned
from fem_section import LEG, MM, PIPE_IN, PIPE_OUT, TOE

HEAT, LOOK, LAST = 1600.0, 75.0, 18.5  # W, degrees, s
SOLIDUS, LIQUIDUS = 1670.0, 1730.0
RESULT = Path(__file__).with_suffix(".csv")
R = np.linspace(PIPE_IN, PIPE_OUT, 23)
Z = np.linspace(-LEG, 4 * MM, 19)


def slow_melting(T):
    """316L of `fem_materials`, melting from SOLIDUS to LIQUIDUS."""
    melted = (T - SOLIDUS) / (LIQUIDUS - SOLIDUS)
    H = 4184 * (T - AIR) * (0.1097 + 3.174e-5 / 2 * (T + AIR))
    c = 4184 * (0.1097 + 3.174e-5 * T)
    H = H + LATENT * np.clip(melted, 0, 1)
    c = c + ((melted > 0) & (melted < 1)) * LATENT / (LIQUIDUS - SOLIDUS)
    return DENSITY_316L * H, DENSITY_316L * c, 9.248 + 0.01571 * T


def layers(step):
    """Arc lengths between layers: ``step`` degrees where the arc goes, 20 elsewhere."""
    fine = np.arange(0.0, 110.0 + 1e-9, step)
    far = np.linspace(fine[-1], 335.0, 1 + round((335.0 - fine[-1]) / 20.0))
    back = np.linspace(335.0, 360.0, 1 + round(25.0 / step))
    return np.unique(np.round(np.concatenate([fine, far, back]), 9)) / 360.0 * ROUND


def places():
    """Where the peak is kept, (3, m): the wall of the pipe, then a line into the socket."""
    wall = np.array([(r, z) for r in R for z in Z])
    socket = np.array([(r, z) for r in (17.2 * MM, 18.2 * MM) for z in Z[Z > 0]])
    r, z = np.concatenate([wall, socket]).T
    return np.array([r, np.full(r.size, LOOK / 360.0 * ROUND), z])


def peaks(name, n, degrees, dt):
    """Hottest of every place [degC]; what is to be said of the run."""
    begin = time.perf_counter()
    system, load, _ = build_on(turned(n, layers(degrees)), places(), slow_melting)
    stepper = Stepper(system, 0.05, conjugate)
    T = np.full(system.volume.value.shape[1], AIR)
    guess, lost, now, top = T, 0.0, 0.0, system.probes @ T
    part = 1.0 - np.sqrt(0.5)
    hottest = AIR
    for _ in range(round(LAST / dt)):
        powers = [load(now + x * dt) * HEAT / POWER for x in (part, 1.0)]
        new, loss = stepper.step(T, guess, dt, powers)
        guess, T, lost, now = 2 * new - T, new, lost + loss, now + dt
        top, hottest = np.maximum(top, system.probes @ T), max(hottest, T.max())
    closure = abs(1 - (stored_heat(system, T) + lost) / (HEAT * LAST))
    told = (
        f"{name}: {2 * n} cells along a leg, {degrees:g} degrees round the ring, {T.size} "
        f"unknowns, steps of {dt:g} s; hottest {hottest - ZERO:.0f} degC, losing "
        f"{lost_power(system, T):.0f} W, closure {closure:.0e}"
    )
    print(f"{told}; {time.perf_counter() - begin:.0f} s", flush=True)  # noqa: T201
    return top - ZERO, told


def reference():
    """Three runs, compared; the finest is written."""
    coarse, first = peaks("coarse", 1, 5.0, 0.25)
    step, second = peaks("coarse, half the step", 1, 5.0, 0.125)
    fine, third = peaks("reference", 2, 5.0, 0.25)
    wall = R.size * Z.size
    apart = [
        abs(a - b)[:wall].reshape(R.size, Z.size)
        for a, b in ((coarse, step), (coarse, fine))
    ]
    said = [first, second, third]
    said += [
        f"{name}: largest difference in the wall {d.max():.1f} K, at the bore {d[0].max():.1f} K"
        for name, d in zip(("half the step", "half the cell"), apart, strict=True)
    ]
    write(fine, said)


def write(values, said):
    """The CSV, with the study in its header."""
    head = [
        "Hottest of each place at 75 degrees, fem_near.py; properties in fem_materials.py.",
        f"Computed apart from the package: {versions()}.",
        f"{HEAT:g} W, one turn in {ARC_OFF:g} s; legs {LEG / MM:g} mm to r {TOE / MM:g} mm.",
        *said,
    ]
    rows = ["r_mm,z_mm,peak_degC"]
    r, _, z = places() / MM
    rows += [f"{a:.3f},{b:.2f},{T:.2f}" for a, b, T in zip(r, z, values, strict=True)]
    text = "\n".join([f"# {x}" for x in head] + rows) + "\n"
    RESULT.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    reference()
