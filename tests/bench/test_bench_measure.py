"""What an instrument makes of a reading, against worked examples."""

from __future__ import annotations

import math

import pytest

from stepwise.bench import (
    Bench,
    Meter,
    MeterType,
    measure,
    parse_accuracy,
    parse_resolution,
)
from stepwise.errors import NotationError
from stepwise.quantities import (
    Answer,
    Expected,
    Form,
    Uncertain,
    Understood,
    parse_entry,
    propagate,
)

BENCH = Bench("Hall workshop")


def pointer(accuracy: str, *ranges: float) -> Meter:
    return Meter("ac", MeterType.ANALOGUE, parse_accuracy(accuracy), "V", Form.RMS, ranges)


def display(accuracy: str, counts: int | None = None) -> Meter:
    return Meter("dc", MeterType.DIGITAL, parse_accuracy(accuracy), "V", Form.DC, counts=counts)


def read(text: str, meter: Meter, key: str = "k") -> Uncertain:
    understood = parse_entry(
        text, Expected(Answer.QUANTITY, "V", meter.form, meter.title, meter.ranges)
    )
    assert isinstance(understood, Understood), understood
    return measure(understood, meter, BENCH, key)


def shared(value: Uncertain) -> float:
    """Half-width of the rectangular limit that the range's readings share."""
    return sum(abs(term) for name, term in value.terms.items() if not name.startswith("k ")) * (
        math.sqrt(3.0)
    )


# IEC 60051-1: the class is a percentage of full scale (checks worked from the definition).
@pytest.mark.parametrize(
    ("accuracy", "full_scale", "reading", "half_width"),
    [
        ("2.5 % of full scale", 30.0, 14.0, 0.75),
        ("1.5 % of full scale", 50.0, 20.0, 0.75),
        ("2 % of full scale", 300.0, 90.0, 6.0),
        # Textbook: 1 % of 100 V at 50 V is 2 %, at 25 V is 4 % of the reading.
        ("1 % of full scale", 100.0, 50.0, 1.0),
        ("1 % of full scale", 100.0, 25.0, 1.0),
    ],
)
def test_a_pointer_is_off_by_its_class_of_full_scale(
    accuracy: str, full_scale: float, reading: float, half_width: float
) -> None:
    value = read(f"{reading:g} V", pointer(accuracy, full_scale))
    assert shared(value) == pytest.approx(half_width, rel=1e-9)


# Digital instruments: +-(% of reading + digits), rectangular. checks: arithmetic of the form.
@pytest.mark.parametrize(
    ("accuracy", "typed", "half_width", "standard"),
    [
        ("0.8 % + 3 digits", "14.14", 0.143120, 0.0826304),
        ("0.5 % + 1 digit", "28.28", 0.151400, 0.0874108),
        ("1.2 % + 10 digits", "0.352", 0.0142240, 0.00821223),
        ("0.08 % + 2 digits", "2.000", 0.0036, 0.0036 / math.sqrt(3.0)),
    ],
)
def test_a_display_is_off_by_its_share_and_its_digits(
    accuracy: str, typed: str, half_width: float, standard: float
) -> None:
    value = read(typed, display(accuracy))
    assert shared(value) == pytest.approx(half_width, rel=1e-5)
    assert shared(value) / math.sqrt(3.0) == pytest.approx(standard, rel=1e-5)


def test_counts_decide_the_digit_when_fewer_digits_were_typed() -> None:
    meter = display("0.5 % + 2 digits", counts=4000)
    assert shared(read("35", meter)) == pytest.approx(0.005 * 35 + 2 * 0.01)


# The specification of a hand-held multimeter of 4000 counts, common practice, no source: its
# lowest ohms range is 400 ohm, so 8 ohm is shown in tenths.
@pytest.mark.parametrize(
    ("ranges", "typed", "half_width"),
    [
        ((400.0, 4000.0), "8.1", 0.008 * 8.1 + 3 * 0.1),
        ((40.0, 400.0), "8.1", 0.008 * 8.1 + 3 * 0.01),
        ((40.0, 400.0, 4000.0), "1.2 kohm", 0.008 * 1200.0 + 3 * 1.0),
        ((400.0,), "1.2 kohm", 0.008 * 1200.0 + 3 * 1.0),
    ],
)
def test_no_digit_is_finer_than_the_range_shows(
    ranges: tuple[float, ...], typed: str, half_width: float
) -> None:
    accuracy = parse_accuracy("0.8 % + 3 digits")
    meter = Meter("ohm", MeterType.DIGITAL, accuracy, "ohm", ranges=ranges, counts=4000)
    understood = parse_entry(typed, Expected(Answer.QUANTITY, "ohm", Form.PLAIN, "ohm", ranges))
    assert isinstance(understood, Understood), understood
    assert shared(measure(understood, meter, BENCH, "k")) == pytest.approx(half_width)


def test_a_range_that_its_counts_just_fill_has_the_digit_of_its_maker() -> None:
    # 1999 counts, 2 V: millivolts. 3999 counts, 4 V: millivolts too.
    assert display("1 %", counts=1999).digit(1.0, 2.0) == pytest.approx(1e-3)
    assert display("1 %", counts=3999).digit(1.0, 4.0) == pytest.approx(1e-3)
    assert display("1 %", counts=3999).digit(1.0, 40.0) == pytest.approx(1e-2)


def test_the_same_deflection_twice_has_no_class_error_in_its_ratio() -> None:
    meter = pointer("3 % of full scale", 1.0, 3.0, 10.0)
    first, second = read("2.0 on 3", meter, "a"), read("2.0 on 3", meter, "b")
    ratio = propagate(lambda x, y: x / y, first, second)
    assert abs(ratio.terms.get("ac 3 range", 0.0)) < 1e-6


def test_unequal_deflections_keep_what_does_not_cancel() -> None:
    meter = pointer("3 % of full scale", 3.0)
    first, second = read("1.0 on 3", meter, "a"), read("2.0 on 3", meter, "b")
    ratio = propagate(lambda x, y: x / y, first, second)
    class_u = 0.09 / math.sqrt(3.0)
    # d(x/y) = e (1/y - x/y^2) for one common error e: 1/2 - 1/4 = 1/4.
    assert ratio.terms["ac 3 range"] == pytest.approx(class_u / 4.0, rel=1e-3)


def test_a_multiplier_multiplies_the_error_too() -> None:
    meter = pointer("3 % of full scale", 1.0, 3.0, 10.0)
    assert shared(read("2.0 on 3 x10", meter)) == pytest.approx(0.9)


def test_without_a_named_range_the_lowest_that_holds_the_value_is_taken() -> None:
    meter = pointer("3 % of full scale", 1.0, 3.0, 10.0)
    assert shared(read("2.4 V", meter)) == pytest.approx(0.09)
    assert shared(read("20 V", meter)) == pytest.approx(0.9)


def test_levels_in_volts_share_the_reference_range() -> None:
    meter = pointer("3 % of full scale", 3.0)
    expected = Expected(Answer.LEVEL, "dB", Form.PLAIN, "ac", (3.0,), reference_volts=2.0)
    same = parse_entry("2.0 V", expected)
    half = parse_entry("1.0 on 3", expected)
    assert isinstance(same, Understood)
    assert isinstance(half, Understood)
    at_reference = measure(same, meter, BENCH, "sweep///100 Hz")
    below = measure(half, meter, BENCH, "sweep///20 Hz")
    assert abs(at_reference.terms.get("ac 3 range", 0.0)) < 1e-6
    # 8.686 dB times the common amount e: e/1.0 - e/2.0.
    assert below.terms["ac 3 range"] == pytest.approx(8.68589 * 0.09 / math.sqrt(3.0) / 2, rel=1e-4)


def test_a_scope_is_off_by_its_gain_and_by_the_eye() -> None:
    # checks: gain +-3 % plus +-0.1 div: 28 V at 5 V a division is +-0.84 V and +-0.5 V.
    scope = Meter("scope", MeterType.OSCILLOSCOPE, parse_accuracy("3 %"))
    bench = Bench("Hall workshop", (scope,))
    understood = parse_entry("5.6 div at 5", Expected(Answer.QUANTITY, "V", Form.DC))
    assert isinstance(understood, Understood)
    value = measure(understood, None, bench, "k")
    assert value.terms["scope gain"] * math.sqrt(3.0) == pytest.approx(0.84)
    # which is what both lines of it may be off by together, each by half a step
    lines = [value.terms["k eye, upper line"], -value.terms["k eye, lower line"]]
    assert sum(lines) * math.sqrt(3.0) == pytest.approx(0.5)


def test_a_height_by_eye_is_the_difference_of_two_lines() -> None:
    # JCGM 100, F.2.2.1 and 5.1.2: 0.1 / sqrt 12 of a division for either, 0.1 / sqrt 6 for both
    bench = Bench("Hall workshop")
    volts = parse_entry("5.6 div at 5", Expected(Answer.QUANTITY, "V", Form.DC))
    overshoot = parse_entry("1/5", Expected(Answer.SHARE, "%"))
    assert isinstance(volts, Understood)
    assert isinstance(overshoot, Understood)

    seen = measure(volts, None, bench, "k")
    by_eye = [term for source, term in seen.terms.items() if "eye" in source]
    assert math.hypot(*by_eye) == pytest.approx(5.0 * 0.1 / math.sqrt(6.0))
    # p = peak - top over top - base: the lines have 1, 1 + p and p of the share of one
    line = 100.0 / 5.0 * 0.1 / math.sqrt(12.0)
    assert measure(overshoot, None, bench, "k").standard_uncertainty == pytest.approx(
        line * math.hypot(1.0, 1.2, 0.2)
    )


def test_a_touch_is_as_wide_as_its_word() -> None:
    understood = parse_entry("too hot to hold", Expected(Answer.HEAT, "C"))
    assert isinstance(understood, Understood)
    value = measure(understood, None, BENCH, "k")
    assert value.standard_uncertainty == pytest.approx(15.0 / math.sqrt(3.0))


@pytest.mark.parametrize("text", ["3 percent", "", "3 % + ", "three", "1 % of scale"])
def test_a_statement_of_accuracy_that_cannot_be_read_is_refused(text: str) -> None:
    with pytest.raises(NotationError):
        parse_accuracy(text)


@pytest.mark.parametrize("text", ["1/0 division", "quarter", "1/4 division of 0", ""])
def test_a_resolution_that_cannot_be_read_is_refused(text: str) -> None:
    with pytest.raises(NotationError):
        parse_resolution(text)


def test_an_attenuator_that_was_typed_leaves_the_pointer_on_its_low_range() -> None:
    """0.8 times ten is 0.8 on the 1 V range, not 8 on the 10 V range."""
    meter = pointer("3 % of full scale", 1.0, 3.0, 10.0)
    assert set(read("0.8 x10", meter).terms) == {"ac 1 range", "k pointer"}
    assert read("0.8 x10", meter).terms == read("0.8 on 1 x10", meter).terms


def test_no_deflection_on_a_graticule_is_as_doubtful_as_any() -> None:
    """Two lines to a tenth of a division at 5 V, peak-to-peak; however the zero was typed."""
    meter = display("0.5 %")
    for typed in ("0 div at 5", "0.0 div at 5", "0.00 div at 5"):
        assert read(typed, meter).standard_uncertainty == pytest.approx(0.5 / math.sqrt(6.0))


def test_flat_is_no_better_than_the_step_of_a_decibel_scale() -> None:
    """Half a decibel, rounded: 0.5 / sqrt 12."""
    understood = parse_entry("flat", Expected(Answer.LEVEL, "dB"))
    assert isinstance(understood, Understood)
    spread = measure(understood, display("0.5 %"), BENCH, "k").standard_uncertainty
    assert spread == pytest.approx(0.5 / math.sqrt(12.0))
