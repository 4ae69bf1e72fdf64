"""`sweep`: the level at a row of frequencies against a reference, and what the row shows."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from stepwise.bench import load_label
from stepwise.judge import LimitFields, Result
from stepwise.quantities import (
    Answer,
    Expected,
    Form,
    Uncertain,
    format_value,
    from_terms,
    require,
)
from stepwise.steps.check import Checker
from stepwise.steps.kind import NeededMeter, Readings, StepKind, holds, pass_settings
from stepwise.steps.known import Known
from stepwise.steps.prompt import Pass, Prompt, Setting
from stepwise.steps.response_results import work_out_response
from stepwise.steps.scene import Scene
from stepwise.steps.sweep_fields import SweepFields
from stepwise.steps.sweep_levels import band_of, level_words, read_levels
from stepwise.steps.work import PassWork

_RATING = "rated input resistance"
_RATING_SPREAD = 0.025
"""Standard uncertainty of a rated input resistance [1]: good to 5 %, as most resistors and what
stands beside them are (common practice, no source)."""


class Sweep(StepKind[SweepFields]):
    """Asks for the reference, then the level at each frequency."""

    fields = SweepFields
    result_units: ClassVar[Mapping[str, str]] = {
        "level_db": "dB",
        "minus_1db_low": "Hz",
        "minus_3db_low": "Hz",
        "minus_1db_high": "Hz",
        "minus_3db_high": "Hz",
        "corner_low": "Hz",
        "corner_high": "Hz",
        "order_low": "",
        "order_high": "",
        "q_low": "",
        "q_high": "",
        "slope_low": "dB/octave",
        "slope_high": "dB/octave",
        "peak_db": "dB",
        "peak_frequency": "Hz",
        "coupling_capacitance": "F",
        "cure_capacitance": "F",
        "outlier": "dB",
        "flatness": "dB",
        "reference_drift": "dB",
    }

    def check(self, step: SweepFields, checker: Checker) -> None:
        """Frequencies, band, level, limits."""
        self._check_points(step, checker)
        checker.positive(("reference",), step.reference, "Hz")
        below = checker.quantity(("below_clip",), step.below_clip, "dB")
        if below is not None and below < 0.0:
            what = f"“{step.below_clip}” below clipping is above it"
            checker.add(("below_clip",), what, "give it without the sign")
        checker.positive(("load",), step.load, "ohm")
        if step.band is not None:
            low = checker.positive(("band", 0), step.band[0], "Hz")
            high = checker.positive(("band", 1), step.band[1], "Hz")
            if low is not None and high is not None and low >= high:
                checker.add(("band",), "the first frequency is not the lower", "swap the two")
        if step.limits is not None:
            checker.limits(step.limits, self.result_units)
            for name in ("level_db", "flatness"):
                if getattr(step.limits, name) is not None and step.band is None:
                    checker.add(
                        ("limits", name), "needs a band", 'write band = ["20 Hz", "20 kHz"]'
                    )

    def _check_points(self, step: SweepFields, checker: Checker) -> None:
        seen: set[float] = set()
        for place, text in enumerate(step.points):
            hertz = checker.positive(("points", place), text, "Hz")
            if hertz is None:
                continue
            if hertz in seen:
                checker.add(("points", place), f"“{text}” stands twice", "leave one out")
            seen.add(hertz)

    def names(self, step: SweepFields) -> dict[str, str]:
        """The reference and all results that are one for the sweep."""
        each_point = ("level_db", "outlier")
        units = {name: unit for name, unit in self.result_units.items() if name not in each_point}
        return {"reference": "V"} | units

    def meters(self, step: SweepFields) -> tuple[NeededMeter, ...]:
        """The AC meter."""
        return (NeededMeter(step.meter, "V"),)

    def prompts(self, step: SweepFields, at: Pass, scene: Scene) -> tuple[Prompt, ...]:
        """Reference in volts, each frequency in dB or volts, the reference again."""
        row = [self._level_prompt(step, at, scene, text) for text in step.points]
        first = self._volts_prompt(step, at, scene, "reference", "Reference level")
        if not step.reference_again:
            return (first, *row)
        again = self._volts_prompt(step, at, scene, "reference_again", "Reference level once more")
        return (first, *row, again)

    def _volts_prompt(
        self, step: SweepFields, at: Pass, scene: Scene, point: str, ask: str
    ) -> Prompt:
        meter = scene.bench.meter(step.meter)
        expected = Expected(
            Answer.QUANTITY, "V", Form.RMS, meter.title if meter else "",
            meter.ranges if meter else (),
        )  # fmt: skip
        return self._prompt(step, at, scene, (point, ask, step.reference), expected)

    def _level_prompt(self, step: SweepFields, at: Pass, scene: Scene, text: str) -> Prompt:
        meter = scene.bench.meter(step.meter)
        hertz = require(text, "Hz")
        words = level_words(step, hertz, scene)
        expected = Expected(
            Answer.LEVEL, "dB", Form.PLAIN, meter.title if meter else "",
            meter.ranges if meter else (),
        )  # fmt: skip
        return self._prompt(step, at, scene, (text, words, text), expected)

    def _prompt(
        self, step: SweepFields, at: Pass, scene: Scene, what: tuple[str, str, str],
        expected: Expected,
    ) -> Prompt:  # fmt: skip
        point, ask, tone = what
        settings = [*pass_settings(at, scene)]
        if step.load is not None:
            settings.append(Setting("load", format_value(require(step.load, "ohm"), "ohm")))
        settings.append(Setting("tone", f"{format_value(require(tone, 'Hz'), 'Hz')} sine"))
        return Prompt(
            of=at,
            kind="sweep",
            point=point,
            ask=ask,
            expected=expected,
            meter=step.meter,
            settings=tuple(settings),
            optional=step.optional,
            **holds(step.hold),
            tone=True,
        )

    def limit(self, step: SweepFields, at: Pass, point: str) -> tuple[LimitFields | None, str]:
        """The limit on the level, within the band."""
        edges = band_of(step)
        if point not in step.points or edges is None:
            return None, "dB"
        inside = edges[0] <= require(point, "Hz") <= edges[1]
        return (getattr(step.limits, "level_db", None) if inside else None), "dB"

    def results(
        self, step: SweepFields, at: Pass, readings: Readings, known: Known
    ) -> list[Result]:
        """Levels judged within the band, and what the whole row shows."""
        work = PassWork(at, known, step.limits)
        reference = readings.get("reference")
        if reference is not None and reference.measure is not None:
            work.read(reference, "reference", "Reference level")
        response = read_levels(step, readings, work)
        if response.points:
            work_out_response(response, work, _input_resistance(known), step.series)
        self._drift(readings, work)
        return work.results

    def _drift(self, readings: Readings, work: PassWork) -> None:
        from stepwise.science import voltage_ratio_db

        first, again = readings.get("reference"), readings.get("reference_again")
        if again is None or again.measure is None:
            return
        work.read(again, "reference_again", "Reference level once more")
        if first is not None and first.measure is not None:
            work.compute(
                "reference_drift", "Drift of the reference", "dB", voltage_ratio_db,
                (again.measure, again.key), (first.measure, first.key),
            )  # fmt: skip

    def guidance(self, step: SweepFields, at: Pass, known: Known) -> tuple[Setting, ...]:
        """The level to sweep at, from the clean level of this channel."""
        if step.below_clip is None:
            return ()
        clean = _clean_level(step, at, known)
        below = require(step.below_clip, "dB")
        if clean is None:
            return (Setting("level", f"{step.below_clip} below clipping"),)
        volts = clean.value * 10.0 ** (-below / 20.0)
        return (
            Setting("level", f"about {format_value(volts, 'V', digits=2)} RMS at {step.reference}"),
        )

    def summary(self, step: SweepFields) -> str:
        """One plain line."""
        return f"{len(step.points)} frequencies against {step.reference}"


def _clean_level(step: SweepFields, at: Pass, known: Known) -> Result | None:
    """The clean level into the sweep's load, else the lowest into any load of this channel."""
    levels = [
        result
        for result in known.by_name.get("level", ())
        if result.channel in (None, at.channel) and result.step != at.step
    ]
    if step.load is not None:
        wanted = load_label(require(step.load, "ohm"))
        levels = [result for result in levels if result.load == wanted] or levels
    return min(levels, key=lambda result: result.value, default=None)


def _input_resistance(known: Known) -> Uncertain | None:
    """What the coupling capacitor works into: the unit's input plus the oscillator's source."""
    rated = known.scene.unit.ratings.get("input_resistance")
    if rated is None:
        return None
    source = known.scene.bench.source_resistance()
    terms = [*source.terms.items(), (_RATING, _RATING_SPREAD * rated)]
    return from_terms(rated + source.value, terms)
