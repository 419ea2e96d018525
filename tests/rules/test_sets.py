"""Rules of one's own: files, their mistakes, and the expressions they are written in."""

import random
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from interpass.case_file.read import parse_case
from interpass.rules import judge as rules
from interpass.rules import language, sets
from interpass.rules.language import ExpressionError, NoValue, read_expression, value_of
from interpass.rules.quantities import KINDS
from interpass.rules.sets import read_sets, required_of, shipped_sets
from interpass.text.errors import CaseError
from rule_cases import BASE, PASS

OWN = """
[[set]]
name = "our yard"
with = ["process piping"]
[[set.rule]]
name = "number of passes"
value = "passes"
at_least = "3"
source = "yard standard, clause 4"
[[set.rule]]
name = "leg along the pipe"
value = "leg_pipe_mm"
at_least = "1/4 in"
when = "pipe_family == 'austenitic' and pipe_wall_mm > 3"
verdict = "note"
source = "yard standard, clause 5, for {pipe_material}"
standing = "given"
advice = "Ask the yard."
[[set.rule]]
name = "feed"
value = "wire_feed_mm_per_min"
at_most = "300"
source = "yard standard, clause 6"
"""


def test_rules_of_ones_own_need_no_code(tmp_path):
    (tmp_path / "yard.toml").write_text(OWN, encoding="utf-8")
    path = tmp_path / "case.toml"
    case = parse_case(BASE + PASS + '[limits]\nrules = "yard.toml"\n', str(path))
    for found in (rules.checks(case), rules.checks(case, None, [tmp_path / "yard.toml"])):
        by_name = {check.rule: check for check in found}
        passes, leg = by_name["number of passes"], by_name["leg along the pipe"]
        assert (passes.verdict, passes.value, passes.required) == ("fail", 2, 3)
        assert leg.required == pytest.approx(6.35e-3)
        assert leg.source == "yard standard, clause 5, for 316L"
        assert (leg.verdict, leg.advice) == ("note", "Ask the yard.")
        assert "fillet leg asked for" in by_name
        assert "feed" not in by_name
    assert [rule.name for rule in rules.unjudged(case)] == ["feed"]


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ('value = "passes"', 'value = "pases"', 7, "no quantity 'pases'; did you mean"),
        ('at_least = "3"', 'at_most = "leg_mm"', 8, "is length, the value is number"),
        ('"1/4 in"', '"1/4 A"', 13, "cannot be read"),
        ('"1/4 in"', '"pipe_wall_mm + current_A"', 13, "mixes length and current"),
        ("at_least = ", "at_lest = ", 8, "did you mean 'at_least'?"),
        ('"note"', '"warning"', 15, "verdict: 'warning' is not known here"),
        ("{pipe_material}", "{pipe_metal}", 16, "no word 'pipe_metal' to put in"),
        ('standing = "given"', 'standing = "sure"', 17, "standing: 'sure' is not known here"),
        ('["process piping"]', '["proces piping"]', 4, "did you mean 'process piping'?"),
        ('source = "yard standard, clause 4"', "", 5, "source is missing"),
        ('name = "our yard"', 'name = "power piping"', 3, "a rule set 'power piping'"),
        ('when = "', 'when = "passes + ', 14, "is no part of a rule"),
        ('"passes"\n', '"passes"\nabove = "1"\n', 9, "at_least cannot stand beside above"),
        ('at_least = "3"', "at_least = 3", 8, "at_least: 3 is not a text; write it in quotes"),
        ("[[set.rule]]", "[[set.rules]]", 5, "did you mean 'rule'?"),
        ('["process piping"]', '"process piping"', 4, "is not a list; write texts"),
        ('name = "our yard"', "", 2, "set.1.name is missing"),
    ],
)  # fmt: skip
def test_mistakes_of_a_file_of_rules(old, new, line, words):
    with pytest.raises(CaseError) as caught:
        read_sets(OWN.replace(old, new), "yard.toml", [s.name for s in shipped_sets()])
    told = [str(m) for m in caught.value.mistakes if words in str(m)]
    assert told, caught.value
    assert told[0].startswith(f"yard.toml:{line}: ")


def test_texts_of_rules_may_be_wrapped_and_many():
    wrapped = OWN.replace('"Ask the yard."', '"""Ask\nthe yard."""')
    assert read_sets(wrapped, "y.toml", ["process piping"])[0].rules[1].advice == (
        "Ask the yard."
    )
    head, rule = OWN.split("[[set.rule]]")[:2]
    text = head + "".join(f"[[set.rule]]{rule}" for _ in range(150))
    assert len(read_sets(text, "y.toml", ["process piping"])[0].rules) == 150


def test_all_mistakes_of_a_file_come_together():
    text = OWN.replace('"passes"', '"pases"').replace('"note"', '"warning"')
    with pytest.raises(CaseError) as caught:
        read_sets(text, "yard.toml", ["process piping"])
    assert [m.line for m in caught.value.mistakes] == [7, 15]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1.09 * pipe_wall_mm", 4.36),
        ("min(pipe_wall_mm, leg_mm, 6)", 4.0),
        ("max(1.25 * pipe_wall_mm, 3)", 5.0),
        ("-(leg_mm - 1) / 2", -2.0),
        ("leg_mm / pipe_wall_mm", 1.25),
        ("3 < pipe_wall_mm <= 4 and not passes > 2", True),
        ("bore in ('open', 'still air') or bore == 'x'", True),
        ("interpass_max_degC - start_degC", 155.0),
    ],
)
def test_value_of_an_expression(text, value):
    values = {"pipe_wall_mm": 4.0, "leg_mm": 5.0, "passes": 2.0, "bore": "open",
              "interpass_max_degC": 175.0, "start_degC": 20.0}  # fmt: skip
    assert value_of(read_expression(text, KINDS), values) == pytest.approx(value)


@pytest.mark.parametrize(
    "text",
    ["__import__('os')", "pipe_wall_mm.real", "(lambda: 1)()", "2 ** 99", "open('x')",
     "[passes for passes in 'ab']", "f'{passes}'", "passes if passes else 1", "leg_mm[0]",
     "min(leg_mm)", "min(leg_mm, key=1)", "'a' * 9", "leg_mm * pipe_wall_mm", "True", "",
     "1 / leg_mm", "leg_mm == 'a'", "bore < 'b'", "passes in 'a'", "not passes",
     "(passes, 1)", "leg_mm & 1", "x := 1", "1 +" * 200 + "1", "-" * 100 + "1"],
)  # fmt: skip
def test_nothing_but_plain_expressions_is_let_in(text):
    with pytest.raises(ExpressionError):
        read_expression(text, KINDS)


ATTACKS = [
    "().__class__.__bases__[0].__subclasses__()", "pipe_wall_mm.__class__", "passes.real",
    "__builtins__", "__import__('os').system('true')", "eval('1')", "min.__self__", "min",
    "min(passes, (lambda: 1)())", "max(*[1, 2])", "min(1, 2, **{})", "min(1, 2)(3)",
    "9 ** 9 ** 9", "1 << 99", "'a' * 999999", "'%s' % passes", "passes @ passes",
    "[passes for passes in bore]", "{1: 2}", "{passes}", "(yield)", "await passes",
    "passes if passes else passes", "(x := passes)", "f'{passes!r:{passes}}'", "b'a' == bore",
    "bore[0]", "bore[::2]", "*bore,", "...", "None", "True", "1j", "passes is passes",
    "not bore", "~passes", "passes // 1", "passes % 2", "bore < bore", "1 < 2 < bore",
    "(" * 120 + "1" + ")" * 120 + ".real", "1" + "+1" * 140, "-" * 60 + "1",
    "[" * 100 + "1" + "]" * 100, "0x" + "f" * 290, "1e999", "passes\n+ import_os\n;1",
]  # fmt: skip


@pytest.mark.parametrize("text", ATTACKS)
def test_what_is_no_rule_is_refused_and_never_compiled(text, monkeypatch):
    """Attributes, calls, comprehensions, huge numbers, depth: the gate is before the compiler."""
    monkeypatch.setattr(language, "compile", pytest.fail, raising=False)
    monkeypatch.setattr(language, "eval", pytest.fail, raising=False)
    with pytest.raises(ExpressionError):
        read_expression(text, KINDS)


def test_a_rule_sees_its_names_and_nothing_else():
    """Even past the gate: what is compiled has no builtins, and a name only if it has a value."""
    for text in ("open", "print", "__name__", "values"):
        with pytest.raises(NoValue):
            value_of(language.Expression(text, "number", frozenset()), {"passes": 1.0})
    found = language.Expression("__builtins__", "number", frozenset())
    with pytest.raises(NoValue):
        value_of(found, {})


@pytest.mark.parametrize("seed", range(40))
def test_compiled_rules_are_worth_what_the_tree_says(seed):
    """Random sums against exact fractions, worked out by hand along the tree."""
    rng = random.Random(seed)

    def grown(depth):
        if depth == 0:
            n = rng.randint(1, 9)
            return (
                (str(n), Fraction(n)) if rng.random() < 0.5 else ("passes", Fraction(3))
            )
        (a, x), (b, y) = grown(depth - 1), grown(depth - 1)
        return rng.choice([
            (f"({a} + {b})", x + y), (f"({a} - {b})", x - y), (f"{a} * {b}", x * y),
            (f"min({a}, {b})", min(x, y)), (f"max({a}, -({b}))", max(x, -y)),
        ])  # fmt: skip

    text, value = grown(4)
    found = value_of(read_expression(text, {"passes": "number"}), {"passes": 3.0})
    assert isinstance(found, float)
    assert found == pytest.approx(float(value))


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("1 / (passes - 2)", {"passes": 2.0}),
        ("passes / passes", {"passes": 0.0}),
        ("min(passes, throat_mm / 1)", {"passes": 2.0}),
        ("passes > 1 and bore == 'open'", {"passes": 2.0}),
    ],
)
def test_what_cannot_be_worked_out_has_no_value(text, values):
    with pytest.raises(NoValue):
        value_of(read_expression(text, KINDS | {"throat_mm": "number"}), values)


def test_what_is_not_asked_for_may_be_missing():
    either = read_expression("passes > 1 or bore == 'open'", KINDS)
    assert value_of(either, {"passes": 2.0}) is True
    assert either.names == {"passes", "bore"}


@given(st.text(alphabet="apssebor_m()[]{}.,+-*/<>='\"0123456789 inotd\n#\\", max_size=40))
def test_any_text_is_an_expression_or_refused(text):
    try:
        found = read_expression(text, {"passes": "number", "bore": "text"})
    except ExpressionError:
        return
    value_of(found, {"passes": 2.0, "bore": "open"}) if "/" not in text else None


def test_requirement_may_be_in_any_unit():
    wall, limit = (read_expression(n, KINDS) for n in ("leg_mm", "interpass_max_degC"))
    assert float(required_of("0.25 in", wall).text) == pytest.approx(6.35)
    assert float(required_of("350 degF", limit).text) == pytest.approx(
        350 / 1.8 - 32 / 1.8
    )
    with pytest.raises(ExpressionError):
        required_of("350 degF", wall)


NUMBERS = ["1e400", "-1e400", "1e308", "9" * 200, "1e16", "0x" + "f" * 200]
SORTS = [
    "1",
    "1.5",
    "true",
    "[1]",
    "[[]]",
    "{ a = 1 }",
    "1979-05-27",
    "[true]",
    '["x", 2]',
    '""',
]


@pytest.mark.parametrize("number", NUMBERS)
@pytest.mark.parametrize("where", ["value", "at_least", "when"])
def test_numbers_no_joint_has_are_refused_where_they_stand(number, where):
    rule = {"value": "leg_mm", "at_least": "1 * leg_mm", "when": "passes > 0"}
    rule[where] = {"value": f"leg_mm * {number}", "at_least": f"{number} * leg_mm",
                   "when": f"passes > {number}"}[where]  # fmt: skip
    lines = [f"{key} = '{text}'" for key, text in rule.items()]
    head = '[[set]]\nname = "s"\n[[set.rule]]\nname = "r"\nsource = "x"\n'
    with pytest.raises(CaseError) as caught:
        read_sets(head + "\n".join(lines), "r.toml")
    assert [one.line for one in caught.value.mistakes] == [6 + list(rule).index(where)]


@pytest.mark.parametrize("wrong", SORTS)
@pytest.mark.parametrize("key", ["set", "name", "words", "with", "rule", "rule.name",
                                 "rule.value", "rule.at_least", "rule.when", "rule.verdict",
                                 "rule.source", "rule.standing", "rule.advice"])  # fmt: skip
def test_values_of_the_wrong_sort_never_get_through(key, wrong):
    """Whatever stands where: sets or mistakes with lines, and nothing else is raised."""
    *table, name = key.split(".")
    good = {
        "": {"name": '"s"'},
        "rule": {"name": '"r"', "value": '"leg_mm"', "source": '"x"'},
    }
    good["rule" if table else ""][name] = wrong
    heads = "" if key == "set" else "[[set]]\n"
    text = heads + "\n".join(f"{k} = {v}" for k, v in good[""].items())
    if key not in ("set", "rule"):
        text += "\n[[set.rule]]\n" + "\n".join(
            f"{k} = {v}" for k, v in good["rule"].items()
        )
    mistakes = []
    try:
        read_sets(text, "r.toml")
    except CaseError as error:
        mistakes = error.mistakes
    assert all(one.line for one in mistakes)


def test_what_overflows_has_no_value():
    product = read_expression("leg_mm * 1e15 * 1e15", {"leg_mm": "length"})
    with pytest.raises(NoValue):
        value_of(product, {"leg_mm": 1e300})


def test_the_sets_shipped_have_no_mistake():
    """They are read without their lines, so a mistake could not say where it stands."""
    text = Path(sets.__file__).with_name(sets.SHIPPED).read_text(encoding="utf-8")
    assert read_sets(text, sets.SHIPPED) == shipped_sets()
