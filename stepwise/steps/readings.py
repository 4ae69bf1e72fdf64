"""`readings`: named readings, each with its meter and limit, and results derived from them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from stepwise.bench import Meter, load_label
from stepwise.errors import NotationError
from stepwise.judge import LimitFields, Result
from stepwise.quantities import (
    Answer,
    Expected,
    Form,
    Uncertain,
    format_value,
    require,
    si_unit,
)
from stepwise.steps.balance import balance_name, check_balance, enter_balance
from stepwise.steps.check import Checker, Path
from stepwise.steps.formula import check_formula, work_out_formula
from stepwise.steps.kind import NeededMeter, Readings, StepKind, holds, pass_settings
from stepwise.steps.known import Known
from stepwise.steps.noise_meter import of_unknown_shape, remark_on_shape
from stepwise.steps.prompt import Pass, Prompt, Reading, Setting
from stepwise.steps.reading_fields import DeriveAsk, ReadingAsk, ReadingsFields
from stepwise.steps.repeat import combine_readings
from stepwise.steps.scene import Scene
from stepwise.steps.work import PassWork


class ReadingsKind(StepKind[ReadingsFields]):
    """Asks for named readings."""

    fields = ReadingsFields

    def check(self, step: ReadingsFields, checker: Checker) -> None:
        """Units, tones, limits, formulas and their dimensions."""
        here: set[str] = set()
        for place, ask in enumerate(step.readings):
            path = ("readings", place)
            known = _unit(ask.unit, (*path, "unit"), checker)
            unit = known or ""
            if ask.name in here:
                checker.add((*path, "name"), f"“{ask.name}” stands twice", "rename one")
            here.add(ask.name)
            checker.positive((*path, "tone"), ask.tone, "Hz")
            checker.positive((*path, "load"), ask.load, "ohm")
            _check_resistor(ask, unit, path, checker)
            checker.names[ask.name] = unit
            checker.limit((*path, "limit"), ask.limit, known)
            check_balance(ask, unit, path, checker)
        for place, derive in enumerate(step.derive):
            path = ("derive", place)
            known = _unit(derive.unit, (*path, "unit"), checker)
            unit = known or ""
            check_formula(derive, unit, (*path, "from"), checker)
            checker.names[derive.name] = unit
            checker.limit((*path, "limit"), derive.limit, known)
            check_balance(derive, unit, path, checker)

    def names(self, step: ReadingsFields) -> dict[str, str]:
        """Everything read and derived."""
        asks: tuple[ReadingAsk | DeriveAsk, ...] = (*step.readings, *step.derive)
        balanced = {balance_name(ask.name): "dB" for ask in asks if ask.balance is not False}
        return {ask.name: _si(ask.unit) for ask in asks} | balanced

    def meters(self, step: ReadingsFields) -> tuple[NeededMeter, ...]:
        """The meters that the readings name."""
        return tuple(
            NeededMeter(ask.meter, _si(ask.unit), optional=ask.optional)
            for ask in step.readings
            if ask.meter
        )

    def prompts(self, step: ReadingsFields, at: Pass, scene: Scene) -> tuple[Prompt, ...]:
        """One prompt for each reading that can be taken here, as often as it is taken."""
        return tuple(
            self._prompt(step, ask, at, scene, look)
            for ask in step.readings
            if ask.load is None or scene.has_load(_load_label(ask.load))
            for look in range(1, ask.times + 1)
        )

    def _prompt(
        self, step: ReadingsFields, ask: ReadingAsk, at: Pass, scene: Scene, look: int
    ) -> Prompt:
        settings = list(pass_settings(at, scene))
        if ask.tone is not None:
            settings.append(Setting("tone", format_value(require(ask.tone, "Hz"), "Hz")))
        if ask.load is not None:
            settings.append(Setting("load", format_value(require(ask.load, "ohm"), "ohm")))
        meter = _meter(ask, scene)
        return Prompt(
            of=at,
            kind="readings",
            point=_look_point(ask, look),
            ask=ask.ask if ask.times == 1 else f"{ask.ask}, {look} of {ask.times}",
            expected=_expected(ask, scene),
            meter=meter.id if meter else "",
            settings=tuple(settings),
            optional=ask.optional or step.optional,
            **holds(step.hold, ask.hold),
            tone=ask.tone is not None,
            tolerance=require(ask.resistor, "%") / 100.0 if ask.resistor else 0.0,
        )

    def limit(self, step: ReadingsFields, at: Pass, point: str) -> tuple[LimitFields | None, str]:
        """The reading's own limit."""
        for ask in step.readings:
            if ask.name == point.partition("/")[0]:
                return ask.limit, _si(ask.unit)
        return None, ""

    def results(
        self, step: ReadingsFields, at: Pass, readings: Readings, known: Known
    ) -> list[Result]:
        """The readings as judged, then what can be derived from those at hand."""
        work = PassWork(at, known, None)
        for ask in step.readings:
            _enter_reading(ask, readings, work)
            enter_balance(ask, work)
        for derive in step.derive:
            work_out_formula(derive, work)
            enter_balance(derive, work)
        return work.results

    def summary(self, step: ReadingsFields) -> str:
        """One plain line."""
        return ", ".join(ask.ask for ask in step.readings)


def _look_point(ask: ReadingAsk, look: int) -> str:
    """The point of one look: the name itself, and name/2, name/3 for those that follow."""
    return ask.name if look == 1 else f"{ask.name}/{look}"


def _enter_reading(ask: ReadingAsk, readings: Readings, work: PassWork) -> None:
    """The reading as judged; where it is taken several times, each look and their mean."""
    looks = [
        reading
        for look in range(1, ask.times + 1)
        if (reading := readings.get(_look_point(ask, look))) is not None
        and reading.measure is not None
    ]
    if not looks:
        return
    read = combine_readings(looks)
    measure = of_unknown_shape(ask.name, read, _meter(ask, work.known.scene), looks[0].key)
    if ask.times == 1:
        work.read(replace(looks[0], measure=measure), ask.name, ask.ask, ask.limit)
    else:
        _enter_mean(ask, looks, measure, work)
    if measure is not read:
        work.remark(remark_on_shape())


def _enter_mean(ask: ReadingAsk, looks: Sequence[Reading], mean: Uncertain, work: PassWork) -> None:
    """Each look without a verdict, then the mean with its own."""
    at, unit = work.at, looks[0].unit
    judgement = work.known.judge(mean, ask.limit, unit, at)
    for reading in looks:
        work.read(reading, f"{ask.name}_look", ask.ask)
    # The last look carries the verdict on the mean, so that a hold waits for that.
    work.rejudge(judgement)
    label = f"{ask.ask}, mean of {len(looks)}"
    basis = tuple(reading.key for reading in looks)
    work.results.append(
        Result(at.step, at.channel, at.load, ask.name, ask.name, mean, unit, label, judgement,
               basis=basis)
    )  # fmt: skip


def _meter(ask: ReadingAsk, scene: Scene) -> Meter | None:
    """The meter that a reading names; for a resistance that names none, the bench's ohmmeter.

    Benches have one way to read resistance, where they may have several to read volts.
    """
    if not ask.meter and _si(ask.unit) == "ohm":
        return scene.bench.ohmmeter()
    return scene.bench.meter(ask.meter)


def _check_resistor(ask: ReadingAsk, unit: str, path: Path, checker: Checker) -> None:
    """A tolerance of the resistor, where a current is read across one."""
    if not ask.resistor:
        return
    if unit != "A" or not ask.meter:
        what = "a resistor stands where a current is read across it with a meter"
        checker.add((*path, "resistor"), what, 'give unit = "mA" and a meter, or leave it out')
    checker.positive((*path, "resistor"), ask.resistor, "%")


def _expected(ask: ReadingAsk, scene: Scene) -> Expected:
    meter = _meter(ask, scene)
    unit = _si(ask.unit)
    if unit == "%":
        return Expected(Answer.SHARE, "%")
    if unit == "dB":
        return Expected(Answer.LEVEL, "dB")
    if unit == "C":
        return Expected(Answer.HEAT, "C", meter=meter.title if meter else "")
    form = meter.form if meter and meter.unit == unit else Form.PLAIN
    ranges = meter.ranges if meter and meter.unit == unit else ()
    title = meter.title if meter else ""
    return Expected(Answer.QUANTITY, ask.unit, form, title, ranges)


def _load_label(text: str) -> str:
    return load_label(require(text, "ohm"))


def _si(unit: str) -> str:
    """SI unit of a unit that was checked when the file was read."""
    return si_unit(unit)


def _unit(unit: str, path: tuple[str | int, ...], checker: Checker) -> str | None:
    """SI unit of a unit as written; reports one that is not known, and gives None."""
    try:
        return si_unit(unit)
    except NotationError as error:
        checker.add(path, f"“{unit}” {error.reason}", f"write for instance {error.nearest or 'V'}")
        return None
