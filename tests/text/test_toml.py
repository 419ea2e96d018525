"""Line numbers of a TOML text, against tomllib and against the text itself."""

import random
import time
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from interpass.text.toml import DEEPEST, scan


class Writer:
    """A random TOML document: every key and every list element is found only once."""

    def __init__(self, seed):
        self.rng = random.Random(seed)
        self.count = 0

    def mark(self):
        self.count += 1
        return f"{self.count:05d}"

    def key(self):
        bare = f"k{self.mark()}"
        styles = [bare, f'"{bare} [a.b] #\\u00e9\\""', f"'{bare} = '", f'"{bare}"']
        return self.rng.choice(styles)

    def dotted(self):
        dot = self.rng.choice([".", " . "])
        return dot.join(self.key() for _ in range(self.rng.choice([1, 1, 1, 2])))

    def scalar(self):
        plain = [self.mark(), "true", "-1.5e3", "1979-05-27 07:32:00", '"# [no] = \\" {"']
        texts = ["'it = [\"'", '"""\n[table]\nkey = 1\n\\"" """', "'''\n''\n[[x]]\n'''"]
        return (
            "9" + plain[0]
            if self.rng.random() < 0.5
            else self.rng.choice(plain[1:] + texts)
        )

    def value(self, depth):
        kind = self.rng.random()
        if depth == 0 or kind < 0.6:
            return self.scalar()
        if kind < 0.8:
            return self.array(depth)
        pairs = [f"{self.dotted()} = {self.value(depth - 1)}" for _ in range(self.few())]
        return "{" + ", ".join(pairs) + "}"

    def array(self, depth):
        gap = self.rng.choice(["", " ", "\n", "  # ], }\n  "])
        items = [self.value(depth - 1) for _ in range(self.few())]
        end = self.rng.choice(["", ","]) if items else ""
        return "[" + gap + f",{gap}".join(items) + end + gap + "]"

    def few(self):
        return self.rng.randint(0, 3)

    def table(self, header, depth):
        lines = [f"{self.dotted()} = {self.value(2)}  # x = [" for _ in range(self.few())]
        for _ in range(self.few() if depth else 0):
            name = f"{header}.{self.key()}" if header else self.key()
            many = self.rng.randint(0, 2)
            for _ in range(many or 1):
                lines += [f" [[ {name} ]] # [y]" if many else f"[{name}]", ""]
                lines += self.table(name, depth - 1)
        return lines

    def text(self):
        lines = self.table("", 2)
        return self.rng.choice(["\n", "\r\n"]).join(lines) + "\n"


def leaves(value, path=()):
    """Paths of all keys and list elements."""
    inner = value.items() if isinstance(value, dict) else enumerate(value)
    for name, one in inner:
        yield (*path, name), one
        if isinstance(one, dict | list):
            yield from leaves(one, (*path, name))


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 2**32))
def test_every_key_and_element_is_at_its_line(seed):
    """Keys and numbers in the text are unique, so their line is known without a parser."""
    text = Writer(seed).text()
    found, lines = scan(text), text.split("\n")
    for path, value in leaves(tomllib.loads(text)):
        if len(path) > DEEPEST:
            continue
        line = lines[found.lines[path] - 1]
        if isinstance(path[-1], str):
            assert path[-1][:6] in line
        elif type(value) is int:
            assert str(value) in line


@pytest.mark.parametrize(
    ("text", "path", "line"),
    [
        ("[pipe]\nsize = 1", ("pipe", "size"), 2),
        ("[[pass]]\na = 1\n[[pass]]\n\na = 2", ("pass", 1, "a"), 5),
        ("[[pass]]\n[pass.wire]\nfeed = 1\n[[pass]]\n[pass.wire]\nfeed = 2", ("pass", 1, "wire", "feed"), 6),
        ("pass = [\n{ a = 1 },\n{ a = 2 }]", ("pass", 1, "a"), 3),
        ("a = '''\nb = 1\n'''\nb = 2", ("b",), 4),
        ("k = [[1, 2],\n [3, 4]]", ("k", 1), 2),
        ("a.b.c = 1\na.d = 2", ("a", "d"), 2),
        ("[a]\n\"x.y\" = 1", ("a", "x.y"), 2),
        ("'q' = 1\n\"\\U0001F600\" = 2", ("\U0001f600",), 2),
        ("a = \"\"\"x\"\"\"\"\"\nb = 1", ("b",), 2),
        ("[[a.b]]\n[[a.b]]\nc = 1", ("a", "b", 1, "c"), 3),
    ],
)  # fmt: skip
def test_line_of_one_key(text, path, line):
    assert scan(text).lines[path] == line


@settings(max_examples=300, deadline=None)
@given(st.text(alphabet="ab[]{}=.,\"'#\\\n\r \t1", max_size=60) | st.text(max_size=60))
def test_no_text_is_too_broken(text):
    """Whatever the text, the scan ends and every line it names exists."""
    count = text.count("\n") + 1
    assert all(1 <= line <= count for line in scan(text).lines.values())


@pytest.mark.parametrize(
    "piece",
    ["[", "{", "a.", '"\\', '"""', "'''", "'", "a=[", "[[a]]\n", "x=1\n", "]", "\\"],
)
def test_a_long_text_takes_linear_time(piece):
    """Half a megabyte of brackets, quotes or dots ends within seconds, not hours."""
    begin = time.perf_counter()
    scan(piece * (100_000 // len(piece)))
    assert time.perf_counter() - begin < 5


def test_the_first_line_that_nests_too_deep_is_named():
    assert scan("a = 1\nb = " + "[" * 20 + "]" * 20).deep_line == 2
    assert scan("a = [[[1]]]").deep_line is None
