"""The axes of a sweep's picture: a scale has two numbers at least, and no more than rows."""

from __future__ import annotations

import pytest

from stepwise.run import Curve
from stepwise.tui.widgets.axes import axes_for
from stepwise.tui.widgets.curve_plot import level_labels


@pytest.mark.parametrize("rows", [3, 4, 8, 16])
@pytest.mark.parametrize("lowest", [-0.1, -3.0, -7.5, -9.4, -16.1, -24.0, -48.0, -70.0])
@pytest.mark.parametrize("highest", [0.0, 1.0, 6.5])
def test_a_level_axis_has_two_numbers_at_least(rows: int, lowest: float, highest: float) -> None:
    curve = Curve((10.0, 1e3), (lowest, highest), (10.0, 1e3), None, None, None, {})
    axes = axes_for(curve, 80, 4 * rows)
    labels = level_labels(axes, rows)
    numbers = [text for text in labels.values() if text != "dB"]
    assert len(numbers) >= 2
    assert all(axes.bottom_db <= float(text) <= axes.top_db for text in numbers)
    assert len(labels) <= rows
