"""The shipped procedures are sound, whole and explained; the shipped schemas are current."""

from __future__ import annotations

import json
import runpy
import tomllib
from pathlib import Path

import jsonschema
import pytest

from stepwise.bench import Bench, Load, Meter, MeterType, Unit, parse_accuracy
from stepwise.procedure import (
    check_scene,
    list_procedures,
    procedures_folder,
    read_procedure,
    schema_texts,
    schemas_folder,
    write_schemas,
)
from stepwise.procedure.models import AnyStep
from stepwise.steps import KINDS, Scene, kind_name

NAMES = ("after-repair", "bench-check", "first-look", "quick-check", "thermal-soak")


def schema(name: str) -> dict[str, object]:
    text = (schemas_folder() / f"{name}.schema.json").read_text(encoding="utf-8")
    loaded: dict[str, object] = json.loads(text)
    return loaded


def bench() -> Bench:
    digital = parse_accuracy("0.5 % + 2 digits")
    return Bench(
        "Hall workshop",
        (
            Meter("ac", MeterType.ANALOGUE, parse_accuracy("3 % of full scale")),
            Meter("dc", MeterType.DIGITAL, digital),
            Meter("thermometer", MeterType.DIGITAL, parse_accuracy("1.5 C"), unit="C"),
        ),
        (Load(8.0, 8.06), Load(4.0, 4.02)),
    )


def test_all_five_are_shipped() -> None:
    assert tuple(path.stem for path in sorted(procedures_folder().glob("*.toml"))) == NAMES


@pytest.mark.parametrize("name", NAMES)
class TestEach:
    def test_it_is_sound_and_says_why_and_how(self, name: str) -> None:
        procedure = read_procedure(procedures_folder() / f"{name}.toml")
        assert procedure.minutes
        for step in procedure.steps:
            assert 20 <= len(step.why) <= 250, step.id
            assert len(step.how) >= 40, step.id

    def test_a_common_bench_can_do_it(self, name: str) -> None:
        procedure = read_procedure(procedures_folder() / f"{name}.toml")
        unit = Unit("Teal", ratings={"minimum_load": 4.0})
        assert check_scene(procedure, unit, bench()) == ()
        scene = Scene(unit, bench())
        for step in procedure.steps:
            kind = KINDS[kind_name(step)]
            prompts = [p for at in scene.passes(step) for p in kind.prompts(step, at, scene)]
            assert prompts, step.id

    def test_it_begins_safe_and_ends_dead(self, name: str) -> None:
        steps = read_procedure(procedures_folder() / f"{name}.toml").steps
        assert steps[0].hold is True
        assert kind_name(steps[0]) == "confirm"
        if name != "bench-check":
            ids = [step.id for step in steps]
            assert ids.index("dead-volts") == ids.index("make-dead") + 1
            assert steps[ids.index("dead-volts")].hold is True

    def test_no_finger_is_sent_to_live_metal(self, name: str) -> None:
        for step in read_procedure(procedures_folder() / f"{name}.toml").steps:
            if kind_name(step) == "thermal":
                said = " ".join(step.caution)
                assert "without contact, or switch off first" in said or "no finger" in said, (
                    step.id
                )
                assert "touch" not in step.how or "switch off" in step.how, step.id

    def test_the_schema_takes_it(self, name: str) -> None:
        with (procedures_folder() / f"{name}.toml").open("rb") as file:
            jsonschema.validate(tomllib.load(file), schema("procedure"))


def test_first_look_is_the_whole_sequence() -> None:
    steps = read_procedure(procedures_folder() / "first-look.toml").steps
    assert [step.id for step in steps] == [
        "make-safe",
        "look-over",
        "first-power",
        "secondary",
        "quiescent",
        "clip",
        "output-impedance",
        "sweep",
        "square",
        "square-capacitor",
        "heat",
        "switch-on",
        "protection",
        "listen",
        "make-dead",
        "dead-volts",
        "marks",
    ]
    assert {kind_name(step) for step in steps} == set(KINDS)


def test_a_loudspeaker_waits_for_the_offset() -> None:
    procedure = read_procedure(procedures_folder() / "first-look.toml")
    quiescent = procedure.step("quiescent")
    holds = {ask.name: ask.hold for ask in quiescent.readings}  # type: ignore[union-attr]
    assert holds["offset"] == ("listen",)


def test_the_shipped_ones_are_on_the_shelf() -> None:
    shipped = [each.name for each in list_procedures() if each.shipped]
    assert set(NAMES) <= set(shipped)


def test_the_shipped_schemas_are_current() -> None:
    shipped = {path.name: path.read_text("utf-8") for path in schemas_folder().iterdir()}
    assert shipped == dict(schema_texts())


def test_the_shipped_schemas_can_be_made_again_as_the_guide_says(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr("stepwise.procedure.schema.schemas_folder", lambda: tmp_path)
    runpy.run_module("stepwise.procedure", run_name="__main__")
    assert {each.name: each.read_text("utf-8") for each in tmp_path.iterdir()} == schema_texts()


def test_schemas_are_written_where_asked(tmp_path) -> None:  # type: ignore[no-untyped-def]
    write_schemas(tmp_path)
    assert (tmp_path / "bench.schema.json").read_text("utf-8") == schema_texts()[
        "bench.schema.json"
    ]


@pytest.mark.parametrize("name", ["procedure", "unit", "bench"])
def test_a_schema_is_itself_sound_and_refuses_an_unknown_key(name: str) -> None:
    jsonschema.Draft202012Validator.check_schema(schema(name))
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"nonsense": 1}, schema(name))


def test_every_kind_of_step_is_in_the_schema() -> None:
    assert {kind.fields for kind in KINDS.values()} == set(AnyStep.__args__)


@pytest.mark.parametrize("name", ["after-repair", "first-look", "thermal-soak"])
def test_an_idle_current_allows_for_its_resistor_and_says_what_is_typed(name: str) -> None:
    procedure = read_procedure(procedures_folder() / f"{name}.toml")
    asked = [
        (step, each)
        for step in procedure.steps
        for each in getattr(step, "readings", ())
        if each.name.startswith("idle_current")
    ]
    assert asked
    for _, each in asked:
        assert each.resistor == "5 %"
        assert each.ask.endswith("mV divided by ohms")
    assert "type mA, the mV divided by its ohms" in asked[0][0].how
