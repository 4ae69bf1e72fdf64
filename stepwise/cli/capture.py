"""`stepwise capture`: what a trace of an oscilloscope shows, with uncertainty."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from stepwise.captures import Capture, Figure
    from stepwise.science import Harmonic


def carry_out(arguments: Namespace) -> int:
    """Read, analyse, print; draw where that is asked for."""
    from stepwise.captures import capture_record, read_capture

    scales = _scales(arguments.bench)
    capture = read_capture(Path(arguments.file), arguments.channel)
    picture = Path(arguments.picture) if arguments.picture is not None else None
    figures, harmonics, notes = _analysed(capture, arguments.taken_as, scales, picture)
    if arguments.json:
        import json

        record = capture_record(capture, arguments.taken_as, figures, harmonics, notes)
        print(json.dumps(record, ensure_ascii=False, allow_nan=False, indent=1))
        return 0
    _print(capture, figures, harmonics, (*notes, _worth(arguments.bench is not None)))
    if picture is not None:
        from stepwise.safe_text import plain

        print(plain(f"Drawn in {picture}"))
    return 0


def _analysed(
    capture: Capture, taken_as: str, scales: float, picture: Path | None
) -> tuple[tuple[Figure, ...], tuple[Harmonic, ...], tuple[str, ...]]:
    from stepwise.captures import (
        edge_notes,
        limit_notes,
        picture_sine,
        picture_square,
        sine_analysis,
        sine_figures,
        sine_notes,
        square_analysis,
        square_figures,
    )

    if taken_as == "square":
        square = square_analysis(capture)
        if picture is not None:
            picture_square(capture, square, picture)
        notes = (*limit_notes(square.off_screen), *edge_notes(square))
        return square_figures(square, scales), (), notes
    sine = sine_analysis(capture)
    if picture is not None:
        picture_sine(capture, sine, picture)
    off = sine.off_screen
    harmonics = () if off and off.is_sure else sine.harmonics
    return sine_figures(sine, scales), harmonics, (*limit_notes(off), *sine_notes(sine))


def _scales(bench: str | None) -> float:
    """Limit of error of the oscilloscope's scales, share of a reading."""
    if bench is None:
        return 0.0
    from stepwise.bench import stated_scales
    from stepwise.errors import StepwiseError
    from stepwise.procedure import find_bench, read_bench

    scales = stated_scales(read_bench(find_bench(bench)))
    if scales is None:
        raise StepwiseError(f"--bench {bench}: this bench has no oscilloscope")
    return scales


def _print(
    capture: Capture,
    figures: Sequence[Figure],
    harmonics: Sequence[Harmonic],
    notes: Sequence[str],
) -> None:
    from stepwise.captures import harmonic_share
    from stepwise.quantities import format_number, format_uncertain, format_value
    from stepwise.report import hanging
    from stepwise.safe_text import plain

    rate = format_value(capture.sample_hertz, "Hz")
    samples = format_number(capture.volts.size)
    said = f"{capture.path.name}, channel {capture.channel}: {samples} samples at {rate}"
    for line in hanging(plain(said)):
        print(line)
    others = ", ".join(name for name in capture.channels if name != capture.channel)
    if others:
        for line in hanging(plain(f"Other channels: {others}"), "", "  "):
            print(line)
    width = max(len(figure.label) for figure in figures)
    for figure in figures:
        shown = format_uncertain(figure.measure, figure.unit)
        least = "at least " if figure.is_at_least else ""
        print(f"  {figure.label:<{width}}  {least}{shown}")
    if harmonics:
        print("  Harmonics")
        for each in harmonics:
            level = format_value(each.rms_volts, "V", digits=3)
            share = "100 %" if each.order == 1 else format_uncertain(harmonic_share(each), "%")
            print(f"  {each.order:>4}  {format_value(each.hertz, 'Hz'):>10}  {level:>10}  {share}")
    for note in notes:
        for line in hanging(note, "  ", "  "):
            print(line)


def _worth(has_scales: bool) -> str:
    scales = "with" if has_scales else "without"
    return (
        "± is about 95 %: from noise, sample interval and converter steps, "
        f"{scales} the error of the oscilloscope's scales"
    )
