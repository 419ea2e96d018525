"""Every kind of file that is read, drawn from its own grammar and then harmed: the reader returns
what it says, or refuses in words; it never ends any other way.

Case files are drawn key by key from the table of keys, rules from the language's own grammar, logs
and readings as a shop writes them, rows of a chart from real ones, logs of the desk from events.
"""

import json
import random
from dataclasses import asdict
from functools import partial

import pytest
from interpass.case_file.keys import TABLES
from interpass.case_file.read import parse_case
from interpass.charts.joints import DONE, OUT_OF_REACH, ChartRow, as_entry
from interpass.charts.journal import journal
from interpass.desk.bench import begin_weld, open_bench
from interpass.desk.events import LOG_MARK, WHAT_HAPPENS, Event, log_text
from interpass.logs.log import parse_log
from interpass.logs.logger import parse_logger
from interpass.readings.file import parse_readings
from interpass.rules.judge import checks
from interpass.rules.language import read_expression
from interpass.rules.quantities import KINDS
from interpass.rules.sets import read_sets
from interpass.text.errors import ThermoError
from interpass.text.kinds import FORMS
from interpass.text.times import clock_words
from random_joints import usual_joints
from random_logs import random_log, random_readings
from terminal import ROOT

FEW, MANY = range(60), range(60, 2000)
CASE = (ROOT / "cases" / "sampling-stub.toml").read_text(encoding="utf-8")
ODD = ("", " ", "0", "-1", "1e400", "-0.0", "nan", "inf", "9" * 400, "½", "٣", "\uff11\uff12", "1_000", "0x1f", "1,5",
       "1.5.2", "--5", "true", "[]", "{}", "null", "'", '"', "\\", "\x00", "\u202e", "\ufeff", "%s{0}",
       "=1+1", "../..", "a" * 5000, "23:59:60", "24:00:00", "12:00:00 PM+99:99", "0000-00-00 00:00:00",
       "9999-12-31T23:59:59Z", "0001-01-01T00:00:00+14:00", "1e308 degC", "-273.16 degC",
       "5 degC/s", "3 mm mm", "80 A V", "1/0 in", "0/0", "min(1)", "e", "1e", "()", "\t", "\r")  # fmt: skip


def harmed(r, text, pieces=ODD):
    """Text with a few spots cut out, doubled, swapped or overwritten."""
    for _ in range(r.choice((0, 1, 1, 2, 5))):
        at, long = r.randint(0, len(text)), r.choice((0, 1, 3, 12, 80))
        cut = text[at : at + long]
        piece = r.choice((r.choice(pieces), cut * 2, cut[::-1], ""))
        text = text[:at] + piece + text[at + long :]
    return text


def refused(step):
    """Result of a step; its words where it refuses, which is the only other way to end."""
    try:
        return step(), ""
    except ThermoError as error:
        words = str(error)
        assert words.strip()
        assert len(words) < 20_000
        return None, words


# case files, key by key


def value_of(r, key):
    """Something a key may hold, and now and then what it may not."""
    if r.random() < 0.03:
        return json.dumps(r.choice(ODD))
    if key.words and r.random() < 0.6:
        return json.dumps(r.choice(key.words))
    if key.kind == "flag":
        return r.choice(("true", "false"))
    if key.kind == "count":
        return str(r.randint(1, 4))
    if key.kind in FORMS and key.low:
        return json.dumps(r.choice((key.low, key.high)))
    return json.dumps(
        r.choice(("NPS 1", "316L", "coupling", "GTAW", "40", "still air", "3000"))
    )


def table_of(r, name, depth=0):
    """Inline table with some of the keys of a table."""
    known = list(TABLES[name].items())
    picked = r.sample(known, r.randint(1, min(6, len(known))))
    cells = []
    for key, kept in picked:
        if kept.table in TABLES and depth < 2 and r.random() < 0.5:
            inner = table_of(r, kept.table, depth + 1)
            cells.append(f"{key} = {f'[{inner}]' if kept.kind == 'tables' else inner}")
        else:
            cells.append(f"{key} = {value_of(r, kept)}")
    return "{ " + ", ".join(cells) + " }"


def drawn_case(r):
    """Good case whose tables are replaced by drawn ones, or a case of drawn tables alone."""
    text = CASE if r.random() < 0.8 else ""
    for name in r.sample(list(TABLES), r.choice((0, 0, 1, 3))):
        text = f"{name or 'title'}_x = 1\n" * (r.random() < 0.05) + text
        text += f"\n[[{name}]]\n" if name == "pass" else ""
        if name and f"[{name}]" not in text:
            text = f"{name} = {table_of(r, name)}\n" + text
    for key, kept in r.sample(list(TABLES["pass"].items()), r.choice((0, 0, 1, 3))):
        text += f"{key} = {value_of(r, kept)}\n"
    return text


def case_file(seed):
    r = random.Random(f"case {seed}")
    text = harmed(r, drawn_case(r))
    return refused(lambda: parse_case(text, "drawn.toml"))


# rules


def expression(r, depth=0):
    """A sentence of the language, most of them of mixed kinds."""
    names = (*list(KINDS)[:12], *r.sample(list(KINDS), 4))
    ways = (
        lambda: r.choice(names),
        lambda: r.choice(names),
        lambda: str(r.choice((0, 1, 2.5, -3, 1e9))),
        lambda: json.dumps(r.choice(("316L", "5 mm", "ISO", ""))),
        lambda: (
            f"{expression(r, depth + 1)} {r.choice('+-*/')} {expression(r, depth + 1)}"
        ),
        lambda: (
            f"{r.choice(('min', 'max'))}({expression(r, depth + 1)}, {expression(r, depth + 1)})"
        ),
        lambda: (
            f"{expression(r, depth + 1)} {r.choice(('<', '>=', '==', 'in', 'not in'))} "
            f"{expression(r, depth + 1)}"
        ),
        lambda: (
            f"({expression(r, depth + 1)} {r.choice(('and', 'or'))} not {expression(r, depth + 1)})"
        ),
    )
    return r.choice(ways if depth < 3 else ways[:4])()


def sane_rule(r, n):
    """A rule of one quantity against another of its kind."""
    name = r.choice(
        [name for name, kind in KINDS.items() if kind not in ("text", "yes or no")]
    )
    alike = [other for other, kind in KINDS.items() if kind == KINDS[name]]
    return (
        f'[[set.rule]]\nname = "sane {n}"\nvalue = "{name}"\nat_least = "2 * {r.choice(alike)}"\n'
        'verdict = "note"\nsource = "drawn"\nstanding = "given"\n'
    )


def rule_file(joints, seed):
    """Rules are read, and then judge a joint without ending otherwise."""
    r = random.Random(f"rules {seed}")
    rules = []
    for n in range(r.randint(1, 4)):
        if r.random() < 0.6:
            rules.append(sane_rule(r, n))
            continue
        sense = r.choice(("at_least", "at_most", "above", "below"))
        rules.append(
            f'[[set.rule]]\nname = "rule {n}"\nvalue = {json.dumps(expression(r, 1))}\n'
            f"{sense} = {json.dumps(r.choice((expression(r, 2), '5 mm', '3', '80 A')))}\n"
            + (f"when = {json.dumps(expression(r))}\n" if r.random() < 0.5 else "")
            + f'verdict = "{r.choice(("fail", "note", "warn"))}"\nsource = "drawn {{title}}"\n'
            'standing = "given"\n'
        )
    text = harmed(r, '[[set]]\nname = "drawn"\n' + "".join(rules))
    refused(lambda: read_expression(harmed(r, expression(r)), KINDS))
    found, words = refused(lambda: read_sets(text, "drawn.toml"))
    if found:
        refused(lambda: checks(joints[seed % len(joints)], None, found))
    return found, words


# logs and readings


def harmed_table(r, text):
    """A table with some cells, and its header, harmed."""
    lines = text.split("\n")
    for _ in range(r.randint(1, 4)):
        n = r.randrange(len(lines))
        cells = lines[n].split(",")
        cells[r.randrange(len(cells))] = r.choice(ODD)
        lines[n] = ",".join(cells)
    return harmed(r, "\n".join(lines)) if r.random() < 0.5 else "\n".join(lines)


def log_file(joints, seed):
    r = random.Random(f"log {seed}")
    case = joints[seed % len(joints)]
    text = harmed_table(r, random_log(r, case))
    return refused(lambda: parse_log(text, len(case.passes)))


def reading_file(joints, seed):
    r = random.Random(f"readings {seed}")
    case = joints[seed % len(joints)]
    text = harmed_table(r, random_readings(r, case))
    return refused(lambda: parse_readings(text, len(case.passes)))


def logger_head(r):
    """Head of a channel: where it sits, in which unit, in one spelling or another."""
    on, unit = (
        r.choice(("pipe", "socket", "bore", "Fitting")),
        r.choice(("[degC]", "(F)", "_degC")),
    )
    far = r.choice(("5 mm", "0.5 in", "-2 mm", "0 mm", "12mm", "900 mm"))
    return f"T{r.randint(1, 3)} {on} {far} {r.choice(('', '90 deg '))}{unit}"


def logger_file(joints, seed):
    r = random.Random(f"logger {seed}")
    case = joints[seed % len(joints)]
    log = parse_log("pass,arc_on,arc_off\n1,14:00:00,14:01:20\n", len(case.passes))
    heads = ["time", *(logger_head(r) for _ in range(r.randint(1, 3)))]
    begin = 50400 + r.choice((0, 0, -30))
    rows = [
        [clock_words(begin + 5 * n), *(f"{20 + 3 * n:.1f}" for _ in heads[1:])]
        for n in range(r.randint(1, 30))
    ]
    text = "\n".join(",".join(row) for row in (heads, *rows)) + "\n"
    text = harmed_table(r, text) if r.random() < 0.6 else text
    return refused(lambda: parse_logger(text, case, log))


# rows of a chart, events of the desk


def row_of(r, n):
    waits = tuple(r.uniform(0, 900) for _ in range(r.randint(0, 3)))
    autos = tuple(r.random() < 0.5 for _ in waits)
    return ChartRow(
        number=n, state=r.choice((DONE, OUT_OF_REACH)), waits=waits, is_auto=autos
    )


def shaken_json(r, entry):
    """An entry with a value replaced, dropped or added; written as JSON has it."""
    entry = dict(entry)
    odd = (
        None,
        True,
        -1,
        1e308,
        10**400,
        "x",
        [],
        {},
        [[]],
        [None],
        {"a": 1},
        float("nan"),
    )
    name = r.choice((*entry, "new"))
    if r.random() < 0.3:
        entry.pop(name, None)
    else:
        entry[name] = r.choice(odd)
    return json.dumps(entry)


def kept_rows(folder, seed):
    r = random.Random(f"rows {seed}")
    header = {"chart": "a", "words": "one", "joints": 5}
    lines = [json.dumps(header), *(json.dumps(as_entry(row_of(r, n))) for n in range(4))]
    n = r.randrange(len(lines))
    lines[n] = shaken_json(r, json.loads(lines[n]))
    text = (
        harmed(r, "\n".join(lines) + "\n")
        if r.random() < 0.5
        else "\n".join(lines) + "\n"
    )
    path = folder / f"{seed}.rows"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))

    def take_up():
        with journal(path, header, resume=True) as (rows, append):
            append(row_of(r, 4))
            return rows

    return refused(take_up)


def desk_log(folder, seed):
    """A folder with such a log is opened; the joint is taken up, or left alone."""
    r = random.Random(f"desk {seed}")
    place = folder / str(seed)
    place.mkdir()
    begin_weld({}, place, CASE)
    events = [
        Event(f"event{n:04d}", r.choice(WHAT_HAPPENS), 1.77e9 + 60 * n, r.randint(0, 3),
              r.choice(("", "80 A", "11 V", "150 degC", *ODD)), r.choice((None, 0.0, 7200.0)))
        for n in range(r.randint(0, 6))
    ]  # fmt: skip
    lines = [
        '# interpass desk: ""',
        *(LOG_MARK + shaken_json(r, asdict(e)) for e in events),
    ]
    try:
        whole = log_text(events) if r.random() < 0.5 else "\n".join(lines) + "\n"
    except IndexError:  # amps of no arc: no desk writes that
        whole = "\n".join(lines) + "\n"
    path = place / "joint-001-log.csv"
    text = harmed(r, whole) if r.random() < 0.5 else whole
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    before = path.read_bytes()
    found = open_bench(place)
    assert found or path.read_bytes() == before
    return found, ""


@pytest.fixture(scope="module")
def ways(tmp_path_factory):
    """Every format by name: a seed into what was read, or words."""
    joints = usual_joints(6)
    return {
        "case": case_file,
        "rules": partial(rule_file, joints),
        "log": partial(log_file, joints),
        "readings": partial(reading_file, joints),
        "logger": partial(logger_file, joints),
        "rows": partial(kept_rows, tmp_path_factory.mktemp("rows")),
        "desk": partial(desk_log, tmp_path_factory.mktemp("desk")),
    }


NAMES = ("case", "rules", "log", "readings", "logger", "rows", "desk")


@pytest.mark.parametrize("name", NAMES)
def test_what_is_read_or_refused(ways, name):
    """Some of each, or the generator would try one way out alone."""
    found = [ways[name](seed) for seed in FEW]
    assert any(one for one, _ in found)
    assert any(not one for one, _ in found)


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_much_is_read_or_refused(ways, name):
    for seed in MANY:
        ways[name](seed)
