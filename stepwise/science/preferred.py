"""Preferred frequencies and component values: what stands on dials and lies in drawers."""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

from stepwise.science.domain import positive

Series = Literal["E3", "E6", "E12", "E24"]
"""Name of a series of preferred component values."""

E_SERIES: Mapping[str, tuple[float, ...]] = MappingProxyType(
    {
        "E3": (1.0, 2.2, 4.7),
        "E6": (1.0, 1.5, 2.2, 3.3, 4.7, 6.8),
        "E12": (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2),
        "E24": (
            *(1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0),
            *(3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2, 9.1),
        ),
    }
)
"""One decade of each series, IEC 60063. A table, as eight values are not the rounded powers."""

_NOMINAL_DECADE = (10.0, 12.5, 16.0, 20.0, 25.0, 31.5, 40.0, 50.0, 63.0, 80.0)
"""The R10 series of ISO 3, which names the third octaves of ISO 266."""

_LOWEST_BAND, _HIGHEST_BAND = -20, 20
"""Band numbers of 10 Hz and 100 kHz, counted from 1 kHz."""

_SAME = 1e-9
"""Relative; two values closer than this are one value that went through arithmetic."""


def exact_third_octave(band: int) -> float:
    """Exact mid-band frequency of a third-octave band.

    Args:
        band: Number of the band counted from 1 kHz [1]; -20 is 10 Hz, 20 is 100 kHz.

    Returns:
        Frequency [Hz].

    Source:
        f = 1000 * 10^(n / 10) Hz, IEC 61260-1, base ten.

    Example:
        >>> round(exact_third_octave(1), 2)
        1258.93
    """
    return float(1000.0 * 10.0 ** (band / 10.0))


def nominal_third_octave(band: int) -> float:
    """Nominal frequency of a third-octave band: the one that stands on the dial.

    Args:
        band: Number of the band counted from 1 kHz [1].

    Returns:
        Frequency [Hz].

    Source:
        ISO 266, R10 values of ISO 3.

    Example:
        >>> nominal_third_octave(1)
        1250.0
    """
    decade, place = divmod(band, 10)
    return float(f"{_NOMINAL_DECADE[place]}e{decade + 2}")


def third_octaves(low_hz: float = 10.0, high_hz: float = 100e3) -> tuple[float, ...]:
    """Nominal third-octave frequencies of a range, both ends included.

    Args:
        low_hz: Lowest frequency [Hz], > 0, default 10 Hz.
        high_hz: Highest frequency [Hz], > 0, default 100 kHz.

    Returns:
        Nominal frequencies within 10 Hz to 100 kHz, rising [Hz].

    Raises:
        ValueError: An end is not positive.

    Source:
        ISO 266.

    Example:
        >>> third_octaves(20.0, 40.0)
        (20.0, 25.0, 31.5, 40.0)
    """
    low, high = positive(low_hz, "low_hz"), positive(high_hz, "high_hz")
    nominal = map(nominal_third_octave, range(_LOWEST_BAND, _HIGHEST_BAND + 1))
    return tuple(f for f in nominal if low * (1.0 - _SAME) <= f <= high * (1.0 + _SAME))


def nearest_third_octave(frequency_hertz: float) -> int:
    """Third-octave band that a frequency belongs to.

    Args:
        frequency_hertz: Frequency [Hz], > 0.

    Returns:
        Number of the band counted from 1 kHz [1].

    Raises:
        ValueError: The frequency is not positive.

    Source:
        IEC 61260-1: band edges at the exact frequency times 10^(+-1/20).

    Example:
        >>> nearest_third_octave(31.5)
        -15
    """
    return round(10.0 * math.log10(positive(frequency_hertz, "frequency_hertz") / 1000.0))


def next_preferred_up(value: float, series: Series = "E12") -> float:
    """Smallest preferred value that is not below a value.

    Args:
        value: Value wanted, in any unit [same unit as the result], > 0.
        series: Name of the series, "E3", "E6", "E12" (default) or "E24".

    Returns:
        Preferred value [same unit as `value`]; `value` itself if it is one.

    Raises:
        ValueError: `value` is not positive, or the series is not known.

    Source:
        IEC 60063.

    Example:
        >>> next_preferred_up(1990.0, "E6")
        2200.0
    """
    wanted = positive(value, "value")
    return next(each for each in _around(wanted, series) if each >= wanted * (1.0 - _SAME))


def nearest_preferred(value: float, series: Series = "E12") -> float:
    """Preferred value that is nearest as a ratio.

    Args:
        value: Value wanted, in any unit [same unit as the result], > 0.
        series: Name of the series, "E3", "E6", "E12" (default) or "E24".

    Returns:
        Preferred value [same unit as `value`]; of two equally near ones the smaller.

    Raises:
        ValueError: `value` is not positive, or the series is not known.

    Source:
        IEC 60063; nearest by the logarithm, as the series are geometric.

    Example:
        >>> nearest_preferred(1548.7, "E6")
        1500.0
    """
    wanted = positive(value, "value")
    return min(_around(wanted, series), key=lambda each: abs(math.log(each / wanted)))


def _around(value: float, series: str) -> list[float]:
    """Preferred values of the decade of `value` and its two neighbours, rising."""
    if series not in E_SERIES:
        raise ValueError(f"series must be one of {', '.join(E_SERIES)}, got {series!r}")
    decade = math.floor(math.log10(value))
    return [
        # read as decimal text, so that 2.2e-6 comes back as the float that was typed
        float(f"{mantissa}e{exponent}")
        for exponent in (decade - 1, decade, decade + 1)
        for mantissa in E_SERIES[series]
    ]
