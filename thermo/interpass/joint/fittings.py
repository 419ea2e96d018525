"""Fittings of the catalogue, sleeves, and what stands for one on a bare pipe.

Each is rings one after another from its socket face, and says in one sentence how it was
turned into them.

The socket has the average wall of B16.11, not the minimum: the standard lets the wall
fall to the minimum in spots only, so the average is what the ring has to heat. The body
has the minimum wall, the only one the standard gives: a real body is as heavy or heavier
and cools the joint as much or more.
"""

from math import inf, sqrt
from typing import NamedTuple

from ..physics.metals import Material
from ..text.errors import CatalogueError, unknown
from ..trade.pipes import FlangeRow, SocketRow, elbow_cap, flange, pipe, socket
from .case import Box, Fitting, Pipe

KINDS = ("coupling", "half coupling", "cap", "elbow", "tee", "flange", "sleeve")
SOCKET_CLASS = 3000
FLANGE_CLASS = 150


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


def cut_to_length(
    train: Train, length: float | None
) -> tuple[tuple[Box, ...], float, str]:
    """Return boxes, length and words of a train as long as asked for.

    None is the fitting's own length. Shorter cuts it off; longer, or inf, goes on into
    what follows it.
    """
    own = train_length(train.own)
    if length is None or (length == inf and not train.ends_long):
        length = own
    goes_on = length > own * (1 + 1e-9)
    boxes = boxes_of(train.onward if goes_on else train.own, length)
    words = train.words
    if goes_on:
        words += f"; {train.onward_words}, in the fitting's material"
    elif length < own * (1 - 1e-9):
        words += f"; cut off at {1e3 * length:g} mm"
    return boxes, length, words


def continuing_pipe(
    row: SocketRow, outside_diameter: float | None, wall: float | None
) -> Ring:
    """Pipe that goes on from the far socket; the rating wall unless one is given."""
    outside = outside_diameter or pipe(row.size, "40").outside_diameter
    wall = wall or row.body_wall
    if not 0 < wall < outside / 2:
        half = f"half of the outside diameter {1e3 * outside:g} mm"
        msg = f"pipe wall {1e3 * wall:g} mm"
        raise CatalogueError(msg, f"expected above 0, below {half}")
    return Ring(outside / 2 - wall, outside / 2)


def make_fitting(
    kind: str,
    material: Material,
    size: str,
    pressure_class: int | None = None,
    length: float | None = None,
    pipe_outside_diameter: float | None = None,
    pipe_wall: float | None = None,
    far_end: str = "air",
) -> Fitting:
    """Return a fitting of the catalogue, as rings from its socket face on.

    Parameters
    ----------
    kind : str
        coupling, half coupling, cap, elbow, tee or flange; the socket wall of a flange
        is its hub's.
    material : Material
        Of all of it.
    size : str
        NPS or DN, see ``pipes.nominal_size``.
    pressure_class : int, optional
        3000, 6000 or 9000, for a flange 150; 3000 or 150 when left out.
    length : float, optional
        From the socket face [m]; None is the fitting's own, inf is "long". What follows
        a coupling, elbow or tee is pipe from the far socket, what follows a half coupling
        is its body; nothing follows a cap or a flange. A long last box ends at inf.
    pipe_outside_diameter, pipe_wall : float, optional
        Of the pipe that goes on [m]; the wall the class is rated by when left out.
    far_end : str
        "air" or "insulated".

    Raises
    ------
    CatalogueError
        Unknown kind, size or class; a pipe wall that leaves no bore.

    Examples
    --------
    >>> from interpass.physics.metals import material
    >>> fitting = make_fitting("coupling", material("316L"), "NPS 1/2", 3000)
    >>> round(1e3 * fitting.length, 1), len(fitting.boxes)  # two sockets and the stop
    (28.5, 3)
    """
    row: SocketRow | FlangeRow
    if kind == "flange":
        row = flange(size, pressure_class or FLANGE_CLASS)
        train = flange_train(row)
    else:
        row = socket(size, pressure_class or SOCKET_CLASS)
        tube = continuing_pipe(row, pipe_outside_diameter, pipe_wall)
        train = train_of(kind, row, tube)
    boxes, length, words = cut_to_length(train, length)
    return Fitting(
        kind=kind,
        socket_bore=row.bore,
        socket_wall=row.wall,
        socket_depth=row.depth,
        body_bore=0.0 if kind == "cap" else row.body_bore,
        length=length,
        boxes=boxes,
        material=material,
        far_end=far_end,
        pressure_class=row.pressure_class,
        equivalent=words,
    )


def no_fitting(pipe: Pipe, length: float, far_end: str = "air") -> Fitting:
    """Return what stands for the fitting of a bare pipe: the pipe itself, going on.

    ``length`` is from the middle of the heated band to the other end [m]; inf is "long".
    """
    return Fitting(
        kind="none",
        socket_bore=pipe.outside_diameter,
        socket_wall=pipe.wall,
        socket_depth=0.0,
        body_bore=pipe.outside_diameter - 2 * pipe.wall,
        length=length,
        boxes=(),
        material=pipe.material,
        far_end=far_end,
        equivalent="no fitting: the pipe goes on, all of its outside open to the air",
    )


def make_sleeve(
    material: Material,
    socket_bore: float,
    outside_diameter: float,
    socket_depth: float,
    body_bore: float,
    length: float,
    far_end: str = "air",
) -> Fitting:
    """Return a turned sleeve: a socket in a bar of one outside diameter.

    Parameters
    ----------
    socket_bore, outside_diameter, body_bore : float
        Diameters of socket, bar and the hole behind the socket, 0 for none [m].
        The body must stop the pipe, the bar hold the socket; the reader of case files
        sees to both.
    socket_depth, length : float
        From the socket face [m]; length inf is "long".

    Examples
    --------
    >>> from interpass.physics.metals import material
    >>> sleeve = make_sleeve(material("316L"), 0.0272, 0.037, 0.0125, 0.021, 0.05)
    >>> [round(1e3 * box.r_in, 1) for box in sleeve.boxes]
    [13.6, 10.5]
    """
    rings = (
        Ring(socket_bore / 2, outside_diameter / 2),
        Ring(body_bore / 2, outside_diameter / 2),
    )
    boxes = boxes_of(((rings[0], socket_depth), (rings[1], inf)), length)
    return Fitting(
        kind="sleeve",
        socket_bore=socket_bore,
        socket_wall=(outside_diameter - socket_bore) / 2,
        socket_depth=socket_depth,
        body_bore=body_bore,
        length=length,
        boxes=boxes,
        material=material,
        far_end=far_end,
        equivalent="as given: a bar of one outside diameter with a socket in its end",
    )


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


def train_of(kind: str, row: SocketRow, tube: Ring) -> Train:
    """Rings of a kind of fitting with the tube that goes on; CatalogueError for no kind."""
    if kind not in TRAINS:
        raise unknown(what="fitting kind", value=kind, known=KINDS)
    return TRAINS[kind](row, tube)


def flange_train(row: FlangeRow) -> Train:
    """Hub, disc and raised face, the bolt holes taken off the disc's rim."""
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
