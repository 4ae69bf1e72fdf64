"""Transcribing: whole tables or nothing, places by value, and readings as on a screen."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from stepwise.errors import FileProblems
from stepwise.journal import find_log_folders, read_journal
from stepwise.judge import Result, Verdict
from stepwise.run import Run, plan_from_texts, read_notes, read_run, transcribe
from tests.run.plans import PROCEDURE, UNIT, Clock

BENCH = """\
[bench]
name = "Hall workshop"
[[meter]]
id = "ac"
type = "analogue"
reads = "V rms"
ranges = ["1 V", "3 V", "10 V"]
accuracy = "3 % of full scale"
resolves = "1/4 division of 30"
[[meter]]
id = "dc"
type = "digital"
reads = "V"
accuracy = "0.5 % + 2 digits"
[[load]]
nominal = "8 ohm"
measured = "8 ohm"
[[load]]
nominal = "4 ohm"
measured = "4 ohm"
"""
HEADING = "step,channel,load,point,reading,note"
SWEEP = (
    "sweep,left,,reference,2.0 on 3,",
    "sweep,left,,60 Hz,-1,",
    "sweep,left,,30 Hz,-2,",
    "sweep,left,,20 Hz,-4.5,",
    "sweep,left,,10 Hz,-10,",
)
Enter = Callable[..., Run]


@pytest.fixture
def enter(tmp_path: Path) -> Enter:
    """Lines of a table -> the run that they make."""
    plan = plan_from_texts(PROCEDURE, UNIT, BENCH, "try")

    def work(*lines: str, heading: str = HEADING, encoding: str = "utf-8") -> Run:
        path = tmp_path / "readings.csv"
        path.write_bytes("\n".join([heading, *lines, ""]).encode(encoding))
        run = transcribe(plan, read_notes(path), tmp_path / "logs", Clock(), operator="QH")
        run.close()
        return run

    return work


def named(run: Run, name: str, **where: str) -> Result:
    found = list(run.findings().named(name, **where))
    assert len(found) == 1, [(each.name, each.channel, each.load) for each in run.results()]
    return found[0]


def problems(enter: Enter, *lines: str, **how: str) -> list[str]:
    with pytest.raises(FileProblems) as caught:
        enter(*lines, **how)
    return [str(each).partition("readings.csv:")[2] for each in caught.value.problems]


@pytest.mark.parametrize("reading", ["20 V", "20", "20.0 Vrms", "2.0 on 3 x10", "2.0/3 x10"])
def test_twenty_volts_into_eight_ohms_are_fifty_watts(enter: Enter, reading: str) -> None:
    run = enter(f"clip,left,8 ohm,level,{reading},")
    assert named(run, "power", load="8 ohm").value == pytest.approx(50.0)


def test_seventeen_volts_into_four_ohms_are_72_25_watts(enter: Enter) -> None:
    run = enter("clip,left,4 ohm,level,17 V,")
    assert named(run, "power", load="4 ohm").value == pytest.approx(72.25)


@pytest.mark.parametrize("load", ["8", "8 ohm", "8Ω", "8 Ω", "8R", "8 ohms", "0.008 kohm"])
def test_a_load_is_found_by_its_value(enter: Enter, load: str) -> None:
    run = enter(f"clip,left,{load},level,20,")
    assert named(run, "power").load == "8 ohm"


@pytest.mark.parametrize("point", ["20 Hz", "20", "20Hz", "0.02 kHz", "20 hz", "20.0"])
def test_a_frequency_is_found_by_its_value(enter: Enter, point: str) -> None:
    run = enter("sweep,left,,reference,2.0,", f"sweep,left,,{point},-4.5,")
    assert named(run, "level_db", point="20 Hz").value == pytest.approx(-4.5)


def test_an_early_roll_off_is_found_in_notes(enter: Enter) -> None:
    run = enter(*SWEEP)
    assert "early-roll-off-low" in [flag.name for flag in run.flags()]
    assert 24.0 < named(run, "corner_low").value < 30.0


def test_a_reference_below_its_levels_serves_them_too(enter: Enter) -> None:
    run = enter("sweep,left,,20 Hz,1.0 on 3,", "sweep,left,,reference,2.0 on 3,")
    assert named(run, "level_db", point="20 Hz").value == pytest.approx(-6.02, abs=0.01)


def test_channels_are_told_apart_whatever_their_case(enter: Enter) -> None:
    run = enter("clip,LEFT,8,level,20,", "Clip,right,8,LEVEL,10,")
    assert named(run, "power", channel="left").value == pytest.approx(50.0)
    assert named(run, "power", channel="right").value == pytest.approx(12.5)


def test_what_the_notes_lack_is_skipped_hold_points_too(enter: Enter) -> None:
    run = enter("clip,left,8 ohm,level,20,")
    assert run.ended
    assert run.is_complete()
    line = run.line("safe///1")
    assert line is not None
    assert (line.verdict, line.remark) == (Verdict.SKIPPED, "not in the notes")
    assert run.closed_steps() == {}
    assert not any(line.closed for line in run.sheet())


def test_a_confirmation_answered_with_no_is_out_of_spec(enter: Enter) -> None:
    run = enter("safe,,,1,y,", "safe,,,b,n,", "idle,left,,rail_plus,35.0,")
    assert run.line("safe///1").as_read == "confirmed"
    assert run.line("safe///2").as_read == "not so"
    assert run.review().verdict is Verdict.OUT_OF_SPEC
    assert run.line("idle/left//rail_plus").as_read.startswith("35.0")


@pytest.mark.parametrize("rows", [("1,n", "b,y"), ("b,y", "1,n")], ids=["in order", "turned"])
def test_nothing_of_a_list_is_taken_behind_an_item_that_is_not_so(
    enter: Enter, rows: tuple[str, str]
) -> None:
    with pytest.raises(FileProblems) as caught:
        enter(*(f"safe,,,{row}," for row in rows))
    (problem,) = caught.value.problems
    assert "Closed until the hold point “a” is satisfied" in str(problem)
    assert problem.line == 2 + rows.index("b,y")


def test_a_list_ends_at_the_item_that_is_not_so(enter: Enter) -> None:
    run = enter("safe,,,1,n,", "safe,,,b,,", "idle,left,,rail_plus,35.0,")
    assert run.line("safe///2").remark == "not in the notes"
    assert run.line("idle/left//rail_plus") is not None


def test_a_note_is_a_remark_and_without_a_reading_the_reason(enter: Enter) -> None:
    run = enter("idle,left,,rail_plus,35.0,hums", "idle,left,,offset,,probe lost")
    assert [(note.key, note.text) for note in run.state.notes] == [("idle/left//rail_plus", "hums")]
    assert run.line("idle/left//offset").remark == "probe lost"


def test_a_transcribed_log_says_so_and_still_does_when_read_again(enter: Enter) -> None:
    run = enter("idle,left,,offset,300,")
    assert read_journal(run.folder).events[0].data["transcribed"] is True
    again = read_run(run.folder).run
    assert again.closed_steps() == {}
    assert again.sheet() == run.sheet()
    with Run.resume(run.folder, Clock()) as carried:
        assert carried.take("listen///1", "y").status.value == "confirmed"


@pytest.mark.parametrize(
    ("heading", "line", "encoding"),
    [
        ("step;channel;load;point;reading;note", "clip;left;8 ohm;level;20,0;", "utf-8"),
        ("step\tchannel\tload\tpoint\treading", "clip\tleft\t8\tlevel\t20", "utf-8"),
        (HEADING, 'clip,left,8 ohm,level,"20,0",', "utf-8-sig"),
        ("Reading,Point,Load,Channel,Step", "20,level,8,left,clip", "utf-8"),
        (HEADING, "clip,left,8 ohm,level,20", "utf-8"),
    ],
    ids=["semicolons", "tabs", "byte-order mark", "other order", "no note"],
)
def test_tables_of_other_programs_are_read(
    enter: Enter, heading: str, line: str, encoding: str
) -> None:
    run = enter(line, heading=heading, encoding=encoding)
    assert named(run, "power").value == pytest.approx(50.0)


def test_every_row_that_does_not_fit_is_told_and_nothing_is_written(
    enter: Enter, tmp_path: Path
) -> None:
    told = problems(
        enter,
        "clip,left,8 ohm,level,20,",
        "clp,left,8 ohm,level,20,",
        "clip,middle,8 ohm,level,20,",
        "clip,left,16 ohm,level,20,",
        "clip,left,8 ohm,levle,20,",
        "clip,left,8,level,21,",
        "clip,right,8 ohm,level,20 ohm,",
        "sweep,left,,25 Hz,-3,",
        "clip,right,,level,20,",
        "safe,left,,1,y,",
        "safe,,,1,perhaps,",
    )
    starts = [
        "3: row 3, step: there is no step “clp” here; did you mean “clip”?",
        "4: row 4, channel: there is no channel “middle” here; known here: left, right",
        "5: row 5, load: there is no load “16 ohm” here; known here: 8 ohm, 4 ohm",
        "6: row 6, point: there is no point “levle” here; did you mean “level”?",
        "7: row 7: answers the same as row 2; leave one of the two out",
        "8: row 8, reading: “20 ohm”: ",
        "9: row 9, point: “25 Hz” is not among the frequencies of this sweep; the nearest is 30 Hz",
        "10: row 10, load: is empty, and this step is done for each load",
        "11: row 11, channel: this step is not repeated for each channel; leave the cell empty",
        "12: row 12, reading: “perhaps”: the answer is y (or +) or n (or -)",
    ]
    assert len(told) == len(starts)
    for line, start in zip(told, starts, strict=True):
        assert line.startswith(start), line
    assert find_log_folders(tmp_path / "logs") == ()
    assert not (tmp_path / "logs").exists()


def test_a_decimal_comma_in_a_table_with_commas_never_cuts_a_reading_short(enter: Enter) -> None:
    (told,) = problems(enter, "clip,left,8 ohm,level,20,5,loud")
    assert told.startswith("2: row 2: has 7 cells where the heading has 6; put a cell")


def test_equals_repeats_the_reading_above_and_is_refused_where_there_is_none(enter: Enter) -> None:
    run = enter("clip,left,8,level,20,", "clip,right,8,level,=,")
    assert named(run, "power", channel="right").value == pytest.approx(50.0)
    (told,) = problems(enter, "clip,left,8,level,=,")
    assert "there is no reading yet that “=” could repeat" in told


@pytest.mark.parametrize(
    ("heading", "words"),
    [
        ("step,channel,load,point", "the column “reading” is missing"),
        ("step,chanel,load,point,reading", "no column “chanel”; did you mean “channel”?"),
        ("step,step,point,reading", "the column “step” stands twice"),
    ],
)
def test_a_heading_that_is_not_understood_is_told(enter: Enter, heading: str, words: str) -> None:
    assert words in problems(enter, "a,b,c,d,e", heading=heading)[0]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty"),
        (b"step,point,reading\n\xff\xfe,b,c\n", "2: byte 0xff is not UTF-8 text"),
        (b'step,point,reading\n"a,b,c\n', "cannot be read as CSV"),
        (b"step,point,reading\na,\0,c\n", "is not a table in text"),
    ],
    ids=["empty", "not UTF-8", "open quote", "NUL"],
)
def test_a_file_that_is_no_table_is_told(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "readings.csv"
    path.write_bytes(content)
    with pytest.raises(FileProblems, match=r"readings\.csv") as caught:
        read_notes(path)
    assert words in str(caught.value)


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(FileProblems, match="No such file"):
        read_notes(tmp_path / "none.csv")
