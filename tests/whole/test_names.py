"""Names of files in any bytes: they are shown by their numbers, and nothing ends because of
them."""

import json
import os
import shutil
from pathlib import Path

import pytest
from interpass.text.errors import ExitStatus
from terminal import ROOT, STUB

CASES = ROOT / "cases"
NAMES = [b"caf\xe9", b"\xff\xfe", b"\x1b[31mred", b"bell\x07", "déjà 焊接".encode()]
ONCE = "--axisymmetric"


@pytest.fixture(params=NAMES, ids=repr)
def named(request, tmp_path, monkeypatch):
    """Case, log and readings under one name."""
    monkeypatch.chdir(tmp_path)
    stem = os.fsdecode(request.param)
    coarse = Path(STUB).read_text(encoding="utf-8") + '\n[model]\ncell = "2 mm"\n'
    Path(f"{stem}.toml").write_text(coarse, encoding="utf-8")
    for kind in ("log", "readings"):
        shutil.copy(CASES / f"sampling-stub-{kind}.csv", f"{stem}.{kind}.csv")
    return stem


def test_every_command_takes_the_name_and_shows_it_plain(run, named):
    case, log, readings = f"{named}.toml", f"{named}.log.csv", f"{named}.readings.csv"
    for arguments in (
        ("plan", case, ONCE, "--quick", "--out", named),
        ("check", case, "--json"),
        ("compare", case, STUB, ONCE, "--json", "--csv", f"{named}.out.csv"),
        ("review", case, log, ONCE, "--quick", "--out", named),
        ("fit", case, readings, ONCE, "--samples", "16", "--block", f"{named}.txt"),
        ("chart", case, ONCE, "--over", "air=20 degC", "--csv", f"{named}.chart.csv"),
    ):
        status, out, err = run(*arguments)
        assert status in (ExitStatus.OK, ExitStatus.LIMIT), err
        assert all(c in "\n\t" or c.isprintable() for c in out + err)
        if "--json" in arguments:
            json.loads(out)
    for path in Path().rglob("*"):
        if path.suffix in (".txt", ".csv", ".json"):
            path.read_text(encoding="utf-8")


def test_a_mistake_names_its_file_plain(run, named):
    Path(f"{named}.toml").write_text("pipe = 3\n", encoding="utf-8")
    status, _, err = run("plan", f"{named}.toml")
    assert status == ExitStatus.CASE
    assert "\x1b" not in err
    assert ".toml:1: " in err
