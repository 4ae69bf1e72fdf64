"""Levels: ratios of voltages and of powers in decibels, and the two common references."""

from __future__ import annotations

import math

from stepwise.science.domain import finite, positive

DBU_REFERENCE_VOLTS = math.sqrt(0.6)
"""0 dBu: 1 mW in 600 ohm, 0.774597 V RMS (not 0.775 V, the rounded figure)."""


def voltage_ratio_db(volts: float, reference_volts: float) -> float:
    """Level of one voltage against another.

    Args:
        volts: Voltage [V], > 0; RMS, peak or peak-to-peak, as the reference.
        reference_volts: The voltage that is 0 dB [V], > 0.

    Returns:
        Level [dB re `reference_volts`].

    Raises:
        ValueError: A voltage is not positive.

    Source:
        L = 20 lg (U / U0), IEC 60027-3 (from memory): levels of field quantities.

    Example:
        >>> round(voltage_ratio_db(20.0, 2.0), 6)
        20.0
    """
    ratio = positive(volts, "volts") / positive(reference_volts, "reference_volts")
    return 20.0 * math.log10(ratio)


def power_ratio_db(p: float, p_ref: float) -> float:
    """Level of one power against another.

    Args:
        p: Power [W], > 0.
        p_ref: The power that is 0 dB [W], > 0.

    Returns:
        Level [dB re `p_ref`].

    Raises:
        ValueError: A power is not positive.

    Source:
        L = 10 lg (P / P0), IEC 60027-3 (from memory): levels of power quantities.

    Example:
        >>> round(power_ratio_db(2.0, 1.0), 5)
        3.0103
    """
    return 10.0 * math.log10(positive(p, "p") / positive(p_ref, "p_ref"))


def ratio_from_db(level_db: float) -> float:
    """Ratio of voltages that a level stands for.

    Args:
        level_db: Level [dB].

    Returns:
        Voltage ratio [1].

    Raises:
        ValueError: `level_db` is not finite.

    Source:
        U / U0 = 10^(L / 20), the inverse of `voltage_ratio_db`.

    Example:
        >>> ratio_from_db(20.0)
        10.0
    """
    return float(10.0 ** (finite(level_db, "level_db") / 20.0))


def power_ratio_from_db(level_db: float) -> float:
    """Ratio of powers that a level stands for.

    Args:
        level_db: Level [dB].

    Returns:
        Power ratio [1].

    Raises:
        ValueError: `level_db` is not finite.

    Source:
        P / P0 = 10^(L / 10), the inverse of `power_ratio_db`.

    Example:
        >>> power_ratio_from_db(10.0)
        10.0
    """
    return float(10.0 ** (finite(level_db, "level_db") / 10.0))


def dbu_from_volts(rms_volts: float) -> float:
    """Level of a voltage against the root of 0.6 V.

    Args:
        rms_volts: RMS voltage [V], > 0.

    Returns:
        Level [dBu], 0 dBu being 0.774597 V RMS.

    Raises:
        ValueError: `rms_volts` is not positive.

    Source:
        0 dBu is the voltage of 1 mW in 600 ohm, common practice in broadcasting.

    Example:
        >>> round(dbu_from_volts(1.0), 5)
        2.21849
    """
    return voltage_ratio_db(rms_volts, DBU_REFERENCE_VOLTS)


def volts_from_dbu(level_dbu: float) -> float:
    """RMS voltage of a level in dBu.

    Args:
        level_dbu: Level [dBu].

    Returns:
        RMS voltage [V].

    Raises:
        ValueError: `level_dbu` is not finite.

    Source:
        The inverse of `dbu_from_volts`.

    Example:
        >>> round(volts_from_dbu(4.0), 5)
        1.22765
    """
    return DBU_REFERENCE_VOLTS * ratio_from_db(level_dbu)
