"""What a slip of the hand or eye makes of a reading, and so what may have been meant."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass

from stepwise.judge.slips.asked import Asked
from stepwise.quantities import Answer, Form, Understood

_SCALES_APART = math.sqrt(10.0)
"""Two scales of a pointer meter lie 10 dB apart."""
_PEAK = math.sqrt(2.0)
_RANGE_DB = 10.0
_FLATTENED = 0.80
"""RMS over peak of a wave that is hard clipped to 10 % distortion [1].

Source:
    `science.clipped_mean_square` at `science.overdrive_for_thd(10)`: sqrt(0.644).
"""
_SAYS_RMS = re.compile(r"rms", re.IGNORECASE)
_SAYS_DB = re.compile(r"db|decibel", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Candidate:
    """One thing that may have been meant."""

    slip: str
    """Name of the slip that would explain what was typed."""
    value: float
    """What was meant, in the unit of the reading."""
    phrase: str
    """How the two go together: "read as peak-to-peak it is"."""
    penalty: float = 0.0
    """How much rarer this slip is, in half widths of a prediction."""
    kept_typed: bool = True
    """The characters typed stand, and something is added to them; or another number is meant."""
    volts: float | None = None
    """For a level that was meant in volts: those [V RMS]."""
    is_told: bool = True
    """What was typed tells the value that was meant; else the value only makes it likely."""


def candidates(asked: Asked, understood: Understood) -> Iterator[Candidate]:
    """Everything that known slips would have made of something else."""
    if asked.expected.answer is Answer.LEVEL:
        yield from _levels(asked, understood)
    else:
        yield from _quantities(asked, understood)


def _quantities(asked: Asked, understood: Understood) -> Iterator[Candidate]:
    value = understood.value
    for factor, slip, phrase, penalty in _factors(asked, understood):
        yield Candidate(slip, value * factor, phrase, penalty)
    if value and understood.form in (Form.DC, Form.PLAIN):
        yield Candidate("sign", -value, "with the other sign it is")
    if not asked.expected.is_sine and _may_be_peaks(understood):
        yield from _peaks_of_flattened(value)
    if asked.name.startswith("reference"):
        yield from _decibels_for_volts(asked, understood)


def _peaks_of_flattened(value: float) -> Iterator[Candidate]:
    """Peaks of flattened tops: of round ones, of hard clipped ones, or worked out as of a sine."""
    why = "of flattened tops that does not tell the RMS, so read RMS on the meter"
    for slip, peaks, words in (("peak-to-peak", 2.0, "peak-to-peak"), ("peak", 1.0, "a peak")):
        for share in (1.0 / _PEAK, _FLATTENED):
            phrase = f"read as {words} it would fit, but {why}"
            yield Candidate(slip, value * share / peaks, phrase, is_told=False)


def _factors(asked: Asked, understood: Understood) -> Iterator[tuple[float, str, str, float]]:
    """Factor, slip, phrase and penalty of the slips that multiply."""
    has_range = understood.range_full_scale is not None
    if asked.expected.is_sine and _may_be_peaks(understood):
        if understood.typed_form is Form.RMS:
            half = 1.0 / (2.0 * _PEAK)
            yield half, "peak-to-peak", "as a peak-to-peak value it is", 0.0
            yield 1.0 / _PEAK, "peak", "as a peak value it is", 0.1
        else:
            back = 1.0 / understood.conversion
            yield back, "rms", "as an RMS value it is", 0.2
    elif asked.name.startswith("secondary_volts") and has_range:
        # Worked out beside the meter, since the rails stand at the peak, or read off a peak scale.
        yield 1.0 / _PEAK, "peak", "as a peak value it is", 0.3
    if asked.expected.ranges and understood.divisions is None:
        penalty = 0.2 if has_range else 0.8
        yield _SCALES_APART, "range", "on the scale 10 dB up it is", penalty
        yield 1.0 / _SCALES_APART, "range", "on the scale 10 dB down it is", penalty
    yield 10.0, "multiplier", "times ten it is", 0.0
    yield 0.1, "multiplier", "a tenth of it is", 0.0
    yield 100.0, "multiplier", "times a hundred it is", 0.3
    yield 0.01, "multiplier", "a hundredth of it is", 0.3
    yield 1000.0, "kilo", "times a thousand it is", 0.2
    yield 0.001, "kilo", "a thousandth of it is", 0.2


def _may_be_peaks(understood: Understood) -> bool:
    """Whether the form may have been left out or mistaken: a plain figure where RMS is asked."""
    is_plain = understood.range_full_scale is None and understood.divisions is None
    is_rms = understood.form is Form.RMS
    return is_rms and is_plain and not _SAYS_RMS.search(understood.typed)


def _decibels_for_volts(asked: Asked, understood: Understood) -> Iterator[Candidate]:
    """The decibel scale was read where volts are asked: 0 dB is the level that was set."""
    first = asked.reading("reference", step=asked.step, channel=asked.channel)
    if first is None or understood.range_full_scale is not None or abs(understood.value) > 3.0:
        return
    volts = first.value * 10.0 ** (understood.value / 20.0)
    yield Candidate("decibels-for-volts", volts, "as decibels it is", 0.1, kept_typed=False)


def _levels(asked: Asked, understood: Understood) -> Iterator[Candidate]:
    value = understood.value
    if understood.volts is not None:
        for factor, slip, phrase, penalty in _factors(asked, understood):
            yield Candidate(
                slip, value + 20.0 * math.log10(factor), phrase, penalty,
                volts=understood.volts * factor,
            )  # fmt: skip
        return
    if value and understood.typed.strip() != "=":
        yield Candidate("sign", -value, "with the other sign it is")
    if asked.expected.ranges:
        for places in (1.0, -1.0, 2.0, -2.0):
            shift = places * _RANGE_DB
            way = "up" if shift > 0.0 else "down"
            phrase = f"on the range {abs(shift):g} dB {way} it is"
            yield Candidate("range", value + shift, phrase, 0.2 * abs(places), kept_typed=False)
    reference = asked.expected.reference_volts
    if reference and value / reference > 0.0 and not _SAYS_DB.search(understood.typed):
        level = 20.0 * math.log10(value / reference)
        # A number close to the volts of the reference is hardly a level by chance.
        penalty = 0.0 if 0.3 * reference <= value <= 1.05 * reference else 0.6
        yield Candidate("volts-for-decibels", level, "as volts it is", penalty, volts=value)
