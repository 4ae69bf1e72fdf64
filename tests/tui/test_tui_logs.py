"""The list of logs: found as one types, looked at, compared, ranked, reported."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import DataTable, Input, Select, Static

from stepwise.cli import main as command
from stepwise.cli.plans import rehearsal_plan, with_own_response
from stepwise.cli.services import services
from stepwise.tui import Choice, RunChoice, StepwiseApp
from stepwise.tui.screens.compare import CompareScreen, comparison_content
from stepwise.tui.screens.logs import LogsScreen
from stepwise.tui.screens.ranking import RankingScreen
from stepwise.tui.screens.review import ReviewScreen
from stepwise.tui.screens.start_run import StartRunScreen
from stepwise.tui.words import grade_mark


@pytest.fixture(scope="module")
def logs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two rehearsals: a good board, and one whose coupling capacitor is too small."""
    folder = tmp_path_factory.mktemp("logs")
    for more in ([], ["--fault", "small-coupling-capacitor"]):
        command(["rehearse", "quick-check", "--unattended", "--logs", str(folder), *more])
    return folder


def at_logs(
    logs: Path, act: Callable[[Pilot[None], LogsScreen], Coroutine[Any, Any, None]]
) -> None:
    async def go() -> None:
        app = StepwiseApp(services(logs))
        async with app.run_test(size=(120, 40)) as pilot:
            await pilot.pause()
            await pilot.press("3")
            screen = await until(pilot, lambda: app.screen, LogsScreen)
            await until(pilot, lambda: screen._rows or None, tuple)
            await asyncio.wait_for(act(pilot, screen), 30)

    asyncio.run(go())


async def until(pilot: Pilot[None], look: Callable[[], object], wanted: type) -> Any:
    """Let the program go on until something is there."""
    for _ in range(400):
        found = look()
        if isinstance(found, wanted):
            return found
        await asyncio.sleep(0.02)
        await pilot.pause()
    raise AssertionError(f"it never came to {wanted.__name__}: {look()!r}")


def rows(screen: LogsScreen) -> list[str]:
    table = screen.query_one(DataTable)
    return [" ".join(str(c) for c in table.get_row_at(n)) for n in range(table.row_count)]


def test_logs_are_found_as_one_types(logs: Path) -> None:
    async def act(pilot: Pilot[None], screen: LogsScreen) -> None:
        assert len(rows(screen)) == 2
        screen.query_one("#filter-flag", Input).value = "early-roll-off-low"
        for _ in range(200):
            if len(rows(screen)) == 1:
                break
            await asyncio.sleep(0.02)
        assert ["early-roll-off-low" in row for row in rows(screen)] == [True]
        screen.query_one("#filter-flag", Input).value = ""
        screen.query_one("#filter-since", Input).value = "2026-99-99"
        await pilot.pause()
        assert "is no day" in str(screen.query_one("#logs-said", Static).render())

    at_logs(logs, act)


def test_a_log_is_looked_at_and_ranked(logs: Path) -> None:
    async def act(pilot: Pilot[None], screen: LogsScreen) -> None:
        await pilot.press("enter")
        await until(pilot, lambda: pilot.app.screen, ReviewScreen)
        await pilot.press("escape")
        await until(pilot, lambda: pilot.app.screen, LogsScreen)
        await pilot.press("k")
        ranking = await until(pilot, lambda: pilot.app.screen, RankingScreen)
        shown = str(ranking.query_one(Static).render())
        assert "Clean power" in shown
        names = [line[:30].strip() for line in shown.splitlines() if " ± " in line]
        assert len(names) == len(set(names)) > 4

    at_logs(logs, act)


def test_two_logs_are_laid_side_by_side(logs: Path) -> None:
    async def act(pilot: Pilot[None], screen: LogsScreen) -> None:
        await pilot.press("c")
        assert "Pick two" in str(screen.query_one("#logs-said", Static).render())
        await pilot.press("space", "down", "space", "c")
        compared = await until(pilot, lambda: pilot.app.screen, CompareScreen)
        await pilot.pause()
        text = str(compared.query_one("#compare-text", Static).render())
        assert "What differs" in text
        # A mark is not parted from its word, whatever the width.
        for width in (74, 94):
            shown = comparison_content(compared._comparison, width, shows_all=False).plain
            runs = shown.partition("\n\n")[0].splitlines()
            assert max(map(len, runs)) <= width
            for side in compared._comparison.sides:
                whole = f"{grade_mark(side.conclusion.grade)} {side.conclusion.listed}"
                assert any(line.endswith(whole) for line in runs)
        await pilot.press("a")
        await pilot.pause()
        assert "Every result" in str(compared.query_one("#compare-text", Static).render())
        await pilot.press("escape")
        await until(pilot, lambda: pilot.app.screen, LogsScreen)

    at_logs(logs, act)


def test_a_report_is_written_while_the_screen_stands(logs: Path) -> None:
    async def act(pilot: Pilot[None], screen: LogsScreen) -> None:
        await pilot.press("r")
        await pilot.pause()
        await pilot.press("down", "enter")
        said = screen.query_one("#logs-said", Static)
        for _ in range(400):
            if "Report: " in str(said.render()):
                break
            await asyncio.sleep(0.02)
        path = Path(str(said.render()).partition("Report: ")[2].strip())
        assert path.suffix == ".md"
        assert path.read_text(encoding="utf-8").startswith("#")

    at_logs(logs, act)


def test_a_run_takes_the_response_of_the_bench_from_a_log(
    tmp_path: Path,
) -> None:
    logs = tmp_path / "logs"
    command(["rehearse", "bench-check", "--unattended", "--logs", str(logs)])
    (known,) = services(logs).list_bench_logs()
    plan = rehearsal_plan("first-look")
    with_it = with_own_response(plan, known.name, logs)
    assert with_it.bench_response is not None

    async def go() -> RunChoice | None:
        answers: list[RunChoice | None] = []
        app = StepwiseApp(services(logs))
        async with app.run_test(size=(100, 40)) as pilot:
            await pilot.pause()
            choices = (
                (Choice("first-look", "First look"),),
                (Choice("teal", "Teal"),),
                (Choice("hall", "Hall"),),
            )
            screen = StartRunScreen(*choices, (known,))
            app.push_screen(screen, answers.append)
            await pilot.pause()
            screen.query_one("#start-bench-log", Select).value = known.name
            await pilot.press("f5")
            await pilot.pause()
        return answers[0]

    chosen = asyncio.run(go())
    assert chosen is not None
    assert chosen.bench_log == known.name
