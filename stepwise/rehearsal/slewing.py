"""What a stage of limited slope makes of a sine and of an edge.

A sine that asks for more slope than there is becomes a triangle in the end; between the two the
output follows the sine where it can and runs along at full slope where it cannot.
"""

from __future__ import annotations

import math

_STEPS = 720
"""Steps of a period; the level is then good to a thousandth."""
_PERIODS = 3
"""After so many the limited wave repeats."""


def slewed_level_ratio(slope_share: float) -> float:
    """What an average-responding meter shows of a slope-limited sine, over the whole sine.

    Args:
        slope_share: The stage's steepest slope over the sine's, 2 pi f Vp [1], > 0.

    Returns:
        Share [1]: 1 for a slope share of 1 and more, (pi/2)^2 / 2 of the share far below.

    Source:
        A triangle of slope S has the peak S T / 4, half of which is its rectified mean; a
        sine's mean is 2/pi of its peak. Between the two by steps. Own derivation.
    """
    if slope_share >= 1.0:
        return 1.0
    # Below this share the output never catches the sine before it turns.
    if slope_share < 1.0 / math.hypot(1.0, math.pi / 2.0):
        return slope_share * math.pi**2 / 8.0
    step = 2.0 * math.pi / _STEPS
    most, output, total = slope_share * step, 0.0, 0.0
    for number in range(_PERIODS * _STEPS):
        wanted = math.sin(step * (number + 1))
        output += min(max(wanted - output, -most), most)
        if number >= (_PERIODS - 1) * _STEPS:
            total += abs(output)
    return total / _STEPS * math.pi / 2.0


def slewed_rise_time(rise_s: float, height_volts: float, slew_volts_per_s: float) -> float:
    """Rise time of an edge from 10 % to 90 %.

    Args:
        rise_s: Without a limit on the slope [s].
        height_volts: From low to high [V].
        slew_volts_per_s: Steepest slope [V/s].

    Returns:
        Four fifths of the height at full slope where that is longer [s].

    Source:
        The slower of the two decides; joined as root of the sum of squares, as rise times are
        (common practice, no source).
    """
    return math.hypot(rise_s, 0.8 * height_volts / slew_volts_per_s)
