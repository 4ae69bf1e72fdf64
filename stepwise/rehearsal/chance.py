"""Chance that can be repeated: each draw depends on the seed and on its own name, nothing else.

Two rehearsals with one seed read alike, whatever the order in which things are asked.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Chance:
    """Draws by name."""

    seed: int

    def uniform(self, name: str, low: float = -1.0, high: float = 1.0) -> float:
        """A number between two limits, the same each time for one name."""
        digest = hashlib.sha256(f"{self.seed} {name}".encode()).digest()
        # 53 bits: as many as a float holds.
        share = (int.from_bytes(digest[:8], "big") >> 11) / 2.0**53
        return low + (high - low) * share

    def around(self, name: str, value: float, tolerance: float) -> float:
        """A value within a tolerance.

        Args:
            name: Of what is drawn.
            value: Nominal.
            tolerance: Largest deviation, share of the value [1].
        """
        return value * (1.0 + tolerance * self.uniform(name))
