"""The arithmetic of procedures: worked out right, refused when it is anything else."""

# One case a line reads better than one argument a line.

from __future__ import annotations

import math
import time

import pytest

from stepwise.errors import DimensionError, NotationError
from stepwise.quantities import Uncertain, check_dimension, compile_expression

UNITS = {
    "rail_plus": "V", "rail_minus": "V", "current": "A", "load": "ohm", "offset": "mV",
    "share": "%", "level": "dB", "case": "C", "air": "C", "rise": "K", "per_watt": "K/W",
    "capacitor": "uF", "tone": "kHz", "count": "", "wait": "min", "store": "J/K",
}  # fmt: skip


@pytest.mark.parametrize(
    ("text", "values", "result"),
    [
        ("a + b * c", {"a": 1, "b": 2, "c": 3}, 7.0),
        ("(a + b) * c", {"a": 1, "b": 2, "c": 3}, 9.0),
        ("a - b - c", {"a": 9, "b": 3, "c": 2}, 4.0),
        ("2 ** 3 ** 2", {}, 512.0),
        ("-a ** 2", {"a": 3}, -9.0),
        ("+a", {"a": 3}, 3.0),
        ("a ** -1", {"a": 4}, 0.25),
        ("a ** 0.5", {"a": 9}, 3.0),
        ("sqrt(a / b)", {"a": 18, "b": 2}, 3.0),
        ("20 * log10(a / b)", {"a": 10, "b": 1}, 20.0),
        ("abs(a) + min(a, b) + max(a, b, 7)", {"a": -2, "b": 5}, 7.0),
        ("1.5e3 + .5", {}, 1500.5),
        ("a\n  * b", {"a": 2, "b": 3}, 6.0),
    ],
)
def test_it_is_worked_out(text, values, result):
    expression = compile_expression(text)
    assert set(expression.names) == set(values)
    assert expression.evaluate(values) == pytest.approx(result)


def test_names_come_in_the_order_of_first_use():
    assert compile_expression("b * a + b / c").names == ("b", "a", "c")


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "is empty"),
        ("10**10**10", "“10**10**10” has an exponent beyond 10"),
        ("a ** 11", "“a ** 11” has an exponent beyond 10"),
        ("a ** -11", "“a ** -11” has an exponent beyond 10"),
        ("a ** b", "“a ** b” has an exponent that is not a number"),
        ("a ** (1 / 0)", "“a ** (1 / 0)” has an exponent beyond 10"),
        ("a // b", "“a // b” uses an operator that is not + - * / or **"),
        ("a.real", "“a.real” is not part of this arithmetic"),
        ("a if b else c", "“a if b else c” is not part of this arithmetic"),
        ("a and b", "“a and b” is not part of this arithmetic"),
        ("not a", "“not a” is not part of this arithmetic"),
        ("lambda a", "is not complete arithmetic"),
        ("(a, b)", "“(a, b)” is not part of this arithmetic"),
        ("True", "“True” is not a number"),
        ("None", "“None” is not a number"),
        ("1j", "“1j” is not a number"),
        ("0x10", "“0x10” is not a decimal number"),
        ("1_000", "“1_000” is not a decimal number"),
        ("1e999", "“1e999” is too large a number"),
        ("exec(a)", "“exec” is not one of sqrt, abs, log10, min, max"),
        ("sqrt(a)(b)", "“sqrt(a)” is not one of sqrt, abs, log10, min, max"),
        ("sqrt", "“sqrt” is a function and wants parentheses"),
        ("sqrt(a, b)", "“sqrt(a, b)” is wrong: sqrt takes one value"),
        ("min(a)", "“min(a)” is wrong: min takes 2 to 10 values"),
        ("max(*a)", "“max(*a)” is wrong: max takes 2 to 10 values"),
        ("a[0]", "“[” is not part of this arithmetic"),
        ("'a'", "“'” is not part of this arithmetic"),
        ("a := 1", "“:” is not part of this arithmetic"),
        ("µ + 1", "“µ” is not part of this arithmetic"),
        ("a +", "is not complete arithmetic"),
        ("2if 3else 4", "is not complete arithmetic"),
        ("-" * 290 + "1", "is nested deeper than 25"),
        ("(" * 149 + "1" + ")" * 149, ""),
        ("a" * 301, "is longer than 300 characters"),
    ],
)
def test_anything_else_is_refused_and_named(text, reason):
    start = time.thread_time()
    if not reason:
        assert compile_expression(text).evaluate({}) == 1.0
    else:
        with pytest.raises(NotationError) as caught:
            compile_expression(text)
        assert caught.value.reason.startswith(reason)
    assert time.thread_time() - start < 0.1


@pytest.mark.parametrize(
    ("text", "values", "reason"),
    [
        ("a / b", {"a": 1, "b": 0}, "has no finite result for a = 1, b = 0"),
        ("sqrt(a)", {"a": -1}, "has no finite result for a = -1"),
        ("log10(a)", {"a": 0}, "has no finite result for a = 0"),
        ("a ** 0.5", {"a": -8}, "has no finite result for a = -8"),
        ("a ** 10", {"a": 1e300}, "has no finite result for a = 1e+300"),
        ("a * a", {"a": 1e300}, "has no finite result for a = 1e+300"),
        ("1 / 0", {}, "has no finite result"),
        ("a + b", {"a": 1}, "there is no value for “b”"),
    ],
)
def test_what_has_no_result_says_so(text, values, reason):
    with pytest.raises(NotationError) as caught:
        compile_expression(text).evaluate(values)
    assert caught.value.reason == reason


def test_uncertainty_goes_through_and_shared_sources_cancel():
    expression = compile_expression("v ** 2 / r")
    power = expression.propagate(
        {"v": Uncertain(20.0, {"m": 0.1}), "r": Uncertain(8.0, {"l": 0.04})}
    )
    assert power.value == 50.0
    assert power.standard_uncertainty == pytest.approx(0.559017, rel=1e-4)
    ratio = compile_expression("a / b")
    same = Uncertain(10.0, {"meter": 0.1})
    assert ratio.propagate({"a": same, "b": same}).standard_uncertainty == pytest.approx(
        0.0, abs=1e-5
    )
    with pytest.raises(NotationError, match="no value for “b”"):
        ratio.propagate({"a": same})


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("rail_plus * current - rail_minus * current", "W"),
        ("rail_plus * current", "VA"),
        ("rail_plus + offset", "V"),
        ("rail_plus + offset", "mV"),
        ("rail_plus ** 2 / load", "W"),
        ("sqrt(rail_plus * current * load)", "V"),
        ("current ** 0.5 * current ** 0.5", "A"),
        ("20 * log10(rail_plus / rail_minus)", "dB"),
        ("level - level", "dB"),
        ("2 * level", "dB"),
        ("100 * (rail_plus - rail_minus) / rail_plus", "%"),
        ("rail_plus * share / 100", "V"),
        ("share / share", ""),
        ("case - air", "K"),
        ("air + rise", "C"),
        ("rise + air", "C"),
        ("case - rise", "C"),
        ("max(case, air)", "C"),
        ("(case - air) / (rail_plus * current)", "K/W"),
        ("air + per_watt * rail_plus * current", "C"),
        ("per_watt * store", "s"),
        ("load * capacitor", "s"),
        ("1 / (2 * 3.14159 * load * capacitor)", "Hz"),
        ("rail_plus / (1 / tone)", "V/s"),
        ("max(rail_plus, 0)", "V"),
        ("0", "V"),
        ("rail_plus * 0 + current * 0", "V"),
        ("count * rail_plus", "V"),
        ("wait * tone", ""),
        ("abs(rail_minus)", "V"),
        ("-rail_minus", "V"),
    ],
)
def test_the_dimension_is_right(text, unit):
    check_dimension(compile_expression(text), UNITS, unit)


@pytest.mark.parametrize(
    ("text", "unit", "sentence"),
    [
        ("rail_plus", "A", "“rail_plus” is V (voltage) where A (current) is expected"),
        ("rail_plus * current", "V", "“rail_plus * current” is W (power) where V (voltage) is expected"),
        ("rail_plus ** 2", "W", "“rail_plus ** 2” is V² where W (power) is expected"),
        ("rail_plus * load", "W", "“rail_plus * load” is V·Ω where W (power) is expected"),
        ("current / load", "V", "“current / load” is A/Ω where V (voltage) is expected"),
        ("rail_plus * share", "V", "“rail_plus * share” is V·% where V (voltage) is expected"),
        ("rail_plus + current", "V", "“rail_plus + current” joins V (voltage) to A (current) where one kind of quantity is expected"),
        ("max(rail_plus, 1)", "V", "“max(rail_plus, 1)” joins V (voltage) to a plain number where one kind of quantity is expected"),
        ("level + share", "dB", "“level + share” joins dB (level) to % (share) where one kind of quantity is expected"),
        ("level / 20", "", "“level / 20” is dB (level) where a plain number is expected"),
        ("log10(rail_plus)", "dB", "“log10(rail_plus)” takes the logarithm of V (voltage) where a plain number is expected"),
        ("log10(share)", "dB", "“log10(share)” takes the logarithm of % (share) where a plain number is expected"),
        ("case + air", "C", "“case + air” adds two temperatures where a difference is expected"),
        ("rise - air", "C", "“rise - air” takes °C from K where K from °C is expected"),
        ("case * 2", "C", "“case * 2” has a temperature in °C where a difference in K is expected"),
        ("case - air", "C", "“case - air” is K (temperature difference) where °C (temperature) is expected"),
        ("case", "K", "“case” is °C (temperature) where K (temperature difference) is expected"),
        ("case + current", "C", "“case + current” joins °C (temperature) to A (current) where one kind of quantity is expected"),
        ("current ** -3", "A", "“current ** -3” is current^-3 where A (current) is expected"),
    ],
)  # fmt: skip
def test_a_wrong_dimension_is_named(text, unit, sentence):
    with pytest.raises(DimensionError) as caught:
        check_dimension(compile_expression(text), UNITS, unit)
    assert str(caught.value) == sentence


def test_an_unknown_name_is_refused_with_the_nearest():
    with pytest.raises(NotationError) as caught:
        check_dimension(compile_expression("rail_pluss"), UNITS, "V")
    assert caught.value.nearest == "rail_plus"
    with pytest.raises(NotationError, match="nothing is called"):
        check_dimension(compile_expression("zzz"), {}, "V")
    with pytest.raises(NotationError, match="furlong"):
        check_dimension(compile_expression("1"), {}, "furlong")


def test_e_is_a_name_and_not_a_number():
    assert compile_expression("e").names == ("e",)
    assert math.isclose(compile_expression("e * 1e1").evaluate({"e": 2.0}), 20.0)
