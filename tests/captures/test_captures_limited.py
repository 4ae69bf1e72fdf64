"""A trace that runs off the screen is told; what is flat for another reason is not."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy import signal

from stepwise.captures import (
    Capture,
    capture_record,
    limit_notes,
    sine_analysis,
    sine_figures,
    square_analysis,
    square_figures,
)

SEEDS = range(8)
NOISES = (0.0, 0.1, 0.25, 0.5, 1.0, 2.0)
"""Over the step."""


def _capture(volts: np.ndarray) -> Capture:
    return Capture(Path("hall.csv"), volts, 1e6, 0.0, "CH1", ("CH1",))


def _stepped(wave: np.ndarray, noise: float, seed: int, limit: float = 127.0) -> Capture:
    random = np.random.default_rng(seed)
    steps = np.round(wave + noise * random.normal(size=wave.size) + random.uniform(-0.5, 0.5))
    return _capture(0.08 * np.clip(steps, -limit, limit))


def _ringing(ratio: float, height: float) -> np.ndarray:
    """Overshoot of 37 % at a ratio of 0.3; half a height to either side of nothing."""
    wave = np.where((np.arange(4200) / 600 + 0.3) % 1.0 < 0.5, 0.5, -0.5) * height
    low_pass = signal.cont2discrete(([0.15**2], [1.0, 2 * ratio * 0.15, 0.15**2]), 1.0)
    return signal.lfilter(low_pass[0].ravel(), low_pass[1], wave)[600:]


def _sine(peak: float, seed: int) -> np.ndarray:
    return peak * np.sin(np.arange(3000) * 0.0107 + seed)


@pytest.mark.parametrize("noise", NOISES)
def test_a_ringing_that_leaves_the_screen_gives_a_least_overshoot(noise: float) -> None:
    for seed in SEEDS:
        found = square_analysis(_stepped(_ringing(0.3, 165.0), noise, seed))

        assert found.off_screen.high
        assert found.off_screen.low
        (note,) = limit_notes(found.off_screen)
        assert note.startswith("the trace is flat at its highest and lowest level: off the screen?")
        figures = {each.name: each for each in square_figures(found)}
        assert figures["overshoot"].is_at_least
        assert figures["overshoot"].measure.value < 36.5
        assert not figures["rise_time"].is_at_least
        assert "damping_ratio" not in figures


@pytest.mark.parametrize("noise", NOISES)
@pytest.mark.parametrize("ratio", [0.1, 0.3, 0.6, 1.0])
def test_a_square_wave_that_stays_on_the_screen_is_not_held_to_leave_it(ratio, noise) -> None:
    for seed in SEEDS:
        found = square_analysis(_stepped(_ringing(ratio, 95.0), noise, seed))

        assert not found.off_screen
        assert not any(each.is_at_least for each in square_figures(found))


@pytest.mark.parametrize("noise", [0.5, 1.0, 2.0])
def test_a_sine_that_leaves_the_screen_has_no_distortion_to_speak_of(noise: float) -> None:
    for seed in SEEDS:
        found = sine_analysis(_stepped(_sine(145.0, seed), noise, seed))

        assert found.off_screen.high
        assert found.off_screen.is_sure
        figures = {each.name: each for each in sine_figures(found)}
        assert figures["peak"].is_at_least
        assert figures["level"].is_at_least
        assert not {"thd", "thd_n", "crest_factor", "clip_onset", "overdrive"} & set(figures)
        record = capture_record(_stepped(_sine(145.0, seed), noise, seed), "sine",
                                tuple(figures.values()))  # fmt: skip
        marked = {each["name"] for each in record["results"] if each.get("at_least")}
        assert marked == {"level", "peak", "negative_peak"}


@pytest.mark.parametrize("noise", NOISES)
def test_an_amplifier_that_clips_is_not_held_to_leave_the_screen(noise: float) -> None:
    for seed in SEEDS:
        wave = np.clip(_sine(130.0, seed), -100.0, 100.0)
        found = sine_analysis(_stepped(wave, noise, seed))

        assert not (found.off_screen and found.off_screen.is_sure)
        for note in limit_notes(found.off_screen):  # without noise it cannot be told apart
            assert "does the amplifier clip, or is it off the screen?" in note
            assert noise < 0.4
        assert "thd" in {each.name for each in sine_figures(found)}


@pytest.mark.parametrize("noise", NOISES)
def test_a_sine_on_the_screen_is_not_held_to_leave_it(noise: float) -> None:
    for seed in SEEDS:
        assert not sine_analysis(_stepped(_sine(60.0 + 7.3 * seed, seed), noise, seed)).off_screen


def test_flat_tops_without_noise_and_converter_are_what_they_are() -> None:
    assert not sine_analysis(_capture(np.clip(_sine(1.3, 1), -1.0, 1.0))).off_screen
    assert not square_analysis(_capture(np.tile(np.repeat([-5.0, 5.0], 100), 6))).off_screen
