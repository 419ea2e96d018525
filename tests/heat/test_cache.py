"""The compiled solver's cache: where it is kept, and that no file in it can stop a run."""

import os
import random
import shutil
import stat
import subprocess
import sys

import numpy as np
import pytest
from interpass.case_file.read import parse_case
from interpass.heat import cache, compiling, solver
from interpass.heat.waits import plan
from whole.test_attack_files import mounted

CODE = b"machine code"
CASE = """
[pipe]
size = "NPS 1/2"
schedule = "80S"
material = "316L"
length = "60 mm"
[fitting]
kind = "coupling"
[[pass]]
current = "75 A"
travel = "60 mm/min"
[model]
ring = 1
"""


@pytest.fixture
def call(tmp_path, monkeypatch):
    """Ask for machine code as a new process does, in a program of its own."""
    beside = tmp_path / "program" / "__pycache__"
    monkeypatch.setattr(cache, "BESIDE_SOURCE", beside)
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)
    monkeypatch.delenv("XDG_CACHE_HOME", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setattr(cache.tempfile, "tempdir", str(tmp_path / "tmp"))
    (tmp_path / "home").mkdir()
    (tmp_path / "tmp").mkdir()

    def call():
        """Whether it was found; else it is made, and kept."""
        cache.place.cache_clear()
        found = cache.kept("march-1-2")
        assert found in (None, CODE)
        assert cache.any_kept("march-1-") == (found is not None)
        if found is None:
            cache.store("march-1-2", CODE)
        return found is not None

    call.folder = beside
    yield call
    cache.place.cache_clear()


def no_write(monkeypatch, *folders):
    """Folders that take nothing: as on a disk that is read alone, for root too."""
    can = cache._can_write
    forbidden = {str(folder) for folder in folders}
    monkeypatch.setattr(cache, "_can_write", lambda f: str(f) not in forbidden and can(f))


def test_places_in_their_order(call, tmp_path, monkeypatch):
    given = tmp_path / "given"
    order = [
        given, call.folder, tmp_path / "home" / ".cache" / "interpass",
        tmp_path / "tmp" / f"interpass-{os.geteuid()}",
    ]  # fmt: skip
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(given))
    for n, folder in enumerate(order):
        no_write(monkeypatch, *order[:n])
        cache.place.cache_clear()
        assert cache.place().folder == folder
        assert str(folder) in cache.place_words(cache.place()) or n == 1
        assert call() == 0
        assert call() == 1  # found again
        shutil.rmtree(folder)
    no_write(monkeypatch, *order)
    assert call() == call() == 0
    assert "in memory" in cache.place_words(cache.place())


@pytest.mark.parametrize("home", [None, "", "no/such", "/no/such/home", "/dev/null"])
def test_without_a_home(call, tmp_path, monkeypatch, home):
    no_write(monkeypatch, call.folder)
    monkeypatch.delenv("HOME")
    if home is not None:
        monkeypatch.setenv("HOME", home)
    monkeypatch.setattr(os.path, "expanduser", lambda p: home or p)  # no entry of a user
    assert call() == 0
    assert cache.place().words == "a folder for temporary files"
    assert call() == 1


def test_solver_compiled_beside_a_source_that_may_only_be_read_is_used(
    call, tmp_path, monkeypatch
):
    call()
    no_write(monkeypatch, call.folder)
    cache.place.cache_clear()
    assert call() == 1


def test_temporary_folder_is_private_and_nobody_elses(call, tmp_path, monkeypatch):
    no_write(monkeypatch, call.folder)
    monkeypatch.setattr(cache, "_of_user", lambda: None)
    folder = tmp_path / "tmp" / f"interpass-{os.geteuid()}"
    call()
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    for mode in (0o777, 0o701, 0o750):
        folder.chmod(mode)
        cache.place.cache_clear()
        assert cache.place().folder is None
    folder.chmod(0o700)
    real = os.geteuid()
    monkeypatch.setattr(os, "geteuid", lambda: real + 1)
    (tmp_path / "tmp" / f"interpass-{real + 1}").mkdir(mode=0o700)
    cache.place.cache_clear()
    assert cache.place().folder is None
    (tmp_path / "tmp" / f"interpass-{real + 1}").rmdir()
    (tmp_path / "tmp" / f"interpass-{real + 1}").symlink_to(folder)
    cache.place.cache_clear()
    assert cache.place().folder is None


def damages(path):
    """Ways a file can be spoilt."""
    whole = path.read_bytes()
    rng = random.Random(path.name)
    yield b""
    yield whole[: len(whole) // 2]
    yield whole[:-1]
    yield whole + b"more"
    yield bytes(len(whole))
    for _ in range(5):
        place = rng.randrange(len(whole))
        yield whole[:place] + bytes([whole[place] ^ 0x55]) + whole[place + 1 :]


def test_a_damaged_file_is_made_anew_and_mended(call):
    call()
    (kept,) = cache.place().folder.glob("*.code")
    for damage in damages(kept):
        kept.write_bytes(damage)
        assert not call()
        assert call(), damage[:20]


def test_a_file_that_is_gone_or_a_folder_is_no_end(call):
    call()
    (kept,) = cache.place().folder.glob("*.code")
    kept.unlink()
    assert not call()
    assert call()
    kept.unlink()
    kept.mkdir()
    assert not call()
    assert not call()  # in memory
    assert [p.name for p in kept.parent.iterdir()] == [kept.name]  # nothing left about


def test_a_full_disk_is_no_end(call, tmp_path, monkeypatch):
    monkeypatch.setattr(sys.modules[__name__], "CODE", bytes(8 * 1024))
    with mounted(tmp_path / "full", "size=32k") as folder:
        monkeypatch.setenv("NUMBA_CACHE_DIR", str(folder))
        for size in (24, 20, 16, 12, 8, 4, 0):
            for path in folder.glob("*.code"):
                path.unlink()
            (folder / "rest").write_bytes(bytes(size * 1024))
            call()


def test_files_of_other_versions_stay_while_they_are_used(call):
    """Another checkout may share the folder; what no version has used for long goes."""
    call()
    folder = cache.place().folder
    others = [f"march-{n}-2.code" for n in range(10, 22)]
    beside = [
        "zone_temperatures-10-2.code",
        "march-1-3.code",
    ]  # another kernel; this version
    for age, name in enumerate([*others, *beside]):
        (folder / name).write_bytes((folder / "march-1-2.code").read_bytes())
        os.utime(folder / name, (0, 1e9 - age * cache.USE_NOTED))
    assert cache.kept("march-20-2") == CODE  # the other checkout at work
    cache.store("march-1-2", CODE)
    stay = [
        "march-20-2.code",
        *others[: cache.OTHER_FILES - 1],
        *beside,
        "march-1-2.code",
    ]
    assert sorted(path.name for path in folder.iterdir()) == sorted(stay)


def test_old_files_that_cannot_be_removed_are_no_end(call, monkeypatch):
    call()
    folder = cache.place().folder
    for n in range(10, 20):
        (folder / f"march-{n}-2.code").mkdir()
    cache.store("march-1-2", CODE)
    assert cache.kept("march-1-2") == CODE


# the machine code itself


def test_code_kept_by_another_version_or_processor_is_not_taken(monkeypatch):
    mine = solver._version()
    monkeypatch.setattr(solver, "processor", lambda: "another")
    solver._version.cache_clear()
    other = solver._version()
    monkeypatch.undo()
    solver._version.cache_clear()
    monkeypatch.setattr(solver, "SOURCES", solver.SOURCES[1:])
    assert len({mine, other, solver._version()}) == 3
    solver._version.cache_clear()


def test_machine_code_needs_no_compiler(tmp_path):
    """A process that finds the solver kept runs without numba, scipy or yaml."""
    code = (
        "import sys; from interpass.case_file.read import parse_case\n"
        "from interpass.heat.waits import plan\n"
        f"plan(parse_case({CASE!r}))\n"
        "print({'numba', 'scipy', 'yaml', 'coverage'} & set(sys.modules))"
    )
    plan(parse_case(CASE))  # compiles, if need be
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True)
    assert done.stdout.decode().strip() == "set()"


def test_arrays_must_be_in_one_piece():
    values = np.zeros((4, 6))[:, ::2]
    with pytest.raises(ValueError, match="in one piece"):
        solver.run("zone_temperatures", values)


def test_other_kinds_of_numbers_are_refused_not_misread():
    with pytest.raises(KeyError):
        compiling.object_code("ring_shares", (0.1, 0.5, np.zeros(4, np.float32)), ())
