"""What the levels of a response are counted from, and its two ends.

Levels are in dB, 0 dB at the reference. The low end lies below it, the high end above.
"""

from __future__ import annotations

from typing import Literal

REFERENCE_HERTZ = 1000.0
"""Standard reference frequency of amplifier measurements, IEC 60268-3 (from memory)."""

Side = Literal["low", "high"]
"""One end of the frequency range."""
