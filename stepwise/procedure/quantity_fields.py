"""Reading the quantities of unit and bench files, each problem reported and the rest read on."""

from __future__ import annotations

import math

from stepwise.errors import DimensionError, NotationError
from stepwise.procedure.locate import Path
from stepwise.procedure.problems import Problems
from stepwise.quantities import parse_quantity, require


def quantity(text: str | None, unit: str, at: Path, out: Problems) -> float | None:
    """A quantity in the SI unit of `unit`; None where there is none or it is reported."""
    if text is None:
        return None
    try:
        value = require(text, unit)
    except NotationError as error:
        refuse(text, error, at, out)
    except DimensionError as error:
        out.add(at, error.got, f"give {error.expected}")
    else:
        if math.isfinite(value):
            return value
        out.add(at, f"“{text}” is beyond all measure", "write a smaller number")
    return None


def refuse(text: str, error: NotationError, at: Path, out: Problems) -> None:
    """Report a text that cannot be read."""
    colon = ":" if error.reason.startswith("“") else ""
    remedy = f"write for instance {error.nearest}" if error.nearest else ""
    out.add(at, f"“{text}”{colon} {error.reason}", remedy)


def positive(text: str | None, unit: str, at: Path, out: Problems) -> float | None:
    """A quantity that must be above zero."""
    value = quantity(text, unit, at, out)
    if value is not None and value <= 0:
        out.add(at, f"“{text}” is not above zero", "give more than nothing")
        return None
    return value


def share(text: str, of: float, unit: str, at: Path, out: Problems) -> float | None:
    """A share [1] of `of`, written as per cent or as an amount in `unit`."""
    try:
        is_percent = parse_quantity(text).unit == "%"
    except NotationError:
        is_percent = True
    value = quantity(text, "%" if is_percent else unit, at, out)
    if value is None:
        return None
    relative = value / 100.0 if is_percent else value / of if of else 0.0
    if not 0.0 <= relative <= 1.0:
        out.add(at, f"“{text}” is not between 0 % and 100 %", "write for instance 0.5 %")
        return None
    return relative
