"""The wheel beside the library ``thermo`` of a package index: neither overwrites the other."""

import os
import shutil
import subprocess
import sys
import sysconfig
from pathlib import Path

import pytest
from terminal import ROOT, STUB

SOURCES = ("pyproject.toml", "README.md", "thermo")


@pytest.fixture(scope="module")
def environment(tmp_path_factory):
    """An environment of its own with both; what both need is that of this one."""
    folder = tmp_path_factory.mktemp("wheel")
    source = folder / "source"
    source.mkdir()
    for name in SOURCES:
        copy = shutil.copytree if (ROOT / name).is_dir() else shutil.copy
        copy(ROOT / name, source / name)
    pip = [sys.executable, "-m", "pip"]
    wheel = [
        *pip,
        "wheel",
        "-q",
        "--no-deps",
        "--no-build-isolation",
        "-w",
        folder,
        source,
    ]
    subprocess.run(wheel, check=True, capture_output=True)
    own = folder / "venv"
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", own], check=True)
    python = own / "bin" / "python"
    asked = [python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"]
    there = subprocess.run(
        asked, check=True, capture_output=True, text=True
    ).stdout.strip()
    shared = {sysconfig.get_path("purelib"), str(Path(pytest.__file__).parents[1])}
    Path(there, "shared.pth").write_text("\n".join(shared), encoding="utf-8")
    [made] = folder.glob("interpass-*.whl")
    into = [*pip, "--python", python, "install", "-q", "--force-reinstall", "--no-deps"]
    subprocess.run([*into, made], check=True, capture_output=True)
    found = subprocess.run(
        [*pip, "--python", python, "install", "-q", "thermo"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    if found.returncode:
        pytest.skip(f"no index to install the library from: {found.stderr[-200:]}")
    return own


def run(environment, *command):
    clean = {k: v for k, v in os.environ.items() if not k.startswith("PYTHON")}
    ran = subprocess.run(
        [environment / "bin" / command[0], *command[1:]],
        capture_output=True, text=True, check=False, cwd=environment, env=clean,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    return ran.stdout


@pytest.mark.slow
def test_both_are_whole_and_run(environment):
    where = "import interpass, thermo; print(interpass.__file__); print(thermo.__file__)"
    ours, theirs = run(environment, "python", "-c", where).splitlines()
    assert Path(ours).is_relative_to(environment)
    assert Path(ours).parent != Path(theirs).parent
    volume = (  # hexane at 400 K and 10 bar, Peng-Robinson: about 0.16 l/mol
        "from thermo.eos import PR; "
        "print(PR(Tc=507.6, Pc=3025000, omega=0.2975, T=400., P=1E6).V_l)"
    )
    assert 1.4e-4 < float(run(environment, "python", "-c", volume)) < 1.8e-4
    words = run(environment, "interpass", "check", STUB)
    assert "Verdict:" in words
    assert run(environment, "python", "-m", "interpass", "check", STUB) == words
    script = (
        f"import interpass; print(interpass.check(interpass.read_case({STUB!r})).text())"
    )
    assert run(environment, "python", "-c", script).strip() == words.strip()


@pytest.mark.slow
def test_wheel_holds_every_file_of_the_package(environment):
    [there] = environment.glob("lib/python3*/site-packages/interpass")
    package = ROOT / "thermo" / "interpass"
    wanted = {
        p.relative_to(package)
        for p in package.rglob("*")
        if p.is_file() and "__pycache__" not in p.parts
    }
    assert {p for p in wanted if not (there / p).is_file()} == set()
