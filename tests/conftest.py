"""Options and runs shared by the tests."""

import signal
from dataclasses import replace
from pathlib import Path

import numba
import pytest
from interpass.case_file.read import read_case
from interpass.commands import app
from interpass.heat import solver
from interpass.heat.waits import plan

ROOT = Path(__file__).parent.parent


# A shell's background job has Ctrl-C ignored, and so would every program started here.
signal.signal(signal.SIGINT, signal.default_int_handler)


def pytest_ignore_collect(collection_path, config):
    """Leave the timed comparisons out, unless their folder is named or timing is off."""
    named = any("benchmarks" in str(argument) for argument in config.args)
    untimed = config.getoption("benchmark_disable", default=False)
    if collection_path.name == "test_speed.py" and not (named or untimed):
        return True
    return None


def pytest_addoption(parser):
    parser.addoption("--runslow", action="store_true", help="run slow tests too")


def pytest_collection_modifyitems(config, items):
    """Leave out slow tests; and with the compiler off all that is not tiny."""
    if numba.config.DISABLE_JIT:
        skip = pytest.mark.skip(reason="takes minutes as plain Python")
        for item in items:
            if "tiny" not in item.keywords:
                item.add_marker(skip)
    if config.getoption("--runslow"):
        return
    skip = pytest.mark.skip(reason="need --runslow option to run")
    for item in items:
        if "slow" in item.keywords:
            item.add_marker(skip)


def read_shipped(name, ring=1):
    """One of the cases shipped, with the ring asked for."""
    case = read_case(ROOT / "cases" / f"{name}.toml")
    return replace(case, model=replace(case.model, ring=ring))


@pytest.fixture(scope="session")
def shipped():
    """Read a shipped case by name; ring is 1 unless given."""
    return read_shipped


@pytest.fixture(
    scope="session", params=sorted(p.stem for p in (ROOT / "cases").glob("*.toml"))
)
def shipped_run(request):
    """Each shipped case in turn, and its axisymmetric run."""
    case = read_shipped(request.param)
    return case, plan(case)


@pytest.fixture(scope="session")
def stub():
    """Two-pass stainless stub with an automatic wait, and its axisymmetric run."""
    case = read_shipped("sampling-stub")
    return case, plan(case)


@pytest.fixture(scope="session")
def given_waits():
    """Three passes with given waits that are too short, and their axisymmetric run."""
    case = read_shipped("check-joint")
    return case, plan(case)


@pytest.fixture(scope="session")
def small_ring():
    """The stub on a coarse ring: every part of a ring report, in little time."""
    case = read_shipped("sampling-stub", ring=12)
    case = replace(case, model=replace(case.model, cell=2e-3))
    return case, plan(case)


@pytest.fixture
def run(capsys, monkeypatch):
    """Run the program in this process: status, stdout, stderr.

    The solver counts as compiled, whatever this machine has done before.
    """
    monkeypatch.setattr(solver, "is_compiled", lambda: True)

    def call(*arguments):
        capsys.readouterr()
        status = app.main([str(a) for a in arguments])
        return status, *capsys.readouterr()

    return call


@pytest.fixture
def run_plan(run):
    """The same for a quick plan."""
    return lambda *arguments: run("plan", "--axisymmetric", *arguments)
