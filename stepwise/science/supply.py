"""The supply: how far it sags, and what output its rails allow.

Two percentages are in use for the same change, so each function names its own: *down* is the
change over the idle (no-load) volts, *up* the change over the full-load volts. 45 V falling to
40 V is 11.1 % down and 12.5 % up. Rails are signed: the negative rail is a negative number.
"""

from __future__ import annotations

import math

from stepwise.science.domain import finite, not_negative, positive
from stepwise.science.power import SQRT_2


def sag_percent(idle_volts: float, loaded_volts: float) -> float:
    """Fall of a supply voltage under load, over its idle value (convention "down").

    Args:
        idle_volts: Voltage without signal [V], not zero; a negative rail may be given signed.
        loaded_volts: Voltage under load [V], with the same sign.

    Returns:
        Fall [%], positive when the supply sags.

    Raises:
        ValueError: `idle_volts` is zero or a value is not finite.

    Source:
        (U0 - U) / U0, regulation "down"; common practice, both conventions are in use.

    Example:
        >>> round(sag_percent(45.0, 40.0), 4)
        11.1111
    """
    idle = finite(idle_volts, "idle_volts")
    if idle == 0.0:
        raise ValueError("idle_volts is zero: a fall of nothing has no percentage")
    return 100.0 * (idle - finite(loaded_volts, "loaded_volts")) / idle


def regulation_percent(no_load_volts: float, full_load_volts: float) -> float:
    """Change of a voltage from no load to full load, over the loaded value (convention "up").

    Args:
        no_load_volts: Voltage without load [V].
        full_load_volts: Voltage at full load [V], not zero, with the same sign.

    Returns:
        Change [%], positive when loading lowers the voltage.

    Raises:
        ValueError: `full_load_volts` is zero or a value is not finite.

    Source:
        (U0 - U) / U, the usual definition of regulation in textbooks on power supplies.

    Example:
        >>> regulation_percent(45.0, 40.0)
        12.5
    """
    full = finite(full_load_volts, "full_load_volts")
    if full == 0.0:
        raise ValueError("full_load_volts is zero: the supply is shorted or off")
    return 100.0 * (finite(no_load_volts, "no_load_volts") - full) / full


def ceiling_power(rail_volts: float, load_ohms: float, drop_volts: float = 0.0) -> float:
    """Largest sine power that a rail allows just before clipping.

    Args:
        rail_volts: Magnitude of the rail while the tone is on [V], >= `drop_volts`.
        load_ohms: Resistance of the load [ohm], > 0.
        drop_volts: What the output stage needs between rail and peak [V], default 0.

    Returns:
        Mean power [W].

    Raises:
        ValueError: The rail is lower than the drop, or `load_ohms` is not positive.

    Source:
        P = (Ur - Ud)^2 / (2 R): the peak of the sine reaches the rail less the drop.

    Example:
        >>> ceiling_power(35.0, 8.0, drop_volts=3.0)
        64.0
    """
    peak = not_negative(rail_volts - drop_volts, "rail_volts - drop_volts")
    return peak * peak / (2.0 * positive(load_ohms, "load_ohms"))


def headroom_loss(rail_volts: float, rms_volts: float) -> float:
    """Part of the rail that the output does not reach at its largest sine.

    Args:
        rail_volts: Magnitude of the rail while the tone is on [V].
        rms_volts: Output just before clipping [V RMS].

    Returns:
        Rail less output peak [V]; negative means that one of the readings is wrong.

    Raises:
        ValueError: A value is not finite.

    Source:
        Ur - sqrt 2 U, common practice, no source.

    Example:
        >>> round(headroom_loss(35.0, 22.0), 4)
        3.8873
    """
    return finite(rail_volts, "rail_volts") - SQRT_2 * finite(rms_volts, "rms_volts")


def rail_from_secondary(secondary_rms_volts: float, diode_drop_volts: float = 0.9) -> float:
    """Rail that a transformer winding charges its reservoir to, at light load.

    Args:
        secondary_rms_volts: One winding [V RMS], end to centre tap.
        diode_drop_volts: Drop of the rectifiers in the path [V], default 0.9: one diode, as in
            a centre-tapped dual supply. A bridge on a single winding has two.

    Returns:
        Peak at the reservoir [V].

    Raises:
        ValueError: A value is not finite.

    Source:
        sqrt 2 U - Ud: peak of the sine less the rectifiers. Textbook, from memory.

    Example:
        >>> round(rail_from_secondary(25.0, 1.0), 4)
        34.3553
    """
    peak = SQRT_2 * finite(secondary_rms_volts, "secondary_rms_volts")
    return peak - finite(diode_drop_volts, "diode_drop_volts")


def average_rail_current(peak_volts: float, load_ohms: float) -> float:
    """Mean current that a class-B stage takes from each of its two rails.

    Args:
        peak_volts: Peak of the sine at the load [V peak].
        load_ohms: Resistance of the load [ohm], > 0.

    Returns:
        Mean current in one rail [A].

    Raises:
        ValueError: `load_ohms` is not positive or the peak is not finite.

    Source:
        I = Up / (pi R): mean of a half-wave rectified sine. Textbook, from memory.

    Example:
        >>> round(average_rail_current(40.0, 8.0), 5)
        1.59155
    """
    return finite(peak_volts, "peak_volts") / (math.pi * positive(load_ohms, "load_ohms"))


def ripple_peak_to_peak(
    current_amperes: float, capacitance_farads: float, mains_hertz: float
) -> float:
    """Ripple on the reservoir of a full-wave rectifier.

    Args:
        current_amperes: Mean load current [A].
        capacitance_farads: Reservoir [F], > 0.
        mains_hertz: Mains frequency [Hz], > 0; the ripple has twice that.

    Returns:
        Ripple [V peak-to-peak]; an upper bound, close while the ripple is small.

    Raises:
        ValueError: The capacitance or the frequency is not positive.

    Source:
        dU = I / (2 f C): constant current from a capacitor charged twice a period.

    Example:
        >>> round(ripple_peak_to_peak(3.0, 0.01, 50.0), 9)
        3.0
    """
    charge_rate = 2.0 * positive(mains_hertz, "mains_hertz")
    capacitance = positive(capacitance_farads, "capacitance_farads")
    return finite(current_amperes, "current_amperes") / (charge_rate * capacitance)


def ripple_rms(ripple_pp_volts: float) -> float:
    """RMS value of a sawtooth ripple.

    Args:
        ripple_pp_volts: Ripple [V peak-to-peak].

    Returns:
        Ripple [V RMS].

    Source:
        U = Upp / (2 sqrt 3): mean square of a sawtooth.

    Example:
        >>> round(ripple_rms(3.0), 6)
        0.866025
    """
    return float(ripple_pp_volts) / (2.0 * math.sqrt(3.0))


def sagging_ceiling_peak(
    rail_volts: float, supply_ohms: float, load_ohms: float, drop_volts: float = 0.0
) -> float:
    """Largest peak of a sine when the rail sags under its own current.

    Args:
        rail_volts: Magnitude of the rail at idle [V], >= `drop_volts`.
        supply_ohms: Source resistance of one rail [ohm], >= 0.
        load_ohms: Resistance of the load [ohm], > 0.
        drop_volts: What the output stage needs between rail and peak [V], default 0.

    Returns:
        Peak at the load [V peak].

    Raises:
        ValueError: The rail is lower than the drop, or a resistance is out of range.

    Source:
        Up = (Ur - Ud) / (1 + Rs / (pi R)): the rail gives Up / (pi R) on average.

    Example:
        >>> round(sagging_ceiling_peak(38.0, 0.6, 8.0, 3.0), 4)
        34.1839
    """
    stiff = not_negative(rail_volts - drop_volts, "rail_volts - drop_volts")
    source = not_negative(supply_ohms, "supply_ohms")
    return stiff / (1.0 + source / (math.pi * positive(load_ohms, "load_ohms")))


def rail_to_rail(rail_plus: float, rail_minus: float) -> float:
    """Voltage between the two rails: what touch safety is judged on.

    Args:
        rail_plus: Positive rail [V].
        rail_minus: Negative rail [V], a negative number.

    Returns:
        Voltage from one rail to the other [V].

    Raises:
        ValueError: A value is not finite.

    Source:
        Difference of two potentials.

    Example:
        >>> rail_to_rail(35.0, -35.0)
        70.0
    """
    return finite(rail_plus, "rail_plus") - finite(rail_minus, "rail_minus")
