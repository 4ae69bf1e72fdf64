"""The sheet and the JSON of a log: what they must hold, and that they agree with the run."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import jsonschema
import pytest

from stepwise.report import run_record, sheet_text
from stepwise.run import Run, RunView, plan_from_texts, read_run
from tests.run.plans import BENCH, UNIT, Clock, plan, play

RESULT_KEYS = (
    "step", "channel", "load", "point", "name", "typed", "value", "unit", "uncertainty",
    "coverage", "verdict", "probability", "limit",
)  # fmt: skip
FLAG_KEYS = ("flag", "severity", "step", "channel", "load", "says", "evidence", "likely", "try")
LOG_KEYS = (
    "folder", "unit", "procedure", "revision", "bench", "operator", "episode", "began", "ended",
    "complete", "version", "rehearsal", "integrity",
)  # fmt: skip
THUMP = """\
[procedure]
title = "Try"
revision = 1
summary = "try"
[[step]]
id = "on"
kind = "readings"
title = "Switching on"
readings = [
  { name = "thump", ask = "Excursion", unit = "mV", meter = "scope", optional = true, limit = { max = "300 mV" } },
]
"""
TEXT = {"type": "string"}
MAYBE_TEXT = {"type": ["string", "null"]}
MAYBE_NUMBER = {"type": ["number", "null"]}
SCHEMA = {
    "type": "object",
    "required": ["format", "log", "results", "flags", "verdict"],
    "properties": {
        "format": {"const": 1},
        "log": {"type": "object", "required": list(LOG_KEYS)},
        "results": {
            "type": "array",
            "items": {
                "required": list(RESULT_KEYS),
                "properties": {
                    "step": TEXT,
                    "channel": MAYBE_TEXT,
                    "load": MAYBE_TEXT,
                    "value": MAYBE_NUMBER,
                    "uncertainty": MAYBE_NUMBER,
                    "coverage": {"type": "number", "minimum": 1.6},
                    "verdict": {"enum": ["in spec", "out of spec", "too close to call", "noted"]},
                    "probability": MAYBE_NUMBER,
                    "limit": MAYBE_TEXT,
                },
            },
        },
        "flags": {
            "type": "array",
            "items": {
                "required": list(FLAG_KEYS),
                "properties": {
                    "severity": {"enum": ["stop", "wrong", "look", "note"]},
                    "evidence": {"type": "array", "items": {"required": ["name", "value"]}},
                    "likely": {"type": "array", "items": TEXT},
                },
            },
        },
        "verdict": TEXT,
    },
}


@pytest.fixture
def run(tmp_path: Path) -> Iterator[Run]:
    with Run.start(plan(), tmp_path, Clock(), operator="QH", episode="new racks") as begun:
        yield begun


def record(run: Run) -> dict:
    return json.loads(json.dumps(run_record(read_run(run.folder)), allow_nan=False))


def squeezed(text: str) -> str:
    """Without line ends and columns, so that wrapping cannot hide what is there."""
    return " ".join(text.split())


def test_the_json_form_is_the_promised_one(run: Run) -> None:
    play(run)
    run.end("tidy board")
    made = record(run)
    jsonschema.validate(made, SCHEMA)
    assert made["log"]["unit"] == "Teal"
    assert made["log"]["operator"] == "QH"
    assert made["log"]["episode"] == "new racks"
    assert made["log"]["began"] == "2026-03-14T10:00:00.000Z"
    assert made["log"]["ended"] == "2026-03-14T10:00:00.000Z"
    assert made["log"]["complete"] is True
    assert made["log"]["rehearsal"] is None
    assert made["log"]["integrity"] == {"whole": True, "damages": [], "torn": False}
    assert made["verdict"] == "out of spec"


def test_the_json_form_gives_every_result_with_expanded_uncertainty(run: Run) -> None:
    play(run)
    made = record(run)["results"]
    assert len(made) == len(run.results())
    power = next(each for each in made if (each["name"], each["load"]) == ("power", "8 ohm"))
    shown = next(run.findings().named("power", load="8 ohm"))
    assert power["value"] == pytest.approx(19.0**2 / 8.06)
    standard = shown.measure.standard_uncertainty
    assert power["uncertainty"] == pytest.approx(power["coverage"] * standard)
    # The class of the pointer's range outweighs the rest, and it is a limit of error.
    assert 1.65 < power["coverage"] < 1.8
    assert (power["unit"], power["typed"], power["limit"]) == ("W", None, None)
    assert next(each for each in made if each["name"] == "level")["typed"] == "1.9 on 3 x10"


def test_where_nobody_knows_how_sure_it_is_the_records_say_so(tmp_path: Path) -> None:
    """No oscilloscope on the bench: what the output jumps to has its last digit alone."""
    with Run.start(plan_from_texts(THUMP, UNIT, BENCH, "try"), tmp_path, Clock()) as run:
        run.take("on///thump", "223", sure=True)
        run.end()
        view = read_run(run.folder)
    (made,) = run_record(view)["results"]
    assert (made["uncertainty"], made["uncertainty_known"]) == (None, False)
    assert (made["verdict"], made["probability"]) == ("in spec", None)
    assert "last digit" in made["remark"]
    assert view.otherwise == ()
    sheet = squeezed(sheet_text(view.run))
    assert "223 mV" in sheet
    assert "223 mV ±" not in sheet
    assert "only the last digit is known" in sheet


def test_the_json_form_names_every_result_that_applies(rehearsal: RunView) -> None:
    names = {each["name"] for each in run_record(rehearsal)["results"]}
    assert names >= {
        "level", "power", "power_at_ten_percent", "sag", "regulation", "ceiling", "headroom_loss",
        "claim_ratio", "gain", "source_impedance", "damping_factor", "level_db", "minus_1db_low",
        "minus_3db_low", "minus_1db_high", "minus_3db_high", "corner_low", "order_low",
        "corner_high", "order_high", "coupling_capacitance", "cure_capacitance", "flatness",
        "overshoot", "tilt", "rise_time", "temperature", "idle_power", "offset", "dissipation",
        "channel_balance",
    }  # fmt: skip


def test_doubts_and_marks_are_in_the_json_form(run: Run) -> None:
    key = "clip/left/8 ohm/rail_plus"
    play(run, until=key)
    assert run.take(key, "350").doubt is not None
    run.take(key, "350", sure=True)
    made, text = record(run), squeezed(sheet_text(run))
    (doubt,) = made["doubts"]
    assert (doubt["key"], doubt["typed"]) == (key, "350")
    assert made["marks"] is None  # the procedure has no scheme
    assert f"looked like a slip: {doubt['slip']}" in text


def test_skips_confirmations_and_remarks_are_in_both_forms(run: Run) -> None:
    run.take("safe///1", "n")
    run.take("safe///1", "y")
    run.take("safe///2", "y")
    run.skip("idle/left//rail_plus", "probe lost")
    run.note("smells of flux", "safe///2")
    made, text = record(run), squeezed(sheet_text(run))
    assert [each["confirmed"] for each in made["confirmations"]] == [True, True]
    assert made["skipped"][0]["reason"] == "probe lost"
    assert made["remarks"][0]["text"] == "smells of flux"
    assert made["log"]["ended"] is None
    assert made["log"]["complete"] is False
    assert "a confirmed corrected b confirmed" in text
    assert "probe lost" in text
    assert "b: smells of flux" in text
    assert "the run is not finished" in text


def test_the_sheet_has_all_that_was_typed_read_and_found(run: Run) -> None:
    play(run)
    text = squeezed(sheet_text(run))
    assert "Teal · Try" in text
    assert "begun 2026-03-14 10:00 UTC" in text
    for part in ("1.9 on 3", "Clean power 44.8", "(at least 60 W)", "Corner, low end", "-4.50 ±"):
        assert part in text, part
    assert "! WRONG early-roll-off-low · sweep · left" in text
    for flag in run.flags():
        assert squeezed(flag.says) in text
        assert squeezed(flag.next_try) in text
        assert all(squeezed(cause) in text for cause in flag.likely)


def test_every_computed_result_is_somewhere_on_the_sheet(run: Run) -> None:
    play(run)
    text = squeezed(sheet_text(run))
    computed = [result for result in run.results() if result.key is None]
    assert len(computed) > 10
    # A long label goes on below its figure; its opening stands together.
    missing = [each.label for each in computed if squeezed(each.label[:18]) not in text]
    assert missing == []


def test_a_sheet_fits_into_eighty_columns(run: Run) -> None:
    play(run)
    run.note("word" * 60)
    run.end("x" * 300)
    assert max(map(len, sheet_text(run).splitlines())) <= 80


def test_what_people_typed_cannot_steer_the_terminal(tmp_path: Path) -> None:
    evil = "\x1b]0;gotcha\x07\x1b[2Jhello\u202e"
    with Run.start(plan(), tmp_path, Clock(), operator=evil, episode=evil) as run:
        play(run, until="idle/left//rail_plus")
        run.skip("idle/left//rail_plus", evil)
        run.note(evil)
        run.end(evil)
        text = sheet_text(run, warnings=[evil])
    assert text.count("hello") >= 5
    assert all(character.isprintable() or character == "\n" for character in text)


def test_many_prompts_left_out_for_one_reason_share_a_line(run: Run) -> None:
    play(run, until="sweep/left//reference")
    while (prompt := run.next_prompt()) is not None:
        run.skip(prompt.key, "no time today")
    text = sheet_text(run)
    assert "14 left out: no time today" in text
    assert "sounds fine" in text


def test_a_closed_step_names_its_hold_point(run: Run) -> None:
    play(run, until="idle/left//offset")
    run.take("idle/left//offset", "300")
    assert "closed by the hold point “Offset”" in sheet_text(run)
    assert record(run)["closed"] == [{"step": "listen", "hold_point": "Offset"}]


def damaged(run: Run) -> RunView:
    path = run.folder / "journal.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    assert b'"typed":"12"' in lines[4]
    lines[4] = lines[4].replace(b'"typed":"12"', b'"typed":"13"')
    path.write_bytes(b"".join(lines))
    return read_run(run.folder)


def test_a_damaged_log_is_shown_up_to_the_damage(run: Run) -> None:
    play(run)
    run.close()
    view = damaged(run)
    assert [line.key for line in view.run.sheet()] == [
        "safe///1",
        "safe///2",
        "idle/left//rail_plus",
    ]
    text = sheet_text(view.run, view.warnings)
    assert text.startswith("DAMAGED:")
    # A long folder's name may break the path on the sheet anywhere.
    assert "journal.jsonl:5:thislinewaschanged" in "".join(text.split())
    integrity = run_record(view)["log"]["integrity"]
    assert integrity["whole"] is False
    assert [each["line"] for each in integrity["damages"]] == [5]


def test_reading_a_log_leaves_no_trace_and_waits_for_nobody(run: Run) -> None:
    play(run, until="clip/left/8 ohm/level")
    path = run.folder / "journal.jsonl"
    before = path.read_bytes(), sorted(each.name for each in run.folder.iterdir())
    view = read_run(run.folder)
    assert view.run.sheet() == run.sheet()
    assert view.run.flags() == run.flags()
    assert (path.read_bytes(), sorted(each.name for each in run.folder.iterdir())) == before
