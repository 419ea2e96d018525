"""Case files that are refused: every mistake with its line, and never a traceback."""

import random
import re
import tomllib
from copy import deepcopy
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from interpass.case_file.keys import TABLES
from interpass.case_file.read import case_from_table, parse_case, read_case
from interpass.joint.case import Case
from interpass.text.errors import CaseError, ExitStatus
from interpass.text.files import LARGEST
from interpass.text.toml import case_table

ROOT = Path(__file__).parents[2]
BAD = sorted((ROOT / "tests" / "data" / "bad").glob("*.toml"))
GOOD = [path.read_bytes() for path in sorted((ROOT / "cases").glob("*.toml"))]
HEADERS = {
    "": "",
    "wire": "[[pass]]\n[pass.wire]\n",
    "segment": "[[pass]]\n[[pass.segments]]\n",
    "pass": "[[pass]]\n",
    "watch": "[[limits.watch]]\n",
    "examination": "[[limits.examine]]\n",
    "place": "[[limits.watch]]\n[limits.watch.at]\n",
    "fan": "[surroundings.fan]\n",
    "purge": "[surroundings.bore]\n",
    "holding": "[surroundings.holding]\n",
    "material": "[materials.own]\n",
    "probe": "[[probe]]\n",
}
"""Where a table of the schema stands in a file; [name] if not listed."""


def told(message):
    """Message without what tomllib says, which differs between versions of Python."""
    return re.sub(r"(not TOML: ).*(; )", r"\1..\2", message)


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
def test_bad_file(path):
    """Each file ends with its messages, ``#! line: problem; remedy``, in their order."""
    text = path.read_text(encoding="utf-8")
    wanted = [line[3:] for line in text.splitlines() if line.startswith("#! ")]
    with pytest.raises(CaseError) as caught:
        read_case(path)
    start = f"{path}:"
    found = [str(one).removeprefix(start).strip() for one in caught.value.mistakes]
    assert [told(one) for one in found] == [told(one) for one in wanted]
    assert str(caught.value).splitlines() == [str(one) for one in caught.value.mistakes]


def test_mistakes_come_in_the_order_of_the_file():
    path = next(path for path in BAD if path.stem == "several")
    with pytest.raises(CaseError) as caught:
        read_case(path)
    lines = [one.line for one in caught.value.mistakes]
    assert len(lines) >= 10
    assert lines == sorted(lines)
    assert caught.value.status == ExitStatus.CASE == 3


@pytest.mark.parametrize(
    ("table", "key"), [(table, key) for table, keys in TABLES.items() for key in keys]
)
@pytest.mark.parametrize("wrong", ["1979-05-27", '[{ a = 1 }, "x"]'])
def test_wrong_type_is_refused_where_it_stands(table, key, wrong):
    """A date or a mixed list is no value of any key."""
    header = HEADERS.get(table, f"[{table}]\n")
    with pytest.raises(CaseError) as caught:
        parse_case(f"# a case\n{header}{key} = {wrong}\n", "x.toml")
    line = header.count("\n") + 2
    name = re.compile(rf"(^|\.){key}\b")
    here = [one for one in caught.value.mistakes if one.line == line]
    assert any(name.search(one.problem.split(" ")[0]) for one in here)
    assert all(str(one).startswith(f"x.toml:{line}: ") and one.remedy for one in here)


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        (b"", "x.toml:1: the file is empty; start from one of the cases shipped"),
        (b"\n \n", "x.toml:1: the file is empty; start from one of the cases shipped"),
        (
            b"a = 1\nb = '\xff'\n",
            "x.toml:2: this is not UTF-8 text; save it as UTF-8 text",
        ),
        (b"\x00" * 10, "x.toml:1: not TOML: "),
        (b"title = 'a\x00b'\n", "x.toml:1: not TOML: "),
        (b"PK\x03\x04\x14\x00\x06\x00", "x.toml:1: not TOML: "),
        (b"#" * (LARGEST + 1), "x.toml: more than 1 MB; a case file is a page of text"),
        (b"x = " + b"[" * 5000, "x.toml:1: nested more than 10 deep; "),
        (b"a" + b".a" * 100_000 + b" = 1", "x.toml:1: nested more than 10 deep; "),
        (
            b"title = " + b"9" * 5000,
            "x.toml:1: a number of 5000 digits; no joint has one",
        ),
        (b"title = 0x" + b"f" * 5000, "x.toml:1: title: that number is not a text"),
        (
            b"\n".join(b"k%d = 1" % n for n in range(5000)),
            "x.toml:1: the file has 5000 entr",
        ),
    ],
)
def test_file_that_is_no_case(tmp_path, content, problem):
    file = tmp_path / "x.toml"
    file.write_bytes(content)
    with pytest.raises(CaseError) as caught:
        read_case(file)
    assert str(caught.value).replace(f"{tmp_path}/", "").startswith(problem)


def test_no_file_and_a_directory(tmp_path):
    with pytest.raises(CaseError, match=r"nothing\.toml: there is no such file; check"):
        read_case(tmp_path / "nothing.toml")
    with pytest.raises(CaseError, match="this is a directory; give a case file in it"):
        read_case(tmp_path)
    with pytest.raises(CaseError, match="cannot be read"):
        read_case("a\x00b.toml")


def refuses_or_reads(action):
    """Run it: a Case, or a CaseError that says something."""
    mistakes = None
    try:
        case = action()
    except CaseError as error:
        mistakes = error.mistakes
    if mistakes is None:
        assert isinstance(case, Case)
    else:
        assert mistakes
        assert all(one.problem for one in mistakes)


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(GOOD), st.data())
def test_noise_in_the_bytes(raw, data):
    """Some bytes of a good case overwritten, cut out or doubled."""
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(raw)))
        cut = data.draw(st.integers(0, 12))
        raw = raw[:at] + data.draw(st.binary(max_size=8)) + raw[at + cut :]
    text = raw.decode("utf-8", errors="replace")
    refuses_or_reads(lambda: parse_case(text))


VALUES = [
    "80 A", "1 mm", "0 mm", "-1 mm", "9e30 mm", "1e-30 mm", "60 mm/min", "20 degC", "0 K", "60 s",
    "5 mm^2", "long", "code", "none", "auto", "fixed", "bore", "pipe", "sleeve", "flange", "cap",
    "316L", "own", "ER309L", "NPS 1", "NPS 1/2", "NPS 4", "DN 20", "1 1/2", "1e9", "1/0", "160",
    "argon purge", "", "x" * 500, "\u0000", "\n", "½ in", "3 m/s", "360 deg", "nan mm", "inf A",
    0, 1, -1, 48, 3000, 150, 10**40, 0.5, float("nan"), float("inf"), True, False, None,
    [], {}, [[]], [{}], [{}] * 20, {"best": 1, "low": 0, "high": 2}, {"speed": "1 m/s"},
    {"diameter": "1.6 mm", "feed": "1 m/min"}, {"r": "15 mm", "z": "-3 mm"},
    [["20 degC", "15 W/m/K"]], [{"start": "0 deg", "end": "360 deg"}],
]  # fmt: skip


def spots(value):
    """Every table and list inside a table, itself included."""
    inner = value.values() if isinstance(value, dict) else value
    yield value
    for one in inner:
        if isinstance(one, dict | list):
            yield from spots(one)


def shaken(table, rng):
    """Copy of a case table with some entries changed, dropped, moved or added."""
    table = deepcopy(table)
    names = [name for keys in TABLES.values() for name in keys]
    for _ in range(rng.randint(1, 4)):
        spot = rng.choice(list(spots(table)))
        value = deepcopy(rng.choice([*VALUES, *spots(table)]))
        if isinstance(spot, list):
            spot.insert(rng.randint(0, len(spot)), value)
        elif spot and rng.random() < 0.7:
            name = rng.choice(list(spot))
            if rng.random() < 0.3:
                del spot[name]
            else:
                spot[name] = value
        else:
            spot[rng.choice(names)] = value
    return table


@settings(max_examples=300, deadline=None)
@given(st.integers(0, 2**32))
def test_noise_in_the_structure(seed):
    """Entries of a good case replaced by others, some of them of the right kind."""
    rng = random.Random(seed)
    table = shaken(case_table(rng.choice(GOOD).decode()), rng)
    refuses_or_reads(lambda: case_from_table(table))


@settings(max_examples=200, deadline=None)
@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
        lambda inner: (
            st.lists(inner, max_size=3)
            | st.dictionaries(
                st.sampled_from(sorted({k for t in TABLES.values() for k in t}))
                | st.text(max_size=4),
                inner,
                max_size=4,
            )
        ),
        max_leaves=12,
    ),
    st.sampled_from(
        ["pipe", "fitting", "joint", "arc", "pass", "limits", "surroundings", "probe"]
    ),
)
def test_any_value_in_any_table(value, name):
    table = tomllib.loads(GOOD[1].decode())
    table[name] = value
    refuses_or_reads(lambda: case_from_table(table))


@pytest.mark.parametrize("digits", [4001, 4300, 4301, 10_000, 900_000])
@pytest.mark.parametrize("before", ["", "title = 'x'\n", "# 1\n\n[pipe]\n"])
def test_numbers_nobody_writes_have_their_line_and_no_words_of_python(before, digits):
    text = f"{before}wall = {'9' * digits}\n"
    with pytest.raises(CaseError) as caught:
        parse_case(text, "x.toml")
    (one,) = caught.value.mistakes
    assert (one.line, one.problem) == (
        before.count("\n") + 1,
        f"a number of {digits} digits",
    )
    assert "sys." not in str(one)


@pytest.mark.parametrize("table", ["pipe", "fitting", "pass"])
def test_a_table_that_is_missing_has_a_line(table):
    blocks = re.split(r"(?m)^(?=\[)", GOOD[0].decode())
    text = "".join(b for b in blocks if not re.match(rf"\[+{table}\b", b))
    with pytest.raises(CaseError) as caught:
        parse_case(text, "x.toml")
    assert all(one.line for one in caught.value.mistakes)


def spoken(text):
    """The stub with its travel said otherwise."""
    stub = (ROOT / "cases" / "sampling-stub.toml").read_text(encoding="utf-8")
    return parse_case(stub.replace('travel = "60 mm/min"', text))


def test_travel_in_turns_is_a_turning_speed():
    case = spoken('travel = "0.85 rev/min"')
    assert case == spoken('turn = "0.85 rev/min"')
    assert case.passes[0].arc_time == pytest.approx(60 / 0.85)
    sources = {one.key: one.source for one in case.assumptions}
    assert sources["pass.1.turn"].startswith("line ")


@pytest.mark.parametrize(
    ("given", "lines"),
    [('travel = "99 rev/min"', [30]), ('travel = "1 rev/min"\nturn = "1 rpm"', [30, 31])],
)
def test_travel_in_turns_is_refused_where_it_stands(given, lines):
    with pytest.raises(CaseError) as caught:
        spoken(given)
    assert [one.line for one in caught.value.mistakes] == lines


@pytest.mark.parametrize(
    "given", ['"3000#"', '"class 3000"', '"CL 3000"', '"3000 lb"', "3000"]
)
def test_classes_as_the_trade_writes_them(given):
    stub = (ROOT / "cases" / "sampling-stub.toml").read_text(encoding="utf-8")
    assert (
        parse_case(
            stub.replace("class = 3000", f"class = {given}")
        ).fitting.pressure_class
        == 3000
    )
