"""What a report says: what was done about flags, what was left out, whether the log is whole."""

from __future__ import annotations

from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest

from stepwise.judge import Verdict
from stepwise.report import (
    Report,
    build_report,
    html_page,
    markdown_page,
    notes_text,
    talk_text,
)
from stepwise.report.content import (
    Cell,
    Facts,
    Figure,
    FlagNote,
    Listing,
    PowerPlot,
    Prose,
    ResponsePlot,
    Section,
    Table,
)
from stepwise.run import Run, RunView, read_run
from tests.run.plans import Clock, answer_for, plan, play


@pytest.fixture
def run(tmp_path: Path) -> Iterator[Run]:
    with Run.start(plan(), tmp_path, Clock(), operator="QH", episode="new racks") as begun:
        yield begun


def played(run: Run, **instead: str) -> None:
    """Answer everything that is asked, some of it otherwise than usual."""
    while (prompt := run.next_prompt()) is not None:
        name = prompt.point.replace(" ", "_")
        run.take(prompt.key, instead.get(name, answer_for(prompt.point)), sure=True)


def report(run: Run) -> Report:
    return build_report(read_run(run.folder))


def section(made: Report, anchor: str) -> Section:
    return next(each for each in made.sections if each.anchor == anchor)


def tables(part: Section) -> list[Table]:
    return [block for block in part.blocks if isinstance(block, Table)]


def words(part: Section) -> str:
    """Everything that a section says."""
    said: list[str] = []
    for block in part.blocks:
        match block:
            case Table():
                said += [block.caption, *(cell.text for row in block.rows for cell in row)]
            case Facts():
                said += [f"{term}: {text}" for term, text in block.pairs]
            case Listing():
                said += [block.heading, *block.items]
            case Prose():
                said.append(block.text)
            case Figure():
                said.append(block.described)
            case FlagNote():
                said += [sight.says + " " + sight.done for sight in block.sights]
    return "\n".join(said)


def test_identity_and_conditions_come_first(run: Run) -> None:
    played(run)
    run.end()
    first = report(run).sections[0]
    for part in (
        "Unit: Teal", "Claimed by its seller: 60 W into 4 Ω", "Operator: QH", "Episode: new racks",
        "Begun: 2026-03-14 10:00 UTC", "lowest load 4 Ω", "(try, revision 1)",
    ):  # fmt: skip
        assert part in words(first), part


def test_powers_say_what_their_uncertainty_leaves_to_the_eye(run: Run) -> None:
    played(run)
    said = words(section(report(run), "step-clip"))
    # 1 / 0.98 squared is 1.041; tests/rehearsal holds these figures against the simulated person.
    assert "up to 2 % below clipping: the board may give up to 4 % more" in said
    assert "No ± counts the eye" in said


def test_a_flag_that_was_left_alone_says_so(run: Run) -> None:
    played(run)
    notes = [each for each in section(report(run), "flags").blocks if isinstance(each, FlagNote)]
    early = next(each for each in notes if each.name == "early-roll-off-low")
    assert [sight.where for sight in early.sights] == ["left", "right"]
    assert {sight.done for sight in early.sights} == {"None of its readings was taken again."}


def test_a_flag_that_stands_although_its_reading_was_taken_again_says_so(run: Run) -> None:
    played(run)
    run.take("sweep/left//20 Hz", "-4.4", sure=True)
    notes = [each for each in section(report(run), "flags").blocks if isinstance(each, FlagNote)]
    early = next(each for each in notes if each.name == "early-roll-off-low")
    assert early.sights[0].done == "Taken again, and the flag stands: left · Level at 20 Hz."
    assert early.sights[1].done == "None of its readings was taken again."


def test_a_flag_that_went_says_after_which_correction(run: Run) -> None:
    played(run, offset="300")
    assert [flag for flag in run.flags() if flag.step == "idle"]
    for channel in ("left", "right"):
        run.take(f"idle/{channel}//offset", "11", sure=True)
    assert not [flag for flag in run.flags() if flag.step == "idle"]
    part = section(report(run), "flags")
    gone = next(table for table in tables(part) if "gone" in table.caption)
    thens = [row[-1].text for row in gone.rows]
    assert "left · Offset was taken again: 11 instead of 300." in thens


def test_a_flag_went_with_the_answer_that_cleared_it_not_the_first_correction(run: Run) -> None:
    played(run, offset="300")
    run.take("idle/left//rail_plus", "36.0", sure=True)
    run.take("idle/left//offset", "11", sure=True)
    assert not [flag for flag in run.flags() if flag.channel == "left" and flag.step == "idle"]
    gone = next(t for t in tables(section(report(run), "flags")) if "gone" in t.caption)
    assert [row[-1].text for row in gone.rows if row[1].text == "left"] == [
        "left · Offset was taken again: 11 instead of 300."
    ]


def test_headlines_tell_what_was_left_out_and_a_stop_that_was_withdrawn(run: Run) -> None:
    play(run, until="idle/left//rail_plus")
    run.take("idle/left//rail_plus", "80", sure=True)
    (stop,) = {flag.name for flag in run.flags() if flag.closes}
    run.take("idle/left//rail_plus", "35.0", sure=True)
    run.skip("idle/right//rail_plus", "no time")
    assert not [flag for flag in run.flags() if flag.closes]
    view = read_run(run.folder)
    made = build_report(view)
    total = len(run.prompts)
    withdrawn = f"A stop was shown and withdrawn: {stop.replace('-', ' ')}"
    for text in (html_page(made), markdown_page(made), talk_text(view), notes_text(view)):
        top = unescape(text).replace("\\", "")
        assert f"1 of {total} is left out, a reading with a limit." in top
        assert "the run is not finished" in top
        assert withdrawn in top
    assert "1 left out, a reading with a limit; the run is not finished" in run.review().sentence


def test_a_stop_says_what_it_closed_and_what_opens_it(run: Run) -> None:
    play(run, until="idle/left//rail_plus")
    run.take("idle/left//rail_plus", "80", sure=True)
    closing = [flag for flag in run.flags() if flag.closes]
    assert closing
    made = report(run)
    notes = [each for each in section(made, "flags").blocks if isinstance(each, FlagNote)]
    note = next(each for each in notes if each.name == closing[0].name)
    assert note.closed.endswith(closing[0].reopens.rstrip(".") + ".")
    assert note.closed in unescape(html_page(made))


def test_corrections_stand_with_what_was_typed_before(run: Run) -> None:
    played(run)
    run.take("idle/left//rail_plus", "36.0", sure=True)
    (table,) = tables(section(report(run), "corrections"))
    assert [[cell.text for cell in row] for row in table.rows] == [
        ["left · Positive rail", "35.0", "36.0"]
    ]


def test_an_answer_that_was_doubted_is_told(run: Run) -> None:
    while (prompt := run.next_prompt()) is not None:
        if prompt.key == "clip/left/8 ohm/rail_plus":
            outcome = run.take(prompt.key, "350")
            assert outcome.doubt is not None
        run.take(prompt.key, answer_for(prompt.point), sure=True)
    part = section(report(run), "corrections")
    (table,) = [each for each in tables(part) if "slip" in each.caption]
    assert table.rows[0][1] == Cell("350", is_typed=True)
    assert table.rows[0][-1] == Cell("35.0", is_typed=True)


def test_everything_left_out_is_there_with_its_reason(run: Run) -> None:
    while (prompt := run.next_prompt()) is not None:
        if prompt.key.startswith("sweep/left"):
            run.skip(prompt.key, "the lead broke")
        elif prompt.key.startswith("sweep/right"):
            break
        else:
            run.take(prompt.key, answer_for(prompt.point), sure=True)
    made = report(run)
    said = words(section(made, "left-out"))
    assert "the lead broke" in said
    assert "Level at 100 Hz" in said
    assert "Sweep: 7 of 14" in said
    assert "Listen" in said
    assert "not finished" in made.sentence


def test_a_closed_step_names_its_hold_point(run: Run) -> None:
    played(run, offset="300")
    assert "Listen: closed by the hold point “Offset”" in words(section(report(run), "left-out"))


def test_nothing_left_out_is_said_too(run: Run) -> None:
    played(run)
    assert "Nothing was left out" in words(section(report(run), "left-out"))


def test_a_confirmation_that_was_refused_is_not_in_spec(run: Run) -> None:
    while (prompt := run.next_prompt()) is not None:
        answer = "n" if prompt.step == "listen" else answer_for(prompt.point)
        run.take(prompt.key, answer, sure=True)
    made = report(run)
    assert "sounds fine: answered with no" in words(section(made, "attention"))
    assert "1 thing to be confirmed is not so" in made.sentence


def test_the_record_is_whole_or_says_where_it_is_not(run: Run) -> None:
    played(run)
    run.close()
    said = words(section(report(run), "record"))
    assert "Integrity: whole" in said
    assert "this version works out what was shown at the bench" in said
    path = run.folder / "journal.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    assert b'"typed":"12"' in lines[4]
    lines[4] = lines[4].replace(b'"typed":"12"', b'"typed":"13"')
    path.write_bytes(b"".join(lines))
    made = report(run)
    said = words(section(made, "record"))
    assert "DAMAGED at line 5" in said
    assert "line 5: this line was changed" in said
    assert str(path.parent) not in html_page(made)
    assert "damaged from line 5" in made.warnings[0]


def test_a_result_that_is_worked_out_differently_now_is_told(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    from dataclasses import replace

    played(run)
    view = read_run(run.folder)
    told = "Worked out differently now than at the bench"
    assert told not in words(section(build_report(view), "record"))
    power = next(each for each in view.run.results() if each.name == "power")
    changed = tuple(
        replace(each, measure=each.measure.scaled(1.1)) if each is power else each
        for each in view.run.results()
    )
    monkeypatch.setattr(Run, "results", lambda _: changed)
    said = words(section(build_report(view), "record"))
    assert told in said
    assert "clip · left · 8 Ω · power: shown as 44.8 ± 5.0 W, noted; now 49.3 ± 5.4 W" in said
    assert "Agreement" not in said


def test_a_result_that_is_gone_in_this_version_is_no_agreement(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    played(run)
    view = read_run(run.folder)
    fewer = tuple(each for each in view.run.results() if each.name != "power")
    monkeypatch.setattr(Run, "results", lambda _: fewer)
    said = words(section(build_report(view), "record"))
    assert "now nothing" in said
    assert "Agreement" not in said


def test_integrity_is_claimed_for_what_was_looked_at(run: Run, tmp_path: Path) -> None:
    played(run)
    assert "attached" not in words(section(report(run), "record"))
    picture = tmp_path / "scope.png"
    picture.write_bytes(b"x")
    run.attach(picture)
    assert "the files attached were not looked at" in words(section(report(run), "record"))


def test_alike_results_of_two_steps_both_stand(run: Run) -> None:
    from dataclasses import replace

    from stepwise.report.tabulate import by_channel

    played(run)
    power = next(each for each in run.results() if each.name == "power")
    channels = run.plan.unit.channels
    table = by_channel("Power", [power, replace(power, step="clip-hot")], channels)
    assert table is not None
    assert [row[1].text for row in table.rows] == ["clip", "clip-hot"]
    assert by_channel("Power", [power], channels).heads[1] == "Load"  # type: ignore[union-attr]


def test_channels_stand_in_the_units_order_whichever_has_a_result_first(run: Run) -> None:
    from dataclasses import replace

    from stepwise.report.tabulate import by_channel

    played(run)
    left, right = (each for each in run.results() if each.name == "offset")
    balance = replace(left, channel=None, name="balance", label="Balance")
    table = by_channel("Idle", [balance, right, replace(left, name="rail")], ("left", "right"))
    assert table is not None
    assert table.heads[1:4] == ("left", "right", "Result")
    assert [cell.text != "—" for cell in table.rows[1][1:4]] == [False, True, False]


def test_plots_hold_every_point_and_every_load(rehearsal: RunView) -> None:
    plots = [
        block.plot
        for part in build_report(rehearsal).sections
        for block in part.blocks
        if isinstance(block, Figure)
    ]
    (powers,) = [each for each in plots if isinstance(each, PowerPlot)]
    assert [(group.load, group.claim, len(group.bars)) for group in powers.groups] == [
        ("8 Ω", 40.0, 2),
        ("4 Ω", 60.0, 2),
    ]
    (response,) = [each for each in plots if isinstance(each, ResponsePlot)]
    for panel in response.panels:
        levels = [
            each
            for each in rehearsal.run.results()
            if (each.step, each.channel, each.name) == ("sweep", panel.name, "level_db")
        ]
        assert len(panel.points) == len(levels)
        assert panel.model
        assert (panel.low_db, panel.high_db) == (-3.0, 3.0)
        assert panel.band == (20.0, 20e3)


def test_every_result_is_in_some_table(rehearsal: RunView) -> None:
    made = build_report(rehearsal)
    parts = [each for each in made.sections if each.anchor.startswith(("step-", "remarks"))]
    shown = "\n".join(words(part) for part in parts)
    missing = [each.label for each in rehearsal.run.results() if each.label not in shown]
    assert missing == []


def test_the_bench_and_its_accuracies_are_there(rehearsal: RunView) -> None:
    said = words(section(build_report(rehearsal), "bench"))
    for part in ("AC voltmeter", "± 3 % of full scale", "average-responding", "8.06 Ω", "2 × 24 V"):
        assert part in said, part


def test_one_digit_is_one_and_two_are_digits() -> None:
    from stepwise.bench import Accuracy, Bench, Meter, MeterType
    from stepwise.procedure import bench_to_toml, read_bench_text
    from stepwise.report.parts.bench import accuracy_text

    for count, said in ((1.0, "+ 1 digit"), (2.0, "+ 2 digits")):
        meter = Meter("dc", MeterType.DIGITAL, Accuracy(of_reading=0.005, digits=count))
        assert accuracy_text(meter) == f"± (0.5 % of reading {said})"
        written = bench_to_toml(Bench("Hall workshop", (meter,)))
        assert f'{said}"' in written
        assert read_bench_text(written, "b.toml").meters[0].accuracy == meter.accuracy


def test_marks_show_how_they_came_about(rehearsal: RunView) -> None:
    said = words(section(build_report(rehearsal), "marks"))
    assert "out of ten" in said
    assert "the worst of" in said


def test_the_verdict_and_at_most_three_points_lead(rehearsal: RunView) -> None:
    made = build_report(rehearsal)
    assert made.conclusion.verdict is Verdict.OUT_OF_SPEC
    assert 1 <= len(made.points) <= 3
    assert made.points[0].startswith("The low end falls away early on the left channel")
    assert made.points[0].endswith("The same flag stands for the right channel.")
    assert 1 <= len(made.keys) <= 4


def test_a_figure_that_is_out_of_spec_stands_large_before_others(run: Run) -> None:
    played(run, offset="300")
    labels = [key.label for key in report(run).keys]
    assert labels == ["Clean power, 8 Ω", "Clean power, 4 Ω", "-3 dB, low end", "DC at the output"]
    run.take("sweep/left//20 Hz", "-1.5", sure=True)
    run.take("sweep/right//20 Hz", "-1.5", sure=True)
    labels = [key.label for key in report(run).keys]
    assert labels[2] == "DC at the output"


def test_an_empty_run_has_a_report(run: Run) -> None:
    made = report(run)
    assert made.sentence.startswith("Nothing was held against a limit")
    assert "not finished" in made.sentence
    assert html_page(made)
    assert markdown_page(made)
