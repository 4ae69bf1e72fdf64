"""Bench notation, form by form: what is understood, and all that is kept of it."""

from __future__ import annotations

import math

import pytest
from prompts import (
    AC,
    AC_ANY,
    AMPERES,
    CELSIUS,
    CONFIRM,
    DC,
    DC_MILLI,
    FARADS,
    HEAT,
    HERTZ,
    LEVEL,
    LEVEL_FIRST,
    MARK,
    OHMS,
    PEAK,
    PEAK_TO_PEAK,
    SECONDS,
    SHARE,
    TEXT,
    WATTS,
)

from stepwise.errors import NotationError
from stepwise.quantities import (
    TOUCH,
    Answer,
    Expected,
    Form,
    Refusal,
    Understood,
    parse_entry,
)

PP = 2.0 * math.sqrt(2.0)

UNDERSTOOD = [
    # Plain amounts
    (AC, "20", 20.0, "read as 20 V RMS"),
    (AC, "20 V", 20.0, "read as 20 V RMS"),
    (AC, "20V", 20.0, "read as 20 V RMS"),
    (AC, "20 volts", 20.0, "read as 20 V RMS"),
    (AC, "20,5", 20.5, "read as 20.5 V RMS"),
    (AC, "0,125", 0.125, "read as 125 mV RMS"),
    (AC, "1.000", 1.0, "read as 1.000 V RMS"),
    (AC, "  20.50  ", 20.5, "read as 20.50 V RMS"),
    (AC, "+20", 20.0, "read as 20 V RMS"),
    (AC, ".5", 0.5, "read as 0.5 V RMS"),
    (AC, "1e-3", 0.001, "read as 1 mV RMS"),
    (AC, "25m", 0.025, "read as 25 mV RMS"),
    (AC, "25 mv", 0.025, "read as 25 mV RMS"),
    (AC, "250 µV", 250e-6, "read as 250 µV RMS"),
    (AC, "250 \u03bcV", 250e-6, "read as 250 µV RMS"),
    (AC, "250uV", 250e-6, "read as 250 µV RMS"),
    (AC, "-0", 0.0, "read as 0 V RMS"),
    # Forms
    (AC, "17.0 Vrms", 17.0, "read as 17.0 V RMS"),
    (AC, "17 V RMS", 17.0, "read as 17 V RMS"),
    (AC, "17 V ac", 17.0, "read as 17 V RMS"),
    (AC, "500 mVrms", 0.5, "read as 500 mV RMS"),
    (AC, "48 Vpp", 48.0 / PP, "read as 16.97 V RMS: 48 V peak-to-peak of a sine"),
    (AC, "48 V p-p", 48.0 / PP, "read as 16.97 V RMS: 48 V peak-to-peak of a sine"),
    (AC, "48pk-pk", 48.0 / PP, "read as 16.97 V RMS: 48 V peak-to-peak of a sine"),
    (AC, "48 V peak to peak", 48.0 / PP, "read as 16.97 V RMS: 48 V peak-to-peak of a sine"),
    (AC, "24 Vpk", 24.0 / math.sqrt(2.0), "read as 16.97 V RMS: 24 V peak of a sine"),
    (AC, "24 Vp", 24.0 / math.sqrt(2.0), "read as 16.97 V RMS: 24 V peak of a sine"),
    (PEAK, "17 Vrms", 17.0 * math.sqrt(2.0), "read as 24.0 V peak: 17 V RMS of a sine"),
    (PEAK, "48 Vpp", 24.0, "read as 24.00 V peak: 48 V peak-to-peak of a sine"),
    (PEAK_TO_PEAK, "48", 48.0, "read as 48 V peak-to-peak"),
    (PEAK_TO_PEAK, "24 Vpk", 48.0, "read as 48.0 V peak-to-peak: 24 V peak of a sine"),
    (DC, "-48.2", -48.2, "read as -48.2 V DC"),
    (DC, "−48.2", -48.2, "read as -48.2 V DC"),
    (DC, "48.2 Vdc", 48.2, "read as 48.2 V DC"),
    (DC_MILLI, "12", 0.012, "read as 12 mV DC"),
    (DC_MILLI, "-3.5", -0.0035, "read as -3.5 mV DC"),
    (DC_MILLI, "0.5 V", 0.5, "read as 0.5 V DC"),
    (DC_MILLI, "20m", 0.02, "read as 20 mV DC"),
    (AMPERES, "35 mA", 0.035, "read as 35 mA DC"),
    # A pointer on a range
    (AC, "2.0 on 3 x10", 20.0, "read as 20.0 V RMS: 2.0 on the 3 V range, times 10"),
    (AC, "2.0/3 x10", 20.0, "read as 20.0 V RMS: 2.0 on the 3 V range, times 10"),
    (AC, "2.0/3*10", 20.0, "read as 20.0 V RMS: 2.0 on the 3 V range, times 10"),
    (AC, "2.0 on 3V ×10", 20.0, "read as 20.0 V RMS: 2.0 on the 3 V range, times 10"),
    (AC, "2,0 on the 3.0 V range x 10", 20.0, "read as 20.0 V RMS: 2.0 on the 3 V range, times 10"),
    (AC, "2.95 on 3", 2.95, "read as 2.95 V RMS: 2.95 on the 3 V range"),
    (AC, "3.05 on 3", 3.05, "read as 3.05 V RMS: 3.05 on the 3 V range"),
    (AC, "200 on 300 mV", 0.2, "read as 200 mV RMS: 200 on the 300 mV range"),
    (AC, "200 on 300m", 0.2, "read as 200 mV RMS: 200 on the 300 mV range"),
    (AC, "200/300 m", 0.2, "read as 200 mV RMS: 200 on the 300 mV range"),
    (AC, "0.2 on 0.3", 0.2, "read as 0.2 V RMS: 0.2 on the 300 mV range"),
    (AC, "2.0 on 300 mV", 0.2, "read as 0.20 V RMS: 2.0 on the 0 to 3 scale of the 300 mV range"),
    (AC, "2.0 mV on 300 mV", 0.002, "read as 2.0 mV RMS: 2.0 mV on the 300 mV range, low on its scale"),
    (AC, "2.0 on 30", 2.0, "read as 2.0 V RMS: 2.0 on the 30 V range, low on its scale"),
    (AC_ANY, "2.0 on 3 x10", 20.0, "read as 20.0 V RMS: 2.0 on the 3 V range, times 10"),
    (AC, "2.0 x10", 20.0, "read as 20.0 V RMS: 2.0 V, times 10"),
    (AC, "0 on 3", 0.0, "read as 0 V RMS: 0 on the 3 V range"),
    # Divisions
    (AC, "4.2 div at 5", 21.0 / PP, "read as 7.42 V RMS: 4.2 divisions at 5 V, peak-to-peak of a sine"),
    (AC, "4.2 div at 5 x10", 210.0 / PP, "read as 74.25 V RMS: 4.2 divisions at 5 V, times 10, peak-to-peak of a sine"),
    (AC, "4.2 div at 20m", 0.084 / PP, "read as 29.70 mV RMS: 4.2 divisions at 20 mV, peak-to-peak of a sine"),
    (AC, "4.2 div @ 5 x10", 210.0 / PP, "read as 74.25 V RMS: 4.2 divisions at 5 V, times 10, peak-to-peak of a sine"),
    (AC, "4.2div at 5 V/div", 21.0 / PP, "read as 7.42 V RMS: 4.2 divisions at 5 V, peak-to-peak of a sine"),
    (PEAK_TO_PEAK, "4.2 divisions at 5", 21.0, "read as 21.0 V peak-to-peak: 4.2 divisions at 5 V, peak-to-peak"),
    (DC, "-4.2 div at 5", -21.0, "read as -21.0 V DC: -4.2 divisions at 5 V"),
    (SECONDS, "3.5 div at 2 us", 7e-6, "read as 7.0 µs: 3.5 divisions at 2 µs"),
    # Letter code and prefixes
    (OHMS, "1k", 1000.0, "read as 1 kΩ"),
    (OHMS, "1K", 1000.0, "read as 1 kΩ"),
    (OHMS, "1k5", 1500.0, "read as 1.5 kΩ"),
    (OHMS, "4R7", 4.7, "read as 4.7 Ω"),
    (OHMS, "8R2", 8.2, "read as 8.2 Ω"),
    (OHMS, "R47", 0.47, "read as 0.47 Ω"),
    (OHMS, "47R", 47.0, "read as 47 Ω"),
    (OHMS, "4k7 ohm", 4700.0, "read as 4.7 kΩ"),
    (OHMS, "8.06 \u2126", 8.06, "read as 8.06 Ω"),
    (OHMS, "8.06 \u03a9", 8.06, "read as 8.06 Ω"),
    (OHMS, "22 kohm", 22e3, "read as 22 kΩ"),
    (OHMS, "1M", 1e6, "read as 1 MΩ"),
    (OHMS, "1m", 1e-3, "read as 1 mΩ"),
    (FARADS, "2u2", 2.2e-6, "read as 2.2 µF"),
    (FARADS, "4n7", 4.7e-9, "read as 4.7 nF"),
    (FARADS, "47p", 47e-12, "read as 47 pF"),
    (FARADS, "4700 uF", 4.7e-3, "read as 4700 µF"),
    (HERTZ, "1k", 1000.0, "read as 1 kHz"),
    (HERTZ, "12.5k", 12500.0, "read as 12.5 kHz"),
    (HERTZ, "80 KHZ", 80e3, "read as 80 kHz"),
    (SECONDS, "2 min", 120.0, "read as 120 s"),
    (CELSIUS, "61 C", 61.0, "read as 61 °C"),
    (CELSIUS, "61 °C", 61.0, "read as 61 °C"),
    (CELSIUS, "61 degC", 61.0, "read as 61 °C"),
    (CELSIUS, "-5", -5.0, "read as -5 °C"),
    (WATTS, "0.25 W", 0.25, "read as 0.25 W"),
    # Levels
    (LEVEL, "-4.5 dB", -4.5, "read as -4.5 dB"),
    (LEVEL, "-4,5", -4.5, "read as -4.5 dB"),
    (LEVEL, "+0.5 dB", 0.5, "read as 0.5 dB"),
    (LEVEL, "flat", 0.0, "read as 0 dB: flat"),
    (LEVEL, "Flat", 0.0, "read as 0 dB: flat"),
    (LEVEL, "14.1 V", 20.0 * math.log10(14.1 / 20.0), "read as -3.04 dB: 14.1 V RMS against 20 V at 0 dB"),
    (LEVEL, "2.0 on 3 x10", 0.0, "read as 0.0 dB: 20.0 V RMS (2.0 on the 3 V range, times 10) against 20 V at 0 dB"),
    (LEVEL, "1.0/3*10", -6.0206, "read as -6.0 dB: 10.0 V RMS (1.0 on the 3 V range, times 10) against 20 V at 0 dB"),
    (LEVEL, "48 Vpp", -1.42668, "read as -1.43 dB: 16.97 V RMS (48 V peak-to-peak of a sine) against 20 V at 0 dB"),
    (LEVEL, "400m", -33.9794, "read as -33.98 dB: 400 mV RMS against 20 V at 0 dB"),
    (LEVEL_FIRST, "-4.5", -4.5, "read as -4.5 dB"),
    # Shares
    (SHARE, "8", 8.0, "read as 8 %"),
    (SHARE, "8 %", 8.0, "read as 8 %"),
    (SHARE, "8,5%", 8.5, "read as 8.5 %"),
    (SHARE, "0.4/5", 8.0, "read as 8 %: 0.4 of 5 divisions"),
    (SHARE, "0.4 of 5", 8.0, "read as 8 %: 0.4 of 5 divisions"),
    (SHARE, "0.4 div of 5", 8.0, "read as 8 %: 0.4 of 5 divisions"),
    (SHARE, "none", 0.0, "read as 0 %: none"),
    (SHARE, "flat", 0.0, "read as 0 %: flat"),
    # What the finger says
    (HEAT, "61", 61.0, "read as 61 °C"),
    (HEAT, "61,5 °C", 61.5, "read as 61.5 °C"),
    (HEAT, "cold", 17.5, "read as about 18 °C: cold is 10 to 25 °C"),
    (HEAT, "Warm", 37.5, "read as about 38 °C: warm is 30 to 45 °C"),
    (HEAT, "too hot to hold", 75.0, "read as about 75 °C: too hot to hold is 60 to 90 °C"),
    (HEAT, "too hot", 75.0, "read as about 75 °C: too hot is 60 to 90 °C"),
    # Answers that measure nothing
    (MARK, "7", 7.0, "read as 7 of 10"),
    (MARK, "7.5/10", 7.5, "read as 7.5 of 10"),
    (MARK, "0", 0.0, "read as 0 of 10"),
    *[(CONFIRM, word, 1.0, "read as yes") for word in ("y", "yes", "+", "ok", "Done")],
    *[(CONFIRM, word, 0.0, "read as no") for word in ("n", "NO", "-")],
    (TEXT, "hum, see [photo]", 0.0, "noted as written"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("expected", "typed", "value", "echo"),
    UNDERSTOOD,
    ids=[f"{case[0].answer}:{case[0].unit}:{case[1]}" for case in UNDERSTOOD],
)
def test_entry_is_understood(expected, typed, value, echo):
    entry = parse_entry(typed, expected)
    assert isinstance(entry, Understood), entry
    assert entry.typed == typed
    assert entry.value == pytest.approx(value, rel=1e-5, abs=1e-12)
    assert entry.echo == echo


def test_what_was_typed_is_kept_with_all_that_made_the_value():
    entry = parse_entry("2.0 on 3 x10", AC)
    assert (entry.unit, entry.form, entry.typed_form) == ("V", Form.RMS, Form.RMS)
    assert (entry.range_full_scale, entry.multiplier, entry.conversion) == (3.0, 10.0, 1.0)
    assert (entry.divisions, entry.per_division, entry.interval) == (None, None, None)


def test_divisions_of_an_alternating_voltage_are_peak_to_peak():
    entry = parse_entry("4.2 div at 5 x10", AC)
    assert (entry.divisions, entry.per_division, entry.multiplier) == (4.2, 5.0, 10.0)
    assert entry.typed_form is Form.PEAK_TO_PEAK
    assert entry.conversion == pytest.approx(1.0 / PP)


def test_divisions_of_a_direct_voltage_are_not_converted():
    entry = parse_entry("4.2 div at 5", DC)
    assert (entry.typed_form, entry.conversion, entry.value) == (Form.DC, 1.0, 21.0)


def test_a_share_in_divisions_keeps_both_lengths():
    entry = parse_entry("0.4/5", SHARE)
    assert (entry.divisions, entry.per_division) == (0.4, 5.0)


def test_what_the_finger_says_is_an_interval():
    for word, interval in TOUCH.items():
        entry = parse_entry(word, HEAT)
        assert entry.interval == interval
        assert entry.value == sum(interval) / 2.0


def test_a_level_typed_in_volts_keeps_range_and_form():
    entry = parse_entry("2.0 peak on 3 x10", LEVEL)
    assert (entry.unit, entry.form, entry.typed_form) == ("dB", Form.PLAIN, Form.PEAK)
    assert (entry.range_full_scale, entry.multiplier) == (3.0, 10.0)
    assert entry.value == pytest.approx(20.0 * math.log10(1.0 / math.sqrt(2.0)))


@pytest.mark.parametrize(
    ("expected", "typed", "step"),
    [
        (AC, "20", 1.0),
        (AC, "20.50", 0.01),
        (AC, "25m", 1e-3),
        (AC, "2.0 on 3 x10", 1.0),
        (AC, "2.0 on 300 mV", 0.01),
        (AC, "48 Vpp", 1.0 / PP),
        (AC, "4.2 div at 5", 0.5 / PP),
        (OHMS, "1k5", 100.0),
        (OHMS, "4R70", 0.01),
        (HERTZ, "1.00 kHz", 10.0),
        (AC, "1.5e2", 10.0),
        (SECONDS, "2 min", 60.0),
        (LEVEL, "-4.5", 0.1),
        (LEVEL, "14.1 V", 0.0616021),
        (SHARE, "0.4/5", 2.0),
        (MARK, "7", 1.0),
    ],
)
def test_step_is_what_the_last_digit_is_worth(expected, typed, step):
    assert parse_entry(typed, expected).step == pytest.approx(step, rel=1e-6)


def test_equal_sign_repeats_the_last_reading_with_its_range():
    last = parse_entry("2.0 on 3 x10", AC)
    again = parse_entry("=", Expected(Answer.QUANTITY, "V", Form.RMS, last=last))
    assert again.typed == "="
    assert (again.value, again.range_full_scale) == (20.0, 3.0)
    assert again.echo == "read as 20.0 V RMS: the same as the last"


def test_equal_sign_names_where_the_repeated_reading_was_taken():
    last = parse_entry("2.0 on 3 x10", AC)
    expected = Expected(Answer.QUANTITY, "V", Form.RMS, last=last, last_where="left · 8 Ω")
    assert parse_entry("=", expected).echo == "read as 20.0 V RMS: the same as left · 8 Ω"


def test_equal_sign_says_what_it_would_repeat():
    expected = Expected(Answer.LEVEL, "dB", repeats="an earlier level of a sweep")
    entry = parse_entry("=", expected)
    assert isinstance(entry, Refusal)
    assert entry.sentence == (
        "Type for instance “-4.5 dB”. "
        "There is no reading yet that “=” could repeat: it repeats an earlier level of a sweep."
    )


def test_equal_sign_does_not_carry_a_reading_over_to_another_kind():
    last = parse_entry("-3", LEVEL)
    entry = parse_entry("=", Expected(Answer.QUANTITY, "V", Form.RMS, last=last))
    assert isinstance(entry, Refusal)
    assert entry.reason == "the last reading was in dB, and V RMS is asked here"


def test_milli_and_mega_are_told_apart():
    assert parse_entry("1m", OHMS).value == 1e-3
    assert parse_entry("1M", OHMS).value == 1e6
    assert parse_entry("1MHz", HERTZ).value == 1e6
    assert parse_entry("1mHz", HERTZ).value == 1e-3


def test_a_range_in_volts_is_found_where_millivolts_are_expected():
    expected = Expected(Answer.QUANTITY, "mV", Form.DC, ranges=(0.3, 3.0))
    assert parse_entry("200 on 300", expected).value == 0.2
    assert parse_entry("2.0 on 3", expected).value == 2.0


def test_the_numeric_keypad_alone_is_enough():
    keypad = set("0123456789.,+-*/=")
    for expected, typed in [
        (AC, "2.0/3*10"), (LEVEL, "-4,5"), (SHARE, "0.4/5"), (CONFIRM, "+"), (CONFIRM, "-"),
        (MARK, "7"), (HEAT, "61"), (OHMS, "8.06"),
    ]:  # fmt: skip
        assert set(typed) <= keypad
        assert isinstance(parse_entry(typed, expected), Understood)


def test_a_quantity_in_decibels_or_per_cent_is_read_as_level_or_share():
    assert parse_entry("flat", Expected(Answer.QUANTITY, "dB")).unit == "dB"
    assert parse_entry("0.4/5", Expected(Answer.QUANTITY, "%")).value == 8.0


def test_a_prompt_in_an_unknown_unit_is_a_fault_of_the_program():
    with pytest.raises(NotationError, match="furlong"):
        parse_entry("20", Expected(Answer.QUANTITY, "furlong"))
