"""A thing that is read several times is shown several times, each look with its own chance."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from stepwise.procedure import read_bench_text, read_unit_text
from stepwise.rehearsal import BENCH_FILE, UNIT_FILE, RehearsalBench, bench_text, unit_text
from stepwise.run import Run, plan_from_texts

PROCEDURE = """
[procedure]
title = "Thrice"
revision = 1
summary = "One level, three times."

[[step]]
id = "levels"
kind = "readings"
title = "Levels"
readings = [
  { name = "level_open", ask = "Level", unit = "V", meter = "ac", tone = "1 kHz", times = 3 },
]
"""


def test_every_look_is_answered_and_the_mean_is_a_result(tmp_path: Path) -> None:
    plan = plan_from_texts(PROCEDURE, unit_text(), bench_text(), "thrice")
    now = [datetime(2026, 3, 1, 9, 0, tzinfo=UTC)]

    def clock() -> datetime:
        now[0] += timedelta(seconds=1)
        return now[0]

    unit, bench = (
        read_unit_text(unit_text(), UNIT_FILE),
        read_bench_text(bench_text(), BENCH_FILE),
    )
    rehearsal = RehearsalBench(5, unit, bench)
    with Run.start(plan, tmp_path, clock, operator="QH") as run:
        while (prompt := run.next_prompt()) is not None:
            typed = rehearsal.answer(prompt, run.card(prompt.key))
            assert typed is not None, prompt.key
            run.take(prompt.key, typed)
        looks = list(run.findings().named("level_open_look"))
        mean = run.findings().first("level_open")
    assert len(looks) == 3
    assert mean is not None
    assert min(each.value for each in looks) <= mean.value <= max(each.value for each in looks)
    assert len(mean.basis) == 3
