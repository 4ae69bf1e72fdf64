"""What the TOML of a `sweep` may say."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated

import msgspec

from stepwise.judge import LimitFields
from stepwise.steps.fields import FrequencyText, LoadText, StepFields
from stepwise.steps.response_capacitor import Series


class SweepLimits(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Limits on what a sweep shows, by result name."""

    level_db: LimitFields | None = None
    """Holds within the band."""
    minus_1db_low: LimitFields | None = None
    minus_3db_low: LimitFields | None = None
    minus_1db_high: LimitFields | None = None
    minus_3db_high: LimitFields | None = None
    corner_low: LimitFields | None = None
    corner_high: LimitFields | None = None
    q_low: LimitFields | None = None
    q_high: LimitFields | None = None
    slope_low: LimitFields | None = None
    slope_high: LimitFields | None = None
    peak_db: LimitFields | None = None
    flatness: LimitFields | None = None
    reference_drift: LimitFields | None = None


class SweepFields(StepFields, frozen=True, kw_only=True, tag="sweep"):
    """Read the level at each frequency, the input kept constant."""

    points: Annotated[tuple[FrequencyText, ...], msgspec.Meta(min_length=1)]
    """Frequencies in the order in which they are asked."""
    reference: FrequencyText = "1 kHz"
    below_clip: str | None = None
    """How far below the clean level the sweep is made; left out where there is no clip test."""
    meter: str = "ac"
    load: LoadText | None = None
    band: tuple[FrequencyText, FrequencyText] | None = None
    """Frequencies between which `level_db` and `flatness` hold."""
    reference_again: bool = True
    """Ask for the reference once more at the end, to see whether anything drifted."""
    of_bench: bool = False
    """The oscillator goes straight into the meter: what is read is the bench's own response."""
    series: Series = "E6"
    """Preferred values from which the capacitor that would do is chosen."""
    limits: SweepLimits | None = None


def bench_steps(steps: Iterable[StepFields]) -> frozenset[str]:
    """Ids of the steps that sweep the bench itself."""
    return frozenset(step.id for step in steps if isinstance(step, SweepFields) and step.of_bench)
