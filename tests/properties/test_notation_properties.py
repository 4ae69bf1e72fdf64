"""What holds for every entry: it is read or refused, and what is refused can be mended."""

from __future__ import annotations

import math
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import FRAGMENTS, entries, expectations

from stepwise.errors import DimensionError, NotationError
from stepwise.quantities import (
    Answer,
    Expected,
    Form,
    Refusal,
    Understood,
    check_dimension,
    compile_expression,
    example,
    format_value,
    parse_entry,
    parse_quantity,
    si_unit,
)

pytestmark = pytest.mark.filterwarnings("error")


@settings(max_examples=1500, deadline=None, derandomize=True)
@given(entries(), expectations())
def test_any_text_is_understood_or_refused_with_a_form_that_is_understood(text, expected):
    entry = parse_entry(text, expected)
    assert entry.typed == text
    if isinstance(entry, Refusal):
        assert entry.reason
        assert entry.sentence.startswith(f"Type for instance “{entry.nearest}”. ")
        assert entry.sentence.endswith(f"{entry.reason[:1].upper()}{entry.reason[1:]}.")
        assert isinstance(parse_entry(entry.nearest, expected), Understood)
        assert entry.at is None or 0 <= entry.at < len(text)
    else:
        assert entry.echo
        assert not entry.echo.endswith(".")


@settings(max_examples=1000, deadline=None, derandomize=True)
@given(entries(), expectations())
def test_what_is_understood_is_finite_and_in_the_kept_unit_and_form(text, expected):
    entry = parse_entry(text, expected)
    if isinstance(entry, Understood):
        assert math.isfinite(entry.value)
        assert math.isfinite(entry.step)
        assert entry.step >= 0.0
        assert entry.form is expected.form
        if expected.answer is Answer.QUANTITY:
            assert entry.unit == si_unit(expected.unit)
        if entry.form in (Form.RMS, Form.PEAK, Form.PEAK_TO_PEAK) and entry.unit in ("V", "A"):
            assert entry.value >= 0.0


@given(expectations())
def test_every_prompt_has_an_example_that_it_takes(expected):
    assert isinstance(parse_entry(example(expected), expected), Understood)


@settings(max_examples=500, deadline=None, derandomize=True)
@given(st.one_of(entries(), st.text(max_size=70)))
def test_a_quantity_of_a_file_is_read_or_refused_in_one_sentence(text):
    try:
        quantity = parse_quantity(text)
    except NotationError as error:
        sentence = str(error)
    else:
        sentence = f"{quantity.value:g} {quantity.unit}"
        assert math.isfinite(quantity.value)
    assert sentence
    assert sentence.splitlines() == [sentence]


@pytest.mark.parametrize("fragment", [each for each in FRAGMENTS if each.strip()])
@pytest.mark.parametrize("answer", list(Answer))
def test_ten_thousand_characters_are_answered_at_once(fragment, answer):
    unit = {Answer.QUANTITY: "V", Answer.HEAT: "C"}.get(answer, "")
    text = fragment * (10_000 // len(fragment))

    def seconds() -> float:
        # of the processor: what a busy machine adds says nothing of how the work grows
        start = time.thread_time()
        parse_entry(text, Expected(answer, unit, reference_volts=20.0))
        return time.thread_time() - start

    assert min(seconds() for _ in range(3)) < 0.05


_ROUND_TRIP = {
    "V": (1e-6, 9e4), "mV": (1e-3, 9e4), "A": (1e-6, 9e2),
    "W": (1e-6, 9e4), "VA": (1.0, 9e4), "ohm": (1e-3, 9e6),
    "kohm": (1e-3, 9e3), "Hz": (0.1, 9e6), "kHz": (1e-3, 9e2),
    "F": (1e-12, 0.9), "uF": (1e-6, 9e4), "H": (1e-6, 9.0),
    "s": (1e-9, 5e4), "C": (-40.0, 300.0), "K": (-40.0, 300.0),
    "K/W": (0.01, 90.0), "V/us": (0.01, 90.0), "dB": (-120.0, 120.0),
    "%": (0.0, 900.0), "div": (-8.0, 8.0), "": (-1e4, 1e4),
}  # fmt: skip


@settings(max_examples=1500, deadline=None, derandomize=True)
@given(st.data(), st.sampled_from(sorted(_ROUND_TRIP)), st.none() | st.integers(2, 9))
def test_what_is_printed_is_read_back_as_the_same_quantity(data, unit, digits):
    low, high = _ROUND_TRIP[unit]
    value = data.draw(st.floats(low, high))
    printed = format_value(value, unit, digits=digits)
    form = data.draw(st.sampled_from(list(Form))) if unit in ("V", "mV", "A") else Form.PLAIN
    entry = parse_entry(printed, Expected(Answer.QUANTITY, unit, form))
    assert isinstance(entry, Understood), printed
    factor = parse_quantity(f"1 {unit}").value
    half_digit = 0.5000001 * 10.0 ** -((digits or 4) - 1)
    assert entry.value == pytest.approx(value * factor, rel=half_digit, abs=1e-300)


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.floats(0.01, 900.0), st.sampled_from([Form.RMS, Form.PEAK, Form.PEAK_TO_PEAK]))
def test_a_figure_with_its_form_is_read_back_without_conversion(value, form):
    spelled = {Form.RMS: "Vrms", Form.PEAK: "Vpk", Form.PEAK_TO_PEAK: "Vpp"}[form]
    typed = f"{value:.4g} {spelled}"
    entry = parse_entry(typed, Expected(Answer.QUANTITY, "V", form))
    assert isinstance(entry, Understood)
    assert entry.conversion == 1.0
    assert entry.value == float(f"{value:.4g}")


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.floats(0.001, 900.0), st.sampled_from(list(Form)[:3]), st.sampled_from(list(Form)[:3]))
def test_a_form_turned_there_and_back_is_the_same_voltage(value, typed, kept):
    spelled = {Form.RMS: "Vrms", Form.PEAK: "Vpk", Form.PEAK_TO_PEAK: "Vpp"}
    there = parse_entry(f"{value!r}{spelled[typed]}"[:60], Expected(Answer.QUANTITY, "V", kept))
    assert isinstance(there, Understood)
    back = parse_entry(f"{there.value!r}{spelled[kept]}", Expected(Answer.QUANTITY, "V", typed))
    assert isinstance(back, Understood)
    assert back.value == pytest.approx(value, rel=1e-12)


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.decimals("0.1", "3.0", places=1), st.sampled_from(["1", "10", "100"]))
def test_spelling_of_a_range_does_not_change_the_reading(shown, times):
    expected = Expected(Answer.QUANTITY, "V", Form.RMS, ranges=(1.0, 3.0, 10.0))
    spellings = [
        f"{shown} on 3 x{times}",
        f"{shown}/3*{times}",
        f"{shown} on the 3 V range x {times}",
        f"{shown}on3Vx{times}",
        f"{shown} V on 3000 mV × {times}",
        f"{shown} / 3.0 times {times}",
    ]
    readings = {parse_entry(each, expected).value for each in spellings}
    assert len(readings) == 1
    assert readings.pop() == pytest.approx(float(shown) * float(times))


@settings(max_examples=400, deadline=None, derandomize=True)
@given(st.text("abij0123456789+-*/(). ,sqrtlogmxn", max_size=60))
def test_any_arithmetic_is_worked_out_or_refused(text):
    try:
        expression = compile_expression(text)
        value = expression.evaluate(dict.fromkeys(expression.names, 2.0))
        check_dimension(expression, dict.fromkeys(expression.names, "V"), "V")
    except (NotationError, DimensionError):
        return
    assert math.isfinite(value)
