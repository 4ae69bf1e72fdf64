"""What a bench does that its file does not say: a wrong load, a drooping source, a bent pointer.

A sound bench does nothing of the kind: what its instruments are off by then stays within what
`stepwise.bench.measure` credits them with.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

_REFERENCE_HERTZ = 1e3


@dataclass(frozen=True, slots=True)
class Setup:
    """The bench as it is, beyond the honest errors of its instruments."""

    load_shares: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    """Label of a load -> what is really connected in its place, share of its ohms [1]."""
    oscillator_low_hertz: float = 0.0
    """Where the oscillator's sine falls by 3 dB at its low end; zero for a flat one [Hz]."""
    meter_high_hertz: float = math.inf
    """Where the AC voltmeter falls by 3 dB at its high end [Hz]."""
    pointer_zero: float = 0.0
    """Where the pointer rests without input, share of full scale [1]."""
    display_null: float = 0.0
    """What a multimeter adds to every voltage because a null was left in [V]."""
    drift_db_per_minute: float = 0.0
    """How the oscillator's level wanders while a sweep is taken [dB/min]."""

    def load_share(self, label: str) -> float:
        """What is connected in place of a load, over what its label says [1]."""
        return self.load_shares.get(label, 1.0)

    def level_ratio(self, hertz: float) -> float:
        """What source and meter make of a level that is flat, over the same at 1 kHz [1]."""
        return self._ratio(hertz) / self._ratio(_REFERENCE_HERTZ)

    def meter_ratio(self, hertz: float) -> float:
        """What the AC voltmeter shows of a level, share of it [1]."""
        return 1.0 / math.hypot(1.0, hertz / self.meter_high_hertz)

    def drift_ratio(self, seconds: float) -> float:
        """Level after so much of a sweep, over that at its start [1]."""
        return float(10.0 ** (self.drift_db_per_minute * seconds / 60.0 / 20.0))

    def _ratio(self, hertz: float) -> float:
        """Source and meter as two first-order corners [1]."""
        return self.meter_ratio(hertz) / math.hypot(1.0, self.oscillator_low_hertz / hertz)
