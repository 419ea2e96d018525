"""What the functions of the face give: frozen data, with curves, words and pictures.

Numbers inside them (``case``, ``history``, ``bands`` ...) are SI, K and s; names that end in a
unit (``waits_s``, ``hottest_degC``) are in that unit. ``to_dict()`` is what the command of the
same name prints with ``--json``.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ..joint.case import Case
from ..text.kinds import SI, to_degC
from ..text.layout import WIDTH
from .shown import brief, inline, numbers, page, printed, units_named

if TYPE_CHECKING:
    from ..charts.chart import Chart as ChartAsked
    from ..charts.compare import Compared
    from ..charts.joints import ChartRow
    from ..doubt.bands import Bands
    from ..heat.history import History
    from ..logs.review import Review
    from ..readings.fit import Fit
    from ..readings.shop import ShopFit
    from ..remedies.trials import Helps
    from ..rules.limits import Check
    from ..text.arrays import Array


@dataclass(frozen=True, eq=False, repr=False)
class Plan:
    """A plan: the waits of one joint, and the temperatures they lead to.

    Attributes
    ----------
    case : Case
        The joint as it was run.
    history : History
        The run: passes, curves, ledger. SI.
    bands : Bands or None
        How far it may be off; None when planned with ``quick``, or nothing is in doubt.
    helps : Helps or None
        What would shorten it.
    """

    case: Case
    history: "History"
    bands: "Bands | None" = None
    helps: "Helps | None" = None

    __repr__ = brief

    @property
    def waits_s(self) -> "Array":
        """Typical wait before each pass, (passes,) [s]; 0 before the first."""
        return numbers(p.wait for p in self.history.passes)

    @property
    def safe_waits_s(self) -> "Array":
        """Wait that holds the limit for 9 in 10 plausible joints, (passes,) [s].

        nan before pass 1, where the case gives the wait, and without bands.
        """
        if self.bands is None:
            return numbers(None for _ in self.history.passes)
        return numbers(band.allow for band in self.bands.passes)

    @property
    def strike_at_degC(self) -> "Array":
        """Reading at the place marked that decides, (passes,) [degC].

        Before pass 1 at least this, before the others at most: the arc is struck when the
        reading is met, and the waits say when that will be.
        """
        from ..report.strike import strikes

        found = strikes(self.case, self.history, self.bands)
        return to_degC(numbers(one.reading for one in found))

    @property
    def time_s(self) -> "Array":
        """Times of the curves since the first arc on, (n,) [s]."""
        return self.history.time

    @property
    def hottest_degC(self) -> "Array":
        """Hottest point of weld and parent metal within 5 mm of a toe, (n,) [degC]."""
        return to_degC(self.history.hottest)

    @property
    def mean_degC(self) -> "Array":
        """Mean of the same metal, (n,) [degC]."""
        return to_degC(self.history.mean)

    @property
    def coldest_degC(self) -> "Array":
        """Coldest point of the same metal, (n,) [degC]."""
        return to_degC(self.history.coldest)

    @property
    def probes_degC(self) -> "dict[str, Array]":
        """Temperature of every probe and watched point by name, each (n,) [degC]."""
        return {t.name: to_degC(t.temperature) for t in self.history.traces}

    @property
    def checks(self) -> "tuple[Check, ...]":
        """Every verdict on the joint and its run."""
        from ..rules.judge import checks

        return tuple(checks(self.case, self.history))

    @property
    def verdict(self) -> str:
        """``"pass"``, or ``"fail"`` when a limit is not met or out of reach."""
        from ..rules.limits import verdict

        return verdict(self.checks, self.history)

    def to_dict(self, *, assumptions: bool = False) -> dict[str, Any]:
        """Return the object that ``plan --json`` prints, with ``--assumptions`` if asked."""
        from ..results.plan import results

        return results(self.case, self.history, assumptions=assumptions, **self._found)

    def json(self, *, assumptions: bool = False) -> str:
        """Return that object as ``plan --json`` prints it."""
        from ..results.plan import json_text

        return json_text(self.case, self.history, assumptions=assumptions, **self._found)

    def text(
        self,
        units: str = "si",
        width: int = WIDTH,
        *,
        parts: Sequence[str] | None = None,
        assumptions: bool = False,
    ) -> str:
        """Return the report in words.

        Parameters
        ----------
        units : str
            "si" or "us".
        width : int
            Characters of a line.
        parts : sequence of str, optional
            Those of ``plan --show``; all when left out.
        assumptions : bool
            Every number used with its source too.
        """
        from ..report.plan import text

        told: dict[str, Any] = {"sections": parts} if parts is not None else {}
        told |= {"assumptions": assumptions, "width": width}
        return text(self.case, self.history, units_named(units), **self._found, **told)

    def first_screen(self, units: str = "si", width: int = WIDTH) -> str:
        """Return what ``plan`` prints: what to do before each pass, and the verdict."""
        from ..report.plan import first_screen

        system = units_named(units)
        return first_screen(
            self.case, self.history, system, bands=self.bands, width=width
        )

    def __str__(self) -> str:
        """Return what ``plan`` prints."""
        return self.first_screen()

    @property
    def _found(self) -> dict[str, Any]:
        return {"bands": self.bands, "helps": self.helps}

    def svg(self, units: str = "si") -> str:
        """Draw temperature against time, as SVG."""
        from ..pictures.style import picture
        from ..pictures.temperature import temperature_figure

        case, history, bands = self.case, self.history, self.bands
        figure = temperature_figure(case, history, units_named(units), bands)
        return inline(picture(figure, "svg"))

    def _repr_html_(self) -> str:
        """Table and curve, for a notebook."""
        from ..report.strike import reading_text, strikes

        heads = (
            "pass",
            "wait, s",
            "safe wait, s",
            "strike if it reads",
            "hottest at arc on, degC",
            "read, degC",
        )
        rows = [
            (p.number, f"{p.wait:.0f}", f"{safe:.0f}" if safe == safe else "-",  # noqa: PLR0124
             reading_text(strike, SI),
             f"{to_degC(p.at_arc_on.hottest):.0f}", f"{to_degC(p.expect_reading):.0f}")
            for p, safe, strike in zip(
                self.history.passes, self.safe_waits_s,
                strikes(self.case, self.history, self.bands), strict=True,
            )
        ]  # fmt: skip
        verdict = self.to_dict()["verdict_text"]
        return page(self.case.title, heads, rows, verdict) + self.svg()


@dataclass(frozen=True, eq=False, repr=False)
class Checked:
    """The joint judged by rules, without heat; ``checks`` holds a verdict a rule."""

    case: Case
    rules: tuple[str, ...]
    checks: "tuple[Check, ...]"

    __repr__, __str__ = brief, printed

    @property
    def verdict(self) -> str:
        """``"pass"``, or ``"fail"`` when a rule is not met."""
        return str(self.to_dict()["verdict"])

    def to_dict(self) -> dict[str, Any]:
        """Return the object that ``check --json`` prints."""
        from ..results.check import check_data

        return check_data(self.case, self.rules)

    def text(self, units: str = "si", width: int = WIDTH) -> str:
        """Return the report in words."""
        from ..report.check import check_text

        return check_text(self.case, self.rules, units_named(units), width)


@dataclass(frozen=True, eq=False, repr=False)
class Fitted:
    """What readings taught: ``fit`` holds the numbers, bands and runs before and after."""

    case: Case  # as it was fitted
    fit: "Fit"

    __repr__, __str__ = brief, printed

    @property
    def plan(self) -> Plan:
        """The plan with the fitted numbers and what is left of the doubt."""
        return Plan(self.fit.case, self.fit.history, self.fit.after)

    def to_dict(self) -> dict[str, Any]:
        """Return the object that ``fit --json`` prints."""
        from ..results.fit import results

        return results(self.case, self.fit)

    def text(self, units: str = "si") -> str:
        """Return the report in words."""
        from ..report.fit import text

        return text(self.case, self.fit, units_named(units))


@dataclass(frozen=True, eq=False, repr=False)
class FittedShop:
    """What joints of one shop taught: ``shop`` holds its numbers, each joint's, the next's."""

    case: Case  # the kind of joint, as planned
    shop: "ShopFit"

    __repr__, __str__ = brief, printed

    @property
    def plan(self) -> Plan:
        """The plan of the next joint of this kind."""
        upcoming = self.shop.next
        return Plan(upcoming.case, upcoming.history, upcoming.after)

    def to_dict(self) -> dict[str, Any]:
        """Return the object that ``fit --json`` prints for several files."""
        from ..results.shop import results

        return results(self.case, self.shop)

    def text(self, units: str = "si") -> str:
        """Return the report in words."""
        from ..report.shop import text

        return text(self.case, self.shop, units_named(units))


@dataclass(frozen=True, eq=False, repr=False)
class Reviewed:
    """A weld as it was done: ``review`` holds passes, verdicts and the next wait."""

    review: "Review"

    __repr__, __str__ = brief, printed

    @property
    def verdict(self) -> str:
        """``"pass"``, or ``"fail"`` when a limit was not held."""
        return self.review.verdict

    def to_dict(self) -> dict[str, Any]:
        """Return the object that ``review --json`` prints."""
        from ..results.review import results

        return results(self.review)

    def text(self, units: str = "si") -> str:
        """Return the report in words."""
        from ..report.review import text

        return text(self.review, units_named(units))


@dataclass(frozen=True, eq=False, repr=False)
class Charted:
    """Many joints: ``rows``, one for each, in the order of the axes."""

    asked: "ChartAsked"
    rows: "tuple[ChartRow, ...]"

    __repr__, __str__ = brief, printed

    @property
    def total_s(self) -> "Array":
        """First arc on to last arc off of each joint, (joints,) [s]; nan: no answer."""
        return numbers(row.total for row in self.rows)

    def to_dict(self) -> dict[str, Any]:
        """Return the object that ``chart --json`` prints."""
        from ..results.chart import results

        return results(self.asked, self.rows)

    def text(self, units: str = "si", width: int = WIDTH) -> str:
        """Return the table in words."""
        from ..report.chart import text

        return text(self.asked, self.rows, units_named(units), width)

    def svg(self, units: str = "si") -> str:
        """Draw the page for the wall, as SVG."""
        from ..pictures.wall import wall_chart

        return inline(wall_chart(self.asked, self.rows, "svg", units_named(units)))

    def _repr_html_(self) -> str:
        """Table and page for the wall, for a notebook."""
        found = self.to_dict()["rows"]
        heads = [*found[0]["over"], "state", "waits, s", "total, s", "notes"]
        rows = [
            (*row["over"].values(), row["state"],
             ", ".join(f"{wait:.0f}" for wait in row["waits_s"]),
             "-" if row["total_s"] is None else f"{row['total_s']:.0f}",
             "; ".join((*row["rules_not_met"], row["reason"], row["note"])).strip("; "))
            for row in found
        ]  # fmt: skip
        return page(self.asked.title, heads, rows, "") + self.svg()


@dataclass(frozen=True, eq=False, repr=False)
class Comparison:
    """Two to six cases side by side: ``cases`` holds each with its run."""

    cases: "tuple[Compared, ...]"

    __repr__, __str__ = brief, printed

    @property
    def verdict(self) -> str:
        """``"pass"``, or ``"fail"`` when a limit of one of them is not met."""
        from ..charts.compare import is_fail

        return "fail" if is_fail(self.cases) else "pass"

    @property
    def plans(self) -> tuple[Plan, ...]:
        """Each case as a plan."""
        return tuple(Plan(one.case, one.history) for one in self.cases)

    def to_dict(self) -> dict[str, Any]:
        """Return the object that ``compare --json`` prints."""
        from ..results.compare import results

        return results(self.cases)

    def text(self, units: str = "si", width: int = WIDTH) -> str:
        """Return the table in words."""
        from ..report.compare import text

        return text(self.cases, units_named(units), width)
