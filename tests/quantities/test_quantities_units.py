"""The table of units against pint, and against the slips that pint would let pass."""

# One case a line reads better than one argument a line.

from __future__ import annotations

import itertools

import pint
import pytest

from stepwise.errors import DimensionError, NotationError
from stepwise.quantities import (
    convert,
    dotted,
    parse_quantity,
    require,
    same_dimension,
    si_unit,
    spell,
    with_signs,
)

PINT_NAMES = {
    "V": "volt", "A": "ampere", "W": "watt", "VA": "volt * ampere", "ohm": "ohm", "Hz": "hertz",
    "F": "farad", "H": "henry", "s": "second",
}  # fmt: skip
PINT_PREFIXES = {
    "p": "pico", "n": "nano", "u": "micro", "µ": "micro", "m": "milli", "": "", "k": "kilo",
    "M": "mega",
}  # fmt: skip
USED = {
    "V": "nuµmk", "A": "nuµm", "W": "pnuµmkM", "VA": "mk", "ohm": "uµmkM", "Hz": "mkM",
    "F": "pnuµm", "H": "pnuµm", "s": "pnuµm",
}  # fmt: skip
COMBINATIONS = [
    (number, prefix, unit)
    for unit, prefixes in USED.items()
    for number, prefix in itertools.product(("1", "4.7", "330"), ["", *prefixes])
]


@pytest.fixture(scope="module")
def registry():
    return pint.UnitRegistry(cache_folder=None)


def test_there_are_more_than_a_hundred_combinations():
    assert len(COMBINATIONS) > 100


@pytest.mark.parametrize(("number", "prefix", "unit"), COMBINATIONS, ids="".join)
def test_prefixed_units_agree_with_pint(registry, number, prefix, unit):
    oracle = registry.Quantity(float(number), PINT_PREFIXES[prefix] + PINT_NAMES[unit])
    quantity = parse_quantity(f"{number} {prefix}{unit}")
    assert quantity.unit == unit
    assert quantity.value == pytest.approx(
        oracle.to(PINT_NAMES[unit]).magnitude, rel=1e-14, abs=0.0
    )


@pytest.mark.parametrize(
    ("text", "name", "si"),
    [
        ("2 min", "minute", "second"),
        ("1.5 h", "hour", "second"),
        ("0.5 V/us", "volt / microsecond", "volt / second"),
        ("3 K/W", "kelvin / watt", "kelvin / watt"),
        ("40 J/K", "joule / kelvin", "joule / kelvin"),
    ],
)
def test_other_units_agree_with_pint(registry, text, name, si):
    oracle = registry.Quantity(float(text.split()[0]), name).to(si).magnitude
    assert parse_quantity(text).value == pytest.approx(oracle, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("1 kHz", 1e3, "Hz"), ("15 s", 15.0, "s"), ("2 min", 120.0, "s"), ("8 ohm", 8.0, "ohm"),
        ("100 nF", 100e-9, "F"), ("90 %", 90.0, "%"), ("0 mV", 0.0, "V"), ("1k", 1e3, ""),
        ("60 C", 60.0, "C"), ("10 °C", 10.0, "C"), ("160 VA", 160.0, "VA"),
        ("22 kohm", 22e3, "ohm"), ("8R2", 8.2, "ohm"), ("4k7 ohm", 4700.0, "ohm"),
        ("-0.5 dB", -0.5, "dB"), ("17,5 V", 17.5, "V"), ("5 K", 5.0, "K"), ("7", 7.0, ""),
        ("5 h", 18000.0, "s"), ("5 H", 5.0, "H"), ("3 kΩ", 3000.0, "ohm"), ("5 mh", 5e-3, "H"),
    ],
)  # fmt: skip
def test_a_quantity_of_a_file_is_read(text, value, unit):
    quantity = parse_quantity(text)
    assert (quantity.value, quantity.unit, quantity.text) == (value, unit, text)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "“”: is empty; write for instance 1 kHz, 15 s, 8 ohm or 50 mV"),
        ("8 furlong", "“8 furlong”: “furlong” is not a unit that is known here; write for instance 1 kHz, 15 s, 8 ohm or 50 mV"),
        ("1 MV", "“1 MV”: “MV” is not a unit that is known here; write for instance 1 mV"),
        ("1,000 V", "“1,000 V”: “1,000” may have a mark for thousands, so write 1.000 or 1000; write for instance 1000 V"),
        ("17 V rms", "“17 V rms”: a quantity in a file has no form such as RMS; write for instance 1 kHz, 15 s, 8 ohm or 50 mV"),
    ],
)  # fmt: skip
def test_a_quantity_of_a_file_is_refused(text, sentence):
    with pytest.raises(NotationError) as caught:
        parse_quantity(text)
    assert str(caught.value) == sentence


@pytest.mark.parametrize(
    "text",
    [
        "12 m V", "1 V 2 V", "inf V", "nan V", "9**9**9 V", "30 lb", "1 000 V", "1 V\x00", "V",
        "1e400 V", "20 kK", "0x10 V", "1_000 V", "2.0 on 3 V", "1 kmin", "5 kdB", "٣ V", "1e-400 V",
        "8" * 61,
    ],
)  # fmt: skip
def test_what_a_general_parser_lets_pass_is_refused(text):
    with pytest.raises(NotationError):
        parse_quantity(text)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("1 kHz", "Hz", 1e3), ("50 mV", "V", 0.05), ("50 mV", "mV", 0.05), ("1k", "ohm", 1e3),
        ("4n7", "F", 4.7e-9), ("8R2", "ohm", 8.2), ("2 min", "s", 120.0), ("7", "", 7.0),
        ("1k5", "Hz", 1500.0),
    ],
)  # fmt: skip
def test_require_takes_what_has_the_right_dimension(text, unit, value):
    assert require(text, unit) == value


@pytest.mark.parametrize(
    ("text", "unit", "sentence"),
    [
        ("20 ohm", "V", "“20 ohm” is Ω (resistance) where V (voltage) is expected"),
        ("20", "V", "“20” is a plain number where V (voltage) is expected"),
        ("160 VA", "W", "“160 VA” is VA (apparent power) where W (power) is expected"),
        (
            "60 C",
            "K",
            "“60 C” is °C (temperature) where K (temperature difference) is expected",
        ),
        ("1k", "C", "“1k” is a plain number where °C (temperature) is expected"),
    ],
)
def test_require_refuses_another_dimension(text, unit, sentence):
    with pytest.raises(DimensionError) as caught:
        require(text, unit)
    assert str(caught.value) == sentence


def test_same_dimension():
    assert same_dimension("mV", "V")
    assert same_dimension("min", "s")
    assert same_dimension("", "")
    assert not same_dimension("V", "A")
    assert not same_dimension("C", "K")
    assert not same_dimension("W", "VA")
    assert not same_dimension("%", "dB")
    assert not same_dimension("V", "furlong")
    assert not same_dimension("furlong", "furlong")


@pytest.mark.parametrize(
    ("unit", "symbol"),
    [
        ("ohm", "Ω"),
        ("kohm", "kΩ"),
        ("C", "°C"),
        ("uF", "µF"),
        ("V/us", "V/µs"),
        ("%", "%"),
        ("", ""),
    ],
)
def test_units_are_spelled_as_people_read_them(unit, symbol):
    assert spell(unit) == symbol


def test_conversion_keeps_the_quantity():
    assert convert(12.0, "mV", "V") == pytest.approx(0.012)
    assert convert(1.0, "h", "min") == pytest.approx(60.0)
    assert si_unit("kohm") == "ohm"
    with pytest.raises(DimensionError, match=r"mV .voltage. where A .current. is expected"):
        convert(1.0, "mV", "A")
    with pytest.raises(NotationError):
        spell("furlong")


@pytest.mark.parametrize(
    ("text", "shown"),
    [("8 ohm", "8 Ω"), ("22 kohm", "22 kΩ"), ("V", "V"), ("", ""), (None, "")],
)
def test_plain_spelling_is_shown_with_its_sign(text: str | None, shown: str) -> None:
    assert with_signs(text) == shown


def test_a_place_is_the_parts_that_are_there() -> None:
    assert dotted("left", "", None, "8 Ω") == "left · 8 Ω"
    assert dotted(None) == ""
