"""Whether a procedure can be done with a unit on a bench."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.bench import Bench, Meter, Unit, load_label
from stepwise.errors import Problem, did_you_mean
from stepwise.procedure.locate import Lines, Path
from stepwise.procedure.problems import words
from stepwise.procedure.procedure import Procedure
from stepwise.procedure.source import parse_source
from stepwise.quantities import require, same_dimension, spell
from stepwise.steps import KINDS, Scene, SquareFields, StepFields, SweepFields, kind_name


def check_scene(procedure: Procedure, unit: Unit, bench: Bench) -> tuple[Problem, ...]:
    """Find what a procedure needs and this pair of unit and bench does not give.

    A thermometer that the bench lacks is no problem, since the finger is taken too; nor is
    anything that an optional step or only an optional reading needs.

    Returns:
        Problems of the procedure's file, in the order of its steps; empty when all is there.
    """
    scene = Scene(unit, bench)
    found: list[tuple[Path, str, str]] = []
    for index, step in enumerate(procedure.steps):
        if step.optional:
            continue
        at: Path = ("step", index)
        found.extend((at, *each) for each in _meters(step, bench))
        found.extend((at, *each) for each in _loads(step, scene))
    if not found:
        return ()
    lines, data = Lines(procedure.text), parse_source(procedure.text, procedure.path).data
    return tuple(
        Problem(procedure.path, lines.line(at), words(at, data), what, remedy)
        for at, what, remedy in found
    )


def _meters(step: StepFields, bench: Bench) -> Iterator[tuple[str, str]]:
    known = [meter.id for meter in bench.meters]
    told: set[str] = set()
    for needed in KINDS[kind_name(step)].meters(step):
        meter_id, unit = needed.id, needed.unit
        meter = bench.meter(meter_id)
        if meter_id in told:
            continue
        # A thermometer may be a finger, wherever it is asked for.
        if meter is None and not needed.optional and unit != "C":
            told.add(meter_id)
            close = did_you_mean(meter_id, known) if known else ""
            remedy = f'add [[meter]] with id = "{meter_id}" to the bench'
            remedy += f" ({close})" if close else ""
            yield f"needs the meter “{meter_id}”, which “{bench.name}” lacks", remedy
        elif meter is not None and not _reads(meter, unit):
            told.add(meter_id)
            what = f"reads {spell(unit) or 'numbers'} on the meter “{meter_id}”, "
            what += f"which reads {spell(meter.unit)}"
            yield what, "give another meter of the bench that id"


def _reads(meter: Meter, unit: str) -> bool:
    """Whether it can be read there; a current is read as volts across a resistor."""
    return same_dimension(meter.unit, unit) or (meter.unit, unit) == ("V", "A")


def _loads(step: StepFields, scene: Scene) -> Iterator[tuple[str, str]]:
    if "load" in step.repeat and not scene.loads():
        yield (
            f"needs a load, and “{scene.bench.name}” has none that “{scene.unit.name}” bears",
            "add a [[load]] to the bench, or mend minimum_load of the unit",
        )
    if isinstance(step, SweepFields | SquareFields) and step.load is not None:
        label = load_label(require(step.load, "ohm"))
        if scene.bench.load(label) is None:
            what = f"needs a load of {label}, which “{scene.bench.name}” lacks"
            yield what, "add that [[load]] to the bench"
        elif not scene.has_load(label):
            what = f"needs a load of {label}, which “{scene.unit.name}” does not bear"
            yield what, "leave the step out, or mend the ratings of the unit"
