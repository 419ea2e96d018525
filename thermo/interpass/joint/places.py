"""Where a welder puts the pyrometer or the crayon, and what it will read there."""

from dataclasses import dataclass

from .beads import Fillet, fillets, leg_room
from .case import Case, Fitting, Measure, Pipe
from .outline import TOUCH

STANDARD_WALLS = 4.0  # ISO 13916, 4.1: distance A = 4 t from the edge of the groove
STANDARD_MOST = 50.0e-3  # m, and at most 50 mm
BESIDE = Measure().from_toe  # m
NAMED = {"beside": BESIDE, "4t": None, "4 t": None, "ISO 13916": None}
"""Places with a name, as distances from the toe [m].

"beside" is the parent metal right beside the toe, where a contact probe fits: ISO 13916,
3.2 asks for weld and adjacent parent metal and says no distance; 5 mm is ours. "4t" (in
older files "ISO 13916") is where 4.1 has the preheat measured. 1 in, which many
inspectors use, is common practice without a source.
"""


@dataclass(frozen=True)
class MeasuringPlace:
    """A point on the surface that faces the welder."""

    name: str
    r: float  # m
    z: float
    angle: float  # rad
    from_toe: float  # m along the surface


def measuring_place(case: Case) -> MeasuringPlace:
    """Place at which readings are taken, from the toe of the finished fillet.

    Along the pipe; along the socket face and then along the fitting's outside; or in the
    bore of the pipe, level with a place on the pipe (below 0: past the toe, under the weld).
    A distance of None is 4 t from the weld, at most 50 mm, with t the wall of the part
    (published: AS ISO 13916, 4.1).
    """
    m = case.measure
    wall = case.fitting.socket_wall if m.on == "fitting" else case.pipe.wall
    standard = m.from_toe is None
    distance = min(STANDARD_WALLS * wall, STANDARD_MOST)
    if m.from_toe is not None:
        distance = m.from_toe
    r, z = _on_fitting(case, distance) if m.on == "fitting" else _on_pipe(case, distance)
    if m.on == "bore":
        r -= case.pipe.wall
    rule = "4 t" if standard else f"{distance * 1e3:.4g} mm"
    return MeasuringPlace(f"{rule} from the toe, {m.on} side", r, z, m.angle, distance)


def _on_pipe(case: Case, distance: float) -> tuple[float, float]:
    toe = -case.band / 2 if case.is_bare else -fillets(case)[-1].leg_pipe
    return case.pipe.outside_diameter / 2, max(toe - distance, -case.pipe.length)


def _on_fitting(case: Case, distance: float) -> tuple[float, float]:
    if case.is_bare:
        away = min(case.band / 2 + distance, case.fitting.length)
        return case.pipe.outside_diameter / 2, away
    root, leg = case.pipe.outside_diameter / 2, fillets(case)[-1].leg_socket
    left_of_face = max(leg_room(case) - leg, 0.0)
    if distance <= left_of_face:
        return root + leg + distance, 0.0
    return root + leg_room(case), min(distance - left_of_face, case.fitting.length)


def surface_radius(
    z: float, on: str, pipe: Pipe, fitting: Fitting, end_gap: float
) -> float:
    """Radius of the bore or of the outside at a distance from the socket face [m]."""
    outer = pipe.outside_diameter / 2
    inner = outer - pipe.wall
    if z < 0 or fitting.kind == "none":
        return inner if on == "bore" else outer
    boxes = [b for b in fitting.boxes if b.z_start - TOUCH <= z <= b.z_end + TOUCH]
    if on == "outside":
        return max(box.r_out for box in boxes)
    if z <= fitting.socket_depth - end_gap:
        return inner
    return min(box.r_in for box in boxes)


def is_metal(
    r: float, z: float, pipe: Pipe, fitting: Fitting, end_gap: float, fillet: Fillet
) -> bool:
    """Whether a point lies in pipe, fitting or finished fillet, edges included."""
    outer = pipe.outside_diameter / 2
    end = fitting.socket_depth - end_gap
    if fitting.kind == "none":
        end = fitting.length
    inside_pipe = (
        outer - pipe.wall - TOUCH <= r <= outer + TOUCH
        and -pipe.length - TOUCH <= z <= end + TOUCH
    )
    inside_fitting = any(
        box.r_in - TOUCH <= r <= box.r_out + TOUCH
        and box.z_start - TOUCH <= z <= box.z_end + TOUCH
        for box in fitting.boxes
    )
    if fitting.kind == "none":
        return inside_pipe
    share = (r - outer) / fillet.leg_socket - z / fillet.leg_pipe
    inside_fillet = r >= outer - TOUCH and z <= TOUCH and share <= 1 + TOUCH
    return inside_pipe or inside_fitting or inside_fillet
