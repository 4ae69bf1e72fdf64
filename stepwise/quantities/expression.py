"""The arithmetic of procedures: `from = "rail_plus * idle_current"`.

A procedure holds no code. The text is parsed by Python's own grammar and checked node by node
against a white list; it is worked out by walking the checked tree, so nothing but arithmetic on
floats can happen, in time proportional to the length of the text.
"""

from __future__ import annotations

import ast
import math
import re
import warnings
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from stepwise.errors import NotationError
from stepwise.quantities.numeral import LARGEST
from stepwise.quantities.uncertain import Uncertain, propagate

_LONGEST = 300
_DEEPEST = 25
_LARGEST_EXPONENT = 10.0
_EXAMPLE = "rail_plus - rail_minus"
_DECIMAL = re.compile(r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_ALLOWED = re.compile(r"[A-Za-z0-9_.+\-*/(), \t\n]*\Z")
_OPERATORS: Mapping[type[ast.operator], str] = MappingProxyType(
    {ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/", ast.Pow: "**"}
)
_ARGUMENTS: Mapping[str, tuple[int, int]] = MappingProxyType(
    {"sqrt": (1, 1), "abs": (1, 1), "log10": (1, 1), "min": (2, 10), "max": (2, 10)}
)
_COMPUTE: Mapping[str, Callable[..., float]] = MappingProxyType(
    {
        "+": lambda left, right: left + right,
        "-": lambda left, right: left - right,
        "*": lambda left, right: left * right,
        "/": lambda left, right: left / right,
        # math.pow: the operator would answer a negative base with a complex number.
        "**": math.pow,
        "negative": lambda value: -value,
        "sqrt": math.sqrt,
        "abs": abs,
        "log10": math.log10,
        "min": min,
        "max": max,
    }
)


@dataclass(frozen=True, slots=True)
class Node:
    """One operation, constant or name of a checked expression."""

    operation: str
    """An operator, "negative", a function, "constant" or "name"."""
    arguments: tuple[Node, ...] = ()
    constant: float = 0.0
    name: str = ""
    text: str = ""
    """The piece of the expression that it stands for."""


@dataclass(frozen=True, slots=True)
class Expression:
    """A checked expression."""

    text: str
    names: tuple[str, ...]
    """Names used, in the order of their first use."""
    root: Node

    def evaluate(self, values: Mapping[str, float]) -> float:
        """Work it out.

        Args:
            values: Name -> value in its SI unit, for each of `names`.

        Raises:
            NotationError: A name has no value, or there is no finite result (division by
                zero, root or logarithm of a negative number).
        """
        missing = [name for name in self.names if name not in values]
        if missing:
            raise NotationError(self.text, f"there is no value for “{missing[0]}”")
        try:
            result = _evaluate(self.root, values)
        except (ArithmeticError, ValueError):
            result = math.nan
        if math.isfinite(result):
            return result
        used = ", ".join(f"{name} = {values[name]:g}" for name in self.names)
        raise NotationError(self.text, f"has no finite result{f' for {used}' if used else ''}")

    def propagate(self, values: Mapping[str, Uncertain]) -> Uncertain:
        """Work it out with the uncertainty of every value, shared sources counted once.

        Args:
            values: Name -> value in its SI unit, for each of `names`.

        Raises:
            NotationError: A name has no value, or there is no finite result.
        """
        missing = [name for name in self.names if name not in values]
        if missing:
            raise NotationError(self.text, f"there is no value for “{missing[0]}”")

        def at(*numbers: float) -> float:
            return self.evaluate(dict(zip(self.names, numbers, strict=True)))

        return propagate(at, *(values[name] for name in self.names))


def compile_expression(text: str) -> Expression:
    """Check an expression and make it ready.

    Args:
        text: Names, numbers, `+ - * / **`, parentheses, and the functions `sqrt`, `abs`,
            `log10`, `min` and `max`. An exponent is a number of at most 10.

    Raises:
        NotationError: Anything else is in it, or it is too long or too deep.
    """
    if len(text) > _LONGEST:
        raise NotationError(_cut(text), f"is longer than {_LONGEST} characters", _EXAMPLE)
    if not text.strip():
        raise NotationError(text, "is empty", _EXAMPLE)
    if not _ALLOWED.match(text):
        odd = next(char for char in text if not _ALLOWED.match(char))
        raise NotationError(text, f"“{odd}” is not part of this arithmetic", _EXAMPLE)
    root = _Reader(text).read(_parse(_on_one_line(text), text), 0)
    names: dict[str, None] = {}
    _collect_names(root, names)
    return Expression(text, tuple(names), root)


def _on_one_line(text: str) -> str:
    """Line ends are blanks here, where Python's grammar would take them for layout."""
    return " ".join(text.split())


def _cut(text: str) -> str:
    return text if len(text) <= 60 else f"{text[:59]}…"


def _parse(plain: str, text: str) -> ast.expr:
    try:
        with warnings.catch_warnings():
            # "2if" is a warning to Python, and nothing but a mistake here.
            warnings.simplefilter("error")
            return ast.parse(plain, mode="eval").body
    except SyntaxError as error:
        where = f" near “{plain[max(0, (error.offset or 1) - 1) :][:12]}”" if error.offset else ""
        raise NotationError(_cut(text), f"is not complete arithmetic{where}", _EXAMPLE) from None
    except (RecursionError, MemoryError, ValueError, Warning):
        raise NotationError(_cut(text), "is nested too deeply", _EXAMPLE) from None


@dataclass(frozen=True, slots=True)
class _Reader:
    """From Python's tree to ours, everything refused that is not on the list."""

    text: str

    def read(self, node: ast.expr, depth: int) -> Node:
        if depth > _DEEPEST:
            raise NotationError(_cut(self.text), f"is nested deeper than {_DEEPEST}", _EXAMPLE)
        match node:
            case ast.Constant():
                return self._constant(node)
            case ast.Name():
                return self._name(node)
            case ast.UnaryOp(op=ast.USub() | ast.UAdd()):
                operand = self.read(node.operand, depth + 1)
                if isinstance(node.op, ast.UAdd):
                    return operand
                return Node("negative", (operand,), text=ast.unparse(node))
            case ast.BinOp():
                return self._binary(node, depth)
            case ast.Call():
                return self._call(node, depth)
        raise self._refused(node, "is not part of this arithmetic")

    def _refused(self, node: ast.expr, reason: str) -> NotationError:
        piece = ast.get_source_segment(self._plain, node) or type(node).__name__
        return NotationError(_cut(self.text), f"“{_cut(piece)}” {reason}", _EXAMPLE)

    @property
    def _plain(self) -> str:
        return _on_one_line(self.text)

    def _constant(self, node: ast.Constant) -> Node:
        number = node.value
        if isinstance(number, bool) or not isinstance(number, int | float):
            raise self._refused(node, "is not a number")
        if not _DECIMAL.fullmatch(ast.get_source_segment(self._plain, node) or ""):
            raise self._refused(node, "is not a decimal number")
        if not abs(number) <= LARGEST:
            raise self._refused(node, "is too large a number")
        return Node("constant", constant=float(number), text=f"{number:g}")

    def _name(self, node: ast.Name) -> Node:
        if node.id in _ARGUMENTS:
            raise self._refused(node, "is a function and wants parentheses")
        return Node("name", name=node.id, text=node.id)

    def _binary(self, node: ast.BinOp, depth: int) -> Node:
        operation = _OPERATORS.get(type(node.op))
        if operation is None:
            raise self._refused(node, "uses an operator that is not + - * / or **")
        left, right = self.read(node.left, depth + 1), self.read(node.right, depth + 1)
        if operation == "**":
            right = self._exponent(node, right)
        return Node(operation, (left, right), text=ast.unparse(node))

    def _exponent(self, node: ast.BinOp, exponent: Node) -> Node:
        names: dict[str, None] = {}
        _collect_names(exponent, names)
        if names:
            raise self._refused(node, "has an exponent that is not a number")
        try:
            value = _evaluate(exponent, {})
        except (ArithmeticError, ValueError):
            value = math.inf
        if not abs(value) <= _LARGEST_EXPONENT:
            raise self._refused(node, f"has an exponent beyond {_LARGEST_EXPONENT:g}")
        return Node("constant", constant=value, text=exponent.text)

    def _call(self, node: ast.Call, depth: int) -> Node:
        if not isinstance(node.func, ast.Name) or node.func.id not in _ARGUMENTS:
            raise self._refused(node.func, f"is not one of {', '.join(_ARGUMENTS)}")
        name = node.func.id
        fewest, most = _ARGUMENTS[name]
        if node.keywords or not fewest <= len(node.args) <= most:
            wanted = "one value" if most == 1 else f"{fewest} to {most} values"
            raise self._refused(node, f"is wrong: {name} takes {wanted}")
        arguments = tuple(self.read(each, depth + 1) for each in node.args)
        return Node(name, arguments, text=ast.unparse(node))


def _collect_names(node: Node, names: dict[str, None]) -> None:
    if node.operation == "name":
        names.setdefault(node.name)
    for each in node.arguments:
        _collect_names(each, names)


def _evaluate(node: Node, values: Mapping[str, float]) -> float:
    if node.operation == "constant":
        return node.constant
    if node.operation == "name":
        return float(values[node.name])
    numbers = (_evaluate(each, values) for each in node.arguments)
    return float(_COMPUTE[node.operation](*numbers))
