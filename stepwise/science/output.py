"""What the amplifier's output looks like from the load: source impedance, damping factor.

All voltages are RMS, at the amplifier's terminals, below clipping, with the same drive. Where
the loaded voltage is the higher one the impedance comes out negative: that is not refused, as
readings that are nearly equal must be nudged across zero to find their uncertainty.
"""

from __future__ import annotations

from stepwise.science.domain import finite, positive


def source_impedance_open(open_volts: float, loaded_volts: float, load_ohms: float) -> float:
    """Source impedance from the output voltage without and with a load.

    Args:
        open_volts: Output without load [V RMS].
        loaded_volts: Output with the load on [V RMS], > 0.
        load_ohms: Resistance of the load [ohm], > 0.

    Returns:
        Source impedance, taken as a resistance [ohm]; negative if loading raised the output.

    Raises:
        ValueError: `loaded_volts` or `load_ohms` is not positive.

    Source:
        Zo = R (U0 / U - 1): the voltage divider of source impedance and load.

    Example:
        >>> round(source_impedance_open(1.0, 0.9, 30.0), 5)
        3.33333
    """
    drop = finite(open_volts, "open_volts") - positive(loaded_volts, "loaded_volts")
    return positive(load_ohms, "load_ohms") * drop / float(loaded_volts)


def source_impedance_two_loads(v1: float, r1: float, v2: float, r2: float) -> float:
    """Source impedance from the output voltage at two loads.

    Args:
        v1: Output at the first load [V RMS], > 0.
        r1: First load [ohm], > 0.
        v2: Output at the second load [V RMS], > 0.
        r2: Second load [ohm], > 0, different from the first.

    Returns:
        Source impedance, taken as a resistance [ohm].

    Raises:
        ValueError: A value is not positive, or both loads take the same current, so that the
            readings say nothing about the source.

    Source:
        Zo = (U1 - U2) / (U2 / R2 - U1 / R1): Ohm's law on the change of voltage and current.

    Example:
        >>> round(source_impedance_two_loads(20.0, 8.0, 19.6, 4.0), 6)
        0.166667
    """
    first = positive(v1, "v1") / positive(r1, "r1")
    second = positive(v2, "v2") / positive(r2, "r2")
    if first == second:
        raise ValueError("both loads take the same current: the source cannot be told")
    return (float(v1) - float(v2)) / (second - first)


def damping_factor(load_ohms: float, source_ohms: float) -> float:
    """Load resistance over source impedance.

    Args:
        load_ohms: Rated or measured load [ohm], > 0.
        source_ohms: Source impedance [ohm], not zero; a negative one gives a negative factor.

    Returns:
        Damping factor [1].

    Raises:
        ValueError: `load_ohms` is not positive, or `source_ohms` is zero.

    Source:
        DF = R / Zo, IEC 60268-3 (from memory).

    Example:
        >>> round(damping_factor(8.0, 0.08), 6)
        100.0
    """
    source = finite(source_ohms, "source_ohms")
    if source == 0.0:
        raise ValueError("source_ohms is zero: the damping factor has no bound")
    return positive(load_ohms, "load_ohms") / source
