"""From a column of times to one sample interval, where the samples are evenly spaced."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_A_GAP = 1.5
"""Steps between two times from which on a sample is missing between them."""


class OddTime(ValueError):
    """Times that are not those of an even row of samples."""

    def __init__(self, reason: str, row: int | None = None) -> None:
        self.reason = reason
        self.row = row
        super().__init__(reason, row)


def sample_interval(times: NDArray[np.float64]) -> float:
    """The interval of evenly spaced samples, from times that may be rounded.

    Times printed with few digits come in unequal steps, or several alike; what counts is that
    none lies farther from an even row than its own rounding.

    Args:
        times: Of all samples, in any unit, shape (n,), n >= 2.

    Returns:
        The mean interval, in the unit of the times.

    Raises:
        OddTime: Times go back, stand still, or samples are missing; `row` says where.
    """
    import numpy as np

    steps = np.diff(times)
    if steps.min() < 0.0:
        raise OddTime("the time goes back here", int(np.argmax(steps < 0.0)) + 1)
    mean = float(times[-1] - times[0]) / (times.size - 1)
    if not mean > 0.0:
        raise OddTime("the first column does not run on, so it is no time")
    largest = float(steps.max())
    if largest <= _A_GAP * mean:
        return mean
    # Steps beyond one and a half are gaps, unless they are how coarsely times are printed.
    coarse = float(steps[steps > 0.0].min())
    if coarse < mean * 0.99 or largest > _A_GAP * max(coarse, mean):
        raise OddTime("samples are missing before this one", int(np.argmax(steps)) + 1)
    even = times[0] + mean * np.arange(times.size)
    away = np.abs(times - even)
    if away.max() > mean + coarse:
        raise OddTime("the samples are not evenly spaced here", int(np.argmax(away)))
    return mean


def counts_samples(column: NDArray[np.float64]) -> bool:
    """Whether a column is the plain numbers 0, 1, 2, ... or 1, 2, 3, ... of the samples."""
    import numpy as np

    return float(column[0]) in (0.0, 1.0) and bool((np.diff(column) == 1.0).all())
