"""The bench, and how far each of its instruments may be off."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.bench import Bench, Detector, Meter, MeterType
from stepwise.quantities import format_number, format_uncertain, format_value
from stepwise.report.content import Block, Cell, Facts, Prose, Section, Table
from stepwise.run import RunView
from stepwise.steps import BenchResponse


def bench(view: RunView) -> Section:
    """Instruments, loads, source and supply."""
    found = view.run.plan.bench
    blocks: list[Block] = []
    if found.meters:
        blocks.append(_meters(found))
    if found.loads:
        blocks.append(_loads(found))
    blocks.append(Facts(tuple(_sources(found))))
    own = view.run.plan.scene.bench_response
    if own is not None:
        blocks.append(_own_response(own))
    blocks.append(Prose(_how_counted()))
    return Section("bench", "The bench and its accuracy", tuple(blocks))


def _meters(found: Bench) -> Table:
    rows = tuple(
        (
            Cell(meter.title),
            Cell(_kind(meter)),
            Cell(accuracy_text(meter)),
            Cell(_resolution(meter)),
        )
        for meter in found.meters
    )
    heads = ("Instrument", "Kind", "Limit of error", "Read to")
    return Table("Instruments, with their limits of error as stated", heads, rows)


def _kind(meter: Meter) -> str:
    reads = format_value(1.0, meter.unit).partition(" ")[2]
    detector = ", average-responding" if meter.detector is Detector.AVERAGE else ""
    form = f" {meter.form}" if meter.form else ""
    return f"{meter.type.value}, {reads}{form}{detector}"


def accuracy_text(meter: Meter) -> str:
    """The limit of error in the words of a data sheet."""
    accuracy = meter.accuracy
    parts = []
    if accuracy.of_scale:
        parts.append(f"{format_number(accuracy.of_scale * 100.0)} % of full scale")
    if accuracy.of_reading:
        parts.append(f"{format_number(accuracy.of_reading * 100.0)} % of reading")
    if accuracy.digits:
        parts.append(f"{format_number(accuracy.digits)} digit{'' if accuracy.digits == 1 else 's'}")
    if accuracy.amount:
        parts.append(format_value(accuracy.amount, meter.unit))
    return "± (" + " + ".join(parts) + ")" if len(parts) > 1 else f"± {parts[0]}" if parts else ""


def _resolution(meter: Meter) -> str:
    if meter.resolution is not None:
        share = f"1/{format_number(1.0 / meter.resolution.share_of_division)} division"
        of = meter.resolution.divisions
        return f"{share} of {format_number(of)}" if of else share
    if meter.type is MeterType.DIGITAL:
        return f"{meter.counts} counts" if meter.counts else "the last digit"
    return ""


def _loads(found: Bench) -> Table:
    rows = tuple(
        (
            Cell(load.title),
            Cell(format_value(load.measured, "ohm"), is_figure=True),
            Cell(f"± {format_number(load.relative_uncertainty * 100.0)} %", is_figure=True),
            Cell(format_value(load.rating, "W") if load.rating else "", is_figure=True),
        )
        for load in found.loads
    )
    heads = ("Load", "Measured", "May be off by", "Bears")
    return Table("Dummy loads", heads, rows, frozenset({1, 2, 3}))


def _sources(found: Bench) -> Iterator[tuple[str, str]]:
    if found.oscillator.source_resistance:
        resistance = format_value(found.oscillator.source_resistance, "ohm")
        off = found.oscillator.relative_uncertainty
        share = f" ± {format_number(off * 100.0)} %" if off else ""
        yield "Oscillator", f"source resistance {resistance}{share}"
    supply = found.supply
    parts = [supply.kind]
    if supply.secondary:
        windings = f"{supply.windings} × " if supply.windings > 1 else ""
        parts.append(f"{windings}{format_value(supply.secondary, 'V')}")
    if supply.rating:
        parts.append(format_value(supply.rating, "VA"))
    parts.append(f"mains {format_value(supply.mains_hertz, 'Hz')}")
    yield "Supply", ", ".join(parts)


def _own_response(own: BenchResponse) -> Table:
    rows = tuple(
        (Cell(format_value(hertz, "Hz")), Cell(format_uncertain(level, "dB"), is_figure=True))
        for hertz, level in own.levels
    )
    caption = f"The bench's own response, taken off every sweep; read in the log {own.log}"
    return Table(caption, ("Frequency", "Level"), rows, frozenset({1}))


def _how_counted() -> str:
    return (
        "Every ± in this report is an expanded uncertainty, which holds the true value in about "
        "95 cases of 100. It is built from these limits of error, taken as rectangular, and from "
        "how finely a scale can be read; its factor k follows from their shape, from 1.65 where "
        "one of them outweighs all else to 2 where many add. What two readings share cancels in "
        "their ratio. A result is in spec when it lies inside its limit with a probability "
        "of 95 % or more, out of spec from 5 % down, and too close to call between."
    )
