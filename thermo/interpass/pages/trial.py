"""The sheet for a trial as a page to print: places on a drawing, what to note, an empty log."""

from ..logs.trial import Trial
from ..pictures.sheet import PAPERS
from ..pictures.style import picture
from ..pictures.trial import trial_figure
from ..report.cautions import cautions
from ..report.joint import hold_words, short_joint_words
from ..report.strike import place_text
from ..report.trial import (
    FIXING,
    TO_NOTE,
    log_heads,
    next_words,
    place_table,
    trial_verdict,
    when_words,
    which_words,
)
from ..text.kinds import SI, UnitSystem
from .templates import as_data, templates

FILLED_IN = ("Date", "Welder", "Machine", "Logger", "Thermometer", "Air temperature",
             "End gap", "Held by", "Surface", "Heat numbers")  # fmt: skip
READINGS_A_PASS = 2  # lines left for readings, for each pass


def trial_page(trial: Trial, paper: str = "a5", units: UnitSystem = SI) -> bytes:
    """Return the sheet as one HTML page that stands alone, to print on a paper of PAPERS.

    The same trial, the same bytes.
    """
    case = trial.case
    heads = log_heads(units)
    rows = [
        [number, *[""] * (len(heads) - 1)]
        for p in case.passes
        for number in (str(p.number), *[""] * READINGS_A_PASS)
    ]
    page = templates().get_template("trial.html")
    return page.render(
        title=case.title,
        paper=PAPERS[paper],
        joint=short_joint_words(case, units),
        marked=place_text(case, units),
        held=hold_words(case, units),
        drawing=as_data("trial.svg", picture(trial_figure(trial), "svg")),
        fields=FILLED_IN,
        places=place_table(trial, units),
        which=which_words(trial, units),
        fixing=FIXING,
        when=when_words(trial),
        note=TO_NOTE,
        head=trial.head,
        log_heads=[head.replace("_", " ") for head in heads],
        log_rows=rows,
        cautions=cautions(case, trial.planned, units),
        then=next_words(case),
        verdict=trial_verdict(trial, units),
    ).encode()
