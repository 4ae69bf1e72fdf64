"""Reading a capture: a CSV file of an oscilloscope, to evenly spaced samples in volts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from stepwise.captures.header import Column
from stepwise.captures.layout import FEWEST_ROWS, Layout, find_layout
from stepwise.captures.lines import blocks
from stepwise.captures.rows import COMMA, OddRow, careful_row, quick_rows
from stepwise.captures.timebase import OddTime, counts_samples, sample_interval
from stepwise.errors import CaptureError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

MOST_SAMPLES = 10_000_000
"""Of a capture; more take gigabytes to hold and say nothing new."""
_MOST_VOLTS = 1e6


@dataclass(frozen=True, slots=True, eq=False)
class Capture:
    """Evenly spaced samples of one channel."""

    path: Path
    volts: NDArray[np.float64]
    """[V], shape (n,)"""
    sample_hertz: float
    """Samples a second [Hz]."""
    start_s: float
    """Time of the first sample, as the file counts [s]."""
    channel: str
    """What the file calls the channel, or its number."""
    channels: tuple[str, ...]
    """All channels of the file."""


def read_capture(path: Path, channel: str = "") -> Capture:
    """Read a capture.

    Header lines, commas, semicolons, tabs or blanks between cells, decimal points or commas, a
    row of units, a column of times or a line with the sample interval are recognised.

    Args:
        path: The file.
        channel: Which of several channels: its number from 1, or its name; the first without.

    Raises:
        CaptureError: The file cannot be read, or is none of these; says the line.
    """
    try:
        if not path.is_file():
            raise CaptureError(path, "there is no file here that could be read")
        with path.open("rb") as file:
            return _read(file, path, channel)
    except (OSError, ValueError) as error:
        if isinstance(error, CaptureError):
            raise
        reason = getattr(error, "strerror", None) or str(error)
        raise CaptureError(path, f"cannot be read ({reason})") from error


def _read(file: BinaryIO, path: Path, channel: str) -> Capture:
    parts = blocks(file, path)
    head = next(parts, b"")
    layout = find_layout(head, True, path)
    times, volts_columns = _roles(layout, head[layout.offset :])
    chosen = _chosen(volts_columns, channel, path)
    factor = _volts_factor(chosen, path)
    wanted = (times.place, chosen.place) if times is not None else (chosen.place,)
    table = _table(_from(head[layout.offset :], parts), layout, wanted, path)
    volts = table[:, -1] * factor
    _refuse_wild(volts, layout, path)
    rate, start = _clock(table[:, 0] if times is not None else None, times, layout, path)
    names = tuple(_title(each, number) for number, each in enumerate(volts_columns, start=1))
    number = volts_columns.index(chosen) + 1
    return Capture(path, volts, rate, start, _title(chosen, number), names)


def _from(first: bytes, rest: Iterator[bytes]) -> Iterator[bytes]:
    yield first
    yield from rest


def _roles(layout: Layout, rows: bytes) -> tuple[Column | None, tuple[Column, ...]]:
    """The column of times, or of sample numbers, and the channels."""
    columns = layout.columns
    named = next((each for each in columns if each.is_time), None)
    if named is None:
        named = next((each for each in columns if each.is_count), None)
    if named is None and len(columns) > 1:
        # where nothing says more, the time comes first; beside a stated interval it must run on
        is_time = layout.header.interval_s is None or _runs_on(layout, columns[0], rows)
        named = columns[0] if is_time else None
    others = tuple(each for each in columns if each is not named)
    return (named, others) if others else (None, columns)


def _runs_on(layout: Layout, column: Column, rows: bytes) -> bool:
    """Whether the first numbers of a column are those of a time."""
    import numpy as np

    found = []
    for line in rows.split(b"\n", FEWEST_ROWS)[:FEWEST_ROWS]:
        try:
            found += careful_row(line, layout.form, (column.place,))
        except OddRow:
            return False
    try:
        return sample_interval(np.array(found)) > 0.0
    except OddTime:
        return False


def _title(column: Column, number: int) -> str:
    return column.name or str(number)


def _chosen(columns: tuple[Column, ...], channel: str, path: Path) -> Column:
    wanted = channel.strip().casefold()
    if not wanted:
        return columns[0]
    for number, column in enumerate(columns, start=1):
        if wanted in (column.name.casefold(), str(number)):
            return column
    titles = ", ".join(_title(each, number) for number, each in enumerate(columns, start=1))
    raise CaptureError(path, f"has no channel “{channel}”; it has {titles}")


def _volts_factor(column: Column, path: Path) -> float:
    if not column.unit:
        return 1.0
    factor = column.factor("V")
    if factor is None:
        title = column.name or f"column {column.place + 1}"
        raise CaptureError(path, f"“{title}” is in {column.unit} where volts are expected")
    return factor


def _table(
    parts: Iterator[bytes], layout: Layout, wanted: tuple[int, ...], path: Path
) -> NDArray[np.float64]:
    """The wanted columns of all rows, shape (n, wanted)."""
    import numpy as np

    found: list[NDArray[np.float64]] = []
    line, count = layout.first_line, 0
    for part in parts:
        quick = quick_rows(part, layout.form, wanted) if layout.is_even else None
        rows = quick if quick is not None else _careful(part, layout, wanted, line, path)
        found.append(rows)
        line += part.count(b"\n")
        count += len(rows)
        if count > MOST_SAMPLES:
            reason = f"holds more than {MOST_SAMPLES:,} samples; export a shorter trace"
            raise CaptureError(path, reason)
    return np.concatenate(found)


def _careful(
    part: bytes, layout: Layout, wanted: tuple[int, ...], line: int, path: Path
) -> NDArray[np.float64]:
    """Line by line, blank ones passed over."""
    import numpy as np

    rows: list[list[float]] = []
    for number, text in enumerate(part.split(b"\n")[:-1], start=line):
        if not text.strip():
            continue
        try:
            rows.append(careful_row(text, layout.form, wanted))
        except OddRow as odd:
            raise CaptureError(path, f"this line {odd}", number) from None
    return np.array(rows, dtype=np.float64).reshape(-1, len(wanted))


def _refuse_wild(volts: NDArray[np.float64], layout: Layout, path: Path) -> None:
    import numpy as np

    wild = np.abs(volts) > _MOST_VOLTS
    if wild.any():
        row = int(np.argmax(wild))
        reason = f"{volts[row]:.3g} V is beyond anything on a bench"
        raise CaptureError(path, reason, layout.first_line + row)


def _clock(
    column: NDArray[np.float64] | None, times: Column | None, layout: Layout, path: Path
) -> tuple[float, float]:
    """Samples a second, and the time of the first."""
    interval = layout.header.interval_s
    if times is None or column is None:
        if interval is None:
            reason = "has neither a column of times nor a line with the sample interval"
            raise CaptureError(path, f"{reason}; add one, such as “Sample interval, 1e-6 s”")
        return _rate(interval, path), 0.0
    if times.is_count or (not times.unit and not times.name and counts_samples(column)):
        if interval is None:
            reason = "the first column only counts the samples, and no line says their interval"
            raise CaptureError(path, f"{reason}; add one, such as “Sample interval, 1e-6 s”")
        return _rate(interval, path), 0.0
    factor = times.factor("s") or 1.0
    try:
        step = sample_interval(column)
    except OddTime as odd:
        if odd.row is not None:
            raise CaptureError(path, odd.reason, layout.first_line + odd.row) from None
        comma = "; where a comma is the decimal mark, part the columns by semicolons or tabs"
        hint = comma if layout.form.delimiter == COMMA else ""
        raise CaptureError(path, odd.reason + hint) from None
    return _rate(step * factor, path), float(column[0]) * factor


def _rate(interval_s: float, path: Path) -> float:
    if not 1e-12 <= interval_s <= 3600.0:
        raise CaptureError(path, f"a sample interval of {interval_s:.3g} s is not of this bench")
    return 1.0 / interval_s
