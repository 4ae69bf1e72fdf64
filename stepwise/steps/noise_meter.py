"""What an average-responding meter leaves open of noise: how much of it is hiss."""

from __future__ import annotations

from functools import cache

from stepwise.bench import Detector, Meter
from stepwise.quantities import Uncertain, format_value, from_terms, rectangular, within_limits

NOISE = "residual_noise"
"""Name of the reading without a signal, which may be hum, hiss, or any mixture of them."""


def of_unknown_shape(name: str, value: Uncertain, meter: Meter | None, key: str) -> Uncertain:
    """Noise as an average-responding meter shows it, with what it may show too little.

    Such a meter is right for a hum that is a sine and low for hiss; between them nobody knows
    the mixture, so the reading stays as it is and the limits hold both.

    Args:
        name: Of the reading; only noise is touched.
        value: The reading [V RMS].
        meter: That the prompt names, or None.
        key: Key of the prompt; what it owes to the shape of its noise is its own.

    Returns:
        The value, with a term for its shape where this meter was read.

    Source:
        `science.AVERAGE_METER_ON_NOISE`; limits either way of an estimate that lies at one end
        of them, JCGM 100:2008, 4.3.7, so that the truth is held where all of it is hiss.
    """
    if name != NOISE or meter is None or meter.detector is not Detector.AVERAGE:
        return value
    if not any(source.startswith(f"{meter.id} ") for source in value.terms):
        return value  # read off something else: a capture, divisions on the oscilloscope
    shape = within_limits(f"{key} shape of the noise")
    limit = rectangular(_hiss_is_more_by() * abs(value.value))
    return from_terms(value.value, [*value.terms.items(), (shape, limit)])


def remark_on_shape() -> str:
    """One sentence on why the ± of such a reading is wide."""
    most = format_value(100.0 * _hiss_is_more_by(), "%", digits=2)
    return (
        "The meter follows the mean: a hum that is a sine is as read, hiss "
        f"up to {most} more; the ± holds both."
    )


@cache
def _hiss_is_more_by() -> float:
    """RMS of Gaussian noise over what the meter shows, less one [1]."""
    from stepwise.science import AVERAGE_METER_ON_NOISE

    return 1.0 / AVERAGE_METER_ON_NOISE - 1.0
