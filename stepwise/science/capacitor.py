"""Capacitors: charged reservoirs, and the corner of one in the way of the signal."""

from __future__ import annotations

import math

from stepwise.science.domain import finite, positive


def discharge_time_s(
    capacitance_farads: float, resistance_ohms: float, start_volts: float, end_volts: float
) -> float:
    """Time for a capacitor to discharge through a resistance.

    Args:
        capacitance_farads: Capacitance [F], > 0.
        resistance_ohms: Bleeder [ohm], > 0.
        start_volts: Voltage at the beginning [V], > 0.
        end_volts: Voltage to be reached [V], > 0.

    Returns:
        Time [s], negative when the end is the higher of the two.

    Raises:
        ValueError: A value is not positive.

    Source:
        t = R C ln(U0 / U), first-order RC.

    Example:
        >>> round(discharge_time_s(0.01, 2200.0, 50.0, 5.0), 4)
        50.6569
    """
    tau = positive(capacitance_farads, "capacitance_farads") * positive(
        resistance_ohms, "resistance_ohms"
    )
    ratio = positive(start_volts, "start_volts") / positive(end_volts, "end_volts")
    return tau * math.log(ratio)


def stored_energy_joules(capacitance_farads: float, volts: float) -> float:
    """Energy in a charged capacitor.

    Args:
        capacitance_farads: Capacitance [F], > 0.
        volts: Voltage across it [V].

    Returns:
        Energy [J].

    Raises:
        ValueError: The capacitance is not positive or the voltage not finite.

    Source:
        E = C U^2 / 2.

    Example:
        >>> stored_energy_joules(0.01, 50.0)
        12.5
    """
    level = finite(volts, "volts")
    return 0.5 * positive(capacitance_farads, "capacitance_farads") * level * level


def parallel_impedance_ohms(
    load_ohms: float, capacitance_farads: float, frequency_hertz: float
) -> float:
    """Magnitude of a load with a capacitor across it.

    Args:
        load_ohms: Resistance of the load [ohm], > 0.
        capacitance_farads: Capacitance across it [F], > 0.
        frequency_hertz: Frequency [Hz], > 0.

    Returns:
        Magnitude of the impedance [ohm].

    Raises:
        ValueError: A value is not positive.

    Source:
        R / sqrt(1 + (2 pi f R C)^2).

    Example:
        >>> round(parallel_impedance_ohms(8.0, 2.2e-6, 10e3), 5)
        5.36576
    """
    load = positive(load_ohms, "load_ohms")
    susceptance = (2.0 * math.pi * positive(frequency_hertz, "frequency_hertz")) * positive(
        capacitance_farads, "capacitance_farads"
    )
    return load / math.hypot(1.0, load * susceptance)


def coupling_capacitance(corner_hertz: float, resistance_ohms: float) -> float:
    """Capacitor that makes a corner with a resistance in series.

    Args:
        corner_hertz: Corner [Hz], > 0.
        resistance_ohms: Resistance that the capacitor sees [ohm], > 0.

    Returns:
        Capacitance [F].

    Raises:
        ValueError: A value is not positive.

    Source:
        C = 1 / (2 pi R f), first-order RC.

    Example:
        >>> round(coupling_capacitance(10.0, 8.0) * 1e6, 2)
        1989.44
    """
    product = positive(corner_hertz, "corner_hertz") * positive(resistance_ohms, "resistance_ohms")
    return 1.0 / (2.0 * math.pi * product)


def corner_for_capacitance(capacitance_farads: float, resistance_ohms: float) -> float:
    """Corner of a capacitor and the resistance that it sees.

    Args:
        capacitance_farads: Capacitance [F], > 0.
        resistance_ohms: Resistance that the capacitor sees [ohm], > 0.

    Returns:
        Corner [Hz].

    Raises:
        ValueError: A value is not positive.

    Source:
        f = 1 / (2 pi R C), first-order RC.

    Example:
        >>> round(corner_for_capacitance(1000e-6, 8.0), 4)
        19.8944
    """
    product = positive(capacitance_farads, "capacitance_farads") * positive(
        resistance_ohms, "resistance_ohms"
    )
    return 1.0 / (2.0 * math.pi * product)
