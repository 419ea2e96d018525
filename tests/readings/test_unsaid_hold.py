"""A joint that is gripped though its case says nothing holds it: a fit stays safe."""

from dataclasses import replace

import numpy as np
from interpass.case_file.read import case_from_table
from interpass.heat.waits import plan
from interpass.readings.fit import fit
from interpass.readings.reading import Reading
from interpass.text.toml import case_table
from terminal import ROOT

READ_AT = 170.0  # s after pass 1


def stub(hold):
    text = (ROOT / "cases/sampling-stub.toml").read_text(encoding="utf-8")
    table = case_table(text)
    table["surroundings"]["holding"] = hold
    case = case_from_table(table)
    return replace(case, model=replace(case.model, ring=1, end_after=0.0))


def test_a_reading_of_a_gripped_joint_shortens_the_wait_but_not_too_far():
    said = stub("nothing")
    history, true = plan(said), plan(stub("fitting in a chuck"))
    off, shown = true.passes[0].arc_off, true.traces[-1].temperature
    T = float(np.interp(off + READ_AT, true.time, shown))
    fitted = fit(said, [Reading(1, READ_AT, T, T)], history=history, samples=64)
    needed, band = true.passes[1].wait, fitted.after.passes[1]
    assert needed < band.wait.best < history.passes[1].wait
    assert band.allow > needed
    assert not fitted.readings[0].is_flagged
