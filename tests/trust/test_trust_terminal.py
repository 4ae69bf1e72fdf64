"""The harnesses that need a pseudo-terminal, at short length."""

from __future__ import annotations

from pathlib import Path

import pytest

pytest.importorskip("pty", reason="pseudo-terminals are of POSIX only")

from tests.trust import killing, overtaking


def test_what_was_shown_as_taken_when_the_program_was_killed_is_in_the_journal(
    tmp_path: Path,
) -> None:
    tally = killing.hunt(3, 2, tmp_path)
    assert tally.kills == 3


def test_readings_sent_faster_than_they_are_written_land_on_their_lines() -> None:
    tally = overtaking.hunt(120, 4, at_a_time=120)
    assert tally.kept == 120
    assert tally.refused
