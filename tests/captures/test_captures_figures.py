"""Figures, JSON and pictures of captures whose truth is known."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from scipy import signal

from stepwise.captures import (
    Capture,
    capture_record,
    picture_sine,
    picture_square,
    sine_analysis,
    sine_figures,
    square_analysis,
    square_figures,
)
from stepwise.errors import CaptureError
from stepwise.science import overshoot_from_damping_ratio, thd_for_overdrive, tilt_percent

RATE = 1e6


def _capture(volts: np.ndarray) -> Capture:
    return Capture(Path("hall.csv"), volts, RATE, 0.0, "CH1", ("CH1", "CH2"))


def _square(tilted: bool = True) -> Capture:
    """1 kHz, 10 V high, second order at 20 kHz and a low corner of 40 Hz, 8 bits and noise."""
    turns = np.arange(9000) / 1000 + 0.3
    wave = np.where(turns % 1.0 < 0.5, 5.0, -5.0)
    omega = 2 * np.pi * 20e3
    low_pass = signal.cont2discrete(([omega**2], [1.0, 0.6 * omega, omega**2]), 1 / RATE)
    wave = signal.lfilter(low_pass[0].ravel(), low_pass[1], wave - wave[0]) + wave[0]
    if tilted:
        wave = signal.lfilter(*signal.butter(1, 40.0, "highpass", fs=RATE), wave)
    wave = wave[-4300:] + np.random.default_rng(4).normal(0.0, 0.05, 4300)
    return _capture(np.round(wave / 0.08) * 0.08)


def _sine(overdrive: float = 1.2) -> Capture:
    wave = np.clip(overdrive * np.sin(2 * np.pi * 1e3 * np.arange(8300) / RATE), -1, 1)
    noise = np.random.default_rng(5).normal(0.0, 0.01, wave.size)
    return _capture(20.0 * (wave + noise))


def _named(figures) -> dict[str, tuple[float, float, str]]:
    return {
        each.name: (each.measure.value, each.measure.expanded_uncertainty, each.unit)
        for each in figures
    }


def test_a_square_wave_shows_everything_within_its_uncertainty() -> None:
    found = _named(square_figures(square_analysis(_square())))

    truth = {
        "frequency": (1e3, "Hz"),
        "overshoot": (overshoot_from_damping_ratio(0.3), "%"),
        "tilt": (tilt_percent(40.0, 1e3), "%"),
        "corner_from_tilt": (40.0, "Hz"),
        "rise_time": (1.32134 / (2 * math.pi * 20e3), "s"),
        "fall_time": (1.32134 / (2 * math.pi * 20e3), "s"),
        "ringing_frequency": (20e3 * math.sqrt(1 - 0.09), "Hz"),
        "damping_ratio": (0.3, ""),
        "height": (10.0, "V"),
    }
    for name, (true, unit) in truth.items():
        value, expanded, found_unit = found[name]
        assert found_unit == unit
        assert abs(value - true) < 1.5 * expanded, (name, value, expanded, true)
        assert expanded < 0.2 * true, name
    value, expanded, _ = found["corner_from_rise_time"]
    assert value == pytest.approx(math.log(9) / (2 * math.pi) / found["rise_time"][0])
    # 37.2 % of overshoot falls to 2 % at exp(-2 pi z n / sqrt(1 - z^2)), n = 1.5
    assert found["ringing_cycles"][0] in (1.0, 2.0)
    assert {"settling_time", "slew_rate", "preshoot"} <= set(found)


def test_a_tilt_within_its_uncertainty_implies_no_corner() -> None:
    found = _named(square_figures(square_analysis(_square(tilted=False))))

    assert abs(found["tilt"][0]) < 1.5 * found["tilt"][1]
    assert "corner_from_tilt" not in found


def test_the_scales_of_the_oscilloscope_count_for_volts_and_times_only() -> None:
    analysis = square_analysis(_square())
    bare, scaled = _named(square_figures(analysis)), _named(square_figures(analysis, 0.03))

    for name in ("overshoot", "tilt", "damping_ratio", "ringing_cycles"):
        assert scaled[name] == bare[name]
    for name in ("height", "rise_time", "frequency", "corner_from_tilt"):
        value, expanded, _ = scaled[name]
        assert expanded > bare[name][1]
        assert expanded >= 1.6 * 0.03 * value / math.sqrt(3.0)
    # a slope is volts over seconds: both scales count
    value, expanded, _ = scaled["slew_rate"]
    assert expanded > 2.0 * 0.03 * math.sqrt(2.0 / 3.0) * value * 0.99


def test_a_clipped_sine_shows_its_distortion_and_where_it_flattens() -> None:
    analysis = sine_analysis(_sine())
    found = _named(sine_figures(analysis))

    value, expanded, _ = found["thd"]
    assert abs(value - thd_for_overdrive(1.2)) < 1.5 * expanded < 0.3
    assert found["frequency"][0] == pytest.approx(1e3, rel=1e-4)
    assert found["peak"][0] == pytest.approx(20.0, abs=0.2)
    assert found["clip_onset"][0] == pytest.approx(20.0, abs=0.3)
    assert found["negative_clip_onset"][0] == pytest.approx(20.0, abs=0.3)
    assert found["overdrive"][0] == pytest.approx(1.2, abs=0.02)
    assert found["crest_factor"][0] < 1.35
    assert abs(found["asymmetry"][0]) < found["asymmetry"][1]


@pytest.mark.parametrize("offset", [0.0, 1.5, -3.0])
def test_peaks_and_tops_are_told_from_zero_as_rails_and_screen_are(offset: float) -> None:
    noise = np.random.default_rng(8).normal(0.0, 0.02, 5000)
    sine = 30.0 * np.sin(2 * np.pi * np.arange(5000) / 997 + 0.3)
    cut = _named(sine_figures(sine_analysis(_capture(np.clip(sine, -28.3, 22.0) + noise + offset))))
    whole = _named(sine_figures(sine_analysis(_capture(sine + noise + offset))))

    for name, true in {
        "peak": 22.0 + offset, "clip_onset": 22.0 + offset,
        "negative_peak": 28.3 - offset, "negative_clip_onset": 28.3 - offset,
    }.items():  # fmt: skip
        value, expanded, _ = cut[name]
        assert abs(value - true) < 1.5 * expanded < 0.1, (name, value, expanded)
    # what has no zero: the sine behind the tops has its own middle, the crest factor the mean
    value, expanded, _ = cut["overdrive"]
    assert value == pytest.approx(30.0 / 22.0, abs=0.002)
    assert whole["peak"][0] == pytest.approx(30.0 + offset, abs=0.05)
    assert whole["negative_peak"][0] == pytest.approx(30.0 - offset, abs=0.05)
    assert whole["crest_factor"][0] == pytest.approx(math.sqrt(2.0), abs=0.003)
    assert abs(whole["asymmetry"][0]) < whole["asymmetry"][1]
    assert whole["offset"][0] == pytest.approx(offset, abs=0.01)


def test_a_clean_sine_flattens_nowhere() -> None:
    found = _named(sine_figures(sine_analysis(_sine(0.9))))

    assert not {"clip_onset", "negative_clip_onset", "overdrive"} & set(found)
    assert found["crest_factor"][0] == pytest.approx(math.sqrt(2.0), rel=0.01)


def test_the_record_is_plain_and_says_its_format() -> None:
    analysis = sine_analysis(_sine())
    figures = sine_figures(analysis)
    record = capture_record(_sine(), "sine", figures, analysis.harmonics)

    assert record["format"] == 1
    assert record["capture"]["channels"] == ["CH1", "CH2"]
    assert record["capture"]["samples"] == 8300
    assert [each["order"] for each in record["harmonics"]] == list(range(1, 11))
    by_name = {each["name"]: each for each in record["results"]}
    thd = next(each for each in figures if each.name == "thd")
    assert by_name["thd"]["value"] == thd.measure.value
    assert by_name["thd"]["uncertainty"] == thd.measure.expanded_uncertainty
    assert set(by_name["thd"]) == {"name", "label", "value", "unit", "uncertainty", "coverage"}


@pytest.mark.parametrize("ending", [".png", ".svg"])
def test_pictures_are_drawn(tmp_path, ending: str) -> None:
    square, sine = tmp_path / f"square{ending}", tmp_path / f"sine{ending}"
    picture_square(_square(), square_analysis(_square()), square)
    picture_sine(_sine(), sine_analysis(_sine()), sine)

    start = {".png": b"\x89PNG", ".svg": b"<?xml"}[ending]
    for path in (square, sine):
        assert path.read_bytes().startswith(start)
        assert path.stat().st_size > 10_000


def test_pictures_that_cannot_be_are_refused(tmp_path) -> None:
    capture, analysis = _square(), square_analysis(_square())
    with pytest.raises(CaptureError, match=r"ends in \.png or \.svg"):
        picture_square(capture, analysis, tmp_path / "trace.gif")
    with pytest.raises(CaptureError, match="cannot be written"):
        picture_square(capture, analysis, tmp_path / "absent" / "trace.png")


def test_what_is_no_square_and_no_sine_is_refused_in_words() -> None:
    flat = _capture(np.zeros(500))
    with pytest.raises(CaptureError, match=r"hall\.csv: shows no square wave: .* one state"):
        square_analysis(flat)
    with pytest.raises(CaptureError, match=r"hall\.csv: shows no sine: .* no signal"):
        sine_analysis(flat)
