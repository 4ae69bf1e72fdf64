"""What a simulated board has to come to, worked out apart from the simulation."""

from __future__ import annotations

import math

from stepwise.rehearsal.amplifier import Channel, Circuit
from stepwise.rehearsal.operation import Working


def low_corner_hertz(channel: Channel, source_ohms: float) -> float:
    """Corner of the input coupling capacitor [Hz]: 1 / (2 pi (Rin + Rs) C)."""
    total = channel.input_ohms + source_ohms
    return 1.0 / (2.0 * math.pi * total * channel.coupling_farads)


def high_corner_hertz(channel: Channel, circuit: Circuit) -> float:
    """Frequency at which the level is 3.01 dB under that at 1 kHz [Hz], by bisection."""
    wanted = abs(channel.response(1e3, circuit)) / math.sqrt(2.0)
    low, high = 1e3, 1e7
    for _ in range(100):
        middle = math.sqrt(low * high)
        if abs(channel.response(middle, circuit)) > wanted:
            low = middle
        else:
            high = middle
    return math.sqrt(low * high)


def heat_watts(working: Working) -> float:
    """What both rails deliver and the load does not take [W]."""
    return working.plus.output_watts + working.minus.output_watts - working.load_watts
