"""Sine power into a resistance, and the four ways to say how large a sine is."""

from __future__ import annotations

import math

from stepwise.science.domain import finite, not_negative, positive

SQRT_2 = math.sqrt(2.0)
"""Peak over RMS of a sine [1]."""


def load_power(rms_volts: float, load_ohms: float) -> float:
    """Mean power delivered into a resistive load.

    The sign of the voltage does not matter, so that a reading near zero can be nudged.

    Args:
        rms_volts: RMS voltage across the load [V].
        load_ohms: Resistance of the load [ohm], > 0.

    Returns:
        Mean power [W].

    Raises:
        ValueError: `load_ohms` is not positive, or the voltage is not finite.

    Source:
        P = U^2 / R, Joule's law. Exact for a pure resistance only.

    Example:
        >>> load_power(20.0, 8.0)
        50.0
    """
    volts = finite(rms_volts, "rms_volts")
    return volts * volts / positive(load_ohms, "load_ohms")


def volts_for_power(power_watts: float, load_ohms: float) -> float:
    """RMS voltage that delivers a given power into a resistive load.

    Args:
        power_watts: Mean power [W], >= 0.
        load_ohms: Resistance of the load [ohm], > 0.

    Returns:
        RMS voltage [V].

    Raises:
        ValueError: `load_ohms` is not positive, or `power_watts` is negative.

    Source:
        U = sqrt(P R), Joule's law.

    Example:
        >>> volts_for_power(50.0, 8.0)
        20.0
    """
    power = not_negative(power_watts, "power_watts")
    return math.sqrt(power * positive(load_ohms, "load_ohms"))


def rms_from_peak(peak_volts: float) -> float:
    """RMS value of a sine from its peak.

    Args:
        peak_volts: Peak of the sine [V peak].

    Returns:
        RMS value [V RMS].

    Source:
        U = Up / sqrt 2: mean square of a sine. Not for clipped or square waves.

    Example:
        >>> round(rms_from_peak(40.0), 4)
        28.2843
    """
    return float(peak_volts) / SQRT_2


def rms_from_peak_to_peak(pp_volts: float) -> float:
    """RMS value of a sine from its peak-to-peak value.

    Args:
        pp_volts: Peak-to-peak value of the sine [V peak-to-peak].

    Returns:
        RMS value [V RMS].

    Source:
        U = Upp / (2 sqrt 2): mean square of a sine.

    Example:
        >>> round(rms_from_peak_to_peak(48.0), 2)
        16.97
    """
    return float(pp_volts) / (2.0 * SQRT_2)


def peak_from_rms(rms_volts: float) -> float:
    """Peak of a sine from its RMS value.

    Args:
        rms_volts: RMS value of the sine [V RMS].

    Returns:
        Peak [V peak].

    Source:
        Up = sqrt 2 U: mean square of a sine.

    Example:
        >>> round(peak_from_rms(20.0), 4)
        28.2843
    """
    return SQRT_2 * float(rms_volts)


def peak_to_peak_from_rms(rms_volts: float) -> float:
    """Peak-to-peak value of a sine from its RMS value.

    Args:
        rms_volts: RMS value of the sine [V RMS].

    Returns:
        Peak-to-peak value [V peak-to-peak].

    Source:
        Upp = 2 sqrt 2 U: mean square of a sine.

    Example:
        >>> round(peak_to_peak_from_rms(20.0), 4)
        56.5685
    """
    return 2.0 * SQRT_2 * float(rms_volts)


def load_current(rms_volts: float, load_ohms: float) -> float:
    """RMS current through a resistive load.

    Args:
        rms_volts: RMS voltage across the load [V RMS].
        load_ohms: Resistance of the load [ohm], > 0.

    Returns:
        Current [A RMS].

    Raises:
        ValueError: `load_ohms` is not positive, or the voltage is not finite.

    Source:
        I = U / R, Ohm's law.

    Example:
        >>> load_current(20.0, 8.0)
        2.5
    """
    return finite(rms_volts, "rms_volts") / positive(load_ohms, "load_ohms")


def peak_load_current(rms_volts: float, load_ohms: float) -> float:
    """Peak of the current through a resistive load: what output devices must bear.

    Args:
        rms_volts: RMS voltage of a sine across the load [V].
        load_ohms: Resistance of the load [ohm], > 0.

    Returns:
        Current [A peak].

    Raises:
        ValueError: `load_ohms` is not positive, or the voltage is not finite.

    Source:
        Ip = sqrt 2 U / R, Ohm's law.

    Example:
        >>> round(peak_load_current(20.0, 8.0), 5)
        3.53553
    """
    return SQRT_2 * load_current(rms_volts, load_ohms)


def power_ratio_of_volts(rms_volts: float, reference_volts: float) -> float:
    """Ratio of the powers that two voltages deliver into one load.

    Args:
        rms_volts: RMS voltage [V].
        reference_volts: RMS voltage that it is held against [V], > 0.

    Returns:
        Ratio [1].

    Raises:
        ValueError: The reference is not positive, or a voltage is not finite.

    Source:
        P / P0 = (U / U0)^2, Joule's law at one resistance.

    Example:
        >>> power_ratio_of_volts(20.0, 10.0)
        4.0
    """
    ratio = finite(rms_volts, "rms_volts") / positive(reference_volts, "reference_volts")
    return ratio * ratio
