"""Square waves read by eye: tilt, rise time, slew rate, and the corners behind them.

Tilt has three definitions that agree only while it is small. *Sag* here is the exact fall of
the flat top, first value to last, over the first value: 1 - exp(-pi fc / f).
"""

from __future__ import annotations

import math

from stepwise.science.domain import finite, not_negative, positive

RISE_TIME_BANDWIDTH = math.log(9.0) / (2.0 * math.pi)
"""Rise time (10 % to 90 %) times corner of one pole [1], 0.349699; "0.35" in textbooks."""


def tilt_percent(corner_hertz: float, square_hertz: float) -> float:
    """Sag of the flat top of a square wave behind a first-order high-pass.

    Args:
        corner_hertz: Corner of the high-pass [Hz], >= 0.
        square_hertz: Frequency of the square wave [Hz], > 0.

    Returns:
        Fall from the first value of the top to the last, over the first [%].

    Raises:
        ValueError: The corner is negative or the frequency not positive.

    Source:
        1 - exp(-pi fc / f): exponential decay over half a period. Exact.

    Example:
        >>> round(tilt_percent(5.0, 50.0), 4)
        26.9597
    """
    half = math.pi * not_negative(corner_hertz, "corner_hertz")
    return -100.0 * math.expm1(-half / positive(square_hertz, "square_hertz"))


def tilt_percent_of_half_swing(corner_hertz: float, square_hertz: float) -> float:
    """Change along the top over half the peak-to-peak of the ideal square wave.

    Args:
        corner_hertz: Corner of the high-pass [Hz], >= 0.
        square_hertz: Frequency of the square wave [Hz], > 0.

    Returns:
        Tilt by the textbook definition [%].

    Raises:
        ValueError: The corner is negative or the frequency not positive.

    Source:
        2 tanh(pi fc / 2 f), steady state; Millman's definition, from memory.

    Example:
        >>> round(tilt_percent_of_half_swing(5.0, 50.0), 4)
        31.1601
    """
    half = math.pi * not_negative(corner_hertz, "corner_hertz")
    return 200.0 * math.tanh(half / (2.0 * positive(square_hertz, "square_hertz")))


def corner_from_tilt(tilt: float, square_hertz: float) -> float:
    """First-order high-pass corner that gives a measured sag.

    Args:
        tilt: Fall of the top from first to last value, over the first [%], below 100. A top
            that rises is negative and gives a negative corner, which is no high-pass.
        square_hertz: Frequency of the square wave [Hz], > 0.

    Returns:
        Corner [Hz].

    Raises:
        ValueError: `tilt` is 100 % or more, or the frequency is not positive.

    Source:
        fc = -(f / pi) ln(1 - s), the inverse of `tilt_percent`. Exact; the textbook's
        (f / pi) s is 5 % low at 10 % sag.

    Example:
        >>> round(corner_from_tilt(10.0, 50.0), 4)
        1.6769
    """
    if not finite(tilt, "tilt") < 100.0:
        raise ValueError(f"a top cannot fall by {tilt:g} % of itself")
    return -positive(square_hertz, "square_hertz") * math.log1p(-tilt / 100.0) / math.pi


def corner_from_rise_time(rise_seconds: float) -> float:
    """First-order low-pass corner that gives a measured rise time.

    Args:
        rise_seconds: Time from 10 % to 90 % [s], > 0, the generator's and oscilloscope's
            share removed.

    Returns:
        Corner [Hz].

    Raises:
        ValueError: `rise_seconds` is not positive.

    Source:
        fc = ln 9 / (2 pi t): step response of one pole.

    Example:
        >>> round(corner_from_rise_time(2e-6))
        174850
    """
    return RISE_TIME_BANDWIDTH / positive(rise_seconds, "rise_seconds")


def rise_time_from_corner(corner_hertz: float) -> float:
    """Rise time of a first-order low-pass.

    Args:
        corner_hertz: Corner [Hz], > 0.

    Returns:
        Time from 10 % to 90 % [s].

    Raises:
        ValueError: `corner_hertz` is not positive.

    Source:
        t = ln 9 / (2 pi fc): step response of one pole.

    Example:
        >>> round(rise_time_from_corner(20e3) * 1e6, 4)
        17.485
    """
    return RISE_TIME_BANDWIDTH / positive(corner_hertz, "corner_hertz")


def rise_time_alone(measured_seconds: float, generator_s: float, scope_s: float = 0.0) -> float:
    """Rise time of the amplifier with the generator's and the oscilloscope's removed.

    Args:
        measured_seconds: Rise time on the screen [s], more than the others together.
        generator_s: Rise time of the generator [s], >= 0.
        scope_s: Rise time of the oscilloscope [s], >= 0, default 0.

    Returns:
        Rise time [s].

    Raises:
        ValueError: The measured time is no longer than that of the instruments.

    Source:
        Root of the difference of squares, common practice; exact for Gaussian responses.

    Example:
        >>> round(rise_time_alone(5e-6, 2e-6, 0.01e-6) * 1e6, 5)
        4.58256
    """
    instruments = finite(generator_s, "generator_s") ** 2 + finite(scope_s, "scope_s") ** 2
    square = finite(measured_seconds, "measured_seconds") ** 2 - instruments
    if square <= 0.0:
        raise ValueError("the measured rise time is no longer than that of the instruments")
    return math.sqrt(square)


def slew_rate(peak_volts: float, frequency_hertz: float) -> float:
    """Steepest slope of a sine: the slew rate that an amplifier needs for it.

    Args:
        peak_volts: Peak of the sine [V peak].
        frequency_hertz: Frequency [Hz], > 0.

    Returns:
        Slope at the zero crossing [V/s].

    Raises:
        ValueError: The frequency is not positive or the peak not finite.

    Source:
        2 pi f Up: derivative of a sine.

    Example:
        >>> round(slew_rate(40.0, 20e3) / 1e6, 5)
        5.02655
    """
    omega = 2.0 * math.pi * positive(frequency_hertz, "frequency_hertz")
    return omega * finite(peak_volts, "peak_volts")


def full_power_hertz(slew_volts_per_s: float, peak_volts: float) -> float:
    """Highest frequency at which a sine of a given peak is not limited by slewing.

    Args:
        slew_volts_per_s: Slew rate [V/s], > 0.
        peak_volts: Peak of the sine [V peak], > 0.

    Returns:
        Frequency [Hz].

    Raises:
        ValueError: A value is not positive.

    Source:
        f = SR / (2 pi Up), the inverse of `slew_rate`.

    Example:
        >>> round(full_power_hertz(2e6, 12.0), 1)
        26525.8
    """
    slew = positive(slew_volts_per_s, "slew_volts_per_s")
    return slew / (2.0 * math.pi * positive(peak_volts, "peak_volts"))


def slewing_triangle_peak(slew_volts_per_s: float, frequency_hertz: float) -> float:
    """Peak of the triangle that is left when slewing limits every slope.

    Args:
        slew_volts_per_s: Slew rate [V/s], > 0.
        frequency_hertz: Frequency [Hz], > 0.

    Returns:
        Peak [V peak].

    Raises:
        ValueError: A value is not positive.

    Source:
        Up = SR / (4 f): a quarter of a period from zero to peak.

    Example:
        >>> slewing_triangle_peak(5e6, 50e3)
        25.0
    """
    slew = positive(slew_volts_per_s, "slew_volts_per_s")
    return slew / (4.0 * positive(frequency_hertz, "frequency_hertz"))


def slope_from_rise_time(pp_volts: float, rise_seconds: float) -> float:
    """Mean slope of an edge between 10 % and 90 %.

    Args:
        pp_volts: Height of the step [V peak-to-peak].
        rise_seconds: Time from 10 % to 90 % [s], > 0.

    Returns:
        Slope [V/s]; the slew rate only if the rise time grows with the height of the step.

    Raises:
        ValueError: The time is not positive or the height not finite.

    Source:
        0.8 Upp / t, common practice, no source.

    Example:
        >>> round(slope_from_rise_time(20.0, 2e-6))
        8000000
    """
    return 0.8 * finite(pp_volts, "pp_volts") / positive(rise_seconds, "rise_seconds")
