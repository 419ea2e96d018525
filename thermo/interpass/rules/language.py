"""The little language rules are written in: names of quantities, numbers, + - * /, min.

A name carries its unit (``pipe_wall_mm``), so a number beside it is in that unit. Nothing
else can be said: no other calls, no attributes, no powers. The kinds of quantity are
checked before any value is known, so a length is never compared with a current.

What has passed that gate is run as compiled Python, with no builtins and no names but those
of the rule; nothing reaches the compiler that the gate has not looked at, node by node.
"""

import ast
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import isfinite
from types import CodeType
from typing import Any

from ..text.errors import ThermoError, did_you_mean

_LONGEST = 300
_DEEPEST = 30
_TOO_LONG = ("too long or too deep", "split it into two rules")
_HUGE = 1e15  # no joint has such a number, and arithmetic with it may overflow
NUMBER, TEXT, TRUTH = "number", "text", "yes or no"
Value = float | str | bool | tuple[Any, ...]

_FUNCTIONS = {"min": min, "max": max}
_ARITHMETIC = ast.Add | ast.Sub | ast.Mult | ast.Div
_ORDER = ast.Lt | ast.LtE | ast.Gt | ast.GtE
_AMONG = ast.In | ast.NotIn
_COMPARE = _ORDER | _AMONG | ast.Eq | ast.NotEq


class ExpressionError(ThermoError, ValueError):
    """An expression that says nothing a rule could use."""


class NoValue(Exception):
    """A name has no value for this joint; the rule does not apply to it."""


@dataclass(frozen=True)
class Expression:
    """An expression that is known to make sense, and the kind of its value."""

    text: str
    kind: str  # "number", "text", "yes or no" or a kind of quantity
    names: frozenset[str]  # quantities it needs


def read_expression(text: str, kinds: Mapping[str, str]) -> Expression:
    """Read an expression of the names in ``kinds``.

    Parameters
    ----------
    text : str
        Such as ``min(1.09 * pipe_wall_mm, socket_wall_min_mm)``.
    kinds : mapping of str
        Kind of quantity by name.

    Raises
    ------
    ExpressionError
        It cannot be read, names something unknown, or mixes kinds.

    Examples
    --------
    >>> kinds = {"wall_mm": "length", "socket_mm": "length", "amps_A": "current"}
    >>> leg = read_expression("min(1.09 * wall_mm, socket_mm)", kinds)
    >>> leg.kind, round(value_of(leg, {"wall_mm": 4.55, "socket_mm": 4.98}), 2)
    ('length', 4.96)
    >>> read_expression("wall_mm + amps_A", kinds)
    Traceback (most recent call last):
        ...
    interpass.rules.language.ExpressionError: 'wall_mm + amps_A' mixes length and current
    """
    if len(text) > _LONGEST:
        raise ExpressionError(*_TOO_LONG)
    tree = _parsed(text)
    kind = _Kinds(kinds).of(tree.body)
    names = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
    return Expression(text, kind, frozenset(names - set(_FUNCTIONS)))


def _parsed(text: str) -> ast.Expression:
    try:
        return ast.parse(text.strip(), mode="eval")
    except (SyntaxError, ValueError, RecursionError, MemoryError):
        msg = f"'{text}' cannot be read"
        raise ExpressionError(msg, "write it like 1.09 * pipe_wall_mm") from None


class _Kinds:
    """Finds the kind of an expression, and everything that makes no sense in it."""

    def __init__(self, known: Mapping[str, str]) -> None:
        self.known = known
        self.depth = 0

    def of(self, node: ast.expr) -> str:
        """Kind of one node."""
        self.depth += 1
        if self.depth > _DEEPEST:
            raise ExpressionError(*_TOO_LONG)
        find = {
            ast.Constant: self._constant,
            ast.Name: self._name,
            ast.UnaryOp: self._signed,
            ast.BinOp: self._arithmetic,
            ast.Call: self._call,
            ast.Compare: self._comparison,
            ast.BoolOp: self._both,
            ast.Tuple: self._list,
            ast.List: self._list,
        }.get(type(node))
        if find is None:
            raise _no_part(node)
        kind = find(node)
        self.depth -= 1
        return kind

    def _constant(self, node: Any) -> str:
        if isinstance(node.value, str):
            return TEXT
        if isinstance(node.value, int | float) and not isinstance(node.value, bool):
            if abs(node.value) > _HUGE:
                msg = "a number is far too large"
                raise ExpressionError(msg, f"write {_HUGE:.0e} at most")
            return NUMBER
        raise _no_part(node)

    def _name(self, node: Any) -> str:
        if node.id in self.known:
            return self.known[node.id]
        hint = did_you_mean(node.id, self.known, "see 'interpass tables quantities'")
        msg = f"no quantity '{node.id}'"
        raise ExpressionError(msg, hint)

    def _signed(self, node: Any) -> str:
        kind = self.of(node.operand)
        if isinstance(node.op, ast.Not) and kind == TRUTH:
            return kind
        if isinstance(node.op, ast.USub | ast.UAdd) and kind not in (TRUTH, TEXT):
            return kind
        raise _no_part(node)

    def _arithmetic(self, node: Any) -> str:
        if not isinstance(node.op, _ARITHMETIC):
            raise _no_part(node)
        left, right = self.of(node.left), self.of(node.right)
        if TEXT in (left, right) or TRUTH in (left, right):
            raise _no_part(node)
        if isinstance(node.op, ast.Add | ast.Sub):
            return _sum(left, right, node)
        if isinstance(node.op, ast.Div) and left == right:
            return NUMBER
        if right == NUMBER:
            return left
        if left == NUMBER and isinstance(node.op, ast.Mult):
            return right
        msg = f"'{ast.unparse(node)}' is no quantity a rule can use"
        raise ExpressionError(msg)

    def _call(self, node: Any) -> str:
        name = node.func.id if isinstance(node.func, ast.Name) else ""
        if name not in _FUNCTIONS or node.keywords or len(node.args) < 2:
            msg = f"'{ast.unparse(node)}' is not known"
            raise ExpressionError(msg, "min(a, b) and max(a, b) are")
        kind = self.of(node.args[0])
        for other in node.args[1:]:
            kind = _alike(kind, self.of(other), node)
        if kind in (TEXT, TRUTH):
            raise _no_part(node)
        return kind

    def _comparison(self, node: Any) -> str:
        kinds = [self.of(part) for part in (node.left, *node.comparators)]
        for op, left, right in zip(node.ops, kinds[:-1], kinds[1:], strict=True):
            is_word = TEXT in (left, right)
            wrong = (
                not isinstance(op, _COMPARE)
                or (is_word and isinstance(op, _ORDER))
                or (isinstance(op, _AMONG) and not is_word)
            )
            if wrong:
                raise _no_part(node)
            _alike(left, right, node)
        return TRUTH

    def _both(self, node: Any) -> str:
        if any(self.of(part) != TRUTH for part in node.values):
            raise _no_part(node)
        return TRUTH

    def _list(self, node: Any) -> str:
        if not node.elts or any(self.of(part) != TEXT for part in node.elts):
            msg = f"'{ast.unparse(node)}' must be a list of words in quotes"
            raise ExpressionError(msg)
        return TEXT


def _no_part(node: ast.AST) -> ExpressionError:
    known = "names, numbers, + - * /, min, max, comparisons, and, or, not"
    return ExpressionError(f"'{ast.unparse(node)}' is no part of a rule", f"{known} are")


def _alike(left: str, right: str, node: ast.AST) -> str:
    """Kind of two values that are set side by side; a number takes the other's unit."""
    if right in (left, NUMBER):
        if TRUTH in (left, right) or (left == TEXT and right == NUMBER):
            raise _no_part(node)
        return left
    if left == NUMBER and right not in (TEXT, TRUTH):
        return right
    msg = f"'{ast.unparse(node)}' mixes {left} and {right}"
    raise ExpressionError(msg)


def _sum(left: str, right: str, node: ast.AST) -> str:
    if left == right == "temperature" and isinstance(getattr(node, "op", None), ast.Sub):
        return "temperature difference"
    if left == "temperature" and right == "temperature difference":
        return left
    return _alike(left, right, node)


def value_of(expression: Expression, values: Mapping[str, Value | None]) -> Any:
    """Value of an expression, in the unit of its names.

    Raises
    ------
    NoValue
        A quantity it needs has no value here, or what comes out is no number.
    """
    names: Any = _Names(values)
    try:
        found = eval(_compiled(expression.text), {"__builtins__": {}}, names)
    except (ZeroDivisionError, OverflowError):
        raise NoValue(expression.text) from None
    if isinstance(found, float) and not isfinite(found):
        raise NoValue(expression.text)
    return found


@cache
def _compiled(text: str) -> CodeType:
    """Code of a text that was let in; whole numbers of Python would grow without end."""
    tree = _parsed(text)
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, int):
            node.value = float(node.value)
    return compile(tree, "<rule>", "eval")


@dataclass(frozen=True)
class _Names:
    """What a compiled expression may look up: its functions, and quantities with a value."""

    values: Mapping[str, Value | None]

    def __getitem__(self, name: str) -> Any:
        """Value of a name; NoValue where it has none for this joint."""
        if name in _FUNCTIONS:
            return _FUNCTIONS[name]
        if (value := self.values.get(name)) is None:
            raise NoValue(name)
        return value
