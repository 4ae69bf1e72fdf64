"""A chained journal whose answers are of no form that this version knows is refused in words."""

from __future__ import annotations

from pathlib import Path

import pytest

from stepwise.errors import JournalError
from stepwise.journal import Event, read_journal
from stepwise.journal.event import NO_LINE, encode
from stepwise.run import Run, read_run
from tests.run.plans import Clock, answer_for, plan


@pytest.fixture
def log(tmp_path: Path) -> Path:
    with Run.start(plan(), tmp_path, Clock()) as run:
        while (prompt := run.next_prompt()) is not None:
            run.take(prompt.key, answer_for(prompt.point), sure=True)
        return run.folder


def changed(log: Path, field: str, value: str) -> int:
    """Write the journal again, its first voltage kept otherwise; gives the line of it."""
    lines, before, place = [], NO_LINE, 0
    for event in read_journal(log).events:
        data = dict(event.data)
        if not place and event.data.get("unit") == "V":
            place, data[field] = event.seq, value
        line, before, _ = encode(Event(event.seq, event.at, event.kind, data), before)
        lines.append(line)
    (log / "journal.jsonl").write_bytes(b"".join(lines))
    return place


@pytest.mark.parametrize("field", ["form", "typed_form"])
def test_an_unknown_form_of_an_answer_is_told_with_its_line(log: Path, field: str) -> None:
    line = changed(log, field, "average")
    for open_it in (read_run, lambda folder: Run.resume(folder, Clock())):
        with pytest.raises(JournalError, match="kept in the form “average”") as refused:
            open_it(log)
        assert refused.value.line == line
        assert "peak-to-peak" in str(refused.value)


def test_a_log_of_another_form_does_not_keep_the_next_program_out(log: Path) -> None:
    changed(log, "form", "average")
    for _ in range(2):  # a lock that stayed would name its holder the second time
        with pytest.raises(JournalError, match="average"):
            Run.resume(log, Clock())
