"""What an oscilloscope shows of a square wave through the simulated amplifier.

The square wave has gone on for long, so every exponential of the step response stands in its
periodic steady state; the trace is their sum, exactly, at any instant.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from stepwise.rehearsal.amplifier import Mode, decay

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_SLOW = 4.0
"""An exponential that has not gone through this many time constants in a half period is the
slope of the top; a faster one is part of the edge."""
_VISIBLE = 0.02
"""Share of the height below which no ringing can be told from the trace's width."""
_GRID = 4000
_HALVINGS = 40
_EDGE_SPAN = 12.0
"""Time constants of the slowest fast mode over which the edge is drawn."""
_MOST_CYCLES = 20
"""Nobody counts farther."""


@dataclass(frozen=True, slots=True)
class Picture:
    """What the eye takes from the trace. Shares of 1, seconds, hertz."""

    height: float
    """From low to high, for a source of plus and minus 1 V [V]."""
    overshoot: float
    preshoot: float
    tilt: float
    """Fall of the top from its first value to its last, over the first [1]."""
    rise_time: float
    fall_time: float
    ringing_hertz: float | None
    ringing_cycles: int

    def slowed(self, rise_time: float) -> Picture:
        """The same trace with edges that take longer, as a limit on the slope makes them.

        Args:
            rise_time: Of the slowed edges [s].

        Source:
            What an edge throws up goes with the square of its speed (common practice, no
            source); overshoot that is no longer visible rings no more.
        """
        overshoot = self.overshoot * min(1.0, self.rise_time / rise_time) ** 2
        rings = self.ringing_hertz is not None and overshoot >= _VISIBLE
        return replace(
            self,
            overshoot=overshoot,
            rise_time=rise_time,
            fall_time=rise_time,
            ringing_hertz=self.ringing_hertz if rings else None,
            ringing_cycles=self.ringing_cycles if rings else 0,
        )


def square_picture(modes: tuple[Mode, ...], square_hertz: float) -> Picture:
    """Read a trace off its exponentials.

    Args:
        modes: Step response of the amplifier; all must die away.
        square_hertz: Frequency of the square wave [Hz], > 0.

    Raises:
        ValueError: A mode grows: the amplifier oscillates and shows no square wave.
    """
    if any(mode.pole.real >= 0.0 for mode in modes):
        raise ValueError("the amplifier oscillates")
    half = 0.5 / square_hertz
    slow = [mode for mode in modes if _is_slope(mode, half)]
    fast = [mode for mode in modes if not _is_slope(mode, half)]
    top, end = square_trace(slow, square_hertz, 0.0), square_trace(slow, square_hertz, half)
    height = top + end
    edge = _Edge(fast, square_hertz, height)
    overshoot = edge.overshoot()
    # What does not rise above the flat top is hidden in the edge.
    ringing = edge.ringing() if overshoot >= _VISIBLE else None
    rise = edge.rise_time()
    return Picture(
        height=height,
        overshoot=overshoot,
        preshoot=0.0,  # nothing answers before it is asked
        tilt=(top - end) / top,
        rise_time=rise,
        fall_time=rise,
        ringing_hertz=ringing[0] if ringing else None,
        ringing_cycles=ringing[1] if ringing else 0,
    )


def square_trace(
    modes: tuple[Mode, ...] | list[Mode], square_hertz: float, seconds: float
) -> float:
    """The trace after its rising edge, for a source that jumps between -1 V and +1 V.

    Args:
        modes: The exponentials that are to be shown.
        square_hertz: Frequency of the square wave [Hz].
        seconds: Time after the rising edge [s], 0 to half a period.

    Returns:
        Volts for each volt of the source [V].

    Source:
        Steady state of y' = p y driven by alternating steps of 2: 2 w e^(pt) / (1 + e^(pT)),
        T half a period. Own derivation.
    """
    half = 0.5 / square_hertz
    total = sum(
        2.0 * mode.weight * decay(mode, seconds) / (1.0 + decay(mode, half)) for mode in modes
    )
    return complex(total).real


def _is_slope(mode: Mode, half_s: float) -> bool:
    """Whether an exponential shows as the slope of the top; what oscillates never does."""
    return mode.pole.imag == 0.0 and -mode.pole.real * half_s < _SLOW


class _Edge:
    """The fast part of the trace: from minus the height to nothing."""

    def __init__(self, fast: list[Mode], square_hertz: float, height: float) -> None:
        self.fast, self.hertz, self.height = fast, square_hertz, height
        slowest = min((-mode.pole.real for mode in fast), default=0.0)
        half = 0.5 / square_hertz
        self.span = min(half, _EDGE_SPAN / slowest) if slowest else half
        self.trace = self.sampled()

    def at(self, seconds: float) -> float:
        """Distance from the flat top, share of the height [1]; begins at -1."""
        return square_trace(self.fast, self.hertz, seconds) / self.height

    def sampled(self) -> NDArray[np.float64]:
        """`at` over the span of the edge, shape (_GRID,) [1]."""
        import numpy as np

        half, step = 0.5 / self.hertz, self.span / _GRID
        trace = np.zeros(_GRID)
        for mode in self.fast:
            weight = 2.0 * mode.weight / (1.0 + decay(mode, half)) / self.height
            trace += (weight * np.exp(mode.pole * step * np.arange(_GRID))).real
        return trace

    def overshoot(self) -> float:
        """Highest point above the flat top, share of the height [1]."""
        return max(0.0, float(self.trace.max()))

    def rise_time(self) -> float:
        """From 10 % to 90 % of the height [s]."""
        return self._first(-0.1) - self._first(-0.9)

    def _first(self, level: float) -> float:
        """First instant at which the edge reaches a level [s]."""
        step = self.span / _GRID
        reached = int((self.trace >= level).argmax())
        low, high = step * max(reached - 1, 0), step * reached
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if self.at(middle) < level else (low, middle)
        return high

    def ringing(self) -> tuple[float, int] | None:
        """Frequency [Hz] and visible cycles of the strongest oscillation, None without one."""
        pairs = [mode for mode in self.fast if mode.pole.imag > 0.0]
        strongest = max(pairs, key=lambda mode: abs(mode.weight), default=None)
        if strongest is None:
            return None
        size = 4.0 * abs(strongest.weight) / self.height
        if size <= _VISIBLE:
            return None
        hertz = strongest.pole.imag / (2.0 * math.pi)
        lasting = math.log(size / _VISIBLE) / -strongest.pole.real
        cycles = min(_MOST_CYCLES, int(lasting * hertz))
        return (hertz, cycles) if cycles else None
