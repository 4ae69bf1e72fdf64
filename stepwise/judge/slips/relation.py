"""Sentences about readings in doubt: how far a value is from what was expected."""

from __future__ import annotations

from stepwise.judge.slips.plausible import Plausible
from stepwise.quantities import Form, Understood, format_number, format_value


def amount(value: float, unit: str, form: Form) -> str:
    """A value as people say it: "17.0 V RMS"."""
    if form in (Form.RMS, Form.PEAK, Form.PEAK_TO_PEAK):
        # Off a pointer or a trace nobody reads more than three figures.
        return f"{format_value(value, unit, digits=3)} {form}"
    return format_value(value, unit)


def relation(understood: Understood, plausible: Plausible) -> str:
    """How a value stands to what was expected: "48.0 V RMS is 2.7 times the 18 V that …"."""
    value, centre = understood.value, plausible.centre
    shown = amount(value, understood.unit, understood.form)
    if understood.unit == "dB":
        apart = value - centre
        side = "above" if apart > 0.0 else "below"
        return f"{shown} stands {format_number(abs(apart), 2)} dB {side} {plausible.words}"
    if understood.unit == "C" or not centre or value * centre <= 0.0:
        return f"{shown} stands against {plausible.words}"
    return f"{shown} is {_times(value / centre)} {plausible.words}"


def _times(ratio: float) -> str:
    told = f"{format_number(ratio, 2)} times"
    return told if ratio >= 1.0 else f"only {told}"
