"""Heat: what a class-B stage turns into it, and where a rising temperature is going.

Losses are of the whole stage; each of two output devices has half. Temperatures may be in
degrees Celsius or kelvin, the same throughout one call.
"""

from __future__ import annotations

import math

import numpy as np

from stepwise.science.domain import Number, finite, not_negative, positive, shaped_like


def dissipation_class_b(
    rail_volts: float, peak_volts: float, load_ohms: float, quiescent_amperes: float = 0.0
) -> float:
    """Loss of a class-B (or AB) stage that drives a sine into a resistance.

    Args:
        rail_volts: Magnitude of each of the two rails [V], >= 0.
        peak_volts: Peak of the sine at the load [V peak], >= 0.
        load_ohms: Resistance of the load [ohm], > 0.
        quiescent_amperes: Idle current through both devices [A], >= 0, default 0. Added in
            full, an upper bound: a class-AB stage carries part of it within the signal.

    Returns:
        Loss of the whole stage [W]: what `supply_power_class_b` takes less what the load gets.

    Raises:
        ValueError: A value is negative, or `load_ohms` is not positive.

    Source:
        Pd = Pi - Po = 2 Ur Up / (pi R) + 2 Ur Iq - Up^2 / (2 R); textbook, e.g. Boylestad and
        Nashelsky chapter 12, the idle term from memory.

    Example:
        >>> round(dissipation_class_b(45.0, 40.0, 8.0), 4)
        43.2394
    """
    rail = not_negative(rail_volts, "rail_volts")
    peak = not_negative(peak_volts, "peak_volts")
    load = positive(load_ohms, "load_ohms")
    taken = supply_power_class_b(rail, peak, load, quiescent_amperes)
    return taken - peak * peak / (2.0 * load)


def supply_power_class_b(
    rail_volts: float, peak_volts: float, load_ohms: float, quiescent_amperes: float = 0.0
) -> float:
    """Power that a class-B (or AB) stage takes from both rails for a sine.

    Args:
        rail_volts: Magnitude of each of the two rails [V], >= 0.
        peak_volts: Peak of the sine at the load [V peak], >= 0.
        load_ohms: Resistance of the load [ohm], > 0.
        quiescent_amperes: Idle current through both devices [A], >= 0, default 0; in full, as
            `dissipation_class_b` has it.

    Returns:
        Power [W].

    Raises:
        ValueError: A value is negative, or `load_ohms` is not positive.

    Source:
        Pi = 2 Ur Up / (pi R) + 2 Ur Iq; textbook, e.g. Boylestad and Nashelsky chapter 12, the
        idle term from memory.

    Example:
        >>> round(supply_power_class_b(30.0, 20.0, 16.0), 4)
        23.8732
    """
    rail = not_negative(rail_volts, "rail_volts")
    peak = not_negative(peak_volts, "peak_volts")
    idle = not_negative(quiescent_amperes, "quiescent_amperes")
    return 2.0 * rail * (peak / (math.pi * positive(load_ohms, "load_ohms")) + idle)


def efficiency_class_b_percent(
    rail_volts: float, peak_volts: float, load_ohms: float = 1.0, quiescent_amperes: float = 0.0
) -> float:
    """Share of the supply's power that reaches the load in a class-B (or AB) stage.

    Args:
        rail_volts: Magnitude of each of the two rails [V], > 0.
        peak_volts: Peak of the sine at the load [V peak], > 0.
        load_ohms: Resistance of the load [ohm], > 0; it cancels where no current idles.
        quiescent_amperes: Idle current through both devices [A], >= 0, default 0.

    Returns:
        Efficiency [%]: the load's power over that of `supply_power_class_b`.

    Raises:
        ValueError: Rail, peak or load is not positive, or the idle current is negative.

    Source:
        Po / Pi, which is (pi / 4) Up / Ur without an idle current; textbook, e.g. Boylestad and
        Nashelsky chapter 12.

    Example:
        >>> round(efficiency_class_b_percent(24.0, 22.0), 4)
        71.9948
    """
    rail, peak = positive(rail_volts, "rail_volts"), positive(peak_volts, "peak_volts")
    taken = supply_power_class_b(rail, peak, load_ohms, quiescent_amperes)
    return 100.0 * peak * peak / (2.0 * load_ohms) / taken


def worst_dissipation(rail_volts: float, load_ohms: float, quiescent_amperes: float = 0.0) -> float:
    """Largest loss of a class-B (or AB) stage at any level of sine.

    It is reached where the peak is 2/pi of the rail, at 40.5 % of the power at clipping.

    Args:
        rail_volts: Magnitude of each of the two rails [V], >= 0.
        load_ohms: Resistance of the load [ohm], > 0.
        quiescent_amperes: Idle current through both devices [A], >= 0, default 0.

    Returns:
        Loss of the whole stage [W].

    Raises:
        ValueError: A value is negative, or `load_ohms` is not positive.

    Source:
        2 Ur^2 / (pi^2 R) + 2 Ur Iq: maximum of `dissipation_class_b` over the level.

    Example:
        >>> round(worst_dissipation(45.0, 8.0), 4)
        51.2938
    """
    rail = not_negative(rail_volts, "rail_volts")
    idle = 2.0 * rail * not_negative(quiescent_amperes, "quiescent_amperes")
    return 2.0 * rail * rail / (math.pi**2 * positive(load_ohms, "load_ohms")) + idle


def junction_temperature(ambient: float, power_watts: float, kelvin_per_watt: float) -> float:
    """Temperature at the end of a chain of thermal resistances.

    Args:
        ambient: Temperature of the air [degC].
        power_watts: Power through the chain [W].
        kelvin_per_watt: Sum of the thermal resistances [K/W], >= 0.

    Returns:
        Temperature [degC].

    Raises:
        ValueError: The resistance is negative or a value is not finite.

    Source:
        T = Ta + P R, thermal Ohm's law.

    Example:
        >>> round(junction_temperature(30.0, 30.0, 2.8), 6)
        114.0
    """
    rise = finite(power_watts, "power_watts") * not_negative(kelvin_per_watt, "kelvin_per_watt")
    return finite(ambient, "ambient") + rise


def thermal_resistance(hot: float, ambient: float, power_watts: float) -> float:
    """Thermal resistance from a place to the air, from the rise that a loss gives it.

    Args:
        hot: Temperature of the place once it no longer rises [degC].
        ambient: Temperature of the air [degC].
        power_watts: Loss that heats the place [W], > 0.

    Returns:
        Thermal resistance [K/W].

    Raises:
        ValueError: The loss is not positive or a temperature is not finite.

    Source:
        R = (T - Ta) / P, thermal Ohm's law.

    Example:
        >>> thermal_resistance(65.0, 25.0, 20.0)
        2.0
    """
    rise = finite(hot, "hot") - finite(ambient, "ambient")
    return rise / positive(power_watts, "power_watts")


def exponential_approach(t: Number, start: float, final: float, tau: float) -> Number:
    """Temperature on its way to a final value.

    Args:
        t: Time since the start [s], a float or an array.
        start: Temperature at t = 0 [degC].
        final: Temperature after a long time [degC].
        tau: Time constant [s], > 0.

    Returns:
        Temperature [degC], shaped like `t`.

    Raises:
        ValueError: `tau` is not positive.

    Source:
        T = Tf - (Tf - T0) exp(-t / tau): one heat capacity, one thermal resistance.

    Example:
        >>> round(exponential_approach(60.0, 20.0, 60.0, 60.0), 4)
        45.2848
    """
    decay = np.exp(-np.asarray(t, dtype=np.float64) / positive(tau, "tau"))
    return shaped_like(t, final - (final - start) * decay)


def final_temperature_three_points(t0: float, t1: float, t2: float) -> float:
    """Where a temperature is going, from three readings at equal intervals.

    Args:
        t0: First reading [degC].
        t1: Second reading [degC].
        t2: Third reading [degC].

    Returns:
        Final temperature [degC].

    Raises:
        ValueError: The second step is not smaller than the first and in the same direction:
            the readings do not converge.

    Source:
        Aitken's delta-squared; the three-point rule of IEC 60076-2 (from memory). Poor unless
        the readings span about 1.5 time constants or more.

    Example:
        >>> final_temperature_three_points(30.0, 40.0, 46.0)
        55.0
    """
    first, second = _converging_steps(t0, t1, t2)
    return float(t2) + second * second / (first - second)


def time_constant_three_points(t0: float, t1: float, t2: float, interval_s: float) -> float:
    """Time constant of a temperature, from three readings at equal intervals.

    Args:
        t0: First reading [degC].
        t1: Second reading [degC].
        t2: Third reading [degC].
        interval_s: Time between two readings [s], > 0.

    Returns:
        Time constant [s].

    Raises:
        ValueError: The readings do not converge, or the interval is not positive.

    Source:
        tau = dt / ln((T1 - T0) / (T2 - T1)): equal intervals divide an exponential equally.

    Example:
        >>> round(time_constant_three_points(40.0, 50.0, 55.0, 60.0), 4)
        86.5617
    """
    first, second = _converging_steps(t0, t1, t2)
    return positive(interval_s, "interval_s") / math.log(first / second)


def time_to_reach(temperature: float, start: float, final: float, tau: float) -> float | None:
    """Time until an exponential approach reaches a temperature.

    Args:
        temperature: Temperature to reach [degC].
        start: Temperature at t = 0 [degC].
        final: Temperature after a long time [degC].
        tau: Time constant [s], > 0.

    Returns:
        Time from the start [s]; None when the approach never comes to that temperature.

    Raises:
        ValueError: `tau` is not positive or a temperature is not finite.

    Source:
        t = tau ln((Tf - T0) / (Tf - T)), the inverse of `exponential_approach`.

    Example:
        >>> round(time_to_reach(45.2848, 20.0, 60.0, 60.0), 2)
        60.0
    """
    constant = positive(tau, "tau")
    swing = finite(final, "final") - finite(start, "start")
    covered = finite(temperature, "temperature") - float(start)
    if covered == 0.0:
        return 0.0
    if swing == 0.0 or not 0.0 < covered / swing < 1.0:
        return None
    return -constant * math.log1p(-covered / swing)


def _converging_steps(t0: float, t1: float, t2: float) -> tuple[float, float]:
    """Both steps between three readings, checked to shrink in one direction."""
    first = finite(t1, "t1") - finite(t0, "t0")
    second = finite(t2, "t2") - float(t1)
    if first == 0.0 or not 0.0 < second / first < 1.0:
        raise ValueError(
            f"{t0:g}, {t1:g}, {t2:g} do not converge: each step must be smaller than the last"
        )
    return first, second
