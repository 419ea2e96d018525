"""Joints that were welded and read, from their files: logs, or files of readings."""

import os
from collections.abc import Sequence
from pathlib import Path

from ..joint.case import Case
from ..readings.file import parse_readings
from ..readings.reading import Reading
from ..readings.shop import ReadJoint
from ..text.errors import CaseError, Mistake
from ..text.files import alone, csv_text
from .as_welded import as_welded
from .log import Log, has_arcs, parse_log
from .logger import Logger, is_of_logger
from .measured import readings_of_channels

MOST_OF_A_SHOP = 60  # each costs a full run and some thirty of the stand-in


def joint_of(case: Case, path: str | Path) -> ReadJoint:
    """Read one joint from its log, or from a file of readings.

    A log gives the joint as it was welded, waits and all; readings alone leave it as
    planned.

    Raises
    ------
    CaseError
        With every mistake of the file, each with its line.
    """
    text, file = csv_text(path), str(path)
    if is_of_logger(text):
        remedy = "give it with --logger, beside the log of the weld"
        raise alone(file, "this is a logger's file", remedy)
    if not has_arcs(text):
        return ReadJoint(file, case, parse_readings(text, len(case.passes), file))
    log = parse_log(text, len(case.passes), file)
    if not log.readings:
        remedy = "note what was read after a pass, or leave this file out"
        raise alone(file, "a log without a reading teaches nothing", remedy)
    return logged_joint(case, log, log.readings)


def logged_joint(case: Case, log: Log, readings: tuple[Reading, ...]) -> ReadJoint:
    """Put a joint together from its log, and what was read on it."""
    return ReadJoint(log.file, as_welded(case, log), readings, True, log.remarks)


def log_among(paths: Sequence[str | Path]) -> Path | None:
    """Find the log among some files; None where none of them has arcs."""
    return next((Path(path) for path in paths if has_arcs(csv_text(path))), None)


def joint_with_logger(
    case: Case, log: Log, logger: Logger, read: tuple[Reading, ...]
) -> ReadJoint:
    """Put a joint together from its log, with a logger's channels among its readings.

    Raises
    ------
    CaseError
        The channels have no sample that a fit could use.
    """
    found = readings_of_channels(case, log, logger)
    if not found and not read:
        problem = "no sample after an arc, at a place from the toe: nothing to fit"
        raise alone(logger.file, problem, "log on while the joint cools")
    return logged_joint(case, log, (*read, *found))


def joints_of(case: Case, paths: Sequence[str | Path]) -> tuple[ReadJoint, ...]:
    """Read the joints of a shop, one from each file; mistakes of all files at once.

    Raises
    ------
    CaseError
        A file has mistakes, is given twice, or there are too many.
    """
    if len(paths) > MOST_OF_A_SHOP:
        problem = f"{len(paths)} joints; {MOST_OF_A_SHOP} at most"
        raise alone(str(paths[MOST_OF_A_SHOP]), problem, "the newest ones say most")
    seen: set[str] = set()
    joints: list[ReadJoint] = []
    mistakes: list[Mistake] = []
    for path in paths:
        try:
            joints.append(joint_of(case, path))
        except CaseError as error:
            mistakes += error.mistakes
        if (name := os.path.realpath(path)) in seen:
            problem = "this file is given twice; one joint would count as two"
            mistakes.append(Mistake(str(path), None, problem, "give it once"))
        seen.add(name)
    if mistakes:
        raise CaseError(mistakes)
    return tuple(joints)
