"""A capture drawn, with its levels and what was found in it marked.

matplotlib is imported when a picture is wanted, and without its global state.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from stepwise.captures.read import Capture
from stepwise.errors import CaptureError
from stepwise.quantities import format_value

if TYPE_CHECKING:
    import numpy as np
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure as Sheet
    from numpy.typing import NDArray

    from stepwise.science import SineAnalysis, SquareAnalysis, Transition

_ENDINGS = (".png", ".svg")
_MOST_COLUMNS = 2000
"""Columns of a drawn trace; each stands for the lowest and highest sample in it."""
_TRACE, _MARK, _QUIET = "#1f4e79", "#b3261e", "#5f6368"
_PERIODS = 3.0
_BEFORE, _AFTER = 2.0, 9.0
"""Rise times of the edge's panel before the middle of the edge and after it."""


def picture_square(capture: Capture, found: SquareAnalysis, path: Path) -> None:
    """Draw a square wave: the whole trace with its states, and one edge closely.

    Raises:
        CaptureError: The picture cannot be written, or has another ending than .png or .svg.
    """
    sheet, (whole, close) = _sheet(path)
    shown = _PERIODS / found.square_hertz if found.square_hertz else None
    _trace(whole, capture, 0.0, shown)
    for level, name in ((found.high_volts, "high"), (found.low_volts, "low")):
        _level(whole, level, f"{name} {format_value(level, 'V', digits=3)}")
    title = "Square wave"
    if found.square_hertz:
        title = f"Square wave, {format_value(found.square_hertz, 'Hz', digits=4)}"
    whole.set_title(title, loc="left")
    _edge(close, capture, found)
    _save(sheet, path)


def picture_sine(capture: Capture, found: SineAnalysis, path: Path) -> None:
    """Draw a sine: a few periods with its peaks and where it flattens, and its harmonics.

    Raises:
        CaptureError: The picture cannot be written, or has another ending than .png or .svg.
    """
    from stepwise.science import signal_to_noise_db

    sheet, (wave, lines) = _sheet(path)
    _trace(wave, capture, 0.0, _PERIODS / found.hertz)
    clipping = found.clipping
    onsets = (
        (None, None) if clipping is None else (clipping.positive_volts, clipping.negative_volts)
    )
    peaks = (found.positive_peak_volts, found.negative_peak_volts)
    for sign, peak, onset in zip((1.0, -1.0), peaks, onsets, strict=True):
        colour, name = (_QUIET, "peak") if onset is None else (_MARK, "flattens from")
        volts = peak if onset is None else onset
        label = f"{name} {format_value(volts, 'V', digits=3)}"
        _level(wave, sign * volts, label, colour)
    wave.set_title(f"Sine, {format_value(found.hertz, 'Hz', digits=4)}", loc="left")
    table = found.harmonics[1:]
    floor = max(each.standard_percent for each in table)
    lines.bar([each.order for each in table], [each.percent for each in table], color=_TRACE)
    label = "what noise and converter steps may hide"
    lines.axhline(floor, color=_QUIET, linestyle=":", label=label)
    lines.set_yscale("log")
    lines.set_ylim(
        bottom=min(0.5 * floor, *(0.5 * each.percent for each in table if each.percent > 0.0), 0.1)
    )
    lines.yaxis.set_major_formatter(lambda value, _: f"{value:g}")
    lines.set_xticks([each.order for each in table])
    lines.set_xlabel("harmonic")
    lines.set_ylabel("% of the fundamental")
    ratios = (
        signal_to_noise_db(found.rms_volts, noise)
        for noise in (found.noise_volts, found.noise_a_volts)
    )
    plain, weighted = (format_value(ratio, "dB", digits=3) for ratio in ratios)
    distortion = format_value(found.thd_percent, "%", digits=3)
    title = f"Distortion {distortion}\nSignal to noise {plain}, A-weighted {weighted}"
    lines.set_title(title, loc="left")
    lines.legend(loc="upper right", frameon=False)
    _save(sheet, path)


def _sheet(path: Path) -> tuple[Sheet, tuple[Axes, Axes]]:
    if path.suffix.lower() not in _ENDINGS:
        raise CaptureError(path, "a picture ends in .png or .svg")
    from matplotlib.figure import Figure as Sheet

    sheet = Sheet(figsize=(11.0, 4.6), layout="constrained")
    left, right = sheet.subplots(1, 2, width_ratios=(1.25, 1.0))
    for axes in (left, right):
        axes.set_axisbelow(True)
        axes.grid(visible=True, color="#d0d4d9", linewidth=0.5)
        axes.spines[["top", "right"]].set_visible(False)
    return sheet, (left, right)


def _trace(axes: Axes, capture: Capture, start_s: float, length_s: float | None) -> None:
    """A stretch of the trace, from so long after the first sample."""
    rate = capture.sample_hertz
    first = max(int(start_s * rate), 0)
    last = capture.volts.size if length_s is None else int((start_s + length_s) * rate) + 1
    seconds, volts = _columns(capture.volts[first:last], rate)
    scale, unit = _unit_of_time(float(seconds[-1]))
    is_sparse = volts.size < 150
    axes.plot(
        (seconds + first / rate - start_s) * scale, volts, color=_TRACE, linewidth=1.0,
        marker="." if is_sparse else "", markersize=4.0,
    )  # fmt: skip
    axes.set_xlabel(unit)
    axes.set_ylabel("V")


def _columns(
    volts: NDArray[np.float64], rate: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Times and volts to draw: all of them, or lowest and highest of each column."""
    import numpy as np

    each = volts.size // _MOST_COLUMNS
    if each < 2:
        return np.arange(volts.size) / rate, volts
    rows = volts[: volts.size // each * each].reshape(-1, each)
    seconds = np.arange(rows.shape[0]) * each / rate
    drawn = np.column_stack((rows.min(axis=1), rows.max(axis=1))).ravel()
    return np.repeat(seconds, 2), drawn


def _unit_of_time(longest_s: float) -> tuple[float, str]:
    for factor, unit in ((1.0, "s"), (1e3, "ms"), (1e6, "µs")):
        if longest_s * factor >= 1.0:
            return factor, unit
    return 1e9, "ns"


def _level(axes: Axes, volts: float, name: str, colour: str = _QUIET) -> None:
    axes.axhline(volts, color=colour, linestyle="--", linewidth=0.9)
    axes.annotate(
        name, (1.0, volts), xycoords=("axes fraction", "data"), xytext=(-3, 3),
        textcoords="offset points", ha="right", color=colour, fontsize=9,
    )  # fmt: skip


def _edge(axes: Axes, capture: Capture, found: SquareAnalysis) -> None:
    """The first edge that is well inside the record, with its reference levels."""
    edge, length = _first_edge(capture, found)
    middle = edge.middle / capture.sample_hertz
    start = max(middle - _BEFORE * length, 0.0)
    _trace(axes, capture, start, (_BEFORE + _AFTER) * length)
    height = found.high_volts - found.low_volts
    for share in (0.1, 0.9):
        axes.axhline(found.low_volts + share * height, color=_QUIET, linewidth=0.7, linestyle=":")
    scale, _ = _unit_of_time((_BEFORE + _AFTER) * length)
    for instant in (edge.start, edge.end):
        at = (instant / capture.sample_hertz - start) * scale
        axes.axvline(at, color=_QUIET, linewidth=0.7, linestyle=":")
    beyond = found.overshoot_percent / 100.0 * height
    top = found.high_volts + beyond if edge.rising else found.low_volts - beyond
    state = found.high_volts if edge.rising else found.low_volts
    _level(axes, state, "")
    if found.overshoot_percent > 1.0:
        _level(
            axes, top, f"overshoot {format_value(found.overshoot_percent, '%', digits=3)}", _MARK
        )
    fast = found.fast_edges
    is_fast = fast is not None and (fast.rising if edge.rising else fast.falling)
    lasting = (
        f"at most {format_value(fast.longest_s, 's', digits=3)}"
        if fast and is_fast
        else (format_value(length, "s", digits=3))
    )
    parts = [f"{'Rise' if edge.rising else 'Fall'} {lasting}"]
    if found.ringing is not None:
        parts.append(f"rings at {format_value(found.ringing.hertz, 'Hz', digits=3)}")
    axes.set_title(", ".join(parts), loc="left")


def _first_edge(capture: Capture, found: SquareAnalysis) -> tuple[Transition, float]:
    from stepwise.science import StateLevels, transitions

    levels = StateLevels(found.low_volts, found.high_volts)
    times = {True: found.rise_time_s, False: found.fall_time_s}
    edges = transitions(capture.volts, levels, 8)
    rate = capture.sample_hertz
    inside = [
        (edge, length)
        for edge in edges
        if (length := times[edge.rising]) is not None and edge.middle > _BEFORE * length * rate
    ]
    rising = [each for each in inside if each[0].rising]
    if rising or inside:
        return (rising or inside)[0]
    edge = edges[0] if edges else None
    if edge is None:
        raise CaptureError(capture.path, "its tops are too steep for an edge to be drawn")
    return edge, edge.duration / rate


def _save(sheet: Sheet, path: Path) -> None:
    try:
        sheet.savefig(path, dpi=150)
    except OSError as error:
        reason = error.strerror or str(error)
        raise CaptureError(path, f"the picture cannot be written ({reason})") from error
