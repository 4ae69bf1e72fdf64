"""What can be read of a meter, and cannot or can hardly be meant."""

from __future__ import annotations

from stepwise.bench import Bench, Meter
from stepwise.procedure.locate import Path
from stepwise.procedure.models import MeterFields
from stepwise.procedure.problems import Problems
from stepwise.procedure.toml_text import share_text

_NO_METER = 0.5
"""Share from which no instrument is off: common practice, no source."""
_POOR = 0.2
"""Share from which it is asked whether that is meant: common practice, no source."""


def doubt_meter(fields: MeterFields, meter: Meter, at: Path, out: Problems) -> None:
    """Report what no instrument is.

    Args:
        fields: Its table.
        meter: The same, read.
        at: Place of the table in the file.
        out: Takes the problems.
    """
    if meter.unit == "dB":
        what = f"“{fields.reads}” is no unit that an instrument reads: a level is a ratio"
        remedy = "write what its scale is in, such as V rms; decibel_step is for its dB scale"
        out.add((*at, "reads"), what, remedy)
    if _share(meter) >= _NO_METER:
        what = f"“{fields.accuracy}” is more than any meter is off by"
        remedy = "write what its maker states, such as 3 % of full scale, or 0.5 % + 2 digits"
        out.add((*at, "accuracy"), what, remedy)


def questions_on(bench: Bench) -> tuple[str, ...]:
    """What is to be asked about a bench in which nothing is surely wrong."""
    return tuple(
        f"meter “{meter.id}” may be off by {share_text(_share(meter))} of {_of_what(meter)}: is "
        "that meant?"
        for meter in bench.meters
        if _share(meter) >= _POOR
    )


def _share(meter: Meter) -> float:
    return max(meter.accuracy.of_scale, meter.accuracy.of_reading)


def _of_what(meter: Meter) -> str:
    accuracy = meter.accuracy
    return "full scale" if accuracy.of_scale > accuracy.of_reading else "reading"
