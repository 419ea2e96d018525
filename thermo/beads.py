"""How the fillet grows pass by pass: nested triangles from the root outward."""

from math import inf, sqrt

from .drawing import Fillet
from .joint import Case


def bead_areas(case: Case) -> tuple[float, ...]:
    """Section area each pass adds [m²].

    A pass with wire or a deposit brings its own; the others share what is then missing
    from the leg wanted, equally. A deposit that already fills the leg leaves them nothing.
    """
    wanted = case.leg_pipe * case.leg_socket / 2
    known = sum(p.deposit for p in case.passes if p.deposit is not None)
    sharing = sum(p.deposit is None for p in case.passes)
    share = max(wanted - known, 0.0) / sharing if sharing else 0.0
    return tuple(share if p.deposit is None else p.deposit for p in case.passes)


def fillet_of_area(case: Case, area: float) -> Fillet:
    """Fillet of this section area with the legs in the proportion wanted.

    Once the socket face is covered the metal can only grow along the pipe.
    """
    scale = sqrt(2 * area / (case.leg_pipe * case.leg_socket))
    leg_socket = min(case.leg_socket * scale, leg_room(case))
    if leg_socket < case.leg_socket * scale:
        return Fillet(2 * area / leg_socket, leg_socket)
    return Fillet(case.leg_pipe * scale, leg_socket)


def fillets(case: Case) -> tuple[Fillet, ...]:
    """Fillet before pass 1 (none) and after each pass, (passes + 1,)."""
    total, found = 0.0, [Fillet(0.0, 0.0)]
    for area in bead_areas(case):
        total += area
        found.append(fillet_of_area(case, total))
    return tuple(found)


def leg_room(case: Case) -> float:
    """Longest leg the socket face can carry, from the root [m]; inf without an edge."""
    socket = [b.r_out for b in case.fitting.boxes if b.z_start == 0.0]
    return max(socket, default=inf) - case.pipe.outside_diameter / 2
