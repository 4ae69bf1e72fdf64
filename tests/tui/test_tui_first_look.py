"""The whole first look on the rehearsal bench, key by key, through the real screens."""

from __future__ import annotations

import asyncio
import itertools
from datetime import UTC, datetime
from pathlib import Path

import pytest
from textual import events
from textual.app import App

from stepwise.cli.plans import rehearsal_plan
from stepwise.cli.services import services
from stepwise.journal import read_journal
from stepwise.quantities import Answer
from stepwise.rehearsal import RehearsalBench
from stepwise.run import Run
from stepwise.tui.app import StepwiseApp
from stepwise.tui.screens.review import ReviewScreen
from stepwise.tui.services import Start

_NAMED = {
    " ": "space", ".": "full_stop", "-": "minus", "/": "slash", "+": "plus", "%": "percent_sign",
    "*": "asterisk", ",": "comma", "(": "left_parenthesis", ")": "right_parenthesis",
}  # fmt: skip


def clock() -> datetime:
    return datetime.now(UTC)


_moments = itertools.count()


def type_burst(app: App[None], text: str) -> int:
    """Post the keys of a text in one moment, a second after the last; gives their number."""
    at = float(next(_moments))
    for character in text:
        event = events.Key(_NAMED.get(character, character), character)
        if character == "\n":
            event = events.Key("enter", None)
        event.time = at
        app.post_message(event)
    return len(text)


class KeyCount:
    """Keys pressed, set against what the readings themselves hold."""

    def __init__(self) -> None:
        self.keys = self.characters = self.readings = self.confirmations = 0

    def __str__(self) -> str:
        beyond = self.keys - self.characters - self.confirmations
        return (
            f"{self.keys} keys: {self.characters} characters of {self.readings} readings, "
            f"{self.confirmations} confirmations, {beyond} others "
            f"({beyond / self.readings:.2f} for each reading)"
        )


async def _play(run: Run, bench: RehearsalBench, logs: Path, count: KeyCount) -> bool:
    app = StepwiseApp(services(logs), Start(run=run, bench=bench, bell=False))
    async with app.run_test(size=(100, 30)) as pilot:
        await pilot.pause()
        while (prompt := run.next_prompt()) is not None:
            answer = bench.answer(prompt, run.card(prompt.key))
            assert answer is not None, prompt.key
            if prompt.expected.answer is Answer.CONFIRM:
                count.confirmations += 1
                count.keys += type_burst(app, answer)
            else:
                count.readings += 1
                count.characters += len(answer)
                count.keys += type_burst(app, f"{answer}\n")
            before = len(run.state.answers)
            async with asyncio.timeout(5.0):
                while len(run.state.answers) == before:
                    await pilot.pause(0)
            assert run.state.answers[prompt.key].typed == answer
        type_burst(app, "\n")  # "Everything is answered. Enter looks at the review."
        await pilot.pause(0.3)
        return isinstance(app.screen, ReviewScreen)


def test_first_look_from_the_first_key_to_the_review(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan = rehearsal_plan("first-look")
    bench = RehearsalBench(1, plan.unit, plan.bench)
    count = KeyCount()
    with Run.start(plan, tmp_path, clock, rehearsal={"seed": 1, "faults": []}) as run:
        shows_review = asyncio.run(_play(run, bench, tmp_path, count))
        folder = run.folder
        assert run.is_complete()
    with capsys.disabled():
        print(f"\nfirst-look: {count}")
    assert shows_review
    assert count.keys - count.characters - count.confirmations <= 1.1 * count.readings
    kept = [e.data["key"] for e in read_journal(folder).events if "typed" in e.data]
    assert kept == [prompt.key for prompt in run.prompts]


def test_readings_typed_faster_than_the_screen_land_where_they_were_meant(tmp_path: Path) -> None:
    plan = rehearsal_plan("quick-check")
    bench = RehearsalBench(3, plan.unit, plan.bench)
    typed: dict[str, str] = {}
    # What the person will type is known beforehand only from a run of its own.
    with Run.start(plan, tmp_path, clock) as ahead:
        while (prompt := ahead.next_prompt()) is not None:
            typed[prompt.key] = bench.answer(prompt, ahead.card(prompt.key)) or ""
            ahead.take(prompt.key, typed[prompt.key])

    async def burst(run: Run) -> None:
        app = StepwiseApp(services(tmp_path), Start(run=run, bell=False))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            for prompt in run.prompts:
                end = "" if prompt.expected.answer is Answer.CONFIRM else "\n"
                type_burst(app, typed[prompt.key] + end)
            async with asyncio.timeout(60.0):
                while not run.is_complete():
                    await pilot.pause(0.05)

    with Run.start(plan, tmp_path, clock) as run:
        asyncio.run(burst(run))
        for prompt in run.prompts:
            assert run.state.answers[prompt.key].typed == typed[prompt.key]
            assert len(run.state.history[prompt.key]) == 1
