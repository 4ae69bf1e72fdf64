"""Figures and days as one would say them."""

from __future__ import annotations

import pytest

from stepwise.report.spoken import spoken_day, spoken_text, spoken_value


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [
        (44.8, "W", "45 watts"),
        (1.0, "W", "1 watt"),
        (0.96, "W", "960 milliwatts"),
        (4.0, "ohm", "4 ohms"),
        (4.02, "ohm", "4 ohms"),
        (68_400.0, "Hz", "68 kilohertz"),
        (28.1, "Hz", "28 hertz"),
        (-3.0, "dB", "minus 3 decibels"),
        (0.127, "dB", "0.13 decibels"),
        (41.2, "C", "41 degrees"),
        (112.0, "%", "110 per cent"),
        (358e-6, "V", "360 microvolts"),
        (5.3e-6, "s", "5.3 microseconds"),
        (0.0, "%", "0 per cent"),
        (108.0, "", "110"),
    ],
)
def test_a_figure_has_two_digits_and_a_unit_in_words(value: float, unit: str, said: str) -> None:
    assert spoken_value(value, unit) == said


@pytest.mark.parametrize(
    ("day", "said"),
    [
        ("2026-03-14", "the 14th of March 2026"),
        ("2026-01-01", "the 1st of January 2026"),
        ("2026-05-22", "the 22nd of May 2026"),
        ("2026-08-23", "the 23rd of August 2026"),
        ("2026-12-11", "the 11th of December 2026"),
        ("2026-12-12", "the 12th of December 2026"),
        ("2026-12-31", "the 31st of December 2026"),
        ("", ""),
    ],
)
def test_a_day_is_said_in_full(day: str, said: str) -> None:
    assert spoken_day(day) == said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("-3 dB already at 28 Hz.", "minus 3 decibels already at 28 hertz."),
        ("Only 72 % of it into 8 Ω", "Only 72 per cent of it into 8 ohms"),
        ("68.1 V DC lies between", "68 volts DC lies between"),
        ("it acts like 0.27 µF", "it acts like 0.27 microfarads"),
        ("2026-03 V2 and 5 Volts", "2026-03 V2 and 5 Volts"),
        ("at 1 W", "at 1 watt"),
    ],
)
def test_a_sentence_is_said_without_signs(text: str, said: str) -> None:
    assert spoken_text(text) == said
