"""What people write that looks like something else: refused, with what was probably meant."""

from __future__ import annotations

import pytest

from stepwise.quantities import Answer, Expected, Form, Refusal, Understood, parse_entry

AC = Expected(Answer.QUANTITY, "V", Form.RMS, ranges=(1.0, 3.0, 10.0))
DC = Expected(Answer.QUANTITY, "V", Form.DC)
MILLIVOLTS = Expected(Answer.QUANTITY, "mV", Form.DC)
AMPERES = Expected(Answer.QUANTITY, "A", Form.DC)
OHMS = Expected(Answer.QUANTITY, "ohm")
HERTZ = Expected(Answer.QUANTITY, "Hz")
SECONDS = Expected(Answer.QUANTITY, "s")
MICROSECONDS = Expected(Answer.QUANTITY, "us")
FARADS = Expected(Answer.QUANTITY, "uF")
LEVEL = Expected(Answer.LEVEL, "dB", reference_volts=2.0)
HEAT = Expected(Answer.HEAT, "C")


@pytest.mark.parametrize(
    ("expected", "typed", "reason", "nearest"),
    [
        # "on" stands alone between pointer and range, and not within a word
        (AC, "12 furlong", "“furlong” is not a unit that is known here", "12 V"),
        # a remedy must not change the value by a thousand, nor drop digits
        (AC, "5 m V", "“m V” is not a unit that is known here", "5 mV"),
        (FARADS, "100 n F", "“n F” is not a unit that is known here", "100 nF"),
        (FARADS, "4700 MF", "“MF” is not a unit that is known here", "4700 uF"),
        (HERTZ, "1 kHz sine", "“kHz sine” is not a unit that is known here", "1 kHz"),
        # nor invent a unit: volts are no amperes, whatever their number
        (AMPERES, "5 mV", "“5 mV” is in mV (voltage) where A (current) is expected", "0.25 A"),
        (DC, "12V5", "“V5” is not a unit that is known here", "12.5 V"),
        (DC, "0V775", "“V775” is not a unit that is known here", "0.775 V"),
        (
            AC,
            "2.0 on 3 x1,000",
            "“1,000” may have a mark for thousands, so write 1.000 or 1000",
            "2.0 on 3 x1000",
        ),
        # the worth of a division is no multiplier
        (AC, "4.2 div x 5", "what one division is worth is written after “at”", "4.2 div at 5"),
        # minutes are not thousandths of a second
        (
            SECONDS,
            "2m",
            "“2m” may be minutes or milliseconds, so write 2 min or 2 ms",
            "2 min",
        ),
        (SECONDS, "1m30", "a time is one number with one unit", "90 s"),
        (SECONDS, "1:30", "a time is one number with one unit", "90 s"),
        # a power of ten stands for a prefix: nobody means millionths of microseconds
        (
            MICROSECONDS,
            "5e-6",
            "“5e-6” may be in s or in µs, so write the unit",
            "5e-6 s",
        ),
        (MILLIVOLTS, "3e-3", "“3e-3” may be in V or in mV, so write the unit", "3e-3 V"),
        # a sign left to a word
        (LEVEL, "3 dB down", "a level below the reference is written with a minus", "-3 dB"),
        # another scale of temperature
        (
            HEAT,
            "142 F",
            "“142 F” is in degrees Fahrenheit where °C is expected",
            "61 C",
        ),
    ],
)
def test_what_was_probably_meant_is_offered(expected, typed, reason, nearest):
    entry = parse_entry(typed, expected)
    assert isinstance(entry, Refusal), entry
    assert (entry.reason, entry.nearest) == (reason, nearest)
    assert isinstance(parse_entry(nearest, expected), Understood)


@pytest.mark.parametrize(
    ("expected", "typed", "value"),
    [
        (AC, "2.0on3x10", 20.0),
        (AC, "5 millivolts", 5e-3),
        (OHMS, "1 meg", 1e6),
        (OHMS, "4.7 kilohms", 4700.0),
        (MICROSECONDS, "5 microseconds", 5e-6),
        (MICROSECONDS, "2m", 2e-3),
        (SECONDS, "500m", 0.5),
        (DC, "\u201135", -35.0),
        (DC, "\u221235", -35.0),
    ],
)
def test_what_has_one_reading_only_is_read(expected, typed, value):
    entry = parse_entry(typed, expected)
    assert isinstance(entry, Understood), entry
    assert entry.value == pytest.approx(value, rel=1e-12)


def test_a_level_of_minus_nothing_is_nothing():
    assert str(parse_entry("-0", LEVEL).value) == "0.0"
