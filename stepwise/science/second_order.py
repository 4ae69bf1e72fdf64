"""A resonant pair of poles: overshoot, ringing and damping, each from the other.

All relations hold for the step response of a second-order low-pass without zeros.
"""

from __future__ import annotations

import math

from stepwise.science.domain import positive


def overshoot_from_damping_ratio(damping_ratio: float) -> float:
    """Overshoot of a step through a second-order low-pass.

    Args:
        damping_ratio: Damping ratio zeta [1], > 0; from 1 up there is none.

    Returns:
        Overshoot over the height of the step [%].

    Raises:
        ValueError: `damping_ratio` is not positive.

    Source:
        exp(-pi z / sqrt(1 - z^2)), standard second-order step response.

    Example:
        >>> round(overshoot_from_damping_ratio(0.5), 4)
        16.3034
    """
    zeta = positive(damping_ratio, "damping_ratio")
    if zeta >= 1.0:
        return 0.0
    return 100.0 * math.exp(-math.pi * zeta / math.sqrt(1.0 - zeta * zeta))


def damping_ratio_from_overshoot(overshoot_percent: float) -> float:
    """Damping ratio that gives a measured overshoot.

    Args:
        overshoot_percent: Overshoot over the height of the step [%], between 0 and 100.

    Returns:
        Damping ratio zeta [1].

    Raises:
        ValueError: The overshoot is not between 0 and 100 %.

    Source:
        z = -ln s / sqrt(pi^2 + ln^2 s), standard second-order step response.

    Example:
        >>> round(damping_ratio_from_overshoot(20.0), 5)
        0.45595
    """
    if not 0.0 < overshoot_percent < 100.0:
        raise ValueError(f"an overshoot lies between 0 and 100 %, got {overshoot_percent!r}")
    log = -math.log(overshoot_percent / 100.0)
    return log / math.hypot(math.pi, log)


def damping_ratio_from_decrement(first: float, later: float, cycles: int = 1) -> float:
    """Damping ratio from two maxima of a ringing on the same side.

    Args:
        first: Height of a maximum above the final level [V], > 0.
        later: Height of the maximum `cycles` periods on [V], > 0, less than `first`.
        cycles: Periods between the two [1], >= 1, default 1.

    Returns:
        Damping ratio zeta [1].

    Raises:
        ValueError: A height is not positive, the later one is no lower, or `cycles` < 1.

    Source:
        Logarithmic decrement d = ln(a / b) / n = 2 pi z / sqrt(1 - z^2).

    Example:
        >>> round(damping_ratio_from_decrement(1.0, 0.5), 5)
        0.10965
    """
    if cycles < 1:
        raise ValueError(f"cycles must be at least 1, got {cycles!r}")
    decrement = math.log(positive(first, "first") / positive(later, "later")) / cycles
    if decrement <= 0.0:
        raise ValueError("the later maximum must be lower than the first: it does not decay")
    return decrement / math.hypot(2.0 * math.pi, decrement)


def quality_factor(damping_ratio: float) -> float:
    """Quality factor of a pair of poles.

    Args:
        damping_ratio: Damping ratio zeta [1], > 0.

    Returns:
        Q [1]; 0.7071 is maximally flat.

    Raises:
        ValueError: `damping_ratio` is not positive.

    Source:
        Q = 1 / (2 z).

    Example:
        >>> quality_factor(0.5)
        1.0
    """
    return 1.0 / (2.0 * positive(damping_ratio, "damping_ratio"))


def natural_hertz(ringing_hertz: float, damping_ratio: float) -> float:
    """Natural frequency from the frequency that is seen to ring.

    Args:
        ringing_hertz: Frequency of the ringing [Hz], > 0.
        damping_ratio: Damping ratio zeta [1], between 0 and 1.

    Returns:
        Natural frequency [Hz].

    Raises:
        ValueError: The frequency is not positive, or the damping ratio is 1 or more.

    Source:
        fd = fn sqrt(1 - z^2).

    Example:
        >>> round(natural_hertz(250e3, 0.279998))
        260417
    """
    return positive(ringing_hertz, "ringing_hertz") / _damped_share(damping_ratio)


def ringing_hertz(natural: float, damping_ratio: float) -> float:
    """Frequency that is seen to ring, from the natural frequency.

    Args:
        natural: Natural frequency [Hz], > 0.
        damping_ratio: Damping ratio zeta [1], between 0 and 1.

    Returns:
        Frequency of the ringing [Hz].

    Raises:
        ValueError: The frequency is not positive, or the damping ratio is 1 or more.

    Source:
        fd = fn sqrt(1 - z^2).

    Example:
        >>> round(ringing_hertz(100e3, 0.6))
        80000
    """
    return positive(natural, "natural") * _damped_share(damping_ratio)


def resonance_peak_db(damping_ratio: float) -> float:
    """Height of the peak in the frequency response above its level at low frequencies.

    Args:
        damping_ratio: Damping ratio zeta [1], > 0; from 0.7071 up there is no peak.

    Returns:
        Height of the peak [dB], >= 0.

    Raises:
        ValueError: `damping_ratio` is not positive.

    Source:
        Mr = 1 / (2 z sqrt(1 - z^2)), standard second-order response.

    Example:
        >>> round(resonance_peak_db(0.5), 5)
        1.24939
    """
    zeta = positive(damping_ratio, "damping_ratio")
    if 2.0 * zeta * zeta >= 1.0:
        return 0.0
    return -20.0 * math.log10(2.0 * zeta * math.sqrt(1.0 - zeta * zeta))


def peak_time_s(natural: float, damping_ratio: float) -> float:
    """Time from the step to the top of its overshoot.

    Args:
        natural: Natural frequency [Hz], > 0.
        damping_ratio: Damping ratio zeta [1], between 0 and 1.

    Returns:
        Time [s].

    Raises:
        ValueError: The frequency is not positive, or the damping ratio is 1 or more.

    Source:
        t = pi / wd, half a period of the ringing.

    Example:
        >>> round(peak_time_s(1.0, 0.5) * 6.283185307, 4)
        3.6276
    """
    return 0.5 / ringing_hertz(natural, damping_ratio)


def _damped_share(damping_ratio: float) -> float:
    """Ringing over natural frequency."""
    zeta = positive(damping_ratio, "damping_ratio")
    if zeta >= 1.0:
        raise ValueError(f"nothing rings at a damping ratio of {zeta:g}")
    return math.sqrt(1.0 - zeta * zeta)
