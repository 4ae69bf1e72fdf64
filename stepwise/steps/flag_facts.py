"""What flags may know of the unit and the bench: numbers by name, in SI units."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from stepwise.bench import Claim
from stepwise.steps.clip import ClipFields
from stepwise.steps.fields import StepFields
from stepwise.steps.scene import Scene, load_name
from stepwise.steps.sweep_fields import bench_steps


def flag_facts(scene: Scene, steps: Sequence[StepFields] = ()) -> Mapping[str, float]:
    """Ratings, claims, loads, supply and settings by name.

    A load's number stands at the end of its names: `load_8`, `load_rating_8`,
    `claimed_power_8`, `claimed_distortion_8`, and `claimed_when_clipped_8` where that is a claim
    about the power at 10 %. A claim that names no load ends in `any`. `of_bench/` and a step's id
    marks a sweep without an amplifier, `ten_percent/` a clip test that asks for that level,
    `bench_response` that the bench's own response is taken off.
    """
    facts: dict[str, float] = {"bench_response": 1.0} if scene.bench_response is not None else {}
    facts |= scene.facts() | dict(_claims(scene.unit.claims)) | dict(_bench(scene))
    facts |= {f"of_bench/{step}": 1.0 for step in bench_steps(steps)}
    return facts | {f"ten_percent/{step.id}": 1.0 for step in steps if _asks_ten_percent(step)}


def _asks_ten_percent(step: StepFields) -> bool:
    return isinstance(step, ClipFields) and "level_at_ten_percent" in step.also


def _claims(claims: tuple[Claim, ...]) -> Iterator[tuple[str, float]]:
    # The first claim for a load counts, as it does where a claim is looked up.
    for claim in reversed(claims):
        where = load_name(claim.load) if claim.load is not None else "load_any"
        end = where.removeprefix("load")
        yield f"claimed_power{end}", claim.power
        if claim.is_clipped:
            yield f"claimed_when_clipped{end}", 1.0
        if claim.distortion is not None:
            yield f"claimed_distortion{end}", claim.distortion


def _bench(scene: Scene) -> Iterator[tuple[str, float]]:
    bench = scene.bench
    for load in bench.loads:
        if load.rating is not None:
            yield load_name(load.nominal).replace("load", "load_rating"), load.rating
    supply = bench.supply
    if supply.kind == "transformer":
        yield "transformer_windings", float(supply.windings)
        if supply.rating is not None:
            yield "transformer_rating", supply.rating
        if supply.secondary is not None:
            yield "transformer_secondary", supply.secondary
    yield "source_resistance", bench.source_resistance().value
