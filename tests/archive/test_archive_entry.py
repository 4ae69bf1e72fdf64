"""What the archive keeps of a log comes from its journal alone, and from nothing that failed."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

from stepwise.archive import log_identity
from stepwise.archive.entry_reader import read_entry
from stepwise.archive.figures import entry_figures
from stepwise.run import Run, read_run
from tests.archive.entries import played, small_plan
from tests.run import plans


def test_an_entry_says_what_the_run_shows(tmp_path: Path) -> None:
    folder = played(tmp_path)
    entry = read_entry(folder)
    run = read_run(folder).run
    assert (entry.unit, entry.procedure, entry.bench) == ("Teal", "try", "Hall workshop")
    assert (entry.began, entry.verdict) == ("2026-03-14T10:00:00.000Z", run.review().verdict.value)
    assert entry.ended
    assert entry.complete
    shown = {(e.step, e.channel, e.load, e.point, e.name): e for e in entry.results}
    worked_out = {
        (r.step, r.channel or "", r.load or "", r.point or "", r.name): r for r in run.results()
    }
    assert shown.keys() == worked_out.keys()
    for place, result in worked_out.items():
        assert shown[place].value == result.value
        assert shown[place].uncertainty == result.measure.expanded_uncertainty
        assert shown[place].label == result.label
        assert shown[place].verdict == result.judgement.verdict.value
    assert {(f.name, f.channel) for f in entry.flags} == {
        (f.name, f.channel or "") for f in run.flags()
    }


def test_what_a_correction_takes_away_is_gone_from_the_entry(tmp_path: Path) -> None:
    with Run.start(small_plan(), tmp_path, plans.Clock()) as run:
        plans.play(run)
        run.skip("clip/left/8 ohm/level", "the load was not on")
        folder = run.folder
        kept = {(r.channel, r.load, r.name) for r in run.results() if r.step == "clip"}
    entry = read_entry(folder)
    assert ("left", "8 ohm", "power") not in kept
    assert {(e.channel, e.load, e.name) for e in entry.results if e.step == "clip"} == kept


def test_a_flag_that_was_cleared_is_gone_from_the_entry(tmp_path: Path) -> None:
    with Run.start(small_plan(), tmp_path, plans.Clock()) as run:
        while (prompt := run.next_prompt()) is not None and prompt.key != "idle/right//offset":
            run.take(prompt.key, plans.answer_for(prompt.point))
        run.take("idle/right//offset", "900", sure=True)
        folder = run.folder
        raised = {flag.name for flag in run.flags()}
        assert raised
        assert {flag.name for flag in read_entry(folder).flags} == raised
        run.take("idle/right//offset", "12")
        assert {flag.name for flag in read_entry(folder).flags} == {f.name for f in run.flags()}
        assert not raised <= {flag.name for flag in run.flags()}


def test_an_unfinished_run_says_so(tmp_path: Path) -> None:
    entry = read_entry(played(tmp_path, end=False))
    assert (entry.verdict, entry.ended, entry.complete) == ("unfinished", "", False)
    assert entry.mark is None


def test_the_identity_is_that_of_the_first_line(tmp_path: Path) -> None:
    folder = played(tmp_path, end=False)
    copy = tmp_path / "copy"
    shutil.copytree(folder, copy)
    before = log_identity(folder)
    with Run.resume(folder, plans.Clock()) as run:
        run.end("later")
    assert log_identity(folder) == log_identity(copy) == before
    assert read_entry(folder).digest != read_entry(copy).digest
    assert log_identity(played(tmp_path, small_plan(plans.UNIT.replace("Teal", "Amber")))) != before


@pytest.mark.parametrize(
    ("price", "number", "currency"),
    [
        ("49.90 EUR", 49.9, "EUR"),
        ("€ 89", 89.0, "€"),
        ("12,50 GBP", 12.5, "GBP"),
        ("1,299.00 USD", 1299.0, "USD"),
        ("1.299,50 EUR", 1299.5, "EUR"),
        ("1 299 EUR", 1299.0, "EUR"),
        ("£1,234,567", 1234567.0, "£"),
        ("a gift", None, ""),
        ("", None, ""),
    ],
)
def test_prices_are_read_with_their_currency(
    tmp_path: Path, price: str, number: float | None, currency: str
) -> None:
    unit = plans.UNIT.replace("[ratings]", f'price = "{price}"\nserial = "QH-7"\n[ratings]')
    entry = read_entry(played(tmp_path, small_plan(unit)))
    assert (entry.price, entry.currency, entry.serial) == (number, currency, "QH-7")


def test_the_transformer_gives_watts_for_each_volt_ampere(tmp_path: Path) -> None:
    bench = plans.BENCH + '[supply]\nsecondary = "24 V"\nrating = "0.2 kVA"\n'
    entry = read_entry(played(tmp_path, small_plan(bench=bench)))
    figures = {(f.name, f.load): f for f in entry_figures(entry)}
    power, share = figures["power", "8 ohm"], figures["power_per_va", "8 ohm"]
    assert entry.transformer == 200.0
    assert share.low == pytest.approx(power.low / 200.0)
    assert figures["power", ""].high > figures["power", "8 ohm"].high


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        (b"nothing of ours\n", "damaged at line 1"),
        (b"", "nothing was recorded in it"),
        (b'{"seq":1', "nothing was recorded in it"),
    ],
)
def test_a_journal_that_says_nothing_is_listed_with_what_is_wrong(
    tmp_path: Path, content: bytes, problem: str
) -> None:
    (tmp_path / "journal.jsonl").write_bytes(content)
    entry = read_entry(tmp_path)
    assert (entry.problem, entry.unit, entry.results) == (problem, "", ())


def test_a_damaged_journal_is_kept_as_far_as_it_is_sound(tmp_path: Path) -> None:
    folder = played(tmp_path)
    journal = folder / "journal.jsonl"
    journal.write_bytes(journal.read_bytes().replace(b'"1.9 on 3 x10"', b'"2.9 on 3 x10"', 1))
    entry = read_entry(folder)
    assert entry.problem.startswith("damaged at line ")
    assert entry.unit == "Teal"
    assert entry.results


def test_a_folder_without_a_journal_is_said(tmp_path: Path) -> None:
    assert read_entry(tmp_path / "none").problem


def test_remarks_marks_of_people_and_flags_are_searched(tmp_path: Path) -> None:
    with Run.start(
        small_plan(), tmp_path, plans.Clock(), operator="QH", episode="Spring Fair"
    ) as run:
        plans.play(run)
        run.note("Relay  BUZZES\na little")
        run.end("sold to nobody")
        folder = run.folder
    words = read_entry(folder).words
    for part in ("teal", "spring fair", "qh", "relay buzzes a little", "sold to nobody"):
        assert part in words


ODD: list[object] = [
    None, True, 7, -1.5, 10**400, "nan", "text", "half \udc80 NUL \0", [], [[]], {}, {"a": 1}, [{"name": 3}], [[{}, []]],
    {"results": 5, "flags": "x", "gone": [[{}, 1]], "cleared": [None]},
    {"results": [{"name": None, "value": "inf"}, {"value": 1, "unit": 9}], "flags": [{"flag": []}]},
]  # fmt: skip


@pytest.mark.parametrize("odd", ODD, ids=range(len(ODD)))
def test_whatever_a_journal_says_is_taken_in_or_left_out(tmp_path: Path, odd: object) -> None:
    """A journal of another version, or of somebody who wrote one by hand, ends no list of logs."""
    from datetime import UTC, datetime

    from stepwise.archive import Query, with_local_archive
    from stepwise.journal import Journal

    names = (
        "unit_name", "revision", "episode", "rehearsal", "sources", "transcribed", "operator",
    )  # fmt: skip
    at = datetime(2026, 5, 1, tzinfo=UTC)
    folder = tmp_path / os.fsdecode(b"odd \x80")
    folder.mkdir()
    with Journal.create(folder) as journal:
        journal.append("begin", dict.fromkeys(names, odd), at)
        journal.append("reading", {"key": "a/b/c/d", "typed": "1", "text": odd, "shown": odd}, at)
        journal.append("end", {"verdict": odd, "complete": odd, "closing": odd}, at)
    (found, _) = with_local_archive(tmp_path, lambda archive: archive.find(Query(text="odd")))
    assert [row.name for row in found.rows] == ["odd \\udc80"]
    assert with_local_archive(tmp_path, lambda archive: archive.refresh().read)[0] == 0
