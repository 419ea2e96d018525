"""What a new case needs: the questions, what is usual, and what may be answered.

Nothing here asks or prints: the program hands in what it was given and how to ask.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from ..joint.fittings import FLANGE_CLASS, KINDS, SOCKET_CLASS
from ..joint.held import NOTHING as NOTHING_HOLDS
from ..joint.held import ways, ways_of_pipe
from ..physics import metals as materials
from ..text.errors import CatalogueError, about, unknown
from ..text.kinds import SI, US, UnitSystem
from ..text.units import UnitError, parse
from ..trade import pipes as catalogue
from ..trade.practice import STAINLESS, interpass_limit
from .defaults import DISSIMILAR_FILLER, MATCHING_FILLER
from .draft import shown_range
from .keys import NO_FITTING, TABLES

Answers = Mapping[str, str]
AMPS_PER_METRE = 20e3  # A per m of wall: common practice
AMPS_MIN, AMPS_MAX = 50.0, 95.0  # A, what small pipe takes by hand: common practice
SCHEDULE_PREFERRED = "80"
_TRAVEL = {SI: "60 mm/min", US: "2.4 in/min"}
_TURN = "rev/min"
LONG = "long"
PASSES_MAX = 12
TITLE_LONGEST = 100
NOTHING = "none"
BARE = NO_FITTING[1]


@dataclass(frozen=True)
class Question:
    """One thing a case needs: how it is asked, its default, and what may be said."""

    name: str
    words: str
    default: Callable[[Answers], str]  # of the answers so far; empty: must be given
    clean: Callable[[str, Answers], str]  # answer as the case has it, or ThermoError
    bare: str | None = (
        ""  # how it is asked of a bare pipe: None, not at all; "", the same
    )

    def asked(self, so_far: Answers) -> str:
        """Return how it is asked of this joint; "" where it is not."""
        if so_far.get("kind") not in NO_FITTING:
            return self.words
        return self.words if self.bare == "" else self.bare or ""


def _size(text: str, _: Answers) -> str:
    return f"NPS {catalogue.nominal_size(text)}"


def _schedule(text: str, so_far: Answers) -> str:
    return catalogue.pipe(so_far["size"], text).schedule


def _usual_schedule(so_far: Answers) -> str:
    stainless = materials.material(so_far["material"]).family in STAINLESS
    return f"{SCHEDULE_PREFERRED}S" if stainless else SCHEDULE_PREFERRED


def _metal(text: str, _: Answers) -> str:
    return materials.material(text).name


def _kind(text: str, _: Answers) -> str:
    told = BARE if text.lower() in (*NO_FITTING, "bare") else text.lower()
    if told not in offered_kinds():
        error = unknown("fitting kind", text, offered_kinds())
        raise error
    return told


def offered_kinds() -> tuple[str, ...]:
    """Kinds of fitting that a table has the sizes of, and the pipe without any."""
    return (*(kind for kind in KINDS if kind != "sleeve"), BARE)


def _usual_class(so_far: Answers) -> str:
    return str(FLANGE_CLASS if so_far["kind"] == "flange" else SOCKET_CLASS)


def _class(text: str, so_far: Answers) -> str:
    number = _whole(text, "class")
    table = catalogue.flange if so_far["kind"] == "flange" else catalogue.socket
    return str(table(so_far["size"], number).pressure_class)


def _whole(text: str, what: str) -> int:
    if not text.strip().isdecimal() or len(text) > 6:
        msg = f"{what} '{text}' is not a whole number"
        raise CatalogueError(msg)
    return int(text)


def _usual_filler(so_far: Answers) -> str:
    pipe, fitting = (
        materials.material(so_far[k]) for k in ("material", "fitting_material")
    )
    if pipe.name == fitting.name:
        return MATCHING_FILLER.get(pipe.name, "")
    return DISSIMILAR_FILLER.get(frozenset({pipe.family, fitting.family}), "")


def _filler(text: str, _: Answers) -> str:
    return materials.filler(text).name


def _passes(text: str, _: Answers) -> str:
    number = _whole(text, "passes")
    if not 1 <= number <= PASSES_MAX:
        msg = f"passes {number}"
        raise CatalogueError(msg, f"expected 1 to {PASSES_MAX}")
    return str(number)


def _usual_current(so_far: Answers) -> str:
    wall = catalogue.pipe(so_far["size"], so_far["schedule"]).wall
    amps = min(max(AMPS_PER_METRE * wall, AMPS_MIN), AMPS_MAX)
    return f"{5 * round(amps / 5):g} A"


def _current(text: str, _: Answers) -> str:
    return _quantity(text, "pass", "current")


def _travel(text: str, _: Answers) -> str:
    """Speed of the torch along the joint, or how fast the pipe turns under it."""
    if is_turn(text):
        return _quantity(text, "pass", "turn")
    return _quantity(text, "pass", "travel")


def is_turn(text: str) -> bool:
    """Whether a travel is told by the turning of the pipe.

    Examples
    --------
    >>> is_turn("0.85 rev/min"), is_turn("60 mm/min"), is_turn("60")
    (True, False, False)
    """
    try:
        parse(text, "rotation")
    except UnitError:
        return False
    return True


def _length(text: str, _: Answers) -> str:
    if text.strip().lower() == LONG:
        return LONG
    return _quantity(text, "pipe", "length")


def _quantity(text: str, table: str, name: str) -> str:
    """Quantity as written, in the range of its key.

    A bare number is amps where amps are asked for; 350 may be degC or degF, and is refused.
    """
    key = TABLES[table][name]
    text = text.strip()
    if key.kind == "current" and _is_bare(text):
        text = f"{text} A"
    value = parse(text, key.kind)
    low, high = parse(key.low, key.kind), parse(key.high, key.kind)
    if not low * (1 - 1e-12) <= value <= high * (1 + 1e-12):  # but for round-off
        allowed = f"allowed: {shown_range(key, key.kind, text)}"
        msg = f"{name} '{text}' is out of range"
        raise CatalogueError(msg, allowed)
    return text


def _is_bare(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _usual_limit(so_far: Answers) -> str:
    """Whether the customary limit will do; empty where there is none for a metal."""
    try:
        for key in ("material", "fitting_material"):
            interpass_limit(materials.material(so_far[key]))
    except CatalogueError:
        return ""
    return NOTHING


def _limit(text: str, _: Answers) -> str:
    if text == NOTHING:
        return text
    return _quantity(text, "limits", "interpass_max")


def _held(text: str, so_far: Answers) -> str:
    told = text.strip().lower().replace("vise", "vice")
    known = ways_of_pipe() if so_far.get("kind") == BARE else ways()
    if told not in known:
        error = unknown("way of holding the piece", text, known)
        raise error
    return told


def _title(text: str, _: Answers) -> str:
    if not text.strip() or not text.isprintable() or len(text) > TITLE_LONGEST:
        msg = "this is no title" if text.strip() else "a title is needed"
        raise CatalogueError(msg, f"give 1 to {TITLE_LONGEST} characters on one line")
    return text.strip()


def _usual_title(so_far: Answers) -> str:
    if so_far["kind"] == BARE:
        return f"Bead round {so_far['size']} pipe"
    return f"{so_far['size']} pipe into a {so_far['kind']}"


def questions(units: UnitSystem = SI) -> tuple[Question, ...]:
    """Return the questions in the order they are asked, examples and usual in ``units``.

    A default may build on the answers before it.
    """
    hot, far = ("350 degF", "3 in") if units is US else ("175 degC", "75 mm")
    return (
        Question("size", "Pipe size, like NPS 3/4 or DN 20", lambda _: "", _size),
        Question("material", "Metal of the pipe, like 316L", lambda _: "", _metal),
        Question("schedule", "Schedule of the pipe", _usual_schedule, _schedule),
        Question(
            "kind",
            f"Fitting ({', '.join(offered_kinds())})",
            lambda _: "coupling",
            _kind,
        ),
        Question(
            "length",
            f"Pipe outside the socket, like {far}; long where it ends far away",
            lambda _: LONG,
            _length,
            f"Pipe from the bead to its end, like {far}; long where it ends far away",
        ),
        Question("class", "Class of the fitting", _usual_class, _class, None),
        Question(
            "fitting_material",
            "Metal of the fitting",
            lambda a: a["material"],
            _metal,
            None,
        ),
        Question("filler", "Filler", _usual_filler, _filler, None),
        Question("passes", "Number of passes", lambda _: "2", _passes),
        Question("amps", "Current of every pass", _usual_current, _current),
        Question(
            "travel",
            f"Travel along the joint, or turning of the pipe, like 0.85 {_TURN}",
            lambda _: _TRAVEL[units],
            _travel,
        ),
        Question(
            "interpass",
            f"Interpass maximum, like {hot}; none for what is customary",
            _usual_limit,
            _limit,
        ),
        Question(
            "held",
            f"What holds the piece while it is welded ({', '.join(ways())})",
            lambda _: NOTHING_HOLDS,
            _held,
            f"What holds the pipe while it is welded ({', '.join(ways_of_pipe())})",
        ),
        Question("title", "Title", _usual_title, _title),
    )


QUESTIONS = questions()
REQUIRED = ("size", "material")
"""Without these nothing can be taken as usual."""

BUILT_ON = (*REQUIRED, "schedule", "kind", "fitting_material")
"""Answers that what is usual for others builds on."""


def option(name: str) -> str:
    """Return the option of the command line that answers a question.

    Examples
    --------
    >>> option("fitting_material")
    '--fitting-material'
    """
    return f"--{name.replace('_', '-')}"


def travel_given(travel: str, turn: str) -> str:
    """Return the one answer to how the torch travels, from its two options.

    Raises
    ------
    CatalogueError
        Both are given, or the turning cannot be used.
    """
    if not turn:
        return travel
    if travel:
        msg = "--travel and --turn exclude one another"
        raise CatalogueError(msg, "give one of the two")
    try:
        return _quantity(turn, "pass", "turn")
    except (CatalogueError, UnitError) as error:
        raise CatalogueError(*about("--turn", error)) from None


def answers_from(given: Answers, units: UnitSystem = SI) -> dict[str, str]:
    """Return every answer: those given, checked, and the usual for the others.

    Parameters
    ----------
    given : mapping of str
        Answers by name of the question.
    units : UnitSystem
        Of what is usual.

    Raises
    ------
    CatalogueError
        Something that cannot be left out is missing, or an answer is wrong; the message
        names the option.

    Examples
    --------
    >>> found = answers_from({"size": "DN 20", "material": "TP316L"})
    >>> found["size"], found["schedule"], found["class"], found["filler"], found["amps"]
    ('NPS 3/4', '80S', '3000', 'ER316L', '80 A')
    """
    missing = [option(name) for name in REQUIRED if not given.get(name)]
    if missing:
        others = ", ".join(option(q.name) for q in QUESTIONS if q.name not in REQUIRED)
        msg = f"a new case needs {' and '.join(missing)}"
        remedy = "give them, or start it on a terminal to be asked"
        raise CatalogueError(msg, f"{remedy}. What is usual is taken for {others}")
    found: dict[str, str] = {}
    for question in questions(units):
        answer = given.get(question.name)
        if not question.asked(found):
            found[question.name] = not_asked(question, answer, found)
            continue
        answer = answer or question.default(found)
        if not answer:
            msg = f"{option(question.name)} is needed"
            raise CatalogueError(msg, "nothing is usual for these metals")
        found[question.name] = checked(question, answer, found)
    return found


def not_asked(question: Question, answer: str | None, so_far: Answers) -> str:
    """Return what stands for the answer to a question that a bare pipe has no use for.

    Raises
    ------
    CatalogueError
        It was answered all the same.
    """
    if answer:
        msg = f"{option(question.name)} does not go with a bare pipe"
        raise CatalogueError(msg, "leave it out")
    return so_far["material"] if question.name == "fitting_material" else ""


def checked(question: Question, answer: str, so_far: Answers) -> str:
    """Return a usable answer; CatalogueError names the option it was given by."""
    try:
        return question.clean(answer, so_far)
    except (CatalogueError, UnitError) as error:
        raise CatalogueError(*about(option(question.name), error)) from None
