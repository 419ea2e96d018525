"""Broken files given to the program: status 3 with file and line, soon, in little memory.

What the reader of case files does with noise is in ``test_case_mistakes``; here the whole
program is run, so that a file that can be read after all must also end well.
"""

import random
import re
import time
import tracemalloc

import pytest
from case_file.test_mistakes import GOOD, shaken
from interpass.text.errors import ExitStatus
from interpass.text.toml import case_table
from terminal import ROOT, STUB

BLOCKS, EACH = 4, 60  # files of one test; some 2,000 with --runslow
MANY = range(BLOCKS, 32)
LONGEST = 20.0  # s for one file on a busy machine; usual is 0.01, and 0.3 with a run
READINGS = ROOT / "cases" / "sampling-stub-readings.csv"
LOG = ROOT / "cases" / "sampling-stub-log.csv"
ENDS = {ExitStatus.OK, ExitStatus.CASE, ExitStatus.RUN, ExitStatus.LIMIT}
FROM = re.compile(r"Error: (?P<file>\S+?)(:(?P<line>\d+))?: .")

PIECES = [
    b"nan", b"inf", b"-inf", b"1e400", b"-1e400", b"1e-400", b"9" * 400, b"0", b"-1", b"'",
    b'"', b'"""', b"[", b"]", b"[[", b"{", b"}", b"=", b"\n", b"\r", b"\0", b"\xff", b"\xef\xbb\xbf",
    b"#", b"\\", b"\\u0000", b"[" * 2000, b"{a=" * 500, b".a" * 500, b"1979-05-27", b"true",
    b"\xe2\x80\xae", b"\xc2\xbd", b" A", b" degF", b"mm", b"long", b"auto", b"\xf0\x9f\x94\xa5",
]  # fmt: skip
VALUE = re.compile(r'"[^"\n]*"|(?<== )[\d.]+')
VALUES = [
    "nan", "inf", "-inf", "1e400", "-1e400", '"nan mm"', '"inf degC"', '"1e400 A"', '"-1 A"',
    '"1e999999999 mm"', '"1e-999999999 s"', "9" * 400, '"' + "9" * 400 + ' mm"', '"0 mm"',
    '"1/0 in"', '"0/1 in"', '"1e-300 mm"', "0", "-0.0", "1e308", '""', '"\\u0000"', "[]", "{}",
    "[[[[1]]]]", "{ best = nan, low = 0, high = 1 }", "{ best = 1, low = 2, high = 0 }",
    '"9**9**9 mm"', '"__import__(\'os\')"', '"' + "(" * 300 + '"', '"80 A; 90 A"', "0xffff",
    '"NPS 1/8"', '"NPS 4"', '"long"', '"copper"', '"5 A"', '"400 A"', '"-40 degC"', '"20 m"',
    '"0.1 mm"', '"24 h"', "720", "1",
]  # fmt: skip


def noisy_bytes(rng):
    """Some bytes of a good case overwritten, cut out or put in."""
    raw = rng.choice(GOOD)
    for _ in range(rng.randint(1, 4)):
        at, cut = rng.randint(0, len(raw)), rng.choice([0, 0, 1, 5, 40])
        piece = rng.choice([rng.choice(PIECES), rng.randbytes(rng.randint(0, 6))])
        raw = raw[:at] + piece + raw[at + cut :]
    return raw


def noisy_lines(rng):
    """Lines of several good cases dropped, doubled and moved about."""
    lines = rng.choice(GOOD).split(b"\n")
    for _ in range(rng.randint(1, 6)):
        at, act = rng.randrange(len(lines)), rng.randint(0, 2)
        if act == 0 and len(lines) > 1:
            lines.pop(at)
        else:
            other = lines if act == 1 else rng.choice(GOOD).split(b"\n")
            lines.insert(at, rng.choice(other))
    return b"\n".join(lines)


def noisy_values(rng):
    """One to three values replaced by extreme ones, and what cannot be meant."""
    text = rng.choice(GOOD).decode()
    for _ in range(rng.randint(1, 3)):
        spots = list(VALUE.finditer(text))
        if not spots:
            break
        spot = rng.choice(spots)
        text = text[: spot.start()] + rng.choice(VALUES) + text[spot.end() :]
    return text.encode()


def noisy_structure(rng):
    """Tables and lists of a good case in the wrong places."""
    table = shaken(case_table(rng.choice(GOOD).decode()), rng)
    return "\n".join(
        f"{_toml(key)} = {_toml(value)}" for key, value in table.items()
    ).encode()


def _toml(value):
    """Write a value as TOML has it; None is written as what it never can be."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return (
            "{ " + ", ".join(f"{_toml(k)} = {_toml(v)}" for k, v in value.items()) + " }"
        )
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    return str(value)


KINDS = (noisy_bytes, noisy_lines, noisy_values, noisy_structure)


def ends_well(run, path, *arguments):
    """Run the program; nothing but a mistake in words, or an answer."""
    began = time.perf_counter()
    status, out, err = run(*arguments)
    assert time.perf_counter() - began < LONGEST
    assert status in ENDS, err
    assert "Traceback" not in err
    if status == ExitStatus.CASE:
        assert out == ""
        first = FROM.match(err)
        assert first, err
        assert first["file"] == str(path)
        assert len(err) < 20_000
    return status, err


def attack(run, tmp_path, block):
    """Give the program a block of broken files; how each ended."""
    found = []
    path = tmp_path / "broken.toml"
    for n in range(EACH):
        rng = random.Random(1000 * block + n)
        path.write_bytes(KINDS[n % len(KINDS)](rng))
        command = ("plan", "--axisymmetric", "--quick") if n % 3 else ("check",)
        found.append(ends_well(run, path, command[0], path, *command[1:])[0])
    return found


@pytest.fixture
def no_ring(monkeypatch):
    """A ring that noise has made large would only take long."""
    monkeypatch.setattr("interpass.heat.model.MOST_CELLS", 100_000)


@pytest.mark.parametrize("block", range(BLOCKS))
def test_broken_files_end_in_words(run, tmp_path, no_ring, block):
    found = attack(run, tmp_path, block)
    assert found.count(ExitStatus.CASE) > EACH / 3
    assert set(found) - {ExitStatus.CASE}  # some can be read and are run


@pytest.mark.slow
@pytest.mark.parametrize("block", MANY)
def test_many_broken_files_end_in_words(run, tmp_path, no_ring, block):
    attack(run, tmp_path, block)


@pytest.mark.parametrize("command", ["plan", "check", "card", "compare", "chart"])
def test_every_command_tells_the_line(run, tmp_path, monkeypatch, command):
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "broken.toml"
    path.write_bytes(GOOD[0].replace(b"[pipe]", b"[pipe]\nsize = nan\nlength = 1e400", 1))
    more = {"chart": ("--over", "current=60 A,80 A"), "compare": (STUB,)}
    status, err = ends_well(run, path, command, path, *more.get(command, ()))
    assert status == ExitStatus.CASE
    assert FROM.match(err)["line"]
    assert list(tmp_path.iterdir()) == [path]


# readings and logs


def noisy_csv(rng, raw):
    for _ in range(rng.randint(1, 4)):
        at, cut = rng.randint(0, len(raw)), rng.choice([0, 1, 5, 40])
        raw = raw[:at] + rng.choice(PIECES) + raw[at + cut :]
    return raw


@pytest.mark.parametrize(("command", "file"), [("fit", READINGS), ("review", LOG)])
def test_broken_tables_end_in_words(run, tmp_path, command, file, monkeypatch):
    """Noise that leaves a table to be read is not run: a fit takes seconds."""
    reached = []

    def stop(*_, **__):
        reached.append(1)
        raise SystemExit(0)

    monkeypatch.setattr("interpass.heat.march.start", stop)
    path = tmp_path / "broken.csv"
    for n in range(120):
        raw = noisy_csv(random.Random(n), file.read_bytes())
        path.write_bytes(raw)
        ends_well(run, path, command, STUB, path)
    assert 0 < len(reached) < 110  # some noise only changes a number or a remark


# size


HUGE = 50_000_000  # bytes


@pytest.mark.parametrize("what", ["zeros", "text"])
@pytest.mark.parametrize("command", ["plan", "check", "fit", "review"])
def test_huge_file_is_refused_at_once(run, tmp_path, command, what):
    path = tmp_path / "huge"
    if what == "zeros":
        with path.open("wb") as stream:
            stream.truncate(HUGE)  # takes no room on the disk
    else:
        path.write_bytes(b"a = 1\n" * (HUGE // 6))
    given = (command, STUB, path) if command in {"fit", "review"} else (command, path)
    run(*given)  # imports are not counted
    tracemalloc.start()
    began = time.perf_counter()
    status, _, err = run(*given)
    took, (_, most) = time.perf_counter() - began, tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert status == ExitStatus.CASE
    assert err.startswith(f"Error: {path}: more than 1 MB; ")
    assert took < 5.0
    assert most < 20e6


@pytest.mark.parametrize("device", ["/dev/zero", "/dev/null"])
def test_devices_are_no_cases(run, device):
    status, _, err = run("plan", device)
    assert status == ExitStatus.CASE
    assert err.startswith(f"Error: {device}:")


@pytest.mark.parametrize(
    "text",
    [
        "\n" * 500_000 + "a = 1",
        "[pipe]\nlength = [" + "1," * 100_000 + "1]\n",
        "k" * 900_000 + " = 1\n",
        'title = "' + "a " * 400_000 + '"\n',
        "[pipe]\nmaterial = '" + "3" * 900_000 + "'\n",
        "".join(f"[a{n}]\n" for n in range(50_000)),
        "[pipe]\n" + "".join(f"lenght{n} = 1\n" for n in range(1_500)),
    ],
    ids=["lines", "list", "key", "title", "name", "tables", "keys"],
)
def test_large_files_take_little_time_and_few_words(run, tmp_path, text):
    path = tmp_path / "large.toml"
    path.write_text(text)
    began = time.perf_counter()
    status, _ = ends_well(run, path, "check", path)
    assert status == ExitStatus.CASE
    assert time.perf_counter() - began < LONGEST
