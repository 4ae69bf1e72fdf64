"""Instruments that misread as real ones do, and the way people write down what they show.

Each error is drawn within the limits that `stepwise.bench.measure` credits the instrument with:
one amount for each range of a pointer instrument, one for each decade of a digital one, one gain
for the oscilloscope; and the last step that the eye or the display resolves.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from stepwise.bench import MAINS_WANDER, REACTION, Bench, Meter, MeterType, ScaleResolution
from stepwise.quantities import Answer, Expected, Form, convert, si_unit
from stepwise.rehearsal.chance import Chance
from stepwise.rehearsal.figures import (
    fixed_number,
    one_two_five,
    pointer_number,
    significant_number,
    to_step,
)
from stepwise.rehearsal.setup import Setup
from stepwise.rehearsal.written import (
    FINEST,
    Shown,
    last_digit,
    plain,
    pointer_step,
    touch_word,
    written_pointer,
)

_DECIBELS_PER_NEPER = 20.0 / math.log(10.0)
_ZERO_DB_DEFLECTION = math.sqrt(0.6)
"""Where a pointer stands that was set to 0 dB: 0.775 V on the 1 V range."""
_SETTING_SHARE = 0.2
"""How near to the 0 dB mark the pointer is set, share of the finest step of the scale [1]."""
_EYE = ScaleResolution(0.1, None)
_TALL = 8.0
"""Divisions of a graticule from edge to edge."""
_WHOLE = 5.0
"""Divisions that a square wave is made to fill before its shares are read."""
_FINGER = 2.0
"""How far a finger may err [K]."""


@dataclass(frozen=True, slots=True)
class Instruments:
    """The bench's instruments with their hidden errors."""

    bench: Bench
    chance: Chance
    setup: Setup = field(default_factory=Setup)

    def load_ohms(self, label: str) -> float | None:
        """What is connected as a load [ohm]; None where the bench has no such load."""
        load = self.bench.load(label)
        if load is None:
            return None
        ohms = self.chance.around(f"load {label}", load.measured, load.relative_uncertainty)
        return ohms * self.setup.load_share(label)

    def source_ohms(self) -> float:
        """What the oscillator really has [ohm]."""
        oscillator = self.bench.oscillator
        return self.chance.around(
            "oscillator", oscillator.source_resistance, oscillator.relative_uncertainty
        )

    def mains_ratio(self, when: str) -> float:
        """Where the mains stands while a pass is taken, over where it usually does [1].

        Args:
            when: Key of the pass.
        """
        return 1.0 + MAINS_WANDER * self.chance.uniform(f"{when} mains")

    def quantity(self, value: float, meter: Meter | None, expected: Expected, at: str) -> Shown:
        """Read a quantity.

        Args:
            value: What an instrument without error would show, in the SI unit.
            meter: The one that is read; None for a stopwatch, a scale, a count.
            expected: What the prompt expects.
            at: Name of this look; what the eye adds depends on it.
        """
        unit = si_unit(expected.unit)
        if meter is None and unit == "s":
            return plain(self._by_hand(value, at), expected)
        if meter is not None and (unit, meter.unit) == ("A", "V"):
            return self._across_a_resistor(value, meter, expected)
        if meter is None or meter.unit != unit:
            return plain(value, expected)
        if meter.type is MeterType.ANALOGUE and meter.ranges:
            return self._pointer(value, meter, expected)
        if meter.type is MeterType.OSCILLOSCOPE:
            return self._graticule(value, meter, expected, at)
        return self._display(value, meter, expected)

    def _by_hand(self, seconds: float, at: str) -> float:
        """A time as somebody takes it; what does not take any is not timed [s]."""
        late = REACTION * self.chance.uniform(f"{at} reaction")
        return max(seconds + late, 0.01) if seconds > 0.0 else seconds

    def _across_a_resistor(self, amperes: float, meter: Meter, expected: Expected) -> Shown:
        """A current worked out from volts that were shown to three digits, and noted so."""
        decade = math.floor(math.log10(abs(amperes))) if amperes else 0
        limit = (meter.accuracy.of_reading + meter.accuracy.of_scale) * abs(amperes)
        limit += meter.accuracy.digits * 10.0 ** (decade - 2)
        error = limit * self.chance.uniform(f"{meter.id} across a resistor, decade {decade}")
        typed = plain(amperes + error, expected)
        return replace(typed, instrument=f"{meter.title} across the resistor")

    def level(self, level_db: float, meter: Meter | None, reference: str) -> Shown:
        """Read a level against a reference.

        Args:
            level_db: Without any error [dB].
            meter: The one that is read.
            reference: Key of the reading that is 0 dB, whose setting all levels share.
        """
        title = meter.title if meter else "voltmeter"
        if meter is None or meter.type is not MeterType.ANALOGUE:
            typed = pointer_number(round(level_db, 1), 0.1)
            return Shown(typed, title, f"{typed} dB against the reference")
        step = meter.decibel_step
        error = self._decibel_error(level_db, meter) + self._zero_error(level_db)
        error += _SETTING_SHARE * step * self.chance.uniform(f"{reference} setting", -0.5, 0.5)
        shown = to_step(level_db + error, step)
        typed = "flat" if shown == 0.0 else pointer_number(shown, step)
        return Shown(typed, title, f"decibel scale at {pointer_number(shown, step)} dB")

    def _decibel_error(self, level_db: float, meter: Meter) -> float:
        deflection = _ZERO_DB_DEFLECTION * 10.0 ** (level_db / 20.0)
        same_range = 1.0 / deflection - 1.0 / _ZERO_DB_DEFLECTION
        changed_range = math.sqrt(2.0) / _ZERO_DB_DEFLECTION
        factor = same_range if abs(same_range) < changed_range else changed_range
        whole = _DECIBELS_PER_NEPER * meter.accuracy.of_scale * factor
        return whole * self.chance.uniform(f"{meter.id} decibel scale")

    def _zero_error(self, level_db: float) -> float:
        """What a pointer that does not rest at zero adds to a level, set to 0 dB as it is [dB]."""
        rest = self.setup.pointer_zero
        if not rest:
            return 0.0
        ratio = 10.0 ** (level_db / 20.0)
        shown = rest + (_ZERO_DB_DEFLECTION - rest) * ratio
        return 20.0 * math.log10(max(shown, rest, 1e-3) / _ZERO_DB_DEFLECTION) - level_db

    def share(self, ratio: float, at: str) -> Shown:
        """Read one length of a trace against the whole, in divisions.

        Args:
            ratio: Part over whole [1].
            at: Name of this look.
        """
        step = self._finest().share_of_division
        part = to_step(ratio * _WHOLE + self._eye(at), step)
        if abs(part) < step / 2.0:
            return Shown("none", self._scope_title(), "nothing to be seen")
        typed = f"{pointer_number(part, step)}/{_WHOLE:g}"
        return Shown(
            typed, self._scope_title(), f"{pointer_number(part, step)} of {_WHOLE:g} divisions"
        )

    def frequency(self, hertz: float, expected: Expected, at: str) -> Shown:
        """Read a frequency off the length of one period."""
        unit = expected.unit
        seen = hertz / (1.0 + self._gain_error()) * (1.0 + self._eye(at) / _WHOLE)
        number = significant_number(convert(seen, "Hz", unit), 2)
        return Shown(number, self._scope_title(), f"one period is 1/{number} of 1/{unit}")

    def temperature(self, celsius: float, meter: Meter | None, at: str) -> Shown:
        """Read a temperature by thermometer, or say what the finger feels."""
        if meter is not None and meter.unit == "C":
            return self._display(celsius, meter, Expected(Answer.HEAT, "C"))
        felt = celsius + _FINGER * self.chance.uniform(f"{at} finger")
        word = touch_word(felt)
        return Shown(word, "the finger", word)

    def _pointer(self, value: float, meter: Meter, expected: Expected) -> Shown:
        multiplier = 1.0
        while multiplier <= 1e4:
            for full_scale in meter.ranges:
                step = pointer_step(meter, full_scale)
                seen = to_step(self._deflection(value / multiplier, meter, full_scale), step)
                if abs(seen) <= full_scale:
                    return written_pointer(seen, step, full_scale, multiplier, meter, expected)
            multiplier *= 10.0
        raise ValueError(f"{value:g} {meter.unit} is beyond what any probe divides down")

    def _deflection(self, value: float, meter: Meter, full_scale: float) -> float:
        limit = (
            meter.accuracy.of_scale * full_scale
            + meter.accuracy.amount
            + meter.accuracy.of_reading * abs(value)
        )
        seen = value + limit * self.chance.uniform(f"{meter.id} {full_scale:g} range")
        seen += self.setup.pointer_zero * full_scale
        # A pointer that was deflected does not fall below its stop.
        return max(seen, 0.0) if value >= 0.0 else seen

    def _display(self, value: float, meter: Meter, expected: Expected) -> Shown:
        if meter.unit == "V":
            value += self.setup.display_null
        digit = last_digit(value, meter)
        accuracy, size = meter.accuracy, abs(value)
        limit = (
            (accuracy.of_reading + accuracy.of_scale) * size
            + accuracy.digits * digit
            + accuracy.amount
        )
        decade = math.floor(math.log10(size)) if size else 0
        error = limit * self.chance.uniform(f"{meter.id} decade {decade}")
        floor = 0.0 if meter.unit == "C" else FINEST
        step = max(digit, floor)
        seen = to_step(value + math.copysign(1.0, value) * error, step)
        factor = convert(1.0, expected.unit, meter.unit)
        typed = fixed_number(seen / factor, step / factor)
        return Shown(typed, meter.title, f"{typed} {expected.unit}".rstrip())

    def _graticule(self, value: float, meter: Meter, expected: Expected, at: str) -> Shown:
        """Volts or seconds as divisions; an alternating voltage from peak to peak."""
        alternating = {Form.RMS: 2.0 * math.sqrt(2.0), Form.PEAK: 2.0}
        length = value * alternating.get(expected.form, 1.0)
        unit = meter.unit
        return self._divisions(length, unit, meter.title, at)

    def duration(self, seconds: float, at: str) -> Shown:
        """Read a time off the oscilloscope."""
        return self._divisions(seconds, "s", self._scope_title(), at)

    def _divisions(self, length: float, unit: str, title: str, at: str) -> Shown:
        per = one_two_five(abs(length) / (_TALL - 1.0))
        step = self._finest().share_of_division
        count = length * (1.0 + self._gain_error()) / per + self._eye(at)
        number = pointer_number(to_step(count, step), step)
        prefix, factor = next(
            (each for each in (("", 1.0), ("m", 1e-3), ("u", 1e-6)) if per >= each[1] * 0.999),
            ("n", 1e-9),
        )
        per_text = f"{per / factor:.3g} {prefix}{unit}"
        return Shown(f"{number} div at {per_text}", title, f"{number} div, {per_text} a division")

    def _finest(self) -> ScaleResolution:
        scope = self.bench.graticule()
        return (scope.resolution if scope else None) or _EYE

    def _eye(self, at: str) -> float:
        """What the eye adds before it settles on a step [div]."""
        return self._finest().share_of_division * self.chance.uniform(f"{at} eye", -0.5, 0.5)

    def _gain_error(self) -> float:
        scope = self.bench.graticule()
        limit = scope.accuracy.of_reading + scope.accuracy.of_scale if scope else 0.03
        return limit * self.chance.uniform("oscilloscope gain")

    def _scope_title(self) -> str:
        scope = self.bench.graticule()
        return scope.title if scope else "oscilloscope"
