"""Ask for what a new case needs: one by one, again until an answer will do, or all at once.

Nothing here prints: the program hands in how to ask and how to say what is wrong.
"""

from collections.abc import Callable
from dataclasses import dataclass

from ..text.errors import CatalogueError, ThermoError
from ..text.kinds import FORMS, SI, US, US_FORMS, UnitSystem
from .questions import BUILT_ON, Answers, Question, checked, not_asked, questions


def ask(
    given: Answers,
    answer: Callable[[str], str],
    say: Callable[[str], None],
    units: UnitSystem = SI,
    together: Callable[[Answers], object] = dict,  # refuses nothing
) -> dict[str, str]:
    """Return every answer, asking for those that were not given or cannot be used.

    An answer that goes ill with those before it is refused once: whoever gives it again
    means it, and may answer otherwise later.

    Parameters
    ----------
    given : mapping of str
        Answers of the command line.
    answer : callable
        Shows a prompt and returns the line typed; an empty one takes the default.
    say : callable
        Says what is wrong with an answer, before the question comes again.
    units : UnitSystem
        Of questions and of what is usual.
    together : callable
        Given the answers so far with what is usual for the others; raises CatalogueError
        where they make no joint.
    """
    found: dict[str, str] = {}
    asked = questions(units)

    def tell(words: str) -> None:
        say(_exampled(words, units))

    for n, question in enumerate(asked):
        if not question.asked(found):
            found[question.name] = not_asked(question, "", found)
            continue
        if given.get(question.name):
            try:
                found[question.name] = checked(question, given[question.name], found)
                continue
            except CatalogueError as error:
                tell(str(error))

        def fits(so_far: Answers, rest: tuple[Question, ...] = asked[n + 1 :]) -> None:
            if (whole := _with_usual(so_far, rest)) is not None:
                together(whole)

        found[question.name] = _asked(question, found, answer, tell, fits)
    return found


@dataclass(frozen=True)
class Put:
    """One question as a page puts it, beside all the others."""

    name: str
    words: str
    given: str  # as typed; empty: what is usual
    usual: str  # empty: it must be answered
    wrong: str  # with the answer; empty: nothing


@dataclass(frozen=True)
class Questionnaire:
    """All questions of a joint, and the answers that will do."""

    questions: tuple[Put, ...]
    found: dict[str, str]  # by question, what is usual among them

    @property
    def is_complete(self) -> bool:
        """Whether every question has an answer that will do."""
        return all(one.name in self.found and not one.wrong for one in self.questions)


def put_all(given: Answers, units: UnitSystem = SI) -> Questionnaire:
    """Put every question that a joint has to somebody who sees them all.

    An answer that will not do is stood in for by what is usual, so that the questions
    after it are put as well as can be.

    Parameters
    ----------
    given : mapping of str
        Answers so far, by name of the question; empty ones take what is usual.
    units : UnitSystem
        Of questions and of what is usual.
    """
    found: dict[str, str] = {}
    put: list[Put] = []
    for question in questions(units):
        if not question.asked(found):
            found[question.name] = not_asked(question, "", found)
        elif _is_blocked(put, found):
            put.append(Put(question.name, question.asked(found), "", "", ""))
        else:
            put.append(_put(question, given, found, units))
    return Questionnaire(tuple(put), found)


def _is_blocked(put: list[Put], found: Answers) -> bool:
    """Whether something is not known that what is usual later builds on."""
    return any(one.name in BUILT_ON and one.name not in found for one in put)


def _put(
    question: Question, given: Answers, found: dict[str, str], units: UnitSystem
) -> Put:
    """Put one question, and keep the first of its two answers that will do."""
    typed, usual = given.get(question.name, "").strip(), question.default(found)
    wrong = ""
    for answer in filter(None, (typed, usual)):
        try:
            found[question.name] = question.clean(answer, found)
            break
        except ThermoError as error:
            wrong = wrong or _exampled(str(error), units)
    return Put(question.name, question.asked(found), typed, usual, wrong)


def _with_usual(so_far: Answers, rest: tuple[Question, ...]) -> dict[str, str] | None:
    """Answers with what is usual for the rest; None where nothing is usual for one."""
    found = dict(so_far)
    for question in rest:
        if not question.asked(found):
            found[question.name] = not_asked(question, "", found)
            continue
        if not (usual := question.default(found)):
            return None
        found[question.name] = question.clean(usual, found)
    return found


def _asked(
    question: Question,
    so_far: Answers,
    answer: Callable[[str], str],
    say: Callable[[str], None],
    fits: Callable[[Answers], None],
) -> str:
    """Ask one question until its answer will do."""
    usual = question.default(so_far)
    shown = f" [{usual}]" if usual else ""
    refused = ""
    while True:
        typed = answer(f"{question.asked(so_far)}{shown}: ").strip() or usual
        if not typed:
            say("This one has no default.")
            continue
        try:
            told = question.clean(typed, so_far)
            if told != refused:
                refused = told
                fits({**so_far, question.name: told})
            return told
        except ThermoError as error:
            say(str(error))


def _exampled(words: str, units: UnitSystem) -> str:
    """Words of an error, their example in the units of the questions."""
    for kind, form in US_FORMS.items() if units is US else ():
        words = words.replace(f"like '{FORMS[kind]}'", f"like '{form}'")
    return words
