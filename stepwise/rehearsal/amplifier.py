"""One channel of the simulated board: its linear network, from the oscillator to the load.

The network is a rational function of s. Its poles give the level at any frequency and, exactly,
the square wave it makes: sweep and oscilloscope show the same amplifier.

    input coupling capacitor - input filter - feedback loop (two poles) - wiring - output
    inductor with its damping resistor - load, with or without a capacitor across it
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Poly = NDArray[np.floating[Any]]

_SCALE = 1e6
"""Unit of s in the polynomials [rad/s]: with it their coefficients are of one size."""
_OPEN_OHMS = 1e9
"""What stands for no load [ohm]."""


@dataclass(frozen=True, slots=True)
class Circuit:
    """What the channel is wired to while it is read."""

    load_ohms: float | None = None
    """None: nothing connected."""
    source_ohms: float = 0.0
    """Of the oscillator [ohm]."""
    across_farads: float = 0.0
    """Capacitor across the load [F]."""


@dataclass(frozen=True, slots=True)
class Mode:
    """One exponential of the step response."""

    weight: complex
    """Share of a step from 0 to 1 [1]."""
    pole: complex
    """[rad/s]"""


@dataclass(frozen=True, slots=True)
class Network:
    """A rational function of s/_SCALE, highest power first."""

    numerator: tuple[float, ...]
    denominator: tuple[float, ...]

    def response(self, hertz: float) -> complex:
        """Output over the oscillator's unloaded volts [1], with its phase.

        Args:
            hertz: Frequency [Hz], > 0.
        """
        s = 2j * math.pi * hertz / _SCALE
        return _evaluate(self.numerator, s) / _evaluate(self.denominator, s)

    def modes(self) -> tuple[Mode, ...]:
        """The step response as a sum of exponentials: a step of 1 V from the oscillator.

        Source:
            Partial fractions of H(s)/s: weight N(p) / (p D'(p)) at each simple pole. The
            coupling capacitor's zero at the origin leaves no constant.
        """
        import numpy as np

        slope = tuple(np.polyder(np.array(self.denominator)))
        return tuple(
            Mode(
                complex(_evaluate(self.numerator, pole) / (pole * _evaluate(slope, pole))),
                complex(pole) * _SCALE,
            )
            for pole in np.roots(self.denominator)
        )


@dataclass(frozen=True, slots=True)
class Channel:
    """One channel of an amplifier."""

    name: str
    gain: float = 28.0
    """From the input's own terminals to the output, mid band, no load [1]."""
    input_ohms: float = 22e3
    coupling_farads: float = 1.2e-6
    input_filter_hertz: float = 100e3
    loop_hertz: float = 1.0e6
    """Where the gain round the feedback loop is 1 [Hz]."""
    second_pole_hertz: float = 240e3
    """The loop's second pole, which leaves it so much and no more phase [Hz]."""
    open_loop_ohms: float = 6.0
    """Output resistance before feedback lowers it [ohm]."""
    wiring_ohms: float = 0.05
    """Between the feedback point and the load [ohm]."""
    inductor_henries: float = 6e-6
    """In series with the output; zero where there is none [H]."""
    inductor_damping_ohms: float = 2.2
    """Resistor across the inductor [ohm]."""
    feedback_hertz: float = math.inf
    """Where a capacitor across the feedback resistor has taken 3 dB off the gain [Hz]."""
    feedback_leg_hertz: float = 0.0
    """Corner of the capacitor in the feedback's leg to ground, below which the gain falls
    towards 1; zero where the leg is direct [Hz]."""
    slew_volts_per_s: float = math.inf
    """Steepest slope of the output [V/s]."""
    limit_amps: float = math.inf
    """Peak that the current limiter lets through [A]."""
    oscillation_volts: float = 0.0
    """Own oscillation at idle, at radio frequency [V RMS]."""
    minus_fuse_whole: bool = True
    """Whether the channel's negative rail reaches it."""
    drop_plus_volts: float = 2.0
    """What the stage needs between the positive rail and its peak at no current [V]."""
    drop_minus_volts: float = 2.2
    drop_ohms: float = 0.12
    """What it needs besides, for each ampere [ohm]."""
    quiescent_amps: float = 0.045
    offset_volts: float = 0.008
    noise_volts: float = 0.35e-3
    """At the output, input shorted [V RMS]."""
    thump_volts: float = 0.3
    """Peak at switching on [V]."""

    def response(self, hertz: float, circuit: Circuit) -> complex:
        """Output over the oscillator's unloaded volts [1], with its phase.

        Args:
            hertz: Frequency [Hz], > 0.
            circuit: What it is wired to.
        """
        return self.network(circuit).response(hertz)

    def terminal_share(self, source_ohms: float) -> float:
        """Volts at the input terminals over the oscillator's unloaded volts, mid band [1]."""
        return self.input_ohms / (self.input_ohms + source_ohms)

    def modes(self, circuit: Circuit) -> tuple[Mode, ...]:
        """The step response as a sum of exponentials: a step of 1 V from the oscillator."""
        return self.network(circuit).modes()

    def network(self, circuit: Circuit) -> Network:
        """The whole way from the oscillator to the load.

        Args:
            circuit: What it is wired to.
        """
        numerator, denominator = self._polynomials(circuit)
        return Network(
            tuple(float(each) for each in numerator), tuple(float(each) for each in denominator)
        )

    def _polynomials(self, circuit: Circuit) -> tuple[Poly, Poly]:
        """Numerator and denominator in s/_SCALE, highest power first."""
        import numpy as np

        total = self.input_ohms + circuit.source_ohms
        rise = self.coupling_farads * _SCALE
        top = np.array([self.gain * self.input_ohms * rise, 0.0])
        bottom = np.polymul([total * rise, 1.0], [_time(self.input_filter_hertz), 1.0])
        leg_top, leg_bottom = self._feedback_network()
        inner_top, inner_bottom = self._output_network(circuit)
        return (
            np.polymul(np.polymul(top, leg_top), inner_top),
            np.polymul(np.polymul(bottom, leg_bottom), inner_bottom),
        )

    def _feedback_network(self) -> tuple[Poly, Poly]:
        """What capacitors in the feedback make of the gain, over the gain without them.

        Source:
            Gain 1 + Rf / Zg with Zg = Rg + 1/(s C) and C's corner f = 1 / (2 pi Rg C):
            (s/w + 1/A) / (s/w + 1). A capacitor across Rf lets the gain fall to 1; what it
            does below there is its pole alone. Own derivation.
        """
        import numpy as np

        top: Poly = np.array([1.0])
        bottom: Poly = np.array([1.0])
        if math.isfinite(self.feedback_hertz):
            bottom = np.polymul(bottom, [_time(self.feedback_hertz), 1.0])
        if self.feedback_leg_hertz:
            time = _time(self.feedback_leg_hertz)
            top = np.polymul(top, [time, 1.0 / self.gain])
            bottom = np.polymul(bottom, [time, 1.0])
        return top, bottom

    def _output_network(self, circuit: Circuit) -> tuple[Poly, Poly]:
        """From the loop's input to the load.

        Source:
            Loop gain T = 1 / (t s (1 + t2 s)): closed loop 1 / (1 + 1/T), output impedance
            Ro / (1 + T); the rest is a voltage divider. Own derivation.
        """
        import numpy as np

        loop = np.polymul([_time(self.loop_hertz), 0.0], [_time(self.second_pole_hertz), 1.0])
        closed: Poly = np.polyadd(loop, [1.0])
        if self.inductor_henries:
            choke = np.array([self.inductor_henries * _SCALE, 0.0])
            damping = self.inductor_damping_ohms
        else:
            choke, damping = np.array([0.0]), 1.0
        parallel: Poly = np.polyadd(choke, [damping])
        series: Poly = np.polyadd(
            np.polymul(np.polyadd(self.open_loop_ohms * loop, self.wiring_ohms * closed), parallel),
            np.polymul(closed, damping * choke),
        )
        load_ohms = _OPEN_OHMS if circuit.load_ohms is None else circuit.load_ohms
        admittance = np.array([circuit.across_farads * _SCALE, 1.0 / load_ohms])
        bottom: Poly = np.polyadd(np.polymul(closed, parallel), np.polymul(admittance, series))
        return parallel, bottom


def decay(mode: Mode, seconds: float) -> complex:
    """What is left of a mode after some time [1]."""
    return cmath.exp(mode.pole * seconds)


def _time(hertz: float) -> float:
    """Time constant of a corner, in units of 1/_SCALE."""
    return _SCALE / (2.0 * math.pi * hertz)


def _evaluate(polynomial: tuple[float, ...], at: complex) -> complex:
    value = 0j
    for coefficient in polynomial:
        value = value * at + coefficient
    return value
