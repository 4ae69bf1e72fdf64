"""Traces of an oscilloscope, as files: square waves and a clipped sine at 1 and 10 kHz."""

from __future__ import annotations

import math
from pathlib import Path

_ROWS = 2100


def write_waves(folder: Path) -> tuple[Path, ...]:
    """Write them; the same every time."""
    return tuple(
        _write(folder / f"{name} {hertz}.csv", hertz, [wave(n / 500.0) for n in range(_ROWS)])
        for hertz in (1_000, 10_000)
        for name, wave in (("square", _square), ("sine", _sine))
    )


def _square(turns: float) -> float:
    """Edges of a fiftieth of a period, tops that ring a little and sag."""
    at = (turns + 0.2) % 0.5
    sign = 1.0 if (turns + 0.2) % 1.0 < 0.5 else -1.0
    if at < 0.02:
        return sign * (500.0 * at - 5.0)
    since = at - 0.02
    return sign * (5.0 - 0.4 * since + 0.6 * math.exp(-30.0 * since) * math.sin(90.0 * since))


def _sine(turns: float) -> float:
    return 20.0 * max(-1.0, min(1.0, 1.2 * math.sin(2.0 * math.pi * turns)))


def _write(path: Path, hertz: float, volts: list[float]) -> Path:
    rows = (f"{n / (500.0 * hertz):.10f},{v:.3f}\n" for n, v in enumerate(volts))
    path.write_text("s,V\n" + "".join(rows), encoding="utf-8")
    return path
