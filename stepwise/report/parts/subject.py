"""Who was tested, and under what conditions."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.bench import Unit
from stepwise.journal import shown_instant
from stepwise.quantities import format_value, with_signs
from stepwise.report.content import Facts, Prose, Section
from stepwise.report.words import joined, shown_span
from stepwise.run import RunView
from stepwise.steps import ClipFields, SquareFields, SweepFields

_RATING_WORDS = {
    "reservoir_rating": "reservoir capacitors rated",
    "minimum_load": "lowest load",
    "maximum_load": "highest load",
    "input_resistance": "input",
    "input_capacitor": "input capacitor",
    "output_capacitor": "output capacitor",
    "sensitivity": "sensitivity",
    "maximum_supply": "highest supply",
    "heatsink_limit": "heatsink at most",
    "reservoir_capacitance": "reservoir capacitors",
}


def subject(view: RunView) -> Section:
    """The unit, the procedure, the people and the times."""
    blocks = [Facts(tuple(_identity(view))), Facts(tuple(_conditions(view)))]
    return Section("subject", "What was tested, and how", (*blocks, Prose(_procedure(view))))


def _identity(view: RunView) -> Iterator[tuple[str, str]]:
    unit = view.run.plan.unit
    yield "Unit", unit.name
    for term, text in (("Serial number", unit.serial), ("Price", unit.price)):
        if text:
            yield term, text
    if unit.channels:
        yield "Channels", joined(unit.channels)
    if unit.ratings:
        yield "Ratings", _ratings(unit)
    if unit.claims:
        yield "Claimed by its seller", "; ".join(_claims(unit))
    if unit.remarks:
        yield "Remarks", unit.remarks


def _ratings(unit: Unit) -> str:
    units = {
        "reservoir_rating": "V", "minimum_load": "ohm", "maximum_load": "ohm",
        "input_resistance": "ohm", "input_capacitor": "F", "output_capacitor": "F",
        "sensitivity": "V", "maximum_supply": "V", "heatsink_limit": "C",
        "reservoir_capacitance": "F",
    }  # fmt: skip
    return "; ".join(
        f"{_RATING_WORDS.get(name, name)} {format_value(value, units[name])}"
        for name, value in unit.ratings.items()
    )


def _claims(unit: Unit) -> Iterator[str]:
    for claim in unit.claims:
        load = f" into {format_value(claim.load, 'ohm')}" if claim.load is not None else ""
        yield f"{format_value(claim.power, 'W')}{load}{claim.at}"


def _conditions(view: RunView) -> Iterator[tuple[str, str]]:
    run, begin = view.run, view.run.state.begin
    yield "Begun", shown_instant(run.state.began_at)
    ended = shown_instant(view.ended_at)
    span = shown_span(run.state.began_at, view.ended_at)
    yield "Ended", f"{ended}, after {span}" if ended else "not ended"
    for term, name in (("Operator", "operator"), ("Episode", "episode")):
        if begin.get(name):
            yield term, str(begin[name])
    yield "Bench", run.plan.bench.name
    loads = [with_signs(load.label) for load in run.plan.scene.loads()]
    if loads:
        yield "Loads used", joined(loads)
    yield from _settings(view)


def _settings(view: RunView) -> Iterator[tuple[str, str]]:
    """How the tone was set, step kind by step kind, as the procedure asks for it."""
    for step in view.run.plan.procedure.steps:
        if isinstance(step, ClipFields):
            yield "Power at", f"{step.tone}, tone on for {step.on_time or 'as long as needed'}"
        elif isinstance(step, SweepFields):
            below = f", {step.below_clip} below clipping" if step.below_clip else ""
            load = f", into {with_signs(step.load)}" if step.load else ""
            yield "Response", f"against {step.reference}{below}{load}"
        elif isinstance(step, SquareFields) and step.level:
            load = f", into {with_signs(step.load)}" if step.load else ""
            yield step.title, f"{step.level} peak-to-peak{load}"


def _procedure(view: RunView) -> str:
    procedure = view.run.plan.procedure
    said = f"By the procedure “{procedure.title}” ({procedure.name}, revision {procedure.revision})"
    return f"{said}. {procedure.summary}".strip()
