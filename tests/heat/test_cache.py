"""The compiled solver's cache: where it is kept, and that no file in it can stop a run."""

import importlib.util
import os
import random
import shutil
import stat
from pathlib import Path

import numba
import pytest
from interpass.heat import cache
from whole.test_attack_files import mounted

pytestmark = pytest.mark.skipif(numba.config.DISABLE_JIT, reason="nothing is compiled")

SOLVER = """
from numba import config, njit
from interpass.heat.cache import keeping

@keeping(njit(error_model="numpy"), config)
def march(n):
    return 2 * n
"""


@pytest.fixture
def solver(tmp_path, monkeypatch):
    """A small solver in a file of its own; called, it runs as in a new process."""
    folder = tmp_path / "program"
    folder.mkdir()
    source = folder / "kernels.py"
    source.write_text(SOLVER, encoding="utf-8")
    monkeypatch.setattr(cache, "SOURCE", source)
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)
    monkeypatch.delenv("XDG_CACHE_HOME", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setattr(cache.tempfile, "tempdir", str(tmp_path / "tmp"))
    (tmp_path / "home").mkdir()
    (tmp_path / "tmp").mkdir()

    def call():
        cache.place.cache_clear()
        spec = importlib.util.spec_from_file_location("kernels", source)
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        assert module.march(21) == 42
        return sum(module.march.stats.cache_hits.values())

    call.folder = folder
    yield call
    cache.place.cache_clear()


def no_write(monkeypatch, *folders):
    """Folders that take nothing: as on a disk that is read alone, for root too."""
    can = cache._can_write
    forbidden = {str(folder) for folder in folders}
    monkeypatch.setattr(cache, "_can_write", lambda f: str(f) not in forbidden and can(f))


def test_places_in_their_order(solver, tmp_path, monkeypatch):
    given = tmp_path / "given"
    order = [
        given, solver.folder / "__pycache__", tmp_path / "home" / ".cache" / "interpass",
        tmp_path / "tmp" / f"interpass-{os.geteuid()}",
    ]  # fmt: skip
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(given))
    for n, folder in enumerate(order):
        no_write(monkeypatch, *order[:n])
        cache.place.cache_clear()
        assert cache.place().folder == folder
        assert str(folder) in cache.place_words(cache.place()) or n == 1
        assert not cache.is_compiled()
        assert solver() == 0
        assert cache.is_compiled()
        assert solver() == 1  # found again
        shutil.rmtree(folder)
    no_write(monkeypatch, *order)
    assert solver() == solver() == 0
    assert "in memory" in cache.place_words(cache.place())


@pytest.mark.parametrize("home", [None, "", "no/such", "/no/such/home", "/dev/null"])
def test_without_a_home(solver, tmp_path, monkeypatch, home):
    no_write(monkeypatch, solver.folder / "__pycache__")
    monkeypatch.delenv("HOME")
    if home is not None:
        monkeypatch.setenv("HOME", home)
    monkeypatch.setattr(os.path, "expanduser", lambda p: home or p)  # no entry of a user
    assert solver() == 0
    assert cache.place().words == "a folder for temporary files"
    assert solver() == 1


def test_solver_compiled_beside_a_source_that_may_only_be_read_is_used(
    solver, tmp_path, monkeypatch
):
    solver()
    no_write(monkeypatch, solver.folder / "__pycache__")
    cache.place.cache_clear()
    assert cache.is_compiled()
    assert solver() == 1


def test_temporary_folder_is_private_and_nobody_elses(solver, tmp_path, monkeypatch):
    no_write(monkeypatch, solver.folder / "__pycache__")
    monkeypatch.setattr(cache, "_of_user", lambda: None)
    folder = tmp_path / "tmp" / f"interpass-{os.geteuid()}"
    solver()
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


@pytest.mark.parametrize("ending", [".nbi", ".nbc", ".sum"])
def test_a_damaged_file_is_compiled_anew_and_mended(solver, ending):
    solver()
    kept = next(p for p in Path(cache.place().folder).iterdir() if p.suffix == ending)
    for damage in damages(kept):
        kept.write_bytes(damage)
        solver()  # says 42, whatever is in the file
        assert solver() == 1, damage[:20]
        assert cache.is_compiled()


@pytest.mark.parametrize("ending", [".nbi", ".nbc", ".sum"])
def test_a_file_that_is_gone_or_a_folder_is_no_end(solver, ending):
    solver()
    folder = Path(cache.place().folder)
    kept = next(p for p in folder.iterdir() if p.suffix == ending)
    kept.unlink()
    solver()
    assert solver() == 1
    kept.unlink()
    kept.mkdir()
    assert solver() == solver() == 0  # in memory


def test_a_full_disk_is_no_end(solver, tmp_path, monkeypatch):
    with mounted(tmp_path / "full", "size=32k") as folder:
        monkeypatch.setenv("NUMBA_CACHE_DIR", str(folder))
        solver()
        (folder / "rest").write_bytes(bytes(8 * 1024))
        for size in (16, 12, 8, 4, 0):
            for path in folder.rglob("*.nb*"):
                path.unlink()
            (folder / "rest").write_bytes(bytes(size * 1024))
            solver()
