"""The units of the bench: a fixed table, so that nothing else can be read as a unit by chance.

A general unit library takes "20k" for twenty Boltzmann constants; here a spelling is either in
the table or refused. Values are kept in the SI unit of their dimension, except levels (dB),
shares (%) and temperatures (degrees Celsius), which keep the unit that everybody reads.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from stepwise.errors import DimensionError, NotationError

PREFIXES: Mapping[str, float] = MappingProxyType(
    {"p": 1e-12, "n": 1e-9, "u": 1e-6, "m": 1e-3, "": 1.0, "k": 1e3, "M": 1e6}
)
"""SI prefixes in plain spelling."""


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit of the table."""

    spelling: str
    """Plain spelling, as in files: "ohm"."""
    symbol: str
    """As people read it: "Ω"."""
    dimension: str
    """What it measures, in words for a sentence: "resistance"."""
    si: str
    """Spelling of the unit in which values of this dimension are kept."""
    factor: float = 1.0
    """SI value of one of it [1]."""
    prefixes: str = ""
    """Prefixes used with it at a bench. A megavolt is a slip of the Shift key, not a unit."""
    aliases: tuple[str, ...] = ()
    """Further spellings, lower case."""
    signed: bool = False
    """Whether a reading in it may be negative."""


@dataclass(frozen=True, slots=True)
class ScaledUnit:
    """A unit with its prefix: "kHz"."""

    unit: Unit
    prefix: str = ""

    @property
    def factor(self) -> float:
        """What a number in it is multiplied by to be in SI [1]."""
        return PREFIXES[self.prefix] * self.unit.factor

    @property
    def symbol(self) -> str:
        """As people read it: "kΩ", "µF"."""
        return ("µ" if self.prefix == "u" else self.prefix) + self.unit.symbol


_TABLE: tuple[Unit, ...] = (
    Unit("V", "V", "voltage", "V", prefixes="numk", aliases=("volt", "volts"), signed=True),
    Unit(
        "A",
        "A",
        "current",
        "A",
        prefixes="num",
        aliases=("amp", "amps", "ampere", "amperes"),
        signed=True,
    ),
    Unit("W", "W", "power", "W", prefixes="pnumkM", aliases=("watt", "watts")),
    Unit("VA", "VA", "apparent power", "VA", prefixes="mk"),
    Unit("ohm", "Ω", "resistance", "ohm", prefixes="umkM", aliases=("ohms", "ω", "r")),
    Unit("Hz", "Hz", "frequency", "Hz", prefixes="mkM", aliases=("hertz",)),
    Unit("F", "F", "capacitance", "F", prefixes="pnum", aliases=("farad", "farads")),
    Unit("H", "H", "inductance", "H", prefixes="pnum", aliases=("henry", "henries")),
    Unit("s", "s", "time", "s", prefixes="pnum", aliases=("sec", "secs", "second", "seconds")),
    Unit("min", "min", "time", "s", 60.0, aliases=("mins", "minute", "minutes")),
    Unit("h", "h", "time", "s", 3600.0, aliases=("hr", "hrs", "hour", "hours")),
    Unit(
        "C",
        "°C",
        "temperature",
        "C",
        aliases=(
            "°c",
            "°",
            "deg",
            "degc",
            "deg c",
            "degree c",
            "degrees c",
            "degrees",
            "celsius",
        ),
        signed=True,
    ),
    Unit("K", "K", "temperature difference", "K", signed=True),
    Unit("K/W", "K/W", "thermal resistance", "K/W", aliases=("c/w", "°c/w")),
    Unit("J/K", "J/K", "heat capacity", "J/K", aliases=("ws/k",)),
    Unit("V/s", "V/s", "slew rate", "V/s"),
    Unit("V/us", "V/µs", "slew rate", "V/s", 1e6),
    Unit("dB", "dB", "level", "dB", aliases=("decibel", "decibels"), signed=True),
    Unit("dB/octave", "dB/octave", "slope", "dB/octave", aliases=("db/oct",), signed=True),
    Unit("%", "%", "share", "%", aliases=("percent", "per cent", "pct"), signed=True),
    Unit(
        "div",
        "div",
        "divisions",
        "div",
        aliases=("divs", "division", "divisions"),
        signed=True,
    ),
    Unit("", "", "plain number", "", signed=True),
)

_BY_SPELLING: Mapping[str, Unit] = MappingProxyType({each.spelling: each for each in _TABLE})


def _folded() -> dict[str, Unit]:
    """Spellings in any case; "h" and "H" differ, so the exact spelling is tried before."""
    table: dict[str, Unit] = {}
    for unit in _TABLE:
        for spelling in (unit.spelling.lower(), *unit.aliases):
            table.setdefault(spelling, unit)
    return table


_FOLDED: Mapping[str, Unit] = MappingProxyType(_folded())
_WITH_PREFIX: Mapping[str, tuple[Unit, ...]] = MappingProxyType(
    {
        spelling: tuple(
            each
            for each in _TABLE
            if each.prefixes and spelling in (each.spelling.lower(), *each.aliases)
        )
        for spelling in _FOLDED
    }
)
_PLAIN_SIGNS = str.maketrans(
    # Two code points each for micro and ohm: which one a keyboard sends is chance.
    {
        "\u00b5": "u",
        "\u03bc": "u",
        "\u2126": "ω",
        "\u03a9": "ω",
        "\u00ba": "°",
        "\u2103": "°c",
    }
)
_TYPED_PREFIX: Mapping[str, str] = MappingProxyType(
    {"p": "p", "n": "n", "u": "u", "m": "m", "k": "k", "K": "k", "M": "M"}
)
_SPELLED_PREFIX: Mapping[str, str] = MappingProxyType(
    {
        "pico": "p",
        "nano": "n",
        "micro": "u",
        "milli": "m",
        "kilo": "k",
        "kil": "k",  # as in kilohm
        "mega": "M",
        "meg": "M",
    }
)


def find_unit(spelling: str) -> ScaledUnit | None:
    """Look a spelling up: "kHz", "mV", "kohm", "Ω", "degC", "µF".

    Letters of the unit may be in any case, "k" too; "m" and "M" are told apart.

    Returns:
        The unit with its prefix, or None where the table has nothing of that spelling.
    """
    plain = spelling.strip().translate(_PLAIN_SIGNS)
    exact = _BY_SPELLING.get(plain)
    if exact is not None:
        return ScaledUnit(exact)
    folded = plain.lower()
    whole = _FOLDED.get(folded)
    # "k" is kilo and never the kelvin, whose only spelling is "K".
    if whole is not None and folded != "k":
        return ScaledUnit(whole)
    for word, spelled in _SPELLED_PREFIX.items():
        if folded.startswith(word) and (found := _with_prefix(folded[len(word) :], spelled)):
            return found
    prefix = _TYPED_PREFIX.get(plain[:1])
    if prefix is None:
        return None
    return _with_prefix(folded[1:], prefix)


def _with_prefix(spelling: str, prefix: str) -> ScaledUnit | None:
    for unit in _WITH_PREFIX.get(spelling, ()):
        if prefix in unit.prefixes:
            return ScaledUnit(unit, prefix)
    return None


def find_prefix(letter: str) -> str | None:
    """A prefix alone, in plain spelling: "K" -> "k", "meg" -> "M"; None for anything else."""
    plain = letter.translate(_PLAIN_SIGNS)
    return _TYPED_PREFIX.get(plain) or _SPELLED_PREFIX.get(plain.lower())


@lru_cache(maxsize=128)
def known_unit(spelling: str) -> ScaledUnit:
    """The unit that a program or a file names.

    Args:
        spelling: As in files: "mV", "ohm", "%", or "" for a plain number.

    Raises:
        NotationError: The table has nothing of that spelling.
    """
    scaled = find_unit(spelling)
    if scaled is None:
        raise NotationError(spelling, "is not a unit that is known here", "V, mV, ohm, kHz or %")
    return scaled


def spell(unit: str) -> str:
    """As people read it: "ohm" -> "Ω", "uF" -> "µF", "C" -> "°C".

    Args:
        unit: Plain spelling.

    Raises:
        NotationError: The unit is not known.
    """
    return known_unit(unit).symbol


def same_dimension(first: str, second: str) -> bool:
    """Whether two units measure the same thing; False where either is not known.

    A temperature and a difference of temperatures are two things, and so are watts and
    volt-amperes: 330 K must not pass for 330 degrees Celsius.

    Args:
        first: Plain spelling.
        second: Plain spelling.
    """
    one, other = find_unit(first), find_unit(second)
    return one is not None and other is not None and one.unit.dimension == other.unit.dimension


def si_unit(unit: str) -> str:
    """Spelling of the unit in which values of that dimension are kept: "mV" -> "V".

    Args:
        unit: Plain spelling.

    Raises:
        NotationError: The unit is not known.
    """
    return known_unit(unit).unit.si


def convert(value: float, unit: str, to: str) -> float:
    """The same quantity in another unit.

    Args:
        value: Number of `unit`.
        unit: Plain spelling of what it is in.
        to: Plain spelling of what is wanted.

    Raises:
        NotationError: A unit is not known.
        DimensionError: The two measure different things.
    """
    source, target = known_unit(unit), known_unit(to)
    if source.unit.dimension != target.unit.dimension:
        raise DimensionError(describe_unit(source), describe_unit(target))
    return value * source.factor / target.factor


def describe_unit(scaled: ScaledUnit) -> str:
    """For a sentence: "kΩ (resistance)"."""
    if not scaled.unit.spelling:
        return "a plain number"
    return f"{scaled.symbol} ({scaled.unit.dimension})"
