"""Doubts in a run: nothing is kept as a reading until the person has said what it is."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stepwise.errors import JournalError, RunError
from stepwise.journal import read_journal
from stepwise.judge import Verdict
from stepwise.run import Run, Status, plan_from_texts, read_notes, read_run, transcribe
from tests.run.plans import BENCH, PROCEDURE, UNIT, Clock, plan, play

LEVEL = "clip/left/8 ohm/level"


@pytest.fixture
def run(tmp_path: Path) -> Iterator[Run]:
    with Run.start(plan(), tmp_path, Clock()) as begun:
        play(begun, until=LEVEL)
        yield begun


def test_a_probable_slip_is_doubted_and_the_prompt_stays(run: Run) -> None:
    # 35 V at the rail: no sine above 35 / sqrt 2 = 24.7 V RMS
    outcome = run.take(LEVEL, "54")
    assert outcome.status is Status.DOUBTED
    assert outcome.doubt is not None
    assert outcome.doubt.name == "peak-to-peak"
    assert outcome.message == outcome.doubt.says
    assert outcome.line is None
    assert run.line(LEVEL) is None
    assert run.next_prompt().key == outcome.next_key == LEVEL


def test_the_log_shows_the_doubt_and_what_was_kept(run: Run) -> None:
    outcome = run.take(LEVEL, "54")
    kept = run.take(LEVEL, outcome.doubt.meant, sure=True)
    assert kept.status is Status.KEPT
    assert kept.line.as_read.startswith("19.")
    assert kept.line.doubted == ""
    events = read_journal(run.folder).events[-2:]
    assert [event.kind for event in events] == ["doubt", "reading"]
    assert events[0].data["typed"] == "54"
    assert events[0].data["meant"] == "54 Vpp"
    assert events[1].data["typed"] == "54 Vpp"
    (doubt,) = run.state.doubts
    assert (doubt.key, doubt.slip, doubt.typed) == (LEVEL, "peak-to-peak", "54")


def test_whoever_is_sure_keeps_it_with_the_name_of_the_doubt(run: Run) -> None:
    run.take(LEVEL, "54")
    kept = run.take(LEVEL, "54", sure=True)
    assert kept.status is Status.KEPT
    assert kept.line.doubted == "peak-to-peak"
    assert "35.00 V" in kept.line.doubt  # as the sheet shows it
    assert read_journal(run.folder).events[-1].data["doubted"] == "peak-to-peak"


def test_a_doubt_is_there_again_after_a_resume_and_changes_nothing(run: Run) -> None:
    run.take(LEVEL, "54")
    sheet = run.sheet()
    run.close()
    with Run.resume(run.folder, Clock()) as again:
        assert again.sheet() == sheet
        assert again.next_prompt().key == LEVEL
        assert [doubt.typed for doubt in again.state.doubts] == ["54"]
        assert again.take(LEVEL, "19").status is Status.KEPT


def test_an_earlier_answer_to_the_same_prompt_is_no_evidence(run: Run) -> None:
    run.take(LEVEL, "1.9", sure=True)
    assert run.take(LEVEL, "19").status is Status.KEPT


def test_a_doubt_that_cannot_be_written_is_an_error(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> int:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as broken:
        broken.setattr("os.write", full)
        with pytest.raises(JournalError):
            run.take(LEVEL, "54")
    assert run.state.doubts == ()


def test_notes_are_kept_as_noted_and_said_to_be_in_doubt(tmp_path: Path) -> None:
    table = tmp_path / "readings.csv"
    rows = ["idle,left,,rail_plus,35.0,", "clip,left,8 ohm,level,54,"]
    table.write_text("\n".join(["step,channel,load,point,reading,note", *rows, ""]))
    with transcribe(plan(), read_notes(table), tmp_path / "logs", Clock()) as run:
        line = run.line(LEVEL)
        assert line.as_read.startswith("54")
        assert line.doubted == "peak-to-peak"
        assert run.state.doubts == ()
        folder = run.folder
    assert read_run(folder).run.line(LEVEL).doubted == "peak-to-peak"


def test_a_confirmed_line_says_confirmed(run: Run) -> None:
    assert run.line("safe///1").verdict_words == "confirmed"
    assert run.line("idle/left//rail_plus").verdict_words == "in spec"
    play(run)
    run.take("idle/left//rail_plus", "44.9")
    line = run.line("idle/left//rail_plus")
    assert line.verdict is Verdict.TOO_CLOSE
    chance = line.judgement.probability
    assert line.verdict_words == f"too close to call, {chance * 100:.0f} % likely in spec"


def test_a_limit_on_a_result_names_it(run: Run) -> None:
    play(run, until="clip/left/4 ohm/level")
    assert run.card("clip/left/4 ohm/level").limit_text == "power at least 60 W"
    assert run.card("idle/left//rail_plus").limit_text == "at most 45 V"
    assert run.card("clip/left/4 ohm/rail_plus").limit_text == ""


def test_a_file_is_kept_beside_the_journal(run: Run, tmp_path: Path) -> None:
    photograph = tmp_path / "Joints, left.JPG"
    photograph.write_bytes(b"not really a picture")
    kept = run.attach(photograph, LEVEL)
    assert (run.folder / kept.name).read_bytes() == b"not really a picture"
    assert kept.key == LEVEL
    assert run.attach(photograph).key is None
    assert [each.name for each in run.state.attachments] == [
        "attached-01-joints-left.jpg",
        "attached-02-joints-left.jpg",
    ]
    with pytest.raises(RunError, match="nothing called"):
        run.attach(photograph, "nowhere")
    with pytest.raises(JournalError):
        run.attach(tmp_path / "missing.jpg")
    run.end()
    with pytest.raises(RunError, match="is ended"):
        run.attach(photograph)


def test_a_reading_taken_once_more_is_doubted_like_the_first(tmp_path: Path) -> None:
    asked = 'name = "offset", ask = "Offset",'
    text = PROCEDURE.replace(asked, f"{asked} times = 2,")
    with Run.start(plan_from_texts(text, UNIT, BENCH, "try"), tmp_path, Clock()) as run:
        play(run, until="idle/left//offset/2")
        # 0.012 where mV are asked: a dozen microvolts, or volts with the unit left out
        outcome = run.take("idle/left//offset/2", "0.012")
    assert outcome.status is Status.DOUBTED
    assert outcome.doubt.name == "kilo"


def test_a_row_is_held_against_its_own_reference(tmp_path: Path) -> None:
    # A board for bass, 0 dB at 100 Hz: 12 dB an octave from -12 dB at 200 Hz is -28 dB at 500 Hz.
    points = 'points = ["200 Hz", "500 Hz"]\nreference = "100 Hz"'
    text = PROCEDURE.replace('points = ["100 Hz", "60 Hz", "30 Hz", "20 Hz", "10 Hz"]', points)
    with Run.start(plan_from_texts(text, UNIT, BENCH), tmp_path, Clock()) as begun:
        play(begun, until="sweep/left//200 Hz")
        assert begun.take("sweep/left//200 Hz", "-12").status is Status.KEPT
        assert begun.take("sweep/left//500 Hz", "-28").status is Status.KEPT


RAIL = "idle/left//rail_plus"
OFFSET = "idle/left//offset"


@pytest.fixture
def idle(tmp_path: Path) -> Iterator[Run]:
    """Open at the first rail, which is read on a digital meter without ranges."""
    with Run.start(plan(), tmp_path, Clock()) as begun:
        play(begun, until=RAIL)
        yield begun


@pytest.mark.parametrize(
    ("key", "typed", "value"), [(RAIL, "27 on 30", "27"), (OFFSET, "12 on 20", "12")]
)
def test_a_range_that_a_digital_meter_does_not_have_is_asked_about(
    idle: Run, key: str, typed: str, value: str
) -> None:
    outcome = idle.take(key, typed)
    assert outcome.status is Status.DOUBTED
    assert outcome.doubt is not None
    assert outcome.doubt.name == "no-such-range"
    assert "no ranges" in outcome.doubt.says
    assert idle.line(key) is None
    assert outcome.doubt.meant.startswith(value)
    kept = idle.take(key, typed, sure=True)
    assert kept.status is Status.KEPT
    assert kept.line.doubted == "no-such-range"


def test_a_range_of_a_meter_whose_ranges_are_stated_is_no_doubt(tmp_path: Path) -> None:
    stated = BENCH.replace('type = "digital"', 'type = "digital"\nranges = ["3 V", "30 V"]')
    with Run.start(plan_from_texts(PROCEDURE, UNIT, stated, "try"), tmp_path, Clock()) as run:
        play(run, until=RAIL)
        assert run.take(RAIL, "27 on 30").status is Status.KEPT


@pytest.mark.parametrize("typed", ["57 Vpp", "28.5 Vpk", "5.7 div at 10"])
def test_peaks_of_flattened_tops_are_refused(tmp_path: Path, typed: str) -> None:
    text = PROCEDURE.replace('also = ["rail_plus"]', 'also = ["level_at_ten_percent"]')
    loud = "clip/left/8 ohm/level_at_ten_percent"
    with Run.start(plan_from_texts(text, UNIT, BENCH, "try"), tmp_path, Clock()) as run:
        play(run, until=LEVEL)
        # of a sine they do tell it
        assert run.take(LEVEL, "54 Vpp").status is Status.KEPT
        outcome = run.take(loud, typed)
        assert outcome.status is Status.REFUSED
        assert "tops are flattened" in outcome.message
        assert run.take(loud, "2.2 on 3 x10").status is Status.KEPT


def test_a_level_above_what_the_reservoirs_bear_is_doubted_where_no_rail_is_read(
    tmp_path: Path,
) -> None:
    rail = next(line for line in PROCEDURE.splitlines() if '"rail_plus", ask' in line)
    text = PROCEDURE.replace(rail + "\n", "").replace('also = ["rail_plus"]\n', "")
    with Run.start(plan_from_texts(text, UNIT, BENCH, "try"), tmp_path, Clock()) as run:
        play(run, until=LEVEL)
        outcome = run.take(LEVEL, "63")
        assert outcome.status is Status.DOUBTED
        assert outcome.doubt.meant == "63 Vpp"
        assert run.take(LEVEL, "22.3").status is Status.KEPT
