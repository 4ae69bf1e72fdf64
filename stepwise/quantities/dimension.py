"""Whether an expression gives the kind of quantity that it is said to give.

Dimensions are worked out by pint, on a small registry of our own: it is quick to build, needs
no cache folder, and knows nothing that a bench does not use. pint is imported by the first
check and not before, since it costs some tenths of a second.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import combinations_with_replacement
from types import MappingProxyType
from typing import TYPE_CHECKING

from stepwise.errors import DimensionError, NotationError, nearest_name
from stepwise.quantities.expression import Expression, Node
from stepwise.quantities.units import known_unit

if TYPE_CHECKING:
    from pint.util import UnitsContainer

_DEFINITIONS = (
    "volt = [voltage]",
    "ampere = [current]",
    "second = [time]",
    "kelvin = [temperature]",
    # Per cent and decibels are pure numbers to algebra, and yet 8 % is not 8, nor is 3 dB 3.
    "percent = [share]",
    "decibel = [level]",
    "division = [divisions]",
    "octave = [octaves]",
    "ohm = volt / ampere",
    "watt = volt * ampere",
    "hertz = 1 / second",
    "farad = ampere * second / volt",
    "henry = volt * second / ampere",
    "joule = watt * second",
)
_PINT_UNITS: Mapping[str, str] = MappingProxyType(
    {
        "V": "volt",
        "A": "ampere",
        "W": "watt",
        "VA": "watt",
        "ohm": "ohm",
        "Hz": "hertz",
        "F": "farad",
        "H": "henry",
        "s": "second",
        "C": "kelvin",
        "K": "kelvin",
        "K/W": "kelvin / watt",
        "J/K": "joule / kelvin",
        "V/s": "volt / second",
        "dB": "decibel",
        "dB/octave": "decibel / octave",
        "%": "percent",
        "div": "division",
    }
)
"""Our SI units in pint's words."""
_NAMED_UNITS = ("V", "A", "W", "ohm", "Hz", "F", "H", "s", "K", "K/W", "J/K", "V/s", "dB", "%")


@dataclass(frozen=True, slots=True)
class _Kind:
    """What a piece of an expression is."""

    dimension: UnitsContainer
    is_temperature: bool = False
    """A point on the Celsius scale, as against a difference."""
    is_zero: bool = False
    """The constant 0, which goes with everything."""


def check_dimension(
    expression: Expression, units_of_names: Mapping[str, str], result_unit: str
) -> None:
    """Check that an expression gives what it is said to give.

    Constants are plain numbers, 0 goes with everything. `log10` takes a plain number; twenty
    times it may be called dB. Per cent divided by 100 is a plain number, and a plain number may
    be called per cent. Two temperatures can be subtracted, which gives a difference in K, or
    compared; they cannot be added or multiplied.

    Args:
        expression: The checked expression.
        units_of_names: Name -> unit in plain spelling of all that may be used.
        result_unit: Plain spelling of the unit that the result is said to have.

    Raises:
        NotationError: A name or a unit is not known.
        DimensionError: Pieces of different kinds are added, or the result is of another kind.
    """
    wanted = _kind_of_unit(result_unit)
    for name in expression.names:
        if name not in units_of_names:
            nearest = nearest_name(name, units_of_names) or ", ".join(sorted(units_of_names))
            raise NotationError(expression.text, f"nothing is called “{name}”", nearest or None)
    got = _kind(expression.root, units_of_names)
    if got.is_zero or _is_same(got, wanted):
        return
    is_plain = got.dimension == _kind_of_unit("").dimension
    if is_plain and known_unit(result_unit).unit.si in ("%", "dB"):
        return
    raise DimensionError(f"“{expression.text}” is {_describe(got)}", _describe(wanted))


def _is_same(one: _Kind, other: _Kind) -> bool:
    return one.dimension == other.dimension and one.is_temperature is other.is_temperature


@cache
def _dimensions() -> Mapping[str, UnitsContainer]:
    """Our SI unit -> its dimension, by pint."""
    from pint import UnitRegistry

    registry: UnitRegistry[float] = UnitRegistry(None)
    for definition in _DEFINITIONS:
        registry.define(definition)
    table = {ours: registry.get_dimensionality(theirs) for ours, theirs in _PINT_UNITS.items()}
    table[""] = table["V"] / table["V"]
    return MappingProxyType(table)


def _kind_of_unit(unit: str) -> _Kind:
    si = known_unit(unit).unit.si
    return _Kind(_dimensions()[si], is_temperature=si == "C")


def _kind(node: Node, units: Mapping[str, str]) -> _Kind:
    if node.operation == "constant":
        return _Kind(_dimensions()[""], is_zero=node.constant == 0.0)
    if node.operation == "name":
        return _kind_of_unit(units[node.name])
    arguments = [_kind(each, units) for each in node.arguments]
    return _RULES[node.operation](node, arguments)


def _sum(node: Node, arguments: list[_Kind]) -> _Kind:
    left, right = arguments
    if left.is_temperature or right.is_temperature:
        return _temperature_sum(node, left, right)
    return _alike(node, arguments)


def _temperature_sum(node: Node, left: _Kind, right: _Kind) -> _Kind:
    """Points on a scale: point - point is a difference, point +- difference is a point."""
    if left.dimension != right.dimension:
        return _alike(node, [left, right])
    if left.is_temperature and right.is_temperature:
        if node.operation == "-":
            return _Kind(left.dimension)
        raise DimensionError(f"“{node.text}” adds two temperatures", "a difference")
    if node.operation == "-" and right.is_temperature:
        raise DimensionError(f"“{node.text}” takes °C from K", "K from °C")
    return left if left.is_temperature else right


def _alike(node: Node, arguments: list[_Kind]) -> _Kind:
    """All of one kind; a zero takes the kind of its neighbours."""
    counted = [each for each in arguments if not each.is_zero] or arguments[:1]
    for each in counted[1:]:
        if not _is_same(each, counted[0]):
            raise DimensionError(
                f"“{node.text}” joins {_describe(counted[0])} to {_describe(each)}",
                "one kind of quantity",
            )
    return counted[0]


def _product(node: Node, arguments: list[_Kind]) -> _Kind:
    left, right = (_no_temperature(node, each) for each in arguments)
    if node.operation == "*":
        return _Kind(left.dimension * right.dimension, is_zero=left.is_zero or right.is_zero)
    divisor = node.arguments[1]
    # "/ 100" after per cent is how people write a share as a plain number.
    is_hundred = divisor.operation == "constant" and divisor.constant == 100.0
    if is_hundred and "[share]" in left.dimension:
        return _Kind(left.dimension / _dimensions()["%"])
    return _Kind(left.dimension / right.dimension, is_zero=left.is_zero)


def _power(node: Node, arguments: list[_Kind]) -> _Kind:
    base = _no_temperature(node, arguments[0])
    return _Kind(base.dimension ** node.arguments[1].constant)


def _root(node: Node, arguments: list[_Kind]) -> _Kind:
    return _Kind(_no_temperature(node, arguments[0]).dimension ** 0.5)


def _logarithm(node: Node, arguments: list[_Kind]) -> _Kind:
    plain = _dimensions()[""]
    if arguments[0].dimension != plain:
        raise DimensionError(
            f"“{node.text}” takes the logarithm of {_describe(arguments[0])}", "a plain number"
        )
    return _Kind(plain)


def _magnitude(node: Node, arguments: list[_Kind]) -> _Kind:
    return _no_temperature(node, arguments[0])


def _no_temperature(node: Node, kind: _Kind) -> _Kind:
    if kind.is_temperature:
        raise DimensionError(f"“{node.text}” has a temperature in °C", "a difference in K")
    return kind


_RULES: Mapping[str, Callable[[Node, list[_Kind]], _Kind]] = MappingProxyType(
    {
        "+": _sum,
        "-": _sum,
        "*": _product,
        "/": _product,
        "**": _power,
        "negative": _magnitude,
        "abs": _magnitude,
        "sqrt": _root,
        "log10": _logarithm,
        "min": _alike,
        "max": _alike,
    }
)


def _describe(kind: _Kind) -> str:
    """A kind in a unit that people know, products of two units included: "V·A", "V²"."""
    if kind.is_temperature:
        return "°C (temperature)"
    dimensions = _dimensions()
    if kind.dimension == dimensions[""]:
        return "a plain number"
    for unit in _NAMED_UNITS:
        if dimensions[unit] == kind.dimension:
            scaled = known_unit(unit)
            return f"{scaled.symbol} ({scaled.unit.dimension})"
    return _compound(kind.dimension)


def _compound(dimension: UnitsContainer) -> str:
    dimensions = _dimensions()
    for one, other in combinations_with_replacement(_NAMED_UNITS, 2):
        if dimensions[one] * dimensions[other] == dimension:
            symbol, second = known_unit(one).symbol, known_unit(other).symbol
            return f"{symbol}²" if one == other else f"{symbol}·{second}"
    for one in _NAMED_UNITS:
        for other in _NAMED_UNITS:
            if dimensions[one] / dimensions[other] == dimension:
                return f"{known_unit(one).symbol}/{known_unit(other).symbol}"
    powers = sorted(dict(dimension).items())
    return " ".join(f"{base.strip('[]')}^{exponent:g}" for base, exponent in powers)
