"""What a capture shows, as figures with uncertainty: the same list for page, JSON and run.

The uncertainty comes from the scatter of the samples, their interval and the steps of the
converter; what the oscilloscope's own scales may be off is added where it is known.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from stepwise.captures.fast_edges import without_fast_edges
from stepwise.captures.figure import Figure
from stepwise.captures.limited import limited_sine, limited_square
from stepwise.captures.read import Capture
from stepwise.errors import CaptureError
from stepwise.quantities import (
    Uncertain,
    exact,
    format_value,
    from_terms,
    propagate,
    rectangular,
    within_limits,
)

if TYPE_CHECKING:
    from stepwise.science import Harmonic, OtherWave, SineAnalysis, SquareAnalysis

_SAMPLES = "samples"
_VISIBLE = 0.02
"""Share of the height below which no ringing can be told from a trace's width (common practice,
no source)."""
_MOST_CYCLES = 20
_HIGHEST_HEARD = 20e3
_LOWEST_OF_NOISE = 500.0
"""Frequencies [Hz] between which the A-weighting has to see: of white noise up to 20 kHz, 0.5 %
of its weighted power lies below the lower."""


def square_analysis(capture: Capture) -> SquareAnalysis:
    """Read a capture as a square wave.

    Raises:
        CaptureError: It holds none, or another wave.
    """
    from stepwise.science import OtherWave, analyse_square

    try:
        return analyse_square(capture.volts, capture.sample_hertz)
    except OtherWave as other:
        raise _other(capture, other) from other
    except ValueError as error:
        raise CaptureError(capture.path, f"shows no square wave: {error}") from error


def sine_analysis(capture: Capture) -> SineAnalysis:
    """Read a capture as a sine.

    Raises:
        CaptureError: It holds none, or another wave.
    """
    from stepwise.science import OtherWave, analyse_sine

    try:
        return analyse_sine(capture.volts, capture.sample_hertz)
    except OtherWave as other:
        raise _other(capture, other) from other
    except ValueError as error:
        raise CaptureError(capture.path, f"shows no sine: {error}") from error


def _other(capture: Capture, other: OtherWave) -> CaptureError:
    """Says what the wave is, and what to do instead."""
    kind = other.looks_like.partition(" ")[0]
    if kind in ("sine", "square"):
        remedy = f"to read it as that, type “stepwise capture {capture.path.name} --as {kind}”"
    else:
        remedy = "feed the amplifier a sine or a square wave"
    return CaptureError(capture.path, f"{other}; {remedy}")


def square_figures(found: SquareAnalysis, scales: float = 0.0) -> tuple[Figure, ...]:
    """Everything that a square wave shows.

    Args:
        found: The analysis.
        scales: Limit of error of the oscilloscope's scales, share of a reading [1], the same
            for volts and for seconds; 0 (default) where it is not known.
    """
    shown = without_fast_edges(limited_square(_square(found), found.off_screen), found)
    return tuple(_scaled(shown, scales))


def _square(found: SquareAnalysis) -> Iterator[Figure]:
    sure = found.standard
    if found.square_hertz is not None:
        yield _figure("frequency", "Frequency", found.square_hertz, sure.square_hertz, "Hz")
    height = found.high_volts - found.low_volts
    level = math.sqrt(2.0) * sure.level_volts
    yield _figure("height", "Height from low to high", height, level, "V")
    yield _figure("overshoot", "Overshoot", found.overshoot_percent, sure.overshoot_percent, "%")
    yield _figure("preshoot", "Preshoot", found.preshoot_percent, sure.preshoot_percent, "%")
    if found.tilt_percent is not None and found.is_tilt_seen:
        tilt = _figure("tilt", "Tilt of the tops", found.tilt_percent, sure.tilt_percent, "%")
        yield tilt
        if found.corner_hertz is not None and _stands_out(tilt):
            corner = found.corner_hertz, sure.corner_hertz, "Hz"
            yield _figure("corner_from_tilt", "Low corner that the tilt implies", *corner)
    yield from _edges(found)
    yield from _ringing(found)
    if found.slew_volts_per_s is not None:
        slew = found.slew_volts_per_s, sure.slew_volts_per_s, "V/s"
        yield _figure("slew_rate", "Steepest slope", *slew)


def _edges(found: SquareAnalysis) -> Iterator[Figure]:
    from stepwise.science import corner_from_rise_time

    sure = found.standard
    if found.rise_time_s is not None:
        rise = _figure("rise_time", "Rise time, 10 % to 90 %", found.rise_time_s,
                       sure.rise_time_s, "s")  # fmt: skip
        yield rise
        corner = propagate(corner_from_rise_time, rise.measure)
        label = "Bandwidth that the rise time implies, one pole"
        yield Figure("corner_from_rise_time", label, corner, "Hz")
    if found.fall_time_s is not None:
        fall = found.fall_time_s, sure.fall_time_s, "s"
        yield _figure("fall_time", "Fall time, 90 % to 10 %", *fall)
    if found.settling_s is not None:
        settling = found.settling_s, sure.settling_s, "s"
        yield _figure("settling_time", "Settling to within 2 %", *settling)


def _ringing(found: SquareAnalysis) -> Iterator[Figure]:
    ringing = found.ringing
    if ringing is None:
        return
    hertz = ringing.hertz, ringing.standard_hertz, "Hz"
    yield _figure("ringing_frequency", "Frequency of the ringing", *hertz)
    ratio = ringing.damping_ratio, ringing.standard_damping_ratio, ""
    yield _figure("damping_ratio", "Damping ratio of the ringing", *ratio)
    yield Figure("ringing_cycles", "Cycles of ringing above 2 %", visible_cycles(found), "")


def visible_cycles(found: SquareAnalysis) -> Uncertain:
    """Cycles of ringing that the eye would count on the trace [1]; 0 without ringing."""
    ringing = found.ringing
    if ringing is None:
        return exact(0.0)
    share = ringing.amplitude_volts / (found.high_volts - found.low_volts)
    ratio = ringing.damping_ratio
    decrement = 2.0 * math.pi * ratio / math.sqrt(max(1.0 - ratio * ratio, 1e-9))
    lasting = math.log(max(share / _VISIBLE, 1.0)) / decrement
    return exact(float(min(int(lasting), _MOST_CYCLES)))


def sine_figures(found: SineAnalysis, scales: float = 0.0) -> tuple[Figure, ...]:
    """Everything that a sine shows, without its table of harmonics.

    Args:
        found: The analysis.
        scales: Limit of error of the oscilloscope's scales, share of a reading [1], the same
            for volts and for seconds; 0 (default) where it is not known.
    """
    return tuple(_scaled(limited_sine(_sine(found), found.off_screen), scales))


def _sine(found: SineAnalysis) -> Iterator[Figure]:
    sure = found.standard
    above, below = found.positive_peak_volts, found.negative_peak_volts
    yield _figure("frequency", "Frequency", found.hertz, sure.hertz, "Hz")
    yield _figure("level", "Level, RMS, without the mean", found.rms_volts, sure.rms_volts, "V")
    yield _figure("peak", "Positive peak, above zero", above, sure.peak_volts, "V")
    yield _figure("negative_peak", "Negative peak, below zero", below, sure.peak_volts, "V")
    crest = math.hypot(sure.peak_volts / found.rms_volts,
                       found.crest_factor * sure.rms_volts / found.rms_volts)  # fmt: skip
    yield _figure("crest_factor", "Crest factor, about the mean", found.crest_factor, crest, "")
    symmetry = 200.0 * math.sqrt(2.0) * sure.peak_volts / (above + below)
    yield _figure("asymmetry", "Positive less negative peak, about the mean",
                  found.asymmetry_percent, symmetry, "%")  # fmt: skip
    yield _figure("offset", "Mean", found.mean_volts, sure.mean_volts, "V")
    yield _figure("thd", "Distortion, of the fundamental", found.thd_percent,
                  sure.thd_percent, "%")  # fmt: skip
    thd_n = found.thd_n_percent, sure.thd_percent, "%"
    yield _figure("thd_n", "Distortion and noise, of the fundamental", *thd_n)
    yield from _noise(found)
    if found.clipping is not None:
        yield from _clipping(found)


def harmonic_share(each: Harmonic) -> Uncertain:
    """One harmonic over the fundamental [%], from noise and converter steps.

    Args:
        each: The line of the table.
    """
    return from_terms(each.percent, [(_SAMPLES, each.standard_percent)])


def _noise(found: SineAnalysis) -> Iterator[Figure]:
    from stepwise.science import signal_to_noise_db

    sure = found.standard
    level = from_terms(found.rms_volts, [(_SAMPLES, sure.rms_volts)])
    for name, how, volts, standard in (
        ("noise", "", found.noise_volts, sure.noise_volts),
        ("noise_a", ", A-weighted", found.noise_a_volts, sure.noise_a_volts),
    ):
        noise = _figure(name, f"Noise{how}, RMS", volts, standard, "V")
        yield noise
        ratio = propagate(signal_to_noise_db, level, noise.measure)
        yield Figure(name.replace("noise", "signal_to_noise"), f"Signal to noise{how}", ratio, "dB")


def sine_notes(found: SineAnalysis) -> tuple[str, ...]:
    """Sentences on what the record could not show of the noise.

    Args:
        found: The analysis.
    """
    lowest, highest = found.noise_band_hertz
    low, high = (format_value(hertz, "Hz", digits=3) for hertz in (lowest, highest))
    said = [f"noise is counted from {low} to {high}, half the sample rate"]
    if highest < _HIGHEST_HEARD:
        said.append(f"the A-weighting covers only up to {high}, not 20 kHz: sample faster")
    if lowest > _LOWEST_OF_NOISE:
        said.append(f"the A-weighting covers nothing below {low}: a longer record would")
    return tuple(said)


def _clipping(found: SineAnalysis) -> Iterator[Figure]:
    clipping, sure = found.clipping, found.standard
    if clipping is None:
        return
    if clipping.positive_volts is not None:
        onset = clipping.positive_volts, sure.peak_volts, "V"
        yield _figure("clip_onset", "Positive tops flatten from (above zero)", *onset)
    if clipping.negative_volts is not None:
        onset = clipping.negative_volts, sure.peak_volts, "V"
        yield _figure("negative_clip_onset", "Negative tops flatten from (below zero)", *onset)
    if clipping.overdrive > 1.0:
        # the sine behind a clipped wave is known no better than its steep parts tell
        doubt = 0.25 * (clipping.overdrive - 1.0) * 0.1 + sure.peak_volts / found.rms_volts
        yield _figure("overdrive", "Unclipped peak over the peak there is",
                      clipping.overdrive, doubt, "")  # fmt: skip


def _figure(name: str, label: str, value: float, standard: float | None, unit: str) -> Figure:
    return Figure(name, label, from_terms(value, [(_SAMPLES, standard or 0.0)]), unit)


def _stands_out(figure: Figure) -> bool:
    return figure.measure.value > figure.measure.expanded_uncertainty


_POWER_OF_SCALES = {"V": (1, 0), "s": (0, 1), "Hz": (0, -1), "V/s": (1, -1)}
"""Unit -> how often the scale of volts and that of seconds stand in it."""


def _scaled(figures: Iterable[Figure], scales: float) -> Iterator[Figure]:
    """Add what the oscilloscope's scales may be off; shares and ratios do not have it."""
    standard = rectangular(scales)
    for figure in figures:
        volts, seconds = _POWER_OF_SCALES.get(figure.unit, (0, 0))
        value = figure.measure.value
        terms = [
            *figure.measure.terms.items(),
            (within_limits("scale of volts"), volts * standard * value),
            (within_limits("scale of seconds"), seconds * standard * value),
        ]
        yield replace(figure, measure=from_terms(value, terms))
