"""How far waits and temperatures may be off, as text and as data."""

from typing import Any

from .bands import Band, Bands, DoubtShare, PassBand
from .layout import NOTHING, clock, columns, paragraph, shop_time
from .units import UnitSystem

FRACTIONS = (  # of all doubt: from here on it is called so
    (0.90, "nearly all"),
    (0.71, "three quarters"),
    (0.58, "two thirds"),
    (0.42, "about half"),
    (0.29, "a third"),
    (0.22, "a quarter"),
    (0.15, "a fifth"),
    (0.08, "a tenth"),
)
NAMED = 3  # numbers named


def doubt_lines(bands: Bands, units: UnitSystem) -> list[str]:
    """Set out the waits to allow and the bands, and what makes them so wide."""
    rows = [row for row in bands.passes if row.number > 1]
    if not rows:
        return []
    table = columns(
        ["pass", "best\nmin:s", "allow\nmin:s", "\nbetween, s", "\nhottest", "\nread"],
        [_row(row, units) for row in rows],
        groups=[
            ("9 in 10 need", 3, 3),
            (f"9 in 10 show at arc on, {units.temperature_unit}", 4, 5),
        ],
    )
    words = (
        "Allow: a wait that holds the limit for 9 in 10 of the plausible joints. Shown "
        "at arc on: after the best wait. "
    )
    if bands.shares:
        words += f"{doubt_words(bands.shares)} "
    words += f"By {bands.how}; one reading narrows them: interpass fit, interpass review."
    return ["How far this may be off", *table, *paragraph(words)]


def _row(row: PassBand, units: UnitSystem) -> list[str]:
    times = [NOTHING] * 3
    if row.wait and row.allow is not None:
        between = f"{row.wait.low:.0f} to {row.wait.high:.0f}"
        times = [clock(shop_time(row.wait.best)), clock(shop_time(row.allow)), between]
    return [
        str(row.number),
        *times,
        *(_span(b, units) for b in (row.hottest, row.reading)),
    ]


def _span(band: Band, units: UnitSystem) -> str:
    low, high = (units.value("temperature", T) for T in (band.low, band.high))
    return f"{low:.0f} to {high:.0f}"


def doubt_words(shares: tuple[DoubtShare, ...]) -> str:
    """Say in words what the doubt comes from.

    Examples
    --------
    >>> doubt_words((DoubtShare("", "arc efficiency", 0.66), DoubtShare("", "film", 0.05)))
    'Two thirds of the doubt is arc efficiency.'
    """
    named = [
        (fraction, row.words)
        for row in shares[:NAMED]
        if (fraction := _fraction(row.share)) is not None
    ]
    if not named:
        return "No one number makes most of the doubt."
    (first, what), *rest = named
    more = "".join(f", {fraction} {words}" for fraction, words in rest)
    return f"{first[0].upper()}{first[1:]} of the doubt is {what}{more}."


def _fraction(share: float) -> str | None:
    return next((words for least, words in FRACTIONS if share >= least), None)


def doubt_data(bands: Bands) -> dict[str, Any]:
    """Bands for JSON, unit in every key."""
    return {
        "samples": bands.samples,
        "seed": bands.seed,
        "how": bands.how,
        "allow_rule": "holds the limit for 9 in 10 plausible joints",
        "band_rule": "5 % and 95 % of the plausible joints",
        "passes": [
            {
                "number": row.number,
                "wait_s": _seconds(row.wait),
                "allow_s": None if row.allow is None else round(row.allow, 2),
                "allow_in_shop_s": None if row.allow is None else shop_time(row.allow),
                "hottest_degC": _degrees(row.hottest),
                "reading_degC": _degrees(row.reading),
            }
            for row in bands.passes
        ],
        "shares": [
            {"key": row.key, "words": row.words, "share": round(row.share, 4)}
            for row in bands.shares
        ],
    }


def _seconds(band: Band | None) -> dict[str, float] | None:
    return None if band is None else {k: round(v, 2) for k, v in vars(band).items()}


def _degrees(band: Band) -> dict[str, float]:
    return {k: round(v - 273.15, 2) for k, v in vars(band).items()}
