"""Each kind of fitting as rings one after another from its socket face.

The socket has the average wall of B16.11, not the minimum: the standard lets the wall
fall to the minimum in spots only, so the average is what the ring has to heat. The body
has the minimum wall, the only one the standard gives: a real body is as heavy or heavier
and cools the joint as much or more.
"""

from math import inf, pi, sqrt
from typing import NamedTuple

from .catalogue import SocketRow, elbow_cap, flange
from .joint import Box


class Ring(NamedTuple):
    """Inner and outer radius of a tube [m]."""

    r_in: float
    r_out: float


class Train(NamedTuple):
    """Rings one after another from the socket face, each with its length [m]."""

    own: tuple[tuple[Ring, float], ...]  # the fitting by itself
    onward: tuple[tuple[Ring, float], ...]  # with what follows it, where anything does
    ends_long: bool  # whether anything follows when it is "long"
    words: str  # the fitting as rings
    onward_words: str  # what follows


def doubled(ring: Ring) -> Ring:
    """Return the tube of the same bore and twice the section."""
    return Ring(ring.r_in, sqrt(2 * ring.r_out**2 - ring.r_in**2))


def far_socket(
    row: SocketRow, tube: Ring, twice: bool = False
) -> tuple[tuple[tuple[Ring, float], ...], tuple[tuple[Ring, float], ...]]:
    """Return the far socket empty, and with a pipe in it that goes on without end.

    The second joint is solid in the latter: its clearance is left out, for it is too far
    from the arc to matter.
    """
    shell = Ring(row.bore / 2, row.bore / 2 + row.wall)
    filled = Ring(tube.r_in, shell.r_out)
    if twice:
        shell, filled, tube = doubled(shell), doubled(filled), doubled(tube)
    return ((shell, row.depth),), ((filled, row.depth), (tube, inf))


def coupling_train(row: SocketRow, tube: Ring) -> Train:
    """Socket, stop and second socket, all of one outside diameter."""
    shell = Ring(row.bore / 2, row.bore / 2 + row.wall)
    stop = Ring(row.body_bore / 2, shell.r_out)
    head = ((shell, row.depth), (stop, row.coupling_gap))
    empty, filled = far_socket(row, tube)
    return Train(
        head + empty,
        head + filled,
        ends_long=True,
        words="a bar with a socket in either end, as it is",
        onward_words="a pipe of the same size goes on from the second socket",
    )


def half_coupling_train(row: SocketRow, _tube: Ring) -> Train:
    """Socket and the body to the far end."""
    shell = Ring(row.bore / 2, row.bore / 2 + row.wall)
    body = Ring(row.body_bore / 2, shell.r_out)
    return Train(
        ((shell, row.depth), (body, row.half_coupling)),
        ((shell, row.depth), (body, inf)),
        ends_long=True,
        words="a bar with a socket in one end, as it is",
        onward_words="its body goes on",
    )


def cap_train(row: SocketRow, _tube: Ring) -> Train:
    """Socket and a solid end."""
    end = elbow_cap(row.size, row.pressure_class).cap_end
    shell = Ring(row.bore / 2, row.bore / 2 + row.wall)
    disc = Ring(0.0, shell.r_out)
    return Train(
        ((shell, row.depth), (disc, end)),
        ((shell, row.depth), (disc, inf)),
        ends_long=False,
        words=f"socket and a solid end of {1e3 * end:g} mm (end wall from memory)",
        onward_words="its end is thicker",
    )


def elbow_train(row: SocketRow, tube: Ring) -> Train:
    """Elbow pulled straight along its centreline."""
    middle = 2 * elbow_cap(row.size, row.pressure_class).centre_to_bottom
    shell, shoulder, body = socket_rings(row)
    step = row.body_wall
    head = (
        (shell, row.depth),
        (shoulder, step),
        (body, middle - 2 * step),
        (shoulder, step),
    )
    empty, filled = far_socket(row, tube)
    return Train(
        head + empty,
        head + filled,
        ends_long=True,
        words=(
            "pulled straight: between the sockets a body of twice the centre to socket "
            "bottom, of minimum wall, with a shoulder of one wall at each socket"
        ),
        onward_words="a pipe of the same size goes on from the second socket",
    )


def tee_train(row: SocketRow, tube: Ring) -> Train:
    """Tee welded at one socket: past the middle its other two arms lie side by side."""
    reach = elbow_cap(row.size, row.pressure_class).centre_to_bottom
    shell, shoulder, body = socket_rings(row)
    step = row.body_wall
    head = (
        (shell, row.depth),
        (shoulder, step),
        (body, reach - step),
        (doubled(body), reach - step),
        (doubled(shoulder), step),
    )
    empty, filled = far_socket(row, tube, twice=True)
    return Train(
        head + empty,
        head + filled,
        ends_long=True,
        words=(
            "one arm as it is (minimum wall, a shoulder of one wall at the socket); past "
            "the middle the two other arms as one tube of the same bore and twice the "
            "section, so their outer surface is understated"
        ),
        onward_words="two pipes of the same size go on, as one of twice the section",
    )


def socket_rings(row: SocketRow) -> tuple[Ring, Ring, Ring]:
    """Socket, shoulder behind it and body of a forged elbow or tee."""
    shell = Ring(row.bore / 2, row.bore / 2 + row.wall)
    shoulder = Ring(row.body_bore / 2, shell.r_out)
    body = Ring(row.body_bore / 2, row.body_bore / 2 + row.body_wall)
    return shell, shoulder, body


TRAINS = {
    "coupling": coupling_train,
    "half coupling": half_coupling_train,
    "cap": cap_train,
    "elbow": elbow_train,
    "tee": tee_train,
}


def flange_train(size: str, pressure_class: int) -> Train:
    """Hub, disc and raised face, the bolt holes taken off the disc's rim."""
    row = flange(size, pressure_class)
    rim = sqrt(row.outside_diameter**2 - row.bolts * row.bolt_hole**2) / 2
    hub = row.length - row.thickness - row.raised_face
    face = Ring(row.body_bore / 2, row.raised_face_diameter / 2)
    head = (
        (Ring(row.bore / 2, row.hub_diameter / 2), hub),
        (Ring(row.bore / 2, rim), row.depth - hub),
        (Ring(row.body_bore / 2, rim), hub + row.thickness - row.depth),
    )
    return Train(
        (*head, (face, row.raised_face)),
        (*head, (face, inf)),
        ends_long=False,
        words=(
            "straight hub, disc and raised face (disc from memory); the disc's outside "
            "is drawn in by as much as its bolt holes take away; what is bolted to it "
            "is left out, a gasket conducts little"
        ),
        onward_words="metal as wide as its raised face goes on",
    )


def boxes_of(train: tuple[tuple[Ring, float], ...], length: float) -> tuple[Box, ...]:
    """Return the rings of a train as boxes, cut off at a length."""
    boxes, z = [], 0.0
    for ring, extent in train:
        if z < length and extent > 0:
            boxes.append(Box(ring.r_in, ring.r_out, z, min(z + extent, length)))
        z += extent
    return tuple(boxes)


def train_length(train: tuple[tuple[Ring, float], ...]) -> float:
    """Length of a train [m]."""
    return sum(extent for _, extent in train)


def metal_volume(boxes: tuple[Box, ...]) -> float:
    """Volume of the rings [m³]; inf when one of them is long.

    Examples
    --------
    >>> round(metal_volume((Box(0.0, 1.0, 0.0, 1.0),)), 6)
    3.141593
    """
    return sum(
        pi * (box.r_out**2 - box.r_in**2) * (box.z_end - box.z_start) for box in boxes
    )
