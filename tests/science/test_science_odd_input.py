"""Whatever a capture or a sweep holds, an analysis answers or says why not; nothing else."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from stepwise.science import (
    analyse_sine,
    analyse_square,
    fit_exponential_approach,
    fit_response,
    fit_ringing,
)


def _odd_wave(random: np.random.Generator, kind: int) -> np.ndarray:
    size = int(random.integers(16, 400))
    place = np.arange(size)
    if kind == 0:
        return random.normal(size=size)
    if kind == 1:
        return np.cumsum(random.normal(size=size))
    if kind == 2:
        return np.sign(np.sin(place * random.uniform(0.001, 3.0))) + random.normal(size=size) / 3
    return np.sin(place * random.uniform(0.01, 3.0)) * np.exp(-place * random.uniform(-0.1, 0.3))


@pytest.mark.parametrize("analyse", [analyse_sine, analyse_square, fit_ringing])
@pytest.mark.parametrize("kind", range(4))
def test_odd_captures_are_analysed_or_refused_in_words(analyse: Callable, kind: int) -> None:
    random = np.random.default_rng(kind)
    for _ in range(30):
        try:
            analyse(_odd_wave(random, kind), 1e5)
        except ValueError as refusal:
            assert "capture" in str(refusal)


def test_odd_temperatures_are_fitted_or_have_no_end() -> None:
    random = np.random.default_rng(4)
    for _ in range(60):
        times = np.sort(random.uniform(0.0, 900.0, 5))
        fit = fit_exponential_approach(times, random.normal(40.0, 10.0, 5), 0.5)
        assert fit is None or np.isfinite([fit.start, fit.final, fit.standard_final]).all()


def test_odd_sweeps_always_have_a_fit_of_finite_numbers() -> None:
    random = np.random.default_rng(5)
    for _ in range(60):
        hertz = np.sort(10.0 ** random.uniform(1.0, 5.0, 12))
        fit = fit_response(hertz, random.normal(0.0, random.uniform(0.01, 8.0), 12), 0.1)
        assert np.isfinite(fit.level_db(hertz)).all()
        assert np.isfinite(fit.chi_square)
