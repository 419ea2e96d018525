"""Many items in several processes: every answer once, whatever dies meanwhile."""

import json
import os
import subprocess
import sys
import time
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
import worker_tasks as tasks
from interpass.charts import processes as workers
from interpass.charts.processes import Failed, WorkerError, run_all
from interpass.text.errors import ThermoError

TESTS = Path(__file__).parents[1]
DASK = (sys.executable, "-W", "ignore", "-m")


def gathered(function, items, **options):
    """Answers by place; a place that comes twice is an error."""
    found = {}
    with closing(run_all(function, items, **options)) as answers:
        for n, answer in answers:
            assert n not in found
            found[n] = answer
    return found


@pytest.mark.parametrize("count", [1, 2])
def test_every_item_is_answered_once(count):
    found = gathered(tasks.square, range(25), workers=count)
    assert found == {n: n * n for n in range(25)}


def test_one_worker_is_this_process_and_keeps_the_order():
    answers = list(run_all(tasks.slow_square, range(3)))
    assert [n for n, _ in answers] == [0, 1, 2]
    assert {pid for _, (_, pid) in answers} == {os.getpid()}


@pytest.mark.parametrize("count", [1, 2])
def test_mistakes_of_a_user_are_answers(count):
    found = gathered(tasks.refuse_odd, range(4), workers=count)
    assert found[2] == 2
    assert found[3] == Failed("CatalogueError", "3 is odd", 2)


@pytest.mark.parametrize("count", [1, 2])
def test_any_other_error_comes_through(count):
    with pytest.raises(ZeroDivisionError):
        gathered(tasks.break_on_three, range(10), workers=count)


def test_items_are_taken_as_there_is_room():
    taken = []

    def items():
        for n in range(1000):
            taken.append(n)
            yield n

    with closing(run_all(tasks.slow_square, items(), workers=2)) as answers:
        next(answers)
        assert len(taken) <= 2 * workers.IN_FLIGHT + 1


def test_progress_is_told_in_shares_and_words():
    told = []
    list(run_all(tasks.square, range(4), progress=lambda *x: told.append(x)))
    assert told[0] == (0.25, "1 of 4")
    assert told[-1] == (1.0, "4 of 4")


def test_an_item_that_kills_processes_is_given_up_and_the_rest_is_done():
    found = gathered(tasks.die_on_five, range(12), workers=2)
    assert found.pop(5) == Failed("WorkerError", workers.DIED)
    assert found == {n: n for n in range(12) if n != 5}


def test_a_process_killed_once_loses_nothing(tmp_path):
    items = [(n, str(tmp_path / "died")) for n in range(12)]
    found = gathered(tasks.die_once, items, workers=2)
    assert (tmp_path / "died").exists()
    assert found == {n: n for n in range(12)}


def test_processes_compute_on_one_thread_and_our_own_settings_stay(monkeypatch):
    monkeypatch.setenv("OMP_NUM_THREADS", "7")
    found = gathered(tasks.threads, range(2), workers=2)
    assert set(found.values()) == {("1", "1")}
    assert os.environ["OMP_NUM_THREADS"] == "7"


def test_no_process_is_left_when_the_answers_are_left(tmp_path):
    with closing(run_all(tasks.slow_square, range(100), workers=2)) as answers:
        pids = {next(answers)[1][1] for _ in range(4)}
    assert not [pid for pid in pids if Path(f"/proc/{pid}").exists()]


# -- on a cluster


@contextmanager
def cluster(folder, count=2):
    """A scheduler and workers on loopback: address, and the processes of the workers."""
    file = folder / "scheduler.json"
    local = ("--host", "127.0.0.1", "--no-dashboard")
    commands = [
        ("distributed.cli.dask_scheduler", "--port", "0", "--no-show",
         "--scheduler-file", str(file), *local),
        *[("distributed.cli.dask_worker", "--scheduler-file", str(file), "--nthreads", "1",
           "--no-nanny", *local)] * count,
    ]  # fmt: skip
    options = {
        "cwd": folder,
        "env": os.environ | {"PYTHONPATH": f"{TESTS.parent}:{TESTS}"},
        "stdout": subprocess.DEVNULL,
        "stderr": subprocess.DEVNULL,
    }
    running = [subprocess.Popen([*DASK, *command], **options) for command in commands]
    try:
        yield address(file), running[1:]
    finally:
        for process in running:
            process.kill()
            process.wait()


def address(file):
    """Where the scheduler listens, once it has said so."""
    until = time.monotonic() + 20
    while time.monotonic() < until:
        try:
            return json.loads(file.read_text(encoding="utf-8"))["address"]
        except (OSError, ValueError):
            time.sleep(0.02)
    msg = "the scheduler did not start"
    raise TimeoutError(msg)


@pytest.fixture
def _quiet_dask():
    """Leave the loggers of dask as they were."""
    import logging

    logger = logging.getLogger("distributed")
    level = logger.level
    yield
    logger.setLevel(level)


@pytest.mark.usefixtures("_quiet_dask")
def test_a_cluster_worker_killed_loses_nothing(tmp_path):
    pytest.importorskip("distributed")
    with cluster(tmp_path) as (where, processes):
        found = {}
        with closing(run_all(tasks.slow_square, range(30), cluster=where)) as answers:
            for n, (answer, _) in answers:
                assert n not in found
                found[n] = answer
                if len(found) == 5:
                    processes[0].kill()
    assert found == {n: n * n for n in range(30)}


def test_a_cluster_that_does_not_answer_is_told(monkeypatch):
    pytest.importorskip("distributed")
    monkeypatch.setattr(workers, "CONNECT", 0.3)
    with pytest.raises(WorkerError, match=r"no dask scheduler answers at 'tcp://127"):
        list(run_all(tasks.square, [1], cluster="tcp://127.0.0.1:9"))


def test_without_dask_the_package_to_install_is_named(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(ThermoError, match=r"pip install 'interpass\[cluster\]'"):
        list(run_all(tasks.square, [1], cluster="tcp://127.0.0.1:9"))
