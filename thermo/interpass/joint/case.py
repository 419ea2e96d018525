"""The joint, its passes and its surroundings: plain data in SI units.

Lengths in m, temperatures in K, angles in rad, times in s; nothing here computes.
Origin: the pipe axis is r = 0; z = 0 is the socket face, positive into the fitting,
so the pipe outside the socket has z < 0. Angle 0 is where pass 1 starts.
"""

from dataclasses import dataclass, field
from math import isfinite, nan
from pathlib import Path

from ..physics.metals import Material


@dataclass(frozen=True)
class Box:
    """A ring of rectangular section, part of a fitting."""

    r_in: float
    r_out: float
    z_start: float
    z_end: float


@dataclass(frozen=True)
class Pipe:
    """The pipe that enters the socket."""

    outside_diameter: float
    wall: float
    length: float  # outside the socket, from the socket face; inf is "long"
    material: Material
    far_end: str = "air"  # or "insulated"
    size: str = ""  # "NPS 3/4", empty when given by diameter and wall
    schedule: str = ""


@dataclass(frozen=True)
class Fitting:
    """The socket and what follows it, as rings of rectangular section.

    ``boxes`` tile the metal without overlap. ``length`` runs from the socket face.
    """

    kind: str
    socket_bore: float
    socket_wall: float
    socket_depth: float
    body_bore: float
    length: float  # inf is "long"
    boxes: tuple[Box, ...]  # none on a bare pipe, kind "none"
    material: Material
    far_end: str = "air"  # or "insulated"
    pressure_class: int | None = None
    equivalent: str = ""  # how the kind was turned into rings, one sentence


@dataclass(frozen=True)
class Wire:
    """Filler wire fed by hand or by machine."""

    diameter: float
    feed: float  # m/s


@dataclass(frozen=True)
class Segment:
    """A stretch of the ring welded without a stop."""

    start_angle: float
    end_angle: float
    pause: float = 0.0  # before this segment


@dataclass(frozen=True)
class Settings:
    """What the welder sets and the heat model does not need; None where not said."""

    cup: str | None = None  # number of the gas cup, "8"
    stick_out: float | None = None  # m of tungsten beyond the cup
    gas_flow: float | None = None  # m³/s of shielding gas at 20 degC, 1 atm
    purge_flow: float | None = None  # m³/s of purge gas
    technique: str | None = None  # a word or two: "stringer", "walk the cup"


@dataclass(frozen=True)
class Pass:
    """One pass: its arc, its travel, its metal and the wait before it."""

    number: int
    current: float  # A; nan when net_power is given
    voltage: float  # V; nan when net_power is given
    efficiency: float  # arc power into the metal / arc power
    net_power: float  # W into the metal
    arc_time: float  # s for the whole ring, pauses not counted
    travel: float  # m/s along the toe circle of the pipe
    deposit: float | None  # m² of section; None: its share of the leg wanted
    wire: Wire | None
    wait: float | None  # s before this pass; None is "auto"
    start_angle: float = 0.0
    direction: int = 1  # +1 counter-clockwise seen from +z
    overlap: float = 0.0  # rad of tie-in beyond the closed ring
    segments: tuple[Segment, ...] = ()
    source_spread: float | None = None  # m, standard deviation along the path
    tungsten: float | None = None  # m, diameter of the electrode
    settings: Settings = field(default_factory=Settings)

    @property
    def has_current(self) -> bool:
        """Whether amps and volts are known, not the net power alone."""
        return isfinite(self.current)


@dataclass(frozen=True)
class Watch:
    """A point with a limit of its own, such as a soft seat."""

    name: str
    r: float
    z: float
    temperature_max: float


@dataclass(frozen=True)
class Examination:
    """Something done to the finished joint that waits for it to be cool enough."""

    name: str
    temperature_max: float


@dataclass(frozen=True)
class Limits:
    """What must hold, and who says so."""

    interpass_max: float
    interpass_max_source: str
    interpass_max_standing: str
    interpass_min: float | None
    preheat_min: float
    preheat_min_source: str
    watch: tuple[Watch, ...] = ()
    wait_max: float = 3600.0
    rules: str = ""  # names of rule sets or files, comma between; empty is the default
    heat_input_min: float | None = None  # J/m, with the standard's k
    heat_input_max: float | None = None
    arc_energy_min: float | None = None  # J/m, U I / v
    arc_energy_max: float | None = None
    examine: tuple[Examination, ...] = ()
    applies_to: str = "hottest metal"  # or "reading": what interpass_max is said of

    @property
    def by_reading(self) -> bool:
        """Whether the reading at the marked place decides, not the hottest metal."""
        return self.applies_to == "reading"


@dataclass(frozen=True)
class Holding:
    """A chuck, vice or chill block in contact with the outside."""

    on: str  # "pipe" or "fitting"
    from_face: float  # m from the socket face to the near edge, along the part
    length: float
    conductance: float  # W/m²/K to metal at air temperature, where it touches
    share: float = 1.0  # of the girth that it touches; the rest is open to the air
    by: str = ""  # "chuck"; empty where only numbers are given


@dataclass(frozen=True)
class Surroundings:
    """Air, posture, fan, bore and what holds the piece."""

    air: float
    start: float  # temperature of the piece before pass 1
    axis: str = "horizontal"  # or "vertical"
    fan: float = 0.0  # m/s across the joint
    fan_during: str = "always"  # or "waits"
    bore: str = "still air"  # "open", "argon purge", "insulated"
    purge_flow: float = 0.0  # m³/s at 20 degC, 1 atm
    emissivity: float = 0.5
    film_coefficient: float | None = None  # W/m²/K instead of the correlations
    holding: Holding | None = None
    holding_is_said: bool = False  # None above is "nothing", not a silence
    film_factor: float = 1.0  # times the convection outside, as readings taught


@dataclass(frozen=True)
class Probe:
    """A place whose temperature the user wants to follow."""

    name: str
    r: float
    z: float
    angle: float = 0.0


@dataclass(frozen=True)
class Measure:
    """Where readings are taken."""

    on: str = "pipe"  # or "fitting"
    from_toe: float | None = 5.0e-3  # m along the surface; None is ISO 13916's 4 t
    angle: float = 0.0


@dataclass(frozen=True)
class ModelOptions:
    """How finely the heat is computed."""

    cell: float = 1.0e-3
    ring: int = 48  # cells round the ring; 1 is axisymmetric
    tolerance: float = 0.3  # K of predictor error per step
    end_after: float = 600.0  # s followed after the last arc off
    bead: str = "at once"  # or "behind the arc": when the metal of a pass appears


@dataclass(frozen=True)
class Assumption:
    """One number a run used, and where it came from."""

    key: str  # "arc.efficiency"
    value: str  # "0.75" or "11 V", as a user would write it
    source: str
    standing: str  # "given", "published", "from memory", "common practice", "computed"


@dataclass(frozen=True)
class Doubt:
    """How far one number of the case may be off, in the user's judgement."""

    key: str  # "arc.efficiency"
    low: float  # SI
    high: float


@dataclass(frozen=True)
class Case:
    """Everything one run needs."""

    title: str
    pipe: Pipe
    fitting: Fitting
    end_gap: float
    leg_pipe: float
    leg_socket: float
    leg_rule: str  # "code", "given", "lip": out to the edge of the socket face
    filler: Material
    filler_name: str
    clearance_conductance: float | None
    metal_in_place: bool
    process: str
    position: str  # "rotated" or "fixed"
    passes: tuple[Pass, ...]
    limits: Limits
    surroundings: Surroundings
    probes: tuple[Probe, ...] = ()
    model: ModelOptions = field(default_factory=ModelOptions)
    assumptions: tuple[Assumption, ...] = ()
    file: str = ""
    doubt: tuple[Doubt, ...] = ()
    measure: Measure = field(default_factory=Measure)
    clearance_factor: float = 1.0  # times the clearance conductance, as readings taught
    leg_code: float = nan  # m, least leg of the code for this joint
    units: str = "si"  # or "us": what most of the file is written in
    report_units: str = ""  # what [report] units asks for
    band: float = 0.0  # m along a bare pipe that the arc heats; its legs are half of it
    band_depth: float = 0.0  # m below the outside

    @property
    def stem(self) -> str:
        """What files about it are named by: its file's name, without folder and ending."""
        return Path(self.file).stem or "case"

    @property
    def is_bare(self) -> bool:
        """Whether there is no fitting: a bare pipe, z = 0 in the middle of its band."""
        return self.fitting.kind == "none"

    @property
    def clearance(self) -> float:
        """Radial clearance between pipe and socket [m]."""
        return (self.fitting.socket_bore - self.pipe.outside_diameter) / 2
