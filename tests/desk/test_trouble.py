"""A desk whose disk is full, that is killed, or that is stopped, in the middle of a weld.

What it said is on disk is there, once, and a desk that starts again goes on from it.
"""

import random
import signal
import threading
import time
from contextlib import contextmanager, suppress

import httpx
import pytest
from interpass.desk.events import LOG_MARK, events_of
from interpass.logs.log import read_log
from interpass.text.errors import ExitStatus
from terminal import ROOT, start
from whole.test_attack_files import mounted

STUB = (ROOT / "cases" / "sampling-stub.toml").read_text(encoding="utf-8")
QUICK = STUB + '\n[model]\nring = 1\ncell = "2 mm"\n'
TAPS = [("on", 1, ""), ("amps", 0, "80 A"), ("off", 0, ""), ("read", 0, "300 degC"), ("on", 2, ""),
        ("off", 0, ""), ("volts", 0, "11 V"), ("note", 0, "done " * 14), ("end", 0, "")]  # fmt: skip


@contextmanager
def running(case, folder):
    """A desk as a process; a client with its cookie."""
    case.write_text(QUICK, encoding="utf-8")
    process = start("desk", case, "--no-browser", "--out", folder)
    try:
        address = process.stdout.readline().strip()
        assert address, process.stderr.read()
        here = address.partition("/open")[0]
        with httpx.Client(base_url=here, timeout=30, headers={"Origin": here}) as client:
            assert client.get(address).status_code == 303
            yield process, client
    finally:
        if process.poll() is None:
            process.kill()
        process.communicate(timeout=30)


def begin(client):
    return client.post("/joints/start", json={"text": QUICK})


def tap(client, n, age_ms=0):
    """Tell the desk the n-th thing that happens, by a name of its own."""
    kind, number, value = TAPS[n]
    body = {"name": f"trouble{n:03d}", "kind": kind, "number": number, "value": value,
            "age_ms": age_ms}  # fmt: skip
    return client.post("/joints/joint-001/event", json=body)


def weld_on(client, first=0, least=0.0):
    """Tell the rest of what happens; numbers of what the desk says is on disk."""
    said = []
    for n in range(first, len(TAPS)):
        age = 60_000 * (len(TAPS) - n)
        if tap(client, n, age).status_code == 200:
            said.append(n)
        time.sleep(least)
    return said


def names_in(folder):
    text = (folder / "joint-001-log.csv").read_text(encoding="utf-8")
    assert text.endswith("\n")
    assert text.count(LOG_MARK) == len(events_of(text))
    return [event.name for event in events_of(text)]


def test_a_full_disk_is_told_and_leaves_whole_events(tmp_path):
    """Each event is on disk or refused; once there is room, the same taps go in, once."""
    with mounted(tmp_path / "small", "size=64k") as folder:
        with running(tmp_path / "case.toml", folder / "welds") as (_, client):
            assert begin(client).status_code == 200
            assert tap(client, 0, 500_000).status_code == 200
            fill(folder / "filler")
            notes = [note(client, n) for n in range(40)]  # more than a page of the disk
            refused = [n for n, one in enumerate(notes) if one.status_code == 507]
            assert 0 < len(refused) < 40
            assert "No space left on device" in notes[refused[0]].json()["refused"]
            kept = [f"notenumber{n:02d}" for n in range(40) if n not in refused]
            assert names_in(folder / "welds") == ["trouble000", *kept]
            assert begin(client).status_code == 507
            assert not list((folder / "welds").glob("joint-002*"))
            (folder / "filler").unlink()
            assert all(note(client, n).status_code == 200 for n in range(40))
            assert weld_on(client, 1) == list(range(1, len(TAPS)))
        assert len(names_in(folder / "welds")) == 40 + len(TAPS)
        assert len(read_log(folder / "welds" / "joint-001-log.csv", 2).passes) == 2


def note(client, n):
    body = {"name": f"notenumber{n:02d}", "kind": "note", "number": 0, "value": "x" * 70,
            "age_ms": 0}  # fmt: skip
    return client.post("/joints/joint-001/event", json=body)


def fill(path):
    with suppress(OSError), path.open("wb", buffering=0) as stream:
        while True:
            stream.write(b"x" * 512)


def killed(folder, case, moment):
    """Numbers the desk had acknowledged when it was killed at a moment [s]."""
    said = []
    with running(case, folder) as (process, client):
        assert begin(client).status_code == 200
        timer = threading.Timer(moment, process.kill)
        timer.start()
        with suppress(httpx.TransportError):
            for n in range(len(TAPS)):
                if tap(client, n, 60_000 * (len(TAPS) - n)).status_code == 200:
                    said.append(n)
                time.sleep(moment / len(TAPS))
        timer.join()
        cookies, base = dict(client.cookies), client.base_url
    return said, cookies, base


SEEDS = [n if n < 2 else pytest.param(n, marks=pytest.mark.slow) for n in range(20)]


@pytest.mark.parametrize("seed", SEEDS)
def test_killed_in_mid_weld_it_goes_on_where_it_was(tmp_path, seed):
    """At most what was under way is there besides what was said; the open page's key still fits."""
    folder, case = tmp_path / "welds", tmp_path / "case.toml"
    said, cookies, base = killed(folder, case, random.Random(seed).uniform(0.02, 0.6))
    with running(case, folder) as (_, client):
        there = [int(name[-3:]) for name in names_in(folder)]
        assert there[: len(said)] == said
        assert len(there) <= len(said) + 1
        assert client.base_url == base
        headers = {"Origin": str(base).rstrip("/")}
        with httpx.Client(base_url=base, cookies=cookies, headers=headers) as old:
            state = old.get("/joints/joint-001/state").json()
            assert state["events"] == len(there)
            weld_on(old)
    assert [int(name[-3:]) for name in names_in(folder)] == list(range(len(TAPS)))


@pytest.mark.parametrize("seed", SEEDS)
def test_ctrl_c_at_any_moment_ends_in_words(tmp_path, seed):
    """While it loads, while it computes, while a weld goes on."""
    folder, case = tmp_path / "welds", tmp_path / "case.toml"
    moment = random.Random(seed).uniform(0.0, 1.5)
    with running(case, folder) as (process, client):
        said = []

        def go_on():
            with suppress(httpx.TransportError):
                begin(client)
                said.extend(weld_on(client, least=0.03))

        thread = threading.Thread(target=go_on)
        thread.start()
        time.sleep(moment)
        process.send_signal(signal.SIGINT)
        _, err = process.communicate(timeout=20)
        thread.join()
    assert process.returncode == ExitStatus.INTERRUPTED
    assert "Traceback" not in err
    assert f"its welds are in {folder}" in err
    assert not list(folder.glob(".*"))
    if (folder / "joint-001-log.csv").exists():
        assert len(names_in(folder)) >= len(said)
