"""What the commands do, as functions; slow imports stand inside them.

A function takes a ``Case`` and gives one of ``answers``; many joints at once: `charting`.
"""

import logging
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..case_file.read import with_ring
from ..doubt.count import SAMPLES
from ..joint.case import Case
from ..text.errors import CatalogueError
from ..text.progress import Progress
from .answers import Checked, Fitted, FittedShop, Plan, Reviewed

if TYPE_CHECKING:
    from ..doubt.bands import Bands
    from ..heat.history import History
    from ..logs.log import Log
    from ..readings.reading import Reading
    from ..readings.shop import ReadJoint
    from ..remedies.trials import Helps

LOG = logging.getLogger("interpass")


def preparing() -> str:
    """Say that the solver is compiled first and where it is kept; "" once it is there."""
    from ..heat.cache import place, place_words
    from ..heat.solver import is_compiled

    if is_compiled():
        return ""
    return (
        "Preparing the solver, first run only, some 10 seconds "
        f"(kept {place_words(place())})."
    )


def announce(progress: Progress | None) -> None:
    """Tell that before it is waited for; who asked for progress has an ear for it.

    Others hear it as a warning of the logger ``interpass``, which Python writes to stderr
    where a script or notebook has not set up logging.
    """
    words = preparing()
    if words and progress is not None:
        progress(0.0, words)
    elif words:
        LOG.warning(words)


def plan(
    case: Case,
    *,
    quick: bool = False,
    ring: int | None = None,
    progress: Progress | None = None,
) -> Plan:
    """Plan the waits of a joint, how far they may be off, and what would shorten them.

    Parameters
    ----------
    case : Case
        As ``read_case`` or ``parse_case`` gives it.
    quick : bool
        The best estimate alone: no bands, nothing that would help.
    ring : int, optional
        Cells round the ring in place of the case's; 1 averages the arc round it.
    progress : callable, optional
        Told the share done and what is being done.

    Raises
    ------
    CaseError
        A file of rules that the case names has mistakes.
    RunError
        The run had to stop; its ``history`` is what there was until then.
    """
    from ..heat.waits import plan as run
    from ..rules.judge import sets_for

    if ring is not None:
        case = with_ring(case, ring)
    sets_for(case)  # mistakes in a file of rules are told before the run
    announce(progress)
    history = run(case, progress, frames=0.0)
    if quick:
        return Plan(case, history)
    found = bands_of(case, history, progress)
    return Plan(case, history, found, helps_of(case, history, progress, found))


def bands(of: Plan | Case, *, progress: Progress | None = None) -> "Bands | None":
    """Find how far a plan may be off, by plausible joints.

    Parameters
    ----------
    of : Plan or Case
        The best estimate; a case is planned first.

    Returns
    -------
    Bands or None
        ``passes`` with waits [s] and temperatures [K], and curves (n,) over ``time``;
        None when the run stopped early or nothing is in doubt.
    """
    known = of if isinstance(of, Plan) else plan(of, quick=True, progress=progress)
    return known.bands or bands_of(known.case, known.history, progress)


def bands_of(
    case: Case, history: "History", progress: Progress | None = None
) -> "Bands | None":
    """Bands of a run; None of one that did not get to its end, or without doubt."""
    if not history.complete or len(history.passes) < len(case.passes):
        return None
    from ..doubt.bands import find_bands
    from ..doubt.priors import priors

    return find_bands(case, history, progress) if priors(case) else None


def helps_of(
    case: Case,
    history: "History",
    progress: Progress | None = None,
    bands: "Bands | None" = None,
) -> "Helps | None":
    """Find what would shorten a plan; None where no pass was run."""
    from ..remedies.trials import find_helps

    return find_helps(case, history, progress, bands) if history.passes else None


def check(case: Case, rules: Sequence[str] = ()) -> Checked:
    """Judge a joint by rules, without heat.

    Parameters
    ----------
    case : Case
        The joint.
    rules : sequence of str
        Names of rule sets, "all", or files of rules; those of the case when left out.

    Raises
    ------
    CaseError
        A file of rules has mistakes.
    CatalogueError
        There is no such rule set.
    """
    from ..rules.judge import checks

    chosen = (rules,) if isinstance(rules, str) else tuple(rules)
    return Checked(case, chosen, tuple(checks(case, None, chosen)))


def fit(
    case: Case,
    readings: "str | Path | Sequence[Reading]",
    *,
    log: str | Path | None = None,
    logger: str | Path | None = None,
    samples: int = SAMPLES,
    progress: Progress | None = None,
) -> Fitted:
    """Fit what is not known exactly to readings, and plan again from there.

    Parameters
    ----------
    case : Case
        The joint.
    readings : path or sequence of Reading
        A CSV file, or the readings themselves.
    log : path, optional
        Log of the joint that was read, for its waits and its clock.
    logger : path, optional
        A logger's file of the same weld: time, and thermocouples at given places. It needs
        the log, as ``log`` or in place of the readings.
    samples : int
        Plausible joints; fewer are quicker.

    Raises
    ------
    CaseError
        A file has mistakes, or nothing that a fit could use.
    CatalogueError
        A logger's file without the log of its weld.
    RunError
        The run failed.
    """
    from ..readings.fit import fit as fit_case

    if logger is None:
        joint = readings_of(case, readings, log)
    else:
        told, read = logged_readings(case, readings, log)
        joint = _with_channels(case, told, read, logger)
    _warn([joint])
    announce(progress)
    found = fit_case(joint.case, joint.readings, progress=progress, samples=samples)
    return Fitted(joint.case, found)


def fit_shop(
    case: Case,
    files: Sequence[str | Path],
    *,
    samples: int = SAMPLES,
    progress: Progress | None = None,
) -> FittedShop:
    """Fit several joints of one kind and one shop, and plan the next of them.

    Parameters
    ----------
    case : Case
        The kind of joint, as planned.
    files : sequence of paths
        The log of each joint with its readings, or readings alone.
    samples : int
        Plausible joints; fewer are quicker.

    Raises
    ------
    CaseError
        A file has mistakes; those of all files are told.
    RunError
        The run failed.
    """
    from ..logs.joints import joints_of
    from ..readings.shop import fit_joints

    joints = joints_of(case, files)
    _warn(joints)
    announce(progress)
    return FittedShop(case, fit_joints(case, joints, progress=progress, samples=samples))


def _warn(joints: "Sequence[ReadJoint]") -> None:
    """Warn of what cannot be told from the times of a log alone; no answer holds it."""
    for joint in joints:
        for words in joint.remarks:
            LOG.warning("%s: %s", joint.file, words)


def readings_of(
    case: Case, readings: "str | Path | Sequence[Reading]", log: str | Path | None
) -> "ReadJoint":
    """Read the readings, and put a log into the case."""
    from ..logs.joints import joint_of, logged_joint
    from ..logs.log import by_clock, read_log
    from ..readings.file import read_readings
    from ..readings.shop import ReadJoint

    told = read_log(log, len(case.passes)) if log is not None else None
    if isinstance(readings, str | Path):
        if told is None:
            return joint_of(case, readings)
        readings = read_readings(readings, len(told.passes), by_clock(told))
    if told is None:
        return ReadJoint("", case, tuple(readings))
    return logged_joint(case, told, tuple(readings))


def logged_readings(
    case: Case, readings: "str | Path | Sequence[Reading]", log: str | Path | None
) -> "tuple[Log, tuple[Reading, ...]]":
    """Read the log of a weld and what was read by hand; either file may be the log.

    Raises
    ------
    CatalogueError
        Neither is.
    """
    from ..logs.joints import log_among
    from ..logs.log import read_log

    known = log_among([one for one in (log, readings) if isinstance(one, str | Path)])
    if known is None:
        msg = "a logger's file needs the log of the weld, for its arcs"
        raise CatalogueError(msg, "give the log too")
    told = read_log(known, len(case.passes))
    if isinstance(readings, str | Path) and Path(readings) == known:
        return told, told.readings
    return told, readings_of(case, readings, log).readings


def _with_channels(
    case: Case, log: "Log", read: "tuple[Reading, ...]", file: str | Path
) -> "ReadJoint":
    """Put a joint together with a logger's file beside its log."""
    from ..logs.joints import joint_with_logger
    from ..logs.logger import read_logger

    logger = read_logger(file, case, log)
    for words in logger.remarks:
        LOG.warning("%s: %s", logger.file, words)
    return joint_with_logger(case, log, logger, read)


def review(
    case: Case,
    log: str | Path,
    *,
    now: float | None = None,
    quick: bool = False,
    logger: str | Path | None = None,
    samples: int = SAMPLES,
    progress: Progress | None = None,
) -> Reviewed:
    """Review a weld by its log: interpass temperatures, verdicts, the next wait.

    Parameters
    ----------
    case : Case
        The joint as it was planned.
    log : path
        The log, a CSV file.
    now : float, optional
        Time now, s since the first arc on; after the last arc off.
    quick : bool
        Best estimate by the log alone: no bands, no fit.
    logger : path, optional
        A logger's file of the same weld: time, and thermocouples at given places.
    samples : int
        Plausible joints; fewer are quicker.

    Raises
    ------
    CaseError
        The log or a file of rules has mistakes.
    RunError
        The run failed.
    """
    from ..logs.log import read_log
    from ..logs.logger import read_logger
    from ..logs.review import review as review_weld
    from ..logs.review import with_logger
    from ..rules.judge import sets_for

    sets_for(case)
    told = read_log(log, len(case.passes))
    announce(progress)
    options: dict[str, Any] = {"quick": quick, "samples": samples, "progress": progress}
    found = review_weld(case, told, now=now, **options)
    if logger is not None:
        found = with_logger(found, read_logger(logger, case, told))
    return Reviewed(found)
