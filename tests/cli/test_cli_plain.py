"""The plain mode: lines in, lines out, and never an answer on the wrong prompt."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from stepwise.cli import main
from stepwise.cli.plain import PlainRun
from stepwise.cli.plain_card import question_lines
from stepwise.journal import find_log_folders, read_journal
from stepwise.quantities import Answer, Expected
from stepwise.run import Card, Run
from stepwise.steps import Pass, Prompt, Setting
from tests.run.plans import BENCH, PROCEDURE, UNIT, Clock, answer_for, plan
from tests.run.test_run_hold_except import PROCEDURE as LIVE

Typed = Callable[..., str]


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    for name, text in {"try": PROCEDURE, "teal": UNIT, "hall": BENCH}.items():
        Path(f"{name}.toml").write_text(text, encoding="utf-8")
    Path("logs").mkdir()
    return tmp_path


@pytest.fixture
def typed(desk: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Typed:
    """Lines on standard input -> what is printed; the log is in ./logs."""

    def work(*lines: str, command: str = "run", code: int = 0) -> str:
        words = {
            "run": ["run", "./try.toml", "--unit", "./teal.toml", "--bench", "./hall.toml"],
            "resume": ["resume", "last"],
        }[command]
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
        assert main(words) == code
        return capsys.readouterr().out

    return work


def answers() -> list[tuple[str, str]]:
    """Kind and key of every answer in the one log."""
    (folder,) = find_log_folders(Path("logs"))
    return [
        (event.kind, str(event.data["key"]))
        for event in read_journal(folder).events
        if event.kind in ("reading", "confirm", "refuse", "skip")
    ]


def test_a_script_can_lead_a_whole_run(typed: Typed, tmp_path: Path) -> None:
    with Run.start(plan(), tmp_path / "elsewhere", Clock()) as run:
        lines = [answer_for(prompt.point) for prompt in run.prompts]
        keys = [prompt.key for prompt in run.prompts]
    told = typed(*lines, "end tidy board", code=1)  # its low end is out of spec
    assert [key for _, key in answers()] == keys
    assert "Step 3 of 5: Clip" in told
    assert "tidy board" in told
    assert "\a" in told
    folder = Path(told.splitlines()[-1])
    assert read_journal(folder).events[-1].kind == "end"


def test_it_is_said_how_each_kind_of_question_is_answered(typed: Typed) -> None:
    how = "Y where it is so, n where it is not; ? tells more"
    told = typed("y", "y", "35.0", "12", "quit")
    # Once with the first safety item, not again with the second.
    assert told.index("1 of ") < told.index(how) < told.index("2 of ")
    assert told.count(how) == 1
    assert told.count("Write for instance 17.0 V; ?") == 1
    assert told.count("Write for instance 17.0 mV; ?") == 1


def test_after_a_wrong_answer_it_is_said_again_what_may_be_typed(typed: Typed) -> None:
    told = typed("perhaps", "y", "quit")
    refused = told.index("The answer is y")
    assert "? tells more" in told[refused:]
    assert told.count("n where it is not") == 2


def test_the_end_of_input_leaves_and_the_run_is_carried_on(typed: Typed) -> None:
    told = typed("y", "y", "35.0")
    assert "stepwise resume" in told
    assert "Positive rail" in told
    told = typed("12", "quit", command="resume")
    assert [key for _, key in answers()] == [
        "safe///1",
        "safe///2",
        "idle/left//rail_plus",
        "idle/left//offset",
    ]


def test_enter_confirms_nothing_and_says_the_question_again(typed: Typed) -> None:
    told = typed("", "", "quit")
    assert answers() == []
    assert told.count("1 of 29: a") == 3


def test_what_is_not_understood_is_refused_and_asked_again(typed: Typed) -> None:
    told = " ".join(typed("perhaps", "y", "y", "35 ohm", "quit").split())
    assert "The answer is y (or +) or n (or -)" in told
    assert "is in Ω (resistance) where V (voltage) is expected" in told
    assert [key for _, key in answers()] == ["safe///1", "safe///2"]


def test_nothing_typed_ahead_takes_a_hold_point_again(typed: Typed) -> None:
    told = " ".join(typed("n", "y", "35.0", "--", "y", "y", "quit").split())
    assert answers() == [("refuse", "safe///1"), ("confirm", "safe///1"), ("confirm", "safe///2")]
    assert "Not so, so all that follows stays shut: “a”" in told
    assert told.count("Nothing is asked now; this was not kept") == 2


def test_what_is_closed_is_not_asked_by_its_key_either(typed: Typed) -> None:
    told = typed("-- safe///2", "n", "-- safe///2", "y", "--", "y", "y", "quit")
    assert told.count("Closed until the hold point “a” is satisfied") == 2
    assert answers() == [("refuse", "safe///1"), ("confirm", "safe///1"), ("confirm", "safe///2")]


def test_help_and_a_wish_to_leave_are_answered_where_a_hold_point_shuts_all(typed: Typed) -> None:
    told = " ".join(typed("n", "?", "q", "quit", code=1).split())
    assert "Nothing is asked now. Not so, so all that follows stays shut" in told
    assert "Then -- asks it again; end ends the run as it is, and quit leaves" in told
    assert "quit leaves; the run can be carried on later" in told
    assert answers() == [("refuse", "safe///1")]


def test_a_skip_wants_a_reason(typed: Typed) -> None:
    told = typed("/ no time", "y", "y", "/", "/ probe lost", "quit")
    assert "A hold point cannot be skipped" in told
    assert "Say why it is skipped" in told
    assert answers()[-1] == ("skip", "idle/left//rail_plus")


def test_a_slash_alone_asks_why_and_can_be_taken_back(typed: Typed) -> None:
    told = typed("y", "y", "/", "--", "/", "probe lost", "quit")
    assert told.count("Say why it is skipped") == 2
    assert "Enter alone gives no reason" not in told
    assert "Not left out" in told
    assert answers()[2:] == [("skip", "idle/left//rail_plus")]


def test_readings_are_taken_again_by_key_or_the_last_one(typed: Typed) -> None:
    told = typed("--", "y", "y", "35.0", "--", "34.0", "-- safe///2", "y", "-- nowhere", "quit")
    assert "There is no reading yet to take again" in told
    assert "this run asks nothing called “nowhere”" in told
    assert [key for _, key in answers()] == [
        "safe///1",
        "safe///2",
        "idle/left//rail_plus",
        "idle/left//rail_plus",
        "safe///2",
    ]


def _up_to_the_level() -> list[str]:
    return ["y", "y", "35.0", "12", "35.0", "12"]


def test_a_probable_slip_is_asked_about_and_nothing_typed_ahead_passes_it(typed: Typed) -> None:
    told = typed(*_up_to_the_level(), "54", "33.0", "", "# note", "/ skip", "*", "33.0", "quit")
    told = " ".join(told.split())  # lines are broken at 80 columns
    assert "as a peak-to-peak value it is 19.1 V RMS" in told
    assert "take “54 Vpp” instead: read as 19.09 V RMS" in told
    assert told.count("only +, * or - settle it") == 4
    (folder,) = find_log_folders(Path("logs"))
    kept = [
        (event.kind, event.data["key"], event.data["typed"])
        for event in read_journal(folder).events
        if event.kind in ("reading", "doubt")
    ]
    assert kept[-3:] == [
        ("doubt", "clip/left/8 ohm/level", "54"),
        ("reading", "clip/left/8 ohm/level", "54 Vpp"),
        ("reading", "clip/left/8 ohm/rail_plus", "33.0"),
    ]


def test_a_doubted_answer_may_be_kept_or_typed_again(typed: Typed) -> None:
    told = typed(*_up_to_the_level(), "54", "-", "1000", "*", "+", "quit")
    told = " ".join(told.split())
    assert "Type it again" in told
    assert "1000 is the frequency of 1 kHz" in told
    assert "Nobody can tell what was meant" in told
    (folder,) = find_log_folders(Path("logs"))
    last = read_journal(folder).events[-1]
    assert last.data["typed"] == "1000"
    assert last.data["doubted"] == "frequency"


def test_remarks_are_kept_with_the_prompt_in_hand(typed: Typed) -> None:
    told = typed("# smells of flux", "#", "quit")
    (folder,) = find_log_folders(Path("logs"))
    notes = [event.data for event in read_journal(folder).events if event.kind == "note"]
    assert notes == [{"key": "safe///1", "text": "smells of flux"}]
    assert "an empty remark says nothing" in told


def test_help_says_why_how_and_the_key(typed: Typed) -> None:
    told = typed("y", "y", "?", "quit")
    assert "Write for instance 17.0 V" in told
    assert "Key of this reading: idle/left//rail_plus" in told
    assert "/ REASON" in told


def test_no_bench_answers_where_nothing_is_rehearsed(typed: Typed) -> None:
    assert "this is not a rehearsal" in typed("*", "quit")


def test_the_bell_can_be_switched_off(
    desk: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    lines = "y\ny\n35.0\n300\nquit\n"
    words = ["run", "./try.toml", "--unit", "./teal.toml", "--bench", "./hall.toml"]
    for extra, bells in (([], 1), (["--no-bell"], 0)):
        monkeypatch.setattr("sys.stdin", io.StringIO(lines))
        main([*words, "--plain", *extra])
        told = capsys.readouterr().out
        assert "dc-offset" in told
        assert told.count("\a") == bells


class OneVolt:
    """A bench that shows and answers the same everywhere."""

    title = "one volt"

    def answer(self, prompt: Prompt, card: object) -> str | None:
        return "y" if prompt.kind == "confirm" else None

    def panel(self, prompt: Prompt, card: object) -> tuple[Setting, ...]:
        return (Setting("AC voltmeter", "pointer at 1.0"),)


def test_a_simulated_bench_is_read_and_answers_when_asked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("*\n*\n*\nquit\n"))
    with Run.start(plan(), tmp_path, Clock()) as run:
        assert PlainRun(run, OneVolt(), bell=False).lead() == 0
        assert run.next_prompt().key == "idle/left//rail_plus"
    told = capsys.readouterr().out
    assert "AC voltmeter: pointer at 1.0" in told
    assert "The bench answers: y" in told
    assert "cannot tell this; answer it yourself" in told


def test_a_tone_left_on_is_told_and_a_rest_is_asked_for(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    clock = Clock()
    lines = ["y", "y", "35.0", "12", "35.0", "12", "+", "19", "33", "quit"]

    def slow(_: str) -> str:
        clock.advance(20.0)
        return lines.pop(0)

    monkeypatch.setattr("builtins.input", slow)
    with Run.start(plan(), tmp_path, clock) as run:
        PlainRun(run, None, bell=True).lead()
    told = capsys.readouterr().out
    assert "Tone on\n" in told
    assert "s too long: switch it off" in told
    assert "s more with the tone off" in told
    assert "\a" in told


@pytest.mark.usefixtures("desk")
def test_an_interrupt_leaves_a_run_that_can_be_carried_on(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    lines = ["y"]

    def interrupted(_: str) -> str:
        if lines:
            return lines.pop()
        raise KeyboardInterrupt

    monkeypatch.setattr("builtins.input", interrupted)
    words = ["run", "./try.toml", "--unit", "./teal.toml", "--bench", "./hall.toml"]
    assert main(words) == 130
    assert "nothing that was recorded is lost" in capsys.readouterr().err
    (folder,) = find_log_folders(Path("logs"))
    with Run.resume(folder, Clock()) as run:
        assert run.next_prompt().key == "safe///2"


def test_input_that_ends_early_tells_of_what_is_out_of_spec(typed: Typed) -> None:
    told = typed("y", "y", "60", "+", code=1)  # the rail is over what its reservoir bears
    assert "stepwise resume" in told


def test_a_resistance_that_no_meter_reads_says_how_little_is_known_of_it() -> None:
    expected = Expected(Answer.QUANTITY, "ohm")
    prompt = Prompt(Pass("loads"), "readings", "shown_8", "8 Ω load", expected)
    card = Card(prompt, "Loads", "", "", (), (), "", 1, 1, 1, 1, None, None)
    said = " ".join(line.strip() for line in question_lines(card))
    assert "(none of this bench reads Ω, so only the last digit is known of it)" in said
    metered = replace(prompt, expected=replace(expected, meter="multimeter"))
    assert "(multimeter)" in " ".join(question_lines(replace(card, prompt=metered)))


def test_a_live_board_is_led_to_be_made_dead_and_nothing_typed_ahead_says_that_it_is(
    typed: Typed,
) -> None:
    Path("try.toml").write_text(LIVE, encoding="utf-8")
    told = typed("y", "n", "y", "y", "", "y", "y", "0.3", "quit", code=1)
    assert (
        told.count("! Not so: now “Make it dead”; all else stays shut. Enter alone goes there.")
        == 3
    )
    assert told.count("Nothing is asked now; this was not kept") == 2
    assert told.index("Step 4 of 6: Make it dead") > told.index("Enter alone goes there")
    assert "Not so: now “Proof”; all else stays shut." in told
    assert "Type -- to take it again" in told
    assert [key for _, key in answers()] == [
        "lamp///1", "lamp///2", "dead///1", "dead///2", "proof///rail_plus_dead",
    ]  # fmt: skip
