"""Readings that no instrument was named for pretend nothing; counts, times and currents are told."""

from __future__ import annotations

import math
import pickle

import pytest

from stepwise.bench import REACTION, Bench, Meter, MeterType, measure, parse_accuracy
from stepwise.quantities import (
    Answer,
    Expected,
    Form,
    Uncertain,
    Understood,
    format_estimate,
    format_uncertain,
    parse_entry,
    propagate,
)

DC = Meter("dc", MeterType.DIGITAL, parse_accuracy("0.5 % + 2 digits"), "V", Form.DC)
SCOPE = Meter("scope", MeterType.OSCILLOSCOPE, parse_accuracy("3 %"))
BENCH = Bench("Hall workshop", (DC, SCOPE))
COLD, HOT, OTHER = "cold/left//idle", "hot/left//idle", "cold/right//idle"


def read(
    text: str, unit: str, meter: Meter | None = None, key: str = COLD, tolerance: float = 0.0
) -> Uncertain:
    understood = parse_entry(text, Expected(Answer.QUANTITY, unit))
    assert isinstance(understood, Understood), understood
    return measure(understood, meter, BENCH, key, tolerance)


@pytest.mark.parametrize(
    ("text", "unit", "si", "shown"),
    [("53.7", "mA", "A", "53.7 mA"), ("223", "mV", "V", "223 mV"), ("8.1", "ohm", "ohm", "8.1 Ω"),
     ("3.7", "", "", "3.7"), ("36.00", "V", "V", "36.00 V"), ("61", "C", "C", "61 °C")],
)  # fmt: skip
def test_without_an_instrument_the_figure_stands_alone(
    text: str, unit: str, si: str, shown: str
) -> None:
    value = read(text, unit)
    assert value.is_least
    assert value.stated_uncertainty is None
    assert format_uncertain(value, si) == format_estimate(value, si) == shown


@pytest.mark.parametrize("text", ["0", "5", "12"])
@pytest.mark.parametrize("meter", [None, SCOPE])
def test_a_count_is_exact_and_shown_as_one(text: str, meter: Meter | None) -> None:
    value = read(text, "", meter)
    assert value.terms == {}
    assert not value.is_least
    assert format_uncertain(value, "") == text


def test_a_time_by_hand_carries_the_reaction() -> None:
    value = read("1.84", "s")
    limit, digit = REACTION, 0.01 / 2.0
    assert value.standard_uncertainty == pytest.approx(math.hypot(limit, digit) / math.sqrt(3.0))
    assert format_uncertain(value, "s") == "1.84 ± 0.19 s"


def test_a_time_in_divisions_was_read_off_the_trace() -> None:
    # 3 %, and a tenth of a division at 500 ms for either end: 0.0552 s and 0.05 s.
    value = read("3.68 div at 500 ms", "s")
    limits = [abs(term) * math.sqrt(3.0) for term in value.terms.values()]
    assert limits == pytest.approx([0.0552, 0.05, 0.05])


def test_a_current_across_a_resistor_has_the_meters_accuracy() -> None:
    # 0.5 % of 53.7 mA and two tenths, then the tenth that was noted.
    value = read("53.7", "mA", DC)
    limit, digit = 0.005 * 53.7e-3 + 0.2e-3, 0.05e-3
    assert value.standard_uncertainty == pytest.approx(math.hypot(limit, digit) / math.sqrt(3.0))
    assert format_uncertain(value, "A") == "53.70 ± 0.45 mA"


def test_the_resistor_counts_where_it_is_stated_and_cancels_in_its_own_ratio() -> None:
    cold, hot = read("50.0", "mA", DC, COLD, 0.05), read("60.0", "mA", DC, HOT, 0.05)
    bare = read("50.0", "mA", DC)
    added = math.sqrt(cold.standard_uncertainty**2 - bare.standard_uncertainty**2)
    assert added * math.sqrt(3.0) == pytest.approx(0.05 * 50e-3)
    grown = propagate(lambda h, c: h / c, hot, cold)
    assert grown.standard_uncertainty < 0.002
    # Another channel has another resistor.
    other = read("60.0", "mA", DC, OTHER, 0.05)
    apart = propagate(lambda h, c: h / c, other, cold)
    assert apart.standard_uncertainty == pytest.approx(1.2 * 0.05 * math.sqrt(2.0 / 3.0), rel=0.01)


def test_whatever_rests_on_it_knows_no_more() -> None:
    rails, current = read("69.00", "V", DC, OTHER), read("52.4", "mA")
    power = propagate(lambda volts, amperes: volts * amperes, rails, current)
    assert power.is_least
    assert power.scaled(2.0).is_least
    assert pickle.loads(pickle.dumps(power)).is_least
    assert format_uncertain(power, "W") == "3.62 W"
