"""How the fillet grows pass by pass: nested triangles from the root outward."""

from dataclasses import dataclass
from math import ceil, hypot, inf, sqrt

from .case import Case, Pass


@dataclass(frozen=True)
class Fillet:
    """Legs along the pipe and along the socket face, from the root [m]."""

    leg_pipe: float
    leg_socket: float

    @property
    def area(self) -> float:
        """Section area [m²]."""
        return self.leg_pipe * self.leg_socket / 2


def bead_areas(case: Case) -> tuple[float, ...]:
    """Section area each pass adds [m²].

    A pass with wire or a deposit brings its own; the others share what is then missing
    from the leg wanted, equally. A deposit that already fills the leg leaves them nothing.
    """
    if case.is_bare:
        return (0.0,) * len(case.passes)
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


def legs_after(case: Case, p: Pass) -> tuple[float, float]:
    """Leg on the pipe and on the socket once a pass is done [m]."""
    if case.metal_in_place:
        return case.leg_pipe, case.leg_socket
    fillet = fillets(case)[p.number]
    return fillet.leg_pipe, fillet.leg_socket


def throat(leg_pipe: float, leg_socket: float) -> float:
    """Height of the fillet's triangle over its face [m]; 0.707 x leg where both are equal.

    Examples
    --------
    >>> round(throat(5.0, 5.0), 4), throat(4.0, 3.0), throat(0.0, 0.0)
    (3.5355, 2.4, 0.0)
    """
    face = hypot(leg_pipe, leg_socket)
    return leg_pipe * leg_socket / face if face > 0.0 else 0.0


def legs_built(case: Case) -> tuple[float, float]:
    """Legs along pipe and face that the deposit of all passes builds [m].

    The asked ones where the metal is in place from the start. Metal that fills the
    clearance or melts into the parts is not taken off.
    """
    if case.metal_in_place:
        return case.leg_pipe, case.leg_socket
    last = fillets(case)[-1]
    return last.leg_pipe, last.leg_socket


@dataclass(frozen=True)
class OverCode:
    """What a fillet out to the edge of the socket face asks, over the code's least leg.

    Passes are of the metal one pass of the case lays; heat and arc time are those of a
    mean pass of the case.
    """

    area: float  # m² of section
    area_code: float
    passes: int
    passes_code: int
    heat_more: float  # J into the metal
    time_more: float  # s of arc


def over_code(case: Case) -> OverCode | None:
    """Cost of `leg = "lip"`; None for any other leg.

    A pass lays what its wire brings, or one share of the code's leg where none is given.
    """
    if case.leg_rule != "lip":
        return None
    area, area_code = case.leg_pipe * case.leg_socket / 2, case.leg_code**2 / 2
    given = [p.deposit for p in case.passes if p.deposit]
    bead = sum(given) / len(given) if given else area_code / len(case.passes)
    passes, passes_code = (max(ceil(a / bead - 1e-9), 1) for a in (area, area_code))
    more, count = passes - passes_code, len(case.passes)
    return OverCode(
        area=area,
        area_code=area_code,
        passes=passes,
        passes_code=passes_code,
        heat_more=more * sum(p.net_power * p.arc_time for p in case.passes) / count,
        time_more=more * sum(p.arc_time for p in case.passes) / count,
    )
