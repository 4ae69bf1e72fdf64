"""Limits: what a reading or a result is held against.

A limit is written in a procedure as `min`, `max`, both, or `target` with `within`. Each value
is a quantity ("50 mV"), a name ("claimed_power") or a share of a name ("90 % of
reservoir_rating"). Names are known only when a unit is on the bench, so reading the text and
resolving it are two steps.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Annotated

import msgspec

from stepwise.errors import NotationError, did_you_mean
from stepwise.quantities import format_value, parse_quantity, same_dimension

_NAME = re.compile(r"[a-z][a-z0-9_]*\Z")
_SHARE = re.compile(r"(?P<share>[0-9]+(?:[.,][0-9]+)?)\s*%\s+of\s+(?P<name>[a-z][a-z0-9_]*)\Z")

BoundText = Annotated[
    str,
    msgspec.Meta(
        min_length=1,
        description="A quantity, a name, or NUMBER % of NAME",
        examples=["50 mV", "claimed_power", "90 % of reservoir_rating"],
    ),
]


class LimitFields(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A limit as a procedure writes it."""

    min: BoundText | None = None
    max: BoundText | None = None
    target: BoundText | None = None
    within: BoundText | None = None


@dataclass(frozen=True, slots=True)
class Bound:
    """One side of a limit, read but not yet resolved: `factor` times a name, or a value."""

    factor: float
    name: str | None
    unit: str
    """SI unit of the value; empty where a name decides."""


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit in numbers, in the unit of what it judges."""

    low: float | None
    high: float | None
    unit: str
    text: str
    """As people read it: "at least 60 W"."""

    def position(self, value: float) -> float:
        """Where `value` lies: 0 at the lower edge, 1 at the upper, beyond them outside.

        More is always nearer 1. A one-sided limit is taken to be as wide as its edge is away
        from zero: of a maximum 10, 0 stands at 0 and 10 at 1; of a minimum 10, 10 at 0 and 20
        at 1. An edge at zero gives no width, so there it is the middle or far outside.
        """
        if self.low is not None and self.high is not None:
            return (value - self.low) / (self.high - self.low) if self.high > self.low else 0.5
        if self.high is not None:
            over = value - self.high
            return 1.0 + over / abs(self.high) if self.high else (0.5 if over <= 0.0 else 2.0)
        if self.low is not None:
            over = value - self.low
            return over / abs(self.low) if self.low else (0.5 if over >= 0.0 else -1.0)
        return 0.5


def read_bound(text: str) -> Bound:
    """Read one side of a limit.

    Raises:
        NotationError: The text is neither a quantity nor a name nor a share of a name.
    """
    stripped = text.strip()
    share = _SHARE.match(stripped)
    if share:
        return Bound(float(share["share"].replace(",", ".")) / 100.0, share["name"], "")
    if _NAME.match(stripped):
        return Bound(1.0, stripped, "")
    try:
        quantity = parse_quantity(stripped)
    except NotationError as error:
        raise NotationError(
            text, error.reason, "50 mV, claimed_power or 90 % of reservoir_rating"
        ) from None
    return Bound(quantity.value, None, quantity.unit)


def named_in(fields: LimitFields) -> frozenset[str]:
    """Names that a limit uses, once it has been checked."""
    texts = (fields.min, fields.max, fields.target, fields.within)
    bounds = [read_bound(text) for text in texts if text is not None]
    return frozenset(bound.name for bound in bounds if bound.name is not None)


def check_limit(
    fields: LimitFields, unit: str | None, names: Mapping[str, str]
) -> list[tuple[str, str, str]]:
    """Find what is wrong with a limit before anything starts.

    Args:
        fields: The limit as written.
        unit: SI unit of what is judged; None where that is not known: then all is found but what
            is of another kind.
        names: Name -> SI unit of everything that may be named here.

    Returns:
        Triples of field, what is wrong, what would be right; empty when all is well.
    """
    found: list[tuple[str, str, str]] = []
    for field in ("min", "max", "target", "within"):
        text = getattr(fields, field)
        if text is not None:
            allow_percent = field == "within"
            found.extend(_check_bound(field, text, unit, names, allow_percent=allow_percent))
    found.extend(_check_shape(fields))
    return found or _check_room(fields)


def _check_bound(
    field: str, text: str, unit: str | None, names: Mapping[str, str], *, allow_percent: bool
) -> list[tuple[str, str, str]]:
    try:
        bound = read_bound(text)
    except NotationError as error:
        return [(field, f"“{text}” {error.reason}", f"write for instance {error.nearest}")]
    if bound.name is not None and bound.name not in names:
        remedy = did_you_mean(bound.name, sorted(names)) if names else "no names are known here"
        return [(field, f"nothing is called “{bound.name}”", remedy)]
    got = names[bound.name] if bound.name is not None else bound.unit
    if unit is None or same_dimension(got, unit) or (allow_percent and got == "%"):
        return []
    return [
        (
            field,
            f"“{text}” is in {got or 'no unit'}",
            f"write a quantity in {unit or 'no unit'}",
        )
    ]


def _check_shape(fields: LimitFields) -> list[tuple[str, str, str]]:
    has_edge = fields.min is not None or fields.max is not None
    if (fields.target is None) != (fields.within is None):
        return [("target", "target and within belong together", "give both, or min and max")]
    if has_edge and fields.target is not None:
        return [("target", "min or max beside target", "use one form of limit")]
    if not has_edge and fields.target is None:
        return [("limit", "is empty", "give min, max, or target with within")]
    return []


def _check_room(fields: LimitFields) -> list[tuple[str, str, str]]:
    """A limit that nothing can be inside of, as far as that is known without a unit."""
    if fields.min is not None and fields.max is not None:
        low, high = read_bound(fields.min), read_bound(fields.max)
        is_alike = low.name == high.name and same_dimension(low.unit, high.unit)
        if is_alike and low.factor > high.factor:
            reason = f"“{fields.min}” is above max, “{fields.max}”"
            return [("min", reason, "swap the two")]
    if fields.target is None or fields.within is None:
        return []
    target, within = read_bound(fields.target), read_bound(fields.within)
    if within.name is None and within.factor <= 0.0:
        return [("within", f"“{fields.within}” leaves no room", "give a width above zero")]
    is_share = within.unit == "%" and target.unit != "%"
    if is_share and target.name is None and target.factor == 0.0:
        return [("within", "a share of zero is zero", "give the width itself, such as 50 mV")]
    return []


def resolve_limit(
    fields: LimitFields | None, unit: str, value_of: Callable[[str], float | None]
) -> Limit | None:
    """Put numbers into a limit.

    Args:
        fields: The limit as written, or None.
        unit: SI unit of what is judged.
        value_of: Tells the value of a name in its SI unit; None where it is not known here.

    Returns:
        The limit, or None where there is none or a name has no value here: a unit without
        claims cannot miss them.
    """
    if fields is None:
        return None
    if fields.target is not None and fields.within is not None:
        return _resolve_target(fields.target, fields.within, unit, value_of)
    low, high = _value(fields.min, value_of), _value(fields.max, value_of)
    if low is None and high is None:
        return None
    return Limit(low, high, unit, _edges_text(low, high, unit))


def _resolve_target(
    target: str, within: str, unit: str, value_of: Callable[[str], float | None]
) -> Limit | None:
    centre, width = _value(target, value_of), _value(within, value_of)
    if centre is None or width is None:
        return None
    bound = read_bound(within)
    if bound.name is None and bound.unit == "%" and unit != "%":
        width = abs(centre) * width / 100.0
    text = f"{format_value(centre, unit)} ± {format_value(width, unit)}"
    return Limit(centre - width, centre + width, unit, text)


def _value(text: str | None, value_of: Callable[[str], float | None]) -> float | None:
    if text is None:
        return None
    bound = read_bound(text)
    if bound.name is None:
        return bound.factor
    value = value_of(bound.name)
    return None if value is None else bound.factor * value


def _edges_text(low: float | None, high: float | None, unit: str) -> str:
    if low is not None and high is not None:
        return f"{format_value(low, unit)} to {format_value(high, unit)}"
    if low is not None:
        return f"at least {format_value(low, unit)}"
    return f"at most {format_value(high or 0.0, unit)}"
