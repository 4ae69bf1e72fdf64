"""What a person gets wrong: a reading taken well, and written down as something else.

A mistake happens once, at the first reading that it can befall, and never when that reading is
taken again: whoever looks twice sees what is there. What instruments show is not touched.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from stepwise.quantities import Answer, Understood, parse_entry
from stepwise.rehearsal.chance import Chance
from stepwise.rehearsal.figures import pointer_number, significant_number, to_step
from stepwise.rehearsal.place import tone_of
from stepwise.steps import Prompt

_POINTER = re.compile(r"(?P<number>[0-9.]+) on (?P<scale>[0-9.]+)(?P<rest>.*)\Z")
_TIMES = re.compile(r" x[0-9.]+\Z")
_MID_BAND = (45.0, 12e3)
"""Where a sound board's response is flat, so that one point out of line shows [Hz]."""


@dataclass(frozen=True, slots=True)
class Mistake:
    """One way of writing down what was not read."""

    name: str
    severity: float
    """0 to 1."""
    befalls: Callable[[Prompt, Understood], bool]
    """Whether a reading of that value at that prompt can go wrong so."""
    writes: Callable[[str, Understood, float], str]
    """What was to be typed, as it is understood, and the severity -> what is typed instead."""
    first_of: int = 3
    """It befalls one of the first so many readings that it can befall, by chance."""


class Person:
    """Writes readings down, with the mistakes that this person makes."""

    def __init__(self, mistakes: Sequence[Mistake], chance: Chance) -> None:
        self._mistakes = mistakes
        self._chance = chance
        self._passed: dict[str, list[str]] = {mistake.name: [] for mistake in mistakes}
        self._made: dict[str, str] = {}

    @property
    def made(self) -> tuple[str, ...]:
        """Keys of the prompts at which a mistake was made."""
        return tuple(self._made.values())

    def writes(self, prompt: Prompt, typed: str, *, again: bool) -> str:
        """What the person types.

        Args:
            prompt: What is asked.
            typed: What is there to be typed.
            again: Whether this reading was taken before.
        """
        if again or not self._mistakes:
            return typed
        understood = parse_entry(typed, prompt.expected)
        if not isinstance(understood, Understood):
            return typed
        for mistake in self._mistakes:
            if self._befalls(mistake, prompt, understood):
                self._made[mistake.name] = prompt.key
                return mistake.writes(typed, understood, mistake.severity)
        return typed

    def _befalls(self, mistake: Mistake, prompt: Prompt, understood: Understood) -> bool:
        if mistake.name in self._made or not mistake.befalls(prompt, understood):
            return False
        passed = self._passed[mistake.name]
        wanted = int(self._chance.uniform(f"{mistake.name} befalls", 0.0, mistake.first_of))
        passed.append(prompt.key)
        return len(passed) > wanted


def wrong_range(severity: float) -> Mistake:
    """A level read on the scale of the next range; severely, the probe's multiplier forgotten."""
    return Mistake("wrong-range", severity, _is_clip_level, _on_another_range)


def peak_to_peak(severity: float) -> Mistake:
    """A level typed as the oscilloscope shows it: its peak, or severely from peak to peak."""
    return Mistake("peak-to-peak", severity, _is_clip_level, _as_peaks)


def misread_pointer(severity: float) -> Mistake:
    """One level of a sweep misread, by up to 6 dB."""
    return Mistake("misread-pointer", severity, _is_mid_band, _beside_the_mark)


def reversed_sign(severity: float) -> Mistake:
    """The minus sign of one level left out, where it is deep enough for the severity."""
    least = 0.9 + 2.0 * severity

    def befalls(prompt: Prompt, understood: Understood) -> bool:
        return prompt.expected.answer is Answer.LEVEL and understood.value <= -least

    return Mistake("reversed-sign", severity, befalls, lambda typed, *_: typed.lstrip("-"))


def missing_minus(severity: float) -> Mistake:
    """The minus sign of the negative rail left out."""
    return Mistake("missing-minus", severity, _is_minus_rail, lambda typed, *_: typed.lstrip("-"))


def thousandfold(severity: float) -> Mistake:
    """A rail typed in millivolts where volts are asked."""
    return Mistake("thousandfold", severity, _is_rail, _in_thousandths)


def decibels_for_volts(severity: float) -> Mistake:
    """The reference, read once more, typed off the decibel scale on which it stands."""
    # There is one such reading a channel.
    return Mistake("decibels-for-volts", severity, _is_reference, _off_the_decibel_scale, 2)


def _is_clip_level(prompt: Prompt, _: Understood) -> bool:
    return prompt.kind == "clip" and prompt.point == "level"


def _is_mid_band(prompt: Prompt, _: Understood) -> bool:
    low, high = _MID_BAND
    return prompt.expected.answer is Answer.LEVEL and low < tone_of(prompt) < high


def _is_rail(prompt: Prompt, _: Understood) -> bool:
    return prompt.point == "rail_plus" and prompt.expected.unit == "V"


def _is_minus_rail(prompt: Prompt, understood: Understood) -> bool:
    return prompt.point == "rail_minus" and understood.value < -1.0


def _is_reference(prompt: Prompt, _: Understood) -> bool:
    return prompt.kind == "sweep" and prompt.point == "reference_again"


def _on_another_range(typed: str, understood: Understood, severity: float) -> str:
    pointer = _POINTER.match(typed)
    if pointer is None:
        return significant_number(understood.value * math.sqrt(10.0), 3)
    if severity >= 0.5:
        if _TIMES.search(typed):
            return _TIMES.sub("", typed)
        return f"{typed} x10"
    # Two scales share one face, a factor of the root of ten apart.
    scale = "10" if pointer["scale"].startswith("3") else "30"
    number = pointer_number(float(pointer["number"]) * math.sqrt(10.0), 0.05)
    return f"{number} on {scale}{pointer['rest']}"


def _as_peaks(_: str, understood: Understood, severity: float) -> str:
    ratio = math.sqrt(2.0) * (2.0 if severity >= 0.5 else 1.0)
    return significant_number(understood.value * ratio, 3)


def _beside_the_mark(_: str, understood: Understood, severity: float) -> str:
    step = 0.5
    return pointer_number(to_step(understood.value - 6.0 * severity, step), step)


def _in_thousandths(_: str, understood: Understood, __: float) -> str:
    return significant_number(1000.0 * understood.value, 4)


def _off_the_decibel_scale(_: str, understood: Understood, severity: float) -> str:
    """0 dB where the pointer was set to it; mildly, a level above 0.775 V."""
    if severity >= 0.5:
        return "0"
    return pointer_number(to_step(20.0 * math.log10(understood.value / 0.775), 0.5), 0.5)
