"""Uncertainty against published examples and against Monte Carlo."""

from __future__ import annotations

import copy
import math
import pickle
import statistics

import numpy as np
import pytest

from stepwise.quantities import (
    Source,
    Uncertain,
    correlation,
    covariance,
    exact,
    from_terms,
    last_digit,
    propagate,
    rectangular,
    resolution,
    within_limits,
)


def power(volts: float, ohms: float) -> float:
    return volts * volts / ohms


@pytest.mark.parametrize(
    ("volts", "u_volts", "ohms", "u_ohms", "watts", "u_watts", "expanded"),
    [
        (20.0, 0.1, 8.0, 0.04, 50.0, 0.559017, 1.11803),
        (28.3, 0.2, 8.02, 0.02, 99.8616, 1.43327, 2.86654),
        (14.2, 0.15, 4.0, 0.2 / math.sqrt(3.0), 50.4100, 1.80329, 3.60659),
        (17.9, 0.179, 8.0, 0.08, 40.0512, 0.895573, 1.79115),
    ],
)
def test_power_from_volts_and_ohms(volts, u_volts, ohms, u_ohms, watts, u_watts, expanded):
    result = propagate(
        power, Uncertain(volts, {"meter": u_volts}), Uncertain(ohms, {"load": u_ohms})
    )
    assert result.value == pytest.approx(watts, rel=1e-5)
    # The finite difference takes in the curvature of 1/R over one standard uncertainty.
    assert result.standard_uncertainty == pytest.approx(u_watts, rel=1e-3)
    assert result.expanded_uncertainty == pytest.approx(expanded, rel=1e-3)


def test_power_of_a_resistor_with_temperature():
    """JCGM 100:2008, 4.1.1 and 5.1.3 (model from memory)."""

    def model(volts, ohms, alpha, temperature):
        return volts * volts / (ohms * (1.0 + alpha * (temperature - 20.0)))

    result = propagate(
        model,
        Uncertain(20.0, {"V": 0.1}),
        Uncertain(8.0, {"R": 0.04}),
        Uncertain(100e-6, {"alpha": 20e-6}),
        Uncertain(85.0, {"t": 5.0}),
    )
    assert result.value == pytest.approx(49.6771, rel=1e-5)
    terms = {"V": 0.496771, "R": -0.248385, "alpha": -0.0641632, "t": -0.0246781}
    for source, term in terms.items():
        assert result.terms[source] == pytest.approx(term, rel=1e-3)
    assert result.standard_uncertainty == pytest.approx(0.559645, rel=1e-4)


def correlated_inputs() -> tuple[Uncertain, Uncertain, Uncertain]:
    """V, I and phi of JCGM 100:2008, H.2, their correlation carried by shared sources."""
    raw = np.array(
        [
            [5.007, 4.994, 5.005, 4.990, 4.999],
            [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3],
            [1.0456, 1.0438, 1.0468, 1.0428, 1.0433],
        ]
    )
    root = np.linalg.cholesky(np.cov(raw) / raw.shape[1])
    means = raw.mean(axis=1)
    volts, amperes, phase = (
        from_terms(float(mean), zip("abc", map(float, row), strict=True))
        for mean, row in zip(means, root, strict=True)
    )
    return volts, amperes, phase


def test_correlation_of_the_readings_of_gum_h2():
    volts, amperes, phase = correlated_inputs()
    assert (volts.value, amperes.value, phase.value) == pytest.approx((4.9990, 19.6610e-3, 1.04446))
    assert volts.standard_uncertainty == pytest.approx(0.0032, abs=5e-5)
    assert amperes.standard_uncertainty == pytest.approx(0.0095e-3, abs=5e-8)
    assert phase.standard_uncertainty == pytest.approx(0.00075, abs=5e-6)
    assert correlation(volts, amperes) == pytest.approx(-0.355311, abs=1e-6)
    assert correlation(volts, phase) == pytest.approx(0.857624, abs=1e-6)
    assert correlation(amperes, phase) == pytest.approx(-0.645111, abs=1e-6)


def test_resistance_reactance_and_impedance_of_gum_h2():
    inputs = correlated_inputs()
    resistance = propagate(lambda v, i, phi: v / i * math.cos(phi), *inputs)
    reactance = propagate(lambda v, i, phi: v / i * math.sin(phi), *inputs)
    impedance = propagate(lambda v, i, _: v / i, *inputs)
    published = [
        (resistance, 127.732, 0.0710714),
        (reactance, 219.847, 0.295582),
        (impedance, 254.260, 0.236336),
    ]
    for result, value, standard in published:
        assert result.value == pytest.approx(value, abs=5e-4)
        assert result.standard_uncertainty == pytest.approx(standard, rel=1e-4)
    assert correlation(resistance, reactance) == pytest.approx(-0.588430, abs=1e-4)
    assert correlation(resistance, impedance) == pytest.approx(-0.485259, abs=1e-4)
    assert correlation(reactance, impedance) == pytest.approx(0.992512, abs=1e-4)


def test_terms_of_gum_h1_add_in_squares():
    length = Uncertain(0.0, {"a": 25.0, "b": 9.7, "c": 2.9, "d": 16.6})
    assert length.standard_uncertainty == pytest.approx(31.6711, rel=1e-6)


def test_hand_held_multimeter_of_ea_4_02():
    reading = Uncertain(
        100.1, {"calibrator": 0.001, "digit": rectangular(0.05), "source": rectangular(0.011)}
    )
    assert reading.standard_uncertainty == pytest.approx(0.0295748, rel=1e-5)


def test_expanded_uncertainty_of_nist_tn_1297():
    assert Uncertain(100.0, {"mass": 0.35}).expanded_uncertainty == pytest.approx(0.70)


def test_spread_of_the_simple_distributions():
    assert rectangular(1.0) == pytest.approx(0.577350, abs=5e-7)
    assert resolution(1.0) == pytest.approx(0.288675, abs=5e-7)


def level(first: float, second: float) -> float:
    return 20.0 * math.log10(first / second)


def test_a_ratio_on_one_range_does_not_count_the_meter_twice():
    apart = propagate(level, Uncertain(10.0, {"a": 0.05}), Uncertain(10.0, {"b": 0.05}))
    shared = propagate(level, Uncertain(10.0, {"a": 0.05}), Uncertain(10.0, {"a": 0.05}))
    assert apart.standard_uncertainty == pytest.approx(0.0614185, rel=1e-4)
    assert shared.standard_uncertainty == pytest.approx(0.0, abs=1e-12)
    assert covariance(Uncertain(1.0, {"a": 2.0}), Uncertain(1.0, {"a": 3.0, "b": 1.0})) == 6.0


def test_propagation_agrees_with_monte_carlo():
    rng = np.random.default_rng(20)
    shared, own = rng.standard_normal((2, 200_000))
    volts = 20.0 + 0.1 * shared + 0.05 * own
    ohms = 8.0 - 0.03 * shared
    simulated = statistics.pstdev((volts**2 / ohms).tolist())
    result = propagate(
        power,
        Uncertain(20.0, {"shared": 0.1, "own": 0.05}),
        Uncertain(8.0, {"shared": -0.03}),
    )
    assert result.standard_uncertainty == pytest.approx(simulated, rel=0.01)


def test_terms_of_one_source_add_before_they_are_squared():
    assert from_terms(1.0, [("a", 3.0), ("a", -1.0), ("b", 0.0)]) == Uncertain(1.0, {"a": 2.0})


def test_exact_values_bring_nothing():
    assert exact(3.0).standard_uncertainty == 0.0
    assert propagate(power, exact(20.0), exact(8.0)) == exact(50.0)
    assert correlation(exact(1.0), Uncertain(1.0, {"a": 1.0})) == 0.0


def test_scaling_is_a_change_of_unit():
    scaled = Uncertain(2.0, {"a": 0.1}).scaled(1000.0)
    assert (scaled.value, scaled.terms) == (2000.0, {"a": 100.0})


def test_at_the_edge_of_the_domain_one_side_is_taken():
    result = propagate(math.sqrt, Uncertain(0.0, {"a": 0.01}))
    assert result.standard_uncertainty == pytest.approx(0.1)
    result = propagate(lambda value: math.sqrt(-value), Uncertain(0.0, {"a": 0.01}))
    assert result.standard_uncertainty == pytest.approx(0.1)


def test_outside_the_domain_the_function_says_so():
    with pytest.raises(ValueError, match=r"math domain error|nonnegative"):
        propagate(math.sqrt, Uncertain(-1.0, {"a": 0.1}))

    def only_at_one(value: float) -> float:
        if value != 1.0:
            raise ValueError("elsewhere")
        return value

    with pytest.raises(ValueError, match="either side"):
        propagate(only_at_one, Uncertain(1.0, {"a": 0.1}))


@pytest.mark.parametrize("value", [exact(3.0), Uncertain(3.0, {"a": 0.1})])
def test_values_can_be_copied_and_kept(value):
    assert copy.deepcopy(value) == value
    assert pickle.loads(pickle.dumps(value)) == value


def test_values_whose_sources_are_spread_otherwise_are_not_equal():
    spread = Uncertain(1.0, {within_limits("range"): 0.1, "load": 0.2})
    assert spread == Uncertain(1.0, {"load": 0.2, within_limits("range"): 0.1})
    assert spread == Uncertain(1.0, {Source("load"): 0.2, within_limits("range"): 0.1})
    for other in ("range", last_digit("range"), Source("range", freedom=3.0)):
        assert Uncertain(1.0, {other: 0.1, "load": 0.2}) != spread
    assert spread != Uncertain(1.0, {within_limits("range"): 0.1})
    assert spread != 1.0
