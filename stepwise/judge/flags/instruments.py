"""The bench itself: loads, zeros, flatness, and how well a scale was used."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.sure import surely_above
from stepwise.judge.flags.sweep_points import point_hertz
from stepwise.judge.verdict import Verdict
from stepwise.quantities import format_value, with_signs

_LOW = 1.0 / 3.0
"""Share of full scale below which a lower range is better: a class of 3 % is 9 % of the reading
there. Read in the upper third where that can be had (common practice, no source)."""
_REST = 2.0 / 30.0
"""Share of the scale at which a pointer may rest with shorted leads [1]: two divisions of 30. Its
screw sets it to a quarter of one; the rest is what the leads catch on the lowest range. Common
practice, no source."""
_OVER = 0.02
"""Share of full scale that a pointer reads beyond its last mark [1]: common practice, no source."""
_ZEROS = ("ac_zero", "dc_zero")
_LOADS = ("resistance_8", "resistance_4", "resistance_2", "resistance_16")


def find(findings: Findings) -> Iterator[Flag]:
    """Loads beyond their rating or off their mark, zeros, flatness, low pointers."""
    yield from _over_rating(findings)
    for name in _LOADS:
        for load in findings.named(name):
            if load.judgement.verdict is Verdict.OUT_OF_SPEC:
                yield _off_mark(load)
    for name in _ZEROS:
        for zero in findings.named(name):
            rests_off = zero.deflection is not None and zero.deflection > _REST
            if zero.judgement.verdict is Verdict.OUT_OF_SPEC or rests_off:
                yield _zero(zero)
    yield from _not_flat(findings)
    yield from _low_on_scale(findings)
    yield from _beyond_range(findings)


def _over_rating(findings: Findings) -> Iterator[Flag]:
    worst: dict[tuple[str, str], Result] = {}
    for power in (*findings.named("power"), *findings.named("power_at_ten_percent")):
        if power.load is None:
            continue
        rating = _rating(power, findings)
        place = (power.step, power.load)
        if rating is None or not surely_above(power.measure, rating):
            continue
        if place not in worst or power.value > worst[place].value:
            worst[place] = power
    for power in worst.values():
        yield Flag(
            name="load-over-rating",
            severity=Severity.LOOK,
            step=power.step,
            channel=None,
            load=power.load,
            says=f"The {with_signs(power.load)} load is given "
            f"{evidence.shown(power)}, more than it is rated for.",
            evidence=(
                evidence.here(power),
                evidence.of_value("Rating of the load", _rating(power, findings) or 0.0, "W"),
            ),
            likely=(
                "The board gives more than this load was bought for",
                "The level was read on the wrong range",
            ),
            next_try="Seconds only, and let the load cool before it is touched: hot it has another "
            "resistance. Then read it with the ohmmeter.",
            keys=power.basis,
        )


def _rating(power: Result, findings: Findings) -> float | None:
    end = (power.load or "").split()[0].replace(".", "_")
    return findings.facts.get(f"load_rating_{end}")


def _off_mark(load: Result) -> Flag:
    return Flag(
        name="load-off-mark",
        severity=Severity.LOOK,
        step=load.step,
        channel=load.channel,
        load=load.load,
        says=f"The {load.label} has {evidence.shown(load)}: every watt into "
        "it would be off by as much.",
        evidence=(evidence.of(load), *evidence.limit_of(load)),
        likely=(
            "The resistance of the leads was not taken off, or a contact is poor",
            "The two loads were changed over",
            "The load was overheated once, or is still hot",
        ),
        next_try="Let it cool, clean the contacts, read it again, and write what it is into the "
        "bench file.",
        keys=load.basis,
    )


def _zero(zero: Result) -> Flag:
    # A digital display has no screw; what has a scale tells its share of it.
    by_pointer = zero.deflection is not None or zero.name == "ac_zero"
    return Flag(
        name="meter-zero-off",
        severity=Severity.LOOK,
        step=zero.step,
        channel=zero.channel,
        load=zero.load,
        says=f"{evidence.shown(zero)} is shown with the leads shorted: it adds "
        "to every reading, to low ones most.",
        evidence=(
            evidence.of(zero),
            *evidence.limit_of(zero),
            *(
                [evidence.of_value("Share of the scale", 100.0 * zero.deflection, "%")]
                if zero.deflection is not None
                else []
            ),
        ),
        likely=("The pointer's zero was not set with its screw", *_ZERO_CAUSES)
        if by_pointer
        else _ZERO_CAUSES,
        next_try="Set the zero with the meter off, short the tips once more, and read again."
        if by_pointer
        else "Short the tips once more, leads away from the mains, and read again; then set the "
        "meter's own zero, or try a fresh battery.",
        keys=zero.basis,
    )


_ZERO_CAUSES = (
    "The leads catch hum, or are not shorted at their tips",
    "The battery of the meter is low",
)


def _not_flat(findings: Findings) -> Iterator[Flag]:
    worst: dict[tuple[str, str | None], Result] = {}
    for level in findings.named("level_db"):
        place = (level.step, level.channel)
        is_out = level.judgement.verdict is Verdict.OUT_OF_SPEC
        if not (is_out and findings.is_of_bench(level.step)):
            continue
        if place not in worst or abs(level.value) > abs(worst[place].value):
            worst[place] = level
    for level in worst.values():
        hertz = point_hertz(level) or 0.0
        yield Flag(
            name="bench-not-flat",
            severity=Severity.WRONG,
            step=level.step,
            channel=level.channel,
            load=level.load,
            says=f"Oscillator and meter alone are off by "
            f"{evidence.shown(level)} at {format_value(hertz, 'Hz')}: it "
            "would be blamed on every board.",
            evidence=(evidence.of(level), *evidence.limit_of(level)),
            likely=(
                "The meter's bandwidth ends there"
                if hertz > 1000.0
                else "The oscillator falls away at its lowest frequencies",
                "The oscillator's level moves with the range switch",
                "That point was read on another range",
            ),
            next_try="Take that point again. If it stays, hand this log to the next run as the "
            "bench's own response, so that it is taken off.",
            keys=level.basis,
        )


def _low_on_scale(findings: Findings) -> Iterator[Flag]:
    """Once for a step: where a lower range would have told more, and by how much."""
    by_step: dict[str, list[Result]] = {}
    for result in findings.results:
        if (
            result.deflection is not None
            and result.better_range is not None
            and 0.0 < result.deflection < _LOW
        ):
            by_step.setdefault(result.step, []).append(result)
    for step, low in by_step.items():
        worst = min(low, key=lambda result: result.deflection or 0.0)
        share = 100.0 * (worst.deflection or 0.0)
        yield Flag(
            name="meter-low-on-scale",
            severity=Severity.NOTE,
            step=step,
            channel=None,
            load=None,
            says=f"The pointer stood at {format_value(share, '%', digits=2)} of its scale; the "
            f"range of {format_value(worst.better_range or 0.0, 'V')} would have told more.",
            evidence=tuple(map(evidence.here, low[:4])),
            likely=("The range was left where the last reading needed it",),
            next_try="Go down until the pointer stands in the upper third, and take it again.",
            keys=evidence.keys_of(worst, *low),
        )


def _beyond_range(findings: Findings) -> Iterator[Flag]:
    """Once for a run: readings that need an attenuator which nobody named."""
    beyond = [
        result
        for result in findings.results
        if result.deflection is not None and result.deflection > 1.0 + _OVER
    ]
    if not beyond:
        return
    worst = max(beyond, key=lambda result: result.deflection or 0.0)
    # A level is printed in decibels; what the pointer could not show were its volts.
    shown = f"“{worst.label}”" if worst.unit == "dB" else evidence.shown(worst)
    yield Flag(
        name="meter-beyond-range",
        severity=Severity.NOTE,
        step=beyond[0].step,
        channel=None,
        load=None,
        says=f"{shown} is more than the highest range of its meter shows; an attenuator or probe "
        "of x10 is assumed.",
        evidence=(
            *map(evidence.here, beyond[:4]),
            evidence.of_value("Of the highest range", 100.0 * (worst.deflection or 0.0), "%"),
        ),
        likely=(
            "It was read through an attenuator or probe, or on another meter",
            "A slip of ten, or peak-to-peak volts typed as RMS",
        ),
        next_try="Say how it was read, such as “2.0 on 3 x10”, or name that meter in the bench "
        "file.",
        keys=evidence.keys_of(worst, *beyond),
    )
