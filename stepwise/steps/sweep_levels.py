"""The levels of a sweep: read, freed of the bench's own response, and named."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from stepwise.quantities import Uncertain, format_value, propagate, require
from stepwise.steps.kind import Readings
from stepwise.steps.prompt import Reading
from stepwise.steps.response import LevelPoint, Response, weighted
from stepwise.steps.scene import Scene
from stepwise.steps.sweep_fields import SweepFields
from stepwise.steps.work import PassWork


def read_levels(step: SweepFields, readings: Readings, work: PassWork) -> Response:
    """Enter each level, less what the bench did to it, judged within the band."""
    edges, reference = band_of(step), readings.get("reference")
    points: list[LevelPoint] = []
    awaited: list[float] = []
    for text in step.points:
        reading, hertz = readings.get(text), require(text, "Hz")
        if reading is None:
            awaited.append(hertz)
        shown = _against(reading, reference) if reading is not None else None
        if reading is None or shown is None:
            continue
        inside = edges is not None and edges[0] <= hertz <= edges[1]
        limit = work.limit_fields("level_db") if inside else None
        own = _of_bench(step, hertz, work.known.scene)
        measure = shown
        if own is not None:
            measure = weighted(measure.value - own.value, ((1.0, measure), (-1.0, own)))
        level = work.read(
            replace(reading, measure=measure),
            "level_db",
            level_words(step, hertz, work.known.scene),
            limit,
        )
        points.append(LevelPoint(hertz, level, reading.key, text, shown.value))
    return Response(
        tuple(sorted(points, key=lambda point: point.hertz)),
        require(step.reference, "Hz"),
        edges,
        tuple(awaited),
    )


def _against(reading: Reading, reference: Reading | None) -> Uncertain | None:
    """A level as it stands to the reference in force [dB].

    One typed in volts is worked out from both readings: the reference may have been taken again
    since, and may have been read on another range than the one its volts would suggest.
    """
    from stepwise.science import voltage_ratio_db

    zero = reference.measure if reference is not None else None
    if reading.volts is None or zero is None or not zero.value > 0.0:
        return reading.measure
    return propagate(voltage_ratio_db, reading.volts, zero)


def band_of(step: SweepFields) -> tuple[float, float] | None:
    """Edges of the band [Hz], where the step states one."""
    if step.band is None:
        return None
    return require(step.band[0], "Hz"), require(step.band[1], "Hz")


def _of_bench(step: SweepFields, hertz: float, scene: Scene) -> Uncertain | None:
    """The bench's own level at a frequency [dB], where it is known and counts."""
    if step.of_bench or scene.bench_response is None:
        return None
    return scene.bench_response.at(hertz, require(step.reference, "Hz"))


@lru_cache(maxsize=256)  # the same few frequencies are worded again with each level of a row
def _words_at(hertz: float) -> str:
    return f"Level at {format_value(hertz, 'Hz')}"


def level_words(step: SweepFields, hertz: float, scene: Scene) -> str:
    """What a level is called, and what was taken off it."""
    words = _words_at(hertz)
    if step.of_bench or scene.bench_response is None:
        return words
    own = _of_bench(step, hertz, scene)
    if own is None:
        return f"{words}, the bench not read there"
    return f"{words} less the bench's {round(own.value, 2) + 0.0:.2f} dB"
