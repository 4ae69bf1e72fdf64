"""Logs to make reports of: a seeded rehearsal on a clock of its own, and a run full of traps."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from stepwise.cli.plans import rehearsal_plan
from stepwise.cli.rehearse import answer_all
from stepwise.rehearsal import RehearsalBench
from stepwise.run import Run, RunView, plan_from_texts, read_run
from tests.run.plans import BENCH, PROCEDURE, UNIT, Clock, answer_for

EVIL_NAME = "<script>alert(1)</script>"
EVIL_REMARK = "=cmd|' /C calc'!A0"
EVIL_TERMINAL = "\x1b[31mred\x1b]0;title\x07\u202egnirts\u2066"
EVIL_MARKDOWN = (
    "[click](https://example.org) **bold** `code` | cell | <b>html</b> ![x](y) www.example.org"
)
EVIL_MATH = "$\\frac{1$ ]]> --> &amp; \" '"
EVIL = (EVIL_NAME, EVIL_REMARK, EVIL_TERMINAL, EVIL_MARKDOWN, EVIL_MATH)


BEGAN = datetime(2026, 3, 14, 10, 0, tzinfo=UTC)


def rehearsed(
    logs: Path,
    procedure: str = "first-look",
    *,
    seed: int = 3,
    fault: str = "small-coupling-capacitor",
) -> RunView:
    """A whole unattended rehearsal on the bench's own clock, read back."""
    plan = rehearsal_plan(procedure)
    faults = [(fault, 1.0)] if fault else []
    bench = RehearsalBench(seed, plan.unit, plan.bench, faults)
    made = {"seed": seed, "faults": [list(each) for each in faults]}
    with Run.start(
        plan, logs, bench.clock(BEGAN), operator="QH", episode="new racks", rehearsal=made
    ) as run:
        answer_all(run, bench)
        folder = run.folder
    return read_run(folder)


def trapped(logs: Path) -> RunView:
    """A run in which everything that people can type is hostile, read back."""
    unit = UNIT.replace('"Teal"', _toml(EVIL_NAME)).replace('"right"', _toml("r$i_g<h>t"))
    unit = unit.replace(
        "[ratings]", f"serial = {_toml(EVIL_MATH)}\nremarks = {_toml(EVIL_MARKDOWN)}\n[ratings]"
    )
    procedure = PROCEDURE.replace('title = "Sweep"', f"title = {_toml(EVIL_MARKDOWN[:79])}")
    bench = BENCH.replace('"Hall workshop"', _toml(EVIL_REMARK))
    plan = plan_from_texts(procedure, unit, bench, "try")
    with Run.start(plan, logs, Clock(), operator=EVIL_REMARK, episode=EVIL_TERMINAL) as run:
        while (prompt := run.next_prompt()) is not None:
            if prompt.point == "60 Hz":
                run.skip(prompt.key, EVIL_REMARK)
            else:
                run.take(prompt.key, answer_for(prompt.point), sure=True)
        for number, text in enumerate(EVIL):
            run.note(text, "safe///1" if number % 2 else None)
        run.end(EVIL_REMARK)
        folder = run.folder
    return read_run(folder)


def _toml(text: str) -> str:
    escaped = "".join(
        each if each.isprintable() and each not in '"\\' else f"\\u{ord(each):04x}" for each in text
    )
    return f'"{escaped}"'
