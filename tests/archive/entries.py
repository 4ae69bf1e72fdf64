"""Logs for the archive's tests: entries made by hand, and short runs on a small plan."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from sqlalchemy import Engine

from stepwise.archive.entry import Entry, EntryFlag, EntryResult, Mark
from stepwise.archive.keep import keep
from stepwise.run import Plan, Run, plan_from_texts
from tests.run import plans


def result(
    name: str,
    value: float,
    unit: str,
    *,
    spread: float | None = 1.0,
    channel: str = "left",
    load: str = "",
    label: str = "",
) -> EntryResult:
    label = label or name.capitalize()
    return EntryResult("clip", channel, load, "", name, label, value, spread, unit, "in spec", 0.99)


def entry(number: int, **more: object) -> Entry:
    """One ended log of its own unit, an hour after the one before."""
    made = Entry(
        identity=f"{number:064x}",
        digest=f"{number:064x}",
        events=10,
        size=1000,
        name=f"log-{number:03d}",
        unit="Teal",
        serial=f"{number}",
        procedure="first-look",
        revision=1,
        title="First look",
        bench="Hall workshop",
        operator="QH",
        began=f"2026-05-{1 + number // 24:02d}T{number % 24:02d}:00:00.000Z",
        ended=f"2026-05-{1 + number // 24:02d}T{number % 24:02d}:30:00.000Z",
        verdict="in spec",
        complete=True,
        answered=9,
        subject=f"teal | {number}",
        words=f"log-{number:03d} teal first-look",
    )
    return replace(made, **more)  # type: ignore[arg-type]


def flag(name: str, severity: str = "look") -> EntryFlag:
    return EntryFlag(name, severity, "clip", "left", "", f"{name} was seen")


def mark(value: float) -> Mark:
    return Mark(value, 0.4)


def put_in(engine: Engine, *entries: Entry) -> None:
    with engine.begin() as connection:
        for each in entries:
            keep(connection, each)


def small_plan(unit: str = plans.UNIT, bench: str = plans.BENCH) -> Plan:
    return plan_from_texts(plans.PROCEDURE, unit, bench, "try")


def played(logs: Path, plan: Plan | None = None, *, end: bool = True, **answers: str) -> Path:
    """A run on the small plan, some answers other than usual; gives the folder of its log."""
    with Run.start(plan or small_plan(), logs, plans.Clock()) as run:
        while (prompt := run.next_prompt()) is not None:
            typed = answers.get(prompt.point, plans.answer_for(prompt.point))
            run.take(prompt.key, typed)
        if end:
            run.end("done")
        return run.folder
