"""What a bench lacks for a procedure, and where files are found."""

from __future__ import annotations

from pathlib import Path

import pytest

from stepwise.bench import Bench, Load, Meter, MeterType, Unit, parse_accuracy
from stepwise.errors import FileProblems
from stepwise.procedure import (
    check_scene,
    find_bench,
    find_procedure,
    find_unit,
    list_procedures,
    list_units,
    own_folder,
    read_procedure_text,
)

HEAD = '[procedure]\ntitle = "T"\nrevision = 1\nsummary = "S"\n'
CLIP = '[[step]]\nid = "clip"\nkind = "clip"\ntitle = "C"\nrepeat = ["channel", "load"]\n'
SWEEP = '[[step]]\nid = "sweep"\nkind = "sweep"\ntitle = "S"\npoints = ["20 Hz"]\nload = "8 ohm"\n'
HEAT = (
    '[[step]]\nid = "heat"\nkind = "thermal"\ntitle = "H"\nplaces = ["x"]\nmeter = "thermometer"\n'
)
AC = Meter("ac", MeterType.ANALOGUE, parse_accuracy("3 % of full scale"))


def missing(text: str, unit: Unit, bench: Bench) -> list[str]:
    procedure = read_procedure_text(HEAD + text, "p.toml")
    return [str(problem) for problem in check_scene(procedure, unit, bench)]


def test_a_meter_that_is_lacking_is_told_with_the_nearest() -> None:
    near = Meter("ac1", AC.type, AC.accuracy)
    assert missing(CLIP, Unit("Teal"), Bench("Hall", (near,), (Load(8.0, 8.0),))) == [
        'p.toml:5: step "clip": needs the meter “ac”, which “Hall” lacks; '
        'add [[meter]] with id = "ac" to the bench (did you mean “ac1”?)'
    ]


def test_a_meter_that_reads_something_else_is_told() -> None:
    ohms = Meter("ac", AC.type, AC.accuracy, unit="ohm")
    assert missing(CLIP, Unit("Teal"), Bench("Hall", (ohms,), (Load(8.0, 8.0),))) == [
        'p.toml:5: step "clip": reads V on the meter “ac”, which reads Ω; '
        "give another meter of the bench that id"
    ]


def test_no_load_that_the_unit_bears_is_told() -> None:
    unit = Unit("Teal", ratings={"minimum_load": 8.0})
    assert missing(CLIP, unit, Bench("Hall", (AC,), (Load(4.0, 4.0),))) == [
        'p.toml:5: step "clip": needs a load, and “Hall” has none that “Teal” bears; '
        "add a [[load]] to the bench, or mend minimum_load of the unit"
    ]


def test_a_load_named_by_a_step_must_be_there_and_be_borne() -> None:
    (absent,) = missing(SWEEP, Unit("Teal"), Bench("Hall", (AC,), (Load(4.0, 4.0),)))
    assert "needs a load of 8 ohm, which “Hall” lacks" in absent
    unit = Unit("Teal", ratings={"minimum_load": 16.0})
    (unborne,) = missing(SWEEP, unit, Bench("Hall", (AC,), (Load(8.0, 8.0),)))
    assert "needs a load of 8 ohm, which “Teal” does not bear" in unborne


def test_the_finger_and_optional_steps_need_nothing() -> None:
    bench = Bench("Hall")
    assert missing(HEAT, Unit("Teal"), bench) == []
    assert missing(CLIP + "optional = true\n", Unit("Teal"), bench) == []


DRAWN = (
    '[[step]]\nid = "idle"\nkind = "readings"\ntitle = "I"\nreadings = [{ name = "drawn", '
    'ask = "D", unit = "mA", meter = "ac"%s }]\n'
)


def test_a_current_is_read_as_volts_across_a_resistor() -> None:
    assert missing(DRAWN % "", Unit("Teal"), Bench("Hall", (AC,))) == []
    ohms = Bench("Hall", (Meter("ac", AC.type, AC.accuracy, unit="ohm"),))
    (told,) = missing(DRAWN % "", Unit("Teal"), ohms)
    assert "reads A on the meter “ac”, which reads Ω" in told


def test_what_may_be_left_out_needs_no_meter() -> None:
    assert missing(DRAWN % ", optional = true", Unit("Teal"), Bench("Hall")) == []
    (told,) = missing(DRAWN % "", Unit("Teal"), Bench("Hall"))
    assert "needs the meter “ac”" in told


def test_a_tolerance_that_is_none_is_told() -> None:
    with pytest.raises(FileProblems, match="above zero"):
        missing(DRAWN % ', resistor = "0 %"', Unit("Teal"), Bench("Hall", (AC,)))


@pytest.fixture
def shelf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "data"))
    monkeypatch.setenv("HOME", str(tmp_path))
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    return tmp_path / "here"


def test_the_working_folder_comes_first_then_ones_own_then_the_shipped(shelf: Path) -> None:
    assert find_procedure("first-look").read_text("utf-8").startswith("[procedure]")
    own = own_folder("procedures")
    own.mkdir(parents=True)
    (own / "first-look.toml").write_text("own")
    assert find_procedure("first-look").read_text() == "own"
    (shelf / "procedures").mkdir()
    (shelf / "procedures" / "first-look.toml").write_text("here")
    assert find_procedure("first-look").read_text() == "here"
    listed = {each.name: each.shipped for each in list_procedures()}
    assert listed["first-look"] is False
    assert listed["quick-check"] is True


def test_a_path_is_taken_as_given(shelf: Path) -> None:
    (shelf / "mine.toml").write_text("x")
    assert find_unit("mine.toml") == Path("mine.toml")
    assert find_bench(str(shelf / "mine.toml")) == shelf / "mine.toml"


def test_units_and_benches_are_found_by_name(shelf: Path) -> None:
    (shelf / "units").mkdir()
    (shelf / "units" / "teal.toml").write_text("x")
    (shelf / "units" / "notes.txt").write_text("x")
    (shelf / "units" / ".hidden.toml").write_text("x")
    assert find_unit("teal") == Path("units/teal.toml")
    assert [each.name for each in list_units()] == ["teal"]


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("frist-look", "frist-look: no procedure is called that; did you mean “first-look”?"),
        ("absent.toml", "absent.toml: there is no such file"),
        ("../first-look", "../first-look: there is no such file; did you mean “first-look”?"),
        ("x/" + "y" * 5000, "there is no such file"),
        ("a\0/b", "there is no such file"),
        ("..", ".*no procedure is called that"),
        ("", ".*no procedure is called that"),
    ],
)
def test_a_name_that_is_not_known_is_a_sentence(shelf: Path, name: str, sentence: str) -> None:
    with pytest.raises(FileProblems) as caught:
        find_procedure(name)
    assert sentence.removeprefix(".*") in str(caught.value).replace("\\", "/")


def test_nothing_known_asks_for_a_path(shelf: Path) -> None:
    with pytest.raises(FileProblems, match="give the path of the unit’s TOML file"):
        find_unit("teal")
