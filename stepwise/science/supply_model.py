"""A whole linear supply: transformer, rectifier, reservoir, and the output that it allows."""

from __future__ import annotations

import math
from dataclasses import dataclass

from stepwise.science.domain import not_negative, positive
from stepwise.science.power import SQRT_2
from stepwise.science.supply import ripple_peak_to_peak

MEAN_OF_WINDING_CURRENT = 0.62
"""Mean current from a reservoir over the RMS current in the winding that fills it [1]."""


@dataclass(frozen=True, slots=True)
class LinearSupply:
    """One rail of a dual supply from a centre-tapped winding and a bridge."""

    secondary_rms_volts: float
    """One winding without load [V RMS]."""
    source_ohms: float
    """What the rail falls by for each ampere of its mean current [ohm], >= 0."""
    capacitance_farads: float
    """Reservoir of the rail [F], > 0."""
    mains_hertz: float
    """Mains frequency [Hz], > 0."""
    diode_drop_volts: float = 0.9
    """Drop of the rectifier in the path [V]."""


@dataclass(frozen=True, slots=True)
class PredictedCeiling:
    """The largest sine that a supply allows."""

    power_watts: float
    """Mean power in the load [W]."""
    peak_volts: float
    """Peak at the load [V peak]."""
    rail_volts: float
    """Mean of the rail while the tone is on [V]."""
    ripple_volts: float
    """Ripple on the rail [V peak-to-peak]."""
    rail_amperes: float
    """Mean current from the rail [A]."""


def rail_at_current(
    supply: LinearSupply, current_amperes: float, mains_factor: float = 1.0
) -> float:
    """Mean rail voltage at a mean current.

    Args:
        supply: The supply.
        current_amperes: Mean current from the rail [A], >= 0.
        mains_factor: Mains voltage over its nominal value [1], > 0, default 1.

    Returns:
        Rail [V]: peak less diode, source resistance and half of the ripple.

    Raises:
        ValueError: The current is negative or a part of the supply has no meaning.

    Source:
        U = sqrt 2 k Us - Ud - I Rs - I / (4 f C); small ripple. Textbook, from memory.

    Example:
        >>> supply = LinearSupply(25.0, 0.5, 0.01, 50.0, 1.0)
        >>> round(rail_at_current(supply, 2.0), 4)
        32.3553
    """
    current = not_negative(current_amperes, "current_amperes")
    ripple = ripple_peak_to_peak(current, supply.capacitance_farads, supply.mains_hertz)
    peak = SQRT_2 * supply.secondary_rms_volts * positive(mains_factor, "mains_factor")
    source = not_negative(supply.source_ohms, "source_ohms")
    return peak - supply.diode_drop_volts - current * source - ripple / 2.0


def predicted_ceiling(
    supply: LinearSupply, load_ohms: float, drop_volts: float = 0.0, mains_factor: float = 1.0
) -> PredictedCeiling:
    """Largest sine before the troughs of the ripple clip it, one channel on the supply.

    Args:
        supply: The supply of each rail.
        load_ohms: Resistance of the load [ohm], > 0; halve it for two channels driven.
        drop_volts: What the output stage needs between rail and peak [V], default 0.
        mains_factor: Mains voltage over its nominal value [1], > 0, default 1.

    Returns:
        The prediction.

    Raises:
        ValueError: The drop is more than the rail, or a value has no meaning.

    Source:
        Up = (U0 - Ud) / (1 + (Rs + 1 / 2fC) / (pi R)), as the rail gives Up / (pi R) on
        average and its trough must hold the peak.

    Example:
        >>> supply = LinearSupply(27.5065, 0.6, 1e3, 50.0)
        >>> round(predicted_ceiling(supply, 8.0, 3.0).power_watts, 2)
        73.03
    """
    load = positive(load_ohms, "load_ohms")
    idle = rail_at_current(supply, 0.0, mains_factor)
    stiff = not_negative(idle - drop_volts, "rail less drop_volts")
    ripple_ohms = ripple_peak_to_peak(1.0, supply.capacitance_farads, supply.mains_hertz)
    peak = stiff / (1.0 + (supply.source_ohms + ripple_ohms) / (math.pi * load))
    current = peak / (math.pi * load)
    return PredictedCeiling(
        power_watts=peak * peak / (2.0 * load),
        peak_volts=peak,
        rail_volts=rail_at_current(supply, current, mains_factor),
        ripple_volts=current * ripple_ohms,
        rail_amperes=current,
    )


def transformer_source_ohms(
    secondary_rms_volts: float, rating_va: float, regulation: float, windings: int = 2
) -> float:
    """Source resistance at the reservoir that a transformer's rating stands for.

    Args:
        secondary_rms_volts: One winding at rated load [V RMS], > 0.
        rating_va: Rating of the whole transformer [VA], > 0.
        regulation: Rise of the winding from rated load to none, over the rated value [%], > 0.
        windings: How many equal windings share the rating [1], >= 1, default 2.

    Returns:
        Fall of the rail over its mean current [ohm]; a lower bound, as current flows in short
        pulses through winding and mains.

    Raises:
        ValueError: A value is not positive.

    Source:
        Rs = sqrt 2 (r U) / I with I = S / (n U); common practice, no source.

    Example:
        >>> round(transformer_source_ohms(24.0, 160.0, 10.0), 4)
        1.0182
    """
    if windings < 1:
        raise ValueError(f"windings must be at least 1, got {windings!r}")
    volts = positive(secondary_rms_volts, "secondary_rms_volts")
    current = positive(rating_va, "rating_va") / (windings * volts)
    return SQRT_2 * positive(regulation, "regulation") / 100.0 * volts / current


def seen_source_ohms(idle_rms_volts: float, loaded_rms_volts: float, rail_amperes: float) -> float:
    """Source resistance at the reservoir that the fall of a winding's voltage stands for.

    Args:
        idle_rms_volts: One winding without load [V RMS].
        loaded_rms_volts: The same with the tone on [V RMS], not more.
        rail_amperes: Mean current of the rail with the tone on [A], > 0.

    Returns:
        Fall of the rail over its mean current [ohm].

    Raises:
        ValueError: The winding rose under load, or the current is not positive.

    Source:
        Rs = sqrt 2 (U0 - U) / I; common practice, no source.

    Example:
        >>> round(seen_source_ohms(26.0, 25.0, 1.5), 4)
        0.9428
    """
    fall = not_negative(idle_rms_volts - loaded_rms_volts, "idle_rms_volts - loaded_rms_volts")
    return SQRT_2 * fall / positive(rail_amperes, "rail_amperes")


def transformer_load_percent(
    secondary_rms_volts: float, rail_amperes: float, rating_va: float, windings: int = 2
) -> float:
    """Apparent power that a transformer gives into rectifiers, over its rating.

    Args:
        secondary_rms_volts: One winding [V RMS], > 0.
        rail_amperes: Mean current of each rail [A], >= 0.
        rating_va: Rating of the whole transformer [VA], > 0.
        windings: How many windings feed a rail each [1], >= 1, default 2.

    Returns:
        Share of the rating [%], for one channel driven continuously.

    Raises:
        ValueError: A value is out of its range.

    Source:
        S = n U I / 0.62: winding current of a bridge into a capacitor, as in the design guides
        of transformer makers; common practice, no source.

    Example:
        >>> round(transformer_load_percent(24.0, 1.24, 160.0), 6)
        60.0
    """
    if windings < 1:
        raise ValueError(f"windings must be at least 1, got {windings!r}")
    volts = positive(secondary_rms_volts, "secondary_rms_volts")
    winding_amperes = not_negative(rail_amperes, "rail_amperes") / MEAN_OF_WINDING_CURRENT
    return 100.0 * windings * volts * winding_amperes / positive(rating_va, "rating_va")


def reservoir_margin_percent(
    rating_volts: float, idle_rail_volts: float, mains_rise_percent: float = 10.0
) -> float:
    """What is left of a reservoir's voltage rating when the mains is high.

    Args:
        rating_volts: Rated voltage of the capacitor [V], > 0.
        idle_rail_volts: Magnitude of the rail without signal, at the mains of the day [V].
        mains_rise_percent: How far the mains may rise from there [%], default 10.

    Returns:
        Margin over the rating [%]; negative when the rating is passed.

    Raises:
        ValueError: The rating is not positive.

    Source:
        Mains of nominal value + 10 %, EN 50160 (from memory); rails follow in proportion.

    Example:
        >>> round(reservoir_margin_percent(50.0, 40.0), 6)
        12.0
    """
    highest = float(idle_rail_volts) * (1.0 + float(mains_rise_percent) / 100.0)
    return 100.0 * (1.0 - highest / positive(rating_volts, "rating_volts"))
