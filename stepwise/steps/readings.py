"""`readings`: named readings, each with its meter and limit, and results derived from them."""

from __future__ import annotations

from typing import Annotated

import msgspec

from stepwise.bench import load_label
from stepwise.errors import DimensionError, NotationError
from stepwise.judge import LimitFields, Result
from stepwise.quantities import (
    Answer,
    Expected,
    Form,
    Uncertain,
    check_dimension,
    compile_expression,
    exact,
    format_value,
    require,
    si_unit,
)
from stepwise.steps.check import Checker
from stepwise.steps.fields import FrequencyText, IdText, LoadText, NameText, StepFields
from stepwise.steps.kind import Readings, StepKind, holds, pass_settings
from stepwise.steps.known import Known
from stepwise.steps.prompt import Pass, Prompt, Setting
from stepwise.steps.scene import Scene, load_name
from stepwise.steps.work import PassWork


class ReadingAsk(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One thing to read."""

    name: NameText
    ask: Annotated[str, msgspec.Meta(min_length=1)]
    unit: str
    """Unit taken when none is typed: "V", "mV", "mA", "ohm"."""
    meter: str = ""
    """Id of the bench's meter; empty where the value is not read from one."""
    limit: LimitFields | None = None
    hold: bool | tuple[IdText, ...] = False
    """True: nothing later opens unless this is in spec. A list: only the steps named."""
    optional: bool = False
    load: LoadText | None = None
    """Load to be connected; not asked where the bench lacks it or the unit cannot bear it."""
    tone: FrequencyText | None = None
    """Tone that is on while this is read."""


class DeriveAsk(
    msgspec.Struct,
    frozen=True,
    kw_only=True,
    forbid_unknown_fields=True,
    rename={"formula": "from"},
):
    """One thing to work out from readings."""

    name: NameText
    unit: str
    formula: str
    """Arithmetic on names: + - * / **, parentheses, sqrt abs log10 min max."""
    label: str = ""
    limit: LimitFields | None = None


class ReadingsFields(StepFields, frozen=True, kw_only=True, tag="readings"):
    """Named readings and what follows from them."""

    readings: Annotated[tuple[ReadingAsk, ...], msgspec.Meta(min_length=1)]
    derive: tuple[DeriveAsk, ...] = ()


class ReadingsKind(StepKind[ReadingsFields]):
    """Asks for named readings."""

    fields = ReadingsFields

    def check(self, step: ReadingsFields, checker: Checker) -> None:
        """Units, tones, limits, formulas and their dimensions."""
        here: dict[str, str] = {}
        for place, ask in enumerate(step.readings):
            path = ("readings", place)
            unit = _unit(ask.unit, (*path, "unit"), checker)
            if ask.name in here:
                checker.add((*path, "name"), f"“{ask.name}” stands twice", "rename one")
            here[ask.name] = unit
            checker.quantity((*path, "tone"), ask.tone, "Hz")
            checker.quantity((*path, "load"), ask.load, "ohm")
            checker.names[ask.name] = unit
            checker.limit((*path, "limit"), ask.limit, unit)
        for place, derive in enumerate(step.derive):
            self._check_derive(derive, ("derive", place), checker)

    def _check_derive(
        self, derive: DeriveAsk, path: tuple[str | int, ...], checker: Checker
    ) -> None:
        unit = _unit(derive.unit, (*path, "unit"), checker)
        try:
            expression = compile_expression(derive.formula)
        except NotationError as error:
            hint = f"write for instance {error.nearest}" if error.nearest else ""
            checker.add((*path, "from"), f"“{derive.formula}” {error.reason}", hint)
            return
        unknown = False
        names = dict(checker.names)
        for name in sorted(expression.names):
            if name.startswith("load_") and name not in names:
                names[name] = "ohm"
            elif name not in names:
                unknown = True
                checker.add(
                    (*path, "from"),
                    f"nothing is called “{name}”",
                    f"readings of this step: {', '.join(sorted(checker.names))}",
                )
        if not unknown:
            try:
                check_dimension(expression, names, unit)
            except DimensionError as error:
                checker.add(
                    (*path, "from"), f"gives {error.got}", f"it should give {error.expected}"
                )
        checker.names[derive.name] = unit
        checker.limit((*path, "limit"), derive.limit, unit)

    def names(self, step: ReadingsFields) -> dict[str, str]:
        """Everything read and derived."""
        units = {ask.name: _si(ask.unit) for ask in step.readings}
        return units | {derive.name: _si(derive.unit) for derive in step.derive}

    def meters(self, step: ReadingsFields) -> dict[str, str]:
        """The meters that the readings name."""
        return {ask.meter: _si(ask.unit) for ask in step.readings if ask.meter}

    def prompts(self, step: ReadingsFields, at: Pass, scene: Scene) -> tuple[Prompt, ...]:
        """One prompt for each reading that can be taken here."""
        return tuple(
            self._prompt(step, ask, at, scene)
            for ask in step.readings
            if ask.load is None or scene.has_load(_load_label(ask.load))
        )

    def _prompt(self, step: ReadingsFields, ask: ReadingAsk, at: Pass, scene: Scene) -> Prompt:
        settings = list(pass_settings(at, scene))
        if ask.tone is not None:
            settings.append(Setting("tone", format_value(require(ask.tone, "Hz"), "Hz")))
        if ask.load is not None:
            settings.append(Setting("load", format_value(require(ask.load, "ohm"), "ohm")))
        meter = scene.bench.meter(ask.meter)
        return Prompt(
            of=at,
            kind="readings",
            point=ask.name,
            ask=ask.ask,
            expected=_expected(ask, scene),
            meter=meter.id if meter else "",
            settings=tuple(settings),
            optional=ask.optional or step.optional,
            hold=holds(step.hold, ask.hold)[0],
            hold_for=holds(step.hold, ask.hold)[1],
            tone=ask.tone is not None,
        )

    def limit(self, step: ReadingsFields, at: Pass, point: str) -> tuple[LimitFields | None, str]:
        """The reading's own limit."""
        for ask in step.readings:
            if ask.name == point:
                return ask.limit, _si(ask.unit)
        return None, ""

    def results(
        self, step: ReadingsFields, at: Pass, readings: Readings, known: Known
    ) -> list[Result]:
        """The readings as judged, then what can be derived from those at hand."""
        work = PassWork(at, known, None)
        for ask in step.readings:
            reading = readings.get(ask.name)
            if reading is not None and reading.measure is not None:
                work.read(reading, ask.name, ask.ask, ask.limit)
        for derive in step.derive:
            _derive(derive, work)
        return work.results

    def summary(self, step: ReadingsFields) -> str:
        """One plain line."""
        return ", ".join(ask.ask for ask in step.readings)


def _derive(derive: DeriveAsk, work: PassWork) -> None:
    """Work out one derived result where everything that it needs was read."""
    expression = compile_expression(derive.formula)
    inputs: dict[str, Uncertain] = {}
    basis: list[str] = []
    for name in expression.names:
        found = _lookup(name, work)
        if found is None:
            return
        inputs[name], keys = found
        basis.extend(keys)
    try:
        value = expression.propagate(inputs)
    except (NotationError, ValueError):
        return  # the readings have no such result; they stay and are judged themselves
    known, at = work.known, work.at
    unit = _si(derive.unit)
    work.results.append(
        Result(
            at.step,
            at.channel,
            at.load,
            None,
            derive.name,
            value,
            unit,
            derive.label or derive.name.replace("_", " "),
            known.judge(value, derive.limit, unit, at),
            basis=tuple(dict.fromkeys(basis)),
        )
    )


def _lookup(name: str, work: PassWork) -> tuple[Uncertain, tuple[str, ...]] | None:
    """A name's value: from this pass, from an earlier step, or from the bench and unit."""
    for result in reversed(work.results):
        if result.name == name:
            return result.measure, result.basis
    earlier = work.known.find(name, work.at)
    if earlier is not None:
        return earlier.measure, earlier.basis
    for load in work.known.scene.bench.loads:
        if name == load_name(load.nominal):
            return load.resistance, ()
    fact = work.known.scene.facts(work.at.load).get(name)
    return None if fact is None else (exact(fact), ())


def _expected(ask: ReadingAsk, scene: Scene) -> Expected:
    meter = scene.bench.meter(ask.meter)
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


def _unit(unit: str, path: tuple[str | int, ...], checker: Checker) -> str:
    """SI unit of a unit as written; reports one that is not known."""
    try:
        return si_unit(unit)
    except NotationError as error:
        checker.add(path, f"“{unit}” {error.reason}", f"write for instance {error.nearest or 'V'}")
        return ""
