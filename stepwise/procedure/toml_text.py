"""Writing TOML: tables of text, numbers and lists of them, which is all that our files hold."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from typing import Any

from stepwise.errors import NotationError
from stepwise.quantities import require

_PREFIXES = ("", "k", "m", "u", "n", "p", "M")


def toml_text(tables: Mapping[str, Any]) -> str:
    """Tables and lists of tables, one level deep, as TOML.

    Args:
        tables: Heading -> table, or a list of tables. Values are text, whole numbers, truth
            values, and lists of text. None and empty tables are left out.
    """
    blocks = [
        "\n".join(_block(heading, table))
        for heading, entry in tables.items()
        for heading, table in _headings(heading, entry)
    ]
    return "\n\n".join(block for block in blocks if block) + "\n"


def _headings(name: str, entry: object) -> Iterator[tuple[str, Mapping[str, Any]]]:
    if isinstance(entry, Mapping):
        if entry:
            yield f"[{name}]", entry
        return
    if isinstance(entry, list | tuple):
        for table in entry:
            yield f"[[{name}]]", table


def _block(heading: str, table: Mapping[str, Any]) -> Iterator[str]:
    yield heading
    for key, value in table.items():
        if value is not None:
            yield f"{key} = {_value(value)}"


def _value(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int):
        return str(value)
    if isinstance(value, list | tuple):
        return f"[{', '.join(_value(each) for each in value)}]"
    # JSON's escapes are TOML's; only DEL, which JSON leaves bare, TOML wants escaped.
    return json.dumps(str(value), ensure_ascii=False).replace("\x7f", "\\u007f")


def quantity_text(value: float, unit: str) -> str:
    """The shortest text that reads back as exactly this quantity: 2.2e-6, "F" -> "2.2 uF".

    Args:
        value: In SI [`unit`].
        unit: Plain spelling of an SI unit.
    """
    candidates = [f"{value:g} {unit}".strip()] if 1 <= abs(value) < 1000 or not value else []
    for prefix in _PREFIXES:
        scaled = value / {"k": 1e3, "m": 1e-3, "u": 1e-6, "n": 1e-9, "p": 1e-12, "M": 1e6}.get(
            prefix, 1.0
        )
        if 1 <= abs(scaled) < 1000:
            candidates += [f"{scaled:.{digits}g} {prefix}{unit}" for digits in (3, 6, 9, 12)]
    for text in candidates:
        if "e" not in text.split(" ")[0] and _reads_back(text, unit, value):
            return text
    return f"{value!r} {unit}"


def _reads_back(text: str, unit: str, value: float) -> bool:
    try:
        return require(text, unit) == value
    except NotationError:
        return False  # not every prefix goes with every unit


def share_text(part: float) -> str:
    """The shortest per cent that read back as this share: 0.005 -> "0.5 %".

    Every share that was ever read from per cent reads back exactly; a few others are not to be
    had by a division by 100 at all and come back off by their last bit.
    """
    percent = part * 100.0
    # Times 100 may miss the last bit, so what hits it is looked for, near misses included.
    for near in (percent, math.nextafter(percent, 0.0), math.nextafter(percent, math.inf)):
        for digits in range(1, 18):
            text = _plain(float(f"{near:.{digits}g}"))
            if float(text) / 100.0 == part:
                return f"{text} %"
    return f"{_plain(percent)} %"


def _plain(value: float) -> str:
    """All digits of a number, without an exponent."""
    from decimal import Decimal

    return format(Decimal(repr(value)), "f").removesuffix(".0")
