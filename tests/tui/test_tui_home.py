"""The screens around the sheet: home, the start form, setup forms, review and logs."""

from __future__ import annotations

import asyncio
import json
import re
from collections.abc import Callable, Coroutine
from typing import Any

import pytest
from hall import Hall, check, type_burst
from textual.pilot import Pilot
from textual.widgets import Input, Static

from stepwise.procedure import read_bench_text, read_unit_text, schemas_folder
from stepwise.rehearsal import bench_text, unit_text
from stepwise.tui import FileKind, RunChoice, Start, StepwiseApp
from stepwise.tui.form import FORMS, on_form, read_form, write_form
from stepwise.tui.screens.home import HomeScreen
from stepwise.tui.screens.review import ReviewScreen
from stepwise.tui.screens.review_text import review_content
from stepwise.tui.screens.setup import FormField, SetupScreen
from stepwise.tui.screens.sheet import SheetScreen

Act = Callable[[Pilot[None], StepwiseApp], Coroutine[Any, Any, None]]


def at_home(hall: Hall, act: Act, start: Start | None = None) -> StepwiseApp:
    """Open the program and act on it."""
    app = StepwiseApp(hall.services(), start)

    async def go() -> None:
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            await asyncio.wait_for(act(pilot, app), 30)

    asyncio.run(go())
    return app


def words(app: StepwiseApp) -> str:
    """All that can be read on the screen."""
    return "\n".join(strip.text for strip in app.screen._compositor.render_strips())


def test_a_run_is_started_and_left_to_home_again(hall: Hall) -> None:
    async def act(pilot: Pilot[None], app: StepwiseApp) -> None:
        await pilot.press("1")
        await pilot.pause()
        assert "Teal [/] [red]x" in words(app)
        app.screen.query_one("#start-operator", Input).value = "QH"
        await pilot.press("ctrl+s")
        await pilot.pause()
        assert hall.started == [RunChoice("small", "teal", "hall", "QH", "")]
        assert isinstance(app.screen, SheetScreen)
        await type_burst(pilot, "y")
        await pilot.press("ctrl+q")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
        # The journal is free again, so that the run can be carried on.
        await pilot.press("2")
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, SheetScreen)
        assert len(app.screen.session.run.sheet()) == 1

    at_home(hall, act)


def test_a_rehearsal_opens_with_its_bench(hall: Hall) -> None:
    async def act(pilot: Pilot[None], app: StepwiseApp) -> None:
        await pilot.press("4")
        await pilot.pause()
        assert isinstance(app.screen, SheetScreen)
        assert "Rehearsal" in words(app)
        await type_burst(pilot, "yy")
        assert "shown" in words(app)

    at_home(hall, act)


def test_what_cannot_be_done_is_said(hall: Hall) -> None:
    async def act(pilot: Pilot[None], app: StepwiseApp) -> None:
        await pilot.press("2")
        await pilot.pause()
        assert "No run is unfinished" in words(app)

    at_home(hall, act)


def test_a_run_is_reviewed_ended_and_reported(hall: Hall) -> None:
    run = hall.run()

    async def act(pilot: Pilot[None], app: StepwiseApp) -> None:
        await type_burst(pilot, "yy60⏎-34⏎")
        await pilot.press("ctrl+o")
        await pilot.pause()
        assert isinstance(app.screen, ReviewScreen)
        assert "✗ Out of spec: 1 out of spec; the run is not finished" in words(app)
        await pilot.press("r")
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        for _ in range(200):
            if "report.html" in "".join(words(app).split()):
                break
            await asyncio.sleep(0.02)
            await pilot.pause()
        assert hall.reports == [run.folder]
        # The path is as long as the folder of the test, and may stand on several lines.
        assert "report.html" in "".join(words(app).split())
        await pilot.press("e", "y")
        await pilot.pause()
        assert run.ended
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, SheetScreen)
        await type_burst(pilot, "12⏎")
        assert len(run.sheet()) == 4

    at_home(hall, act, Start(run=run))


def test_a_run_that_is_not_finished_ends_by_two_keys(hall: Hall) -> None:
    run = hall.run()

    async def act(pilot: Pilot[None], app: StepwiseApp) -> None:
        await type_burst(pilot, "yn")
        await pilot.press("ctrl+o")
        await type_burst(pilot, "ee⏎")
        asked = str(app.screen.query_one(Static).content)
        assert "End this run?" in asked
        assert (
            "13 questions have no answer, and the hold point “Loudspeakers off, loads on” is not "
            "satisfied; nothing that was taken is lost, "
            f"and “stepwise resume {run.folder.name}” opens the run again." in asked
        )
        await type_burst(pilot, "n")
        assert isinstance(app.screen, ReviewScreen)
        assert not run.ended
        await pilot.press("e", "plus")
        await pilot.pause()
        assert run.ended
        assert f"The run is ended; “stepwise resume {run.folder.name}” opens" in words(app)

    at_home(hall, act, Start(run=run))


def test_a_finished_run_ends_at_once(hall: Hall) -> None:
    run = hall.run()
    for prompt in run.prompts:
        if prompt.hold:
            run.take(prompt.key, "y")
        else:
            run.skip(prompt.key, "no time")

    async def act(pilot: Pilot[None], app: StepwiseApp) -> None:
        await pilot.press("ctrl+o")
        await type_burst(pilot, "e")
        assert isinstance(app.screen, ReviewScreen)
        assert run.ended

    at_home(hall, act, Start(run=run))


@pytest.mark.parametrize("width", [74, 130])
def test_the_review_says_in_full_how_likely_a_close_result_is_in_spec(
    hall: Hall, width: int
) -> None:
    with hall.run() as run:
        for key in ("safe///1", "safe///2"):
            run.take(key, "y")
        run.take("idle///rail_plus", "45.02")
        lines = review_content(run.review(), run.folder, width).plain.splitlines()
    (chance,) = (each.judgement.probability for each in run.results())
    assert chance is not None
    (place,) = (row for row, line in enumerate(lines) if "≈ too close to call," in line)
    column = lines[place].index("≈") + 2
    assert lines[place + 1] == f"{' ' * column}{chance * 100:.0f} % likely in spec"
    assert len(lines[place + 1]) <= width


def test_a_finished_log_is_looked_at(hall: Hall) -> None:
    with hall.run() as run:
        run.take("safe///1", "y")
        folder = run.folder

    async def act(pilot: Pilot[None], app: StepwiseApp) -> None:
        assert isinstance(app.screen, ReviewScreen)
        assert folder.name in words(app)
        await pilot.press("e")
        await pilot.pause()
        assert "only looked at" in words(app)

    at_home(hall, act, Start(log=folder))


def test_a_problem_stands_beside_its_field_and_nothing_is_saved(hall: Hall) -> None:
    async def act(pilot: Pilot[None], app: StepwiseApp) -> None:
        await pilot.press("5", "down", "enter")
        await pilot.pause()
        screen = app.screen
        assert isinstance(screen, SetupScreen)
        fields = {field.place: field for field in screen.query(FormField)}
        rating = fields["ratings", 0, "reservoir_rating"]
        rating.query_one(Input).value = "50 ohm"
        await pilot.press("ctrl+s")
        await pilot.pause()
        wrong = [field.place for field in screen.query(FormField) if field.has_class("-wrong")]
        assert wrong == [rating.place]
        assert hall.saved == {}
        rating.query_one(Input).value = "63 V"
        await pilot.press("ctrl+s")
        await pilot.pause()
        assert read_unit_text(hall.saved["teal"], "unit").ratings["reservoir_rating"] == 63.0
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)

    at_home(hall, act)


def test_one_more_claim_is_written_and_unsaved_work_asks_once(hall: Hall) -> None:
    async def act(pilot: Pilot[None], app: StepwiseApp) -> None:
        await pilot.press("5", "enter")
        await pilot.pause()
        screen = app.screen
        fields = {field.place: field for field in screen.query(FormField)}
        fields["unit", 0, "name"].query_one(Input).value = "Slate"
        fields["claim", 0, "power"].query_one(Input).value = "60 W"
        screen.query_one("#more-claim").press()  # type: ignore[attr-defined]
        await pilot.pause()
        fields = {field.place: field for field in screen.query(FormField)}
        fields["claim", 1, "power"].query_one(Input).value = "90 W"
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        assert app.screen is screen
        await pilot.press("ctrl+s")
        await pilot.pause()
        unit = read_unit_text(hall.saved["Slate"], "unit")
        assert [claim.power for claim in unit.claims] == [60.0, 90.0]

    at_home(hall, act)


@pytest.mark.parametrize("kind", list(FileKind))
def test_a_form_gives_back_the_file_it_read(kind: FileKind) -> None:
    text = unit_text() if kind is FileKind.UNIT else bench_text()
    read = read_unit_text if kind is FileKind.UNIT else read_bench_text
    values, strange = read_form(kind, text)
    written = write_form(kind, values)
    assert strange == ()
    assert check(kind, written.text) == ()
    assert read(written.text, "same") == read(text, "same")


def test_a_form_keeps_quotes_and_says_which_keys_it_would_lose() -> None:
    values, strange = read_form(FileKind.UNIT, '[unit]\nname = "a"\ncolour = "red"\n')
    values["unit", 0, "remarks"] = 'said "no" \\ [/]'
    assert strange == ("unit.colour",)
    again, _ = read_form(FileKind.UNIT, write_form(FileKind.UNIT, values).text)
    assert again == values


def test_the_themes_go_round(hall: Hall) -> None:
    async def act(pilot: Pilot[None], app: StepwiseApp) -> None:
        names = []
        for _ in range(4):
            names.append(app.theme)
            await pilot.press("ctrl+y")
        assert names == ["stepwise-dark", "stepwise-light", "stepwise-contrast", "stepwise-dark"]

    at_home(hall, act)


@pytest.mark.parametrize("kind", list(FileKind))
def test_a_form_has_every_field_that_the_file_may_have(kind: FileKind) -> None:
    schema = json.loads((schemas_folder() / f"{kind}.schema.json").read_text(encoding="utf-8"))
    models = schema["$defs"]
    tables = models[f"{str(kind).capitalize()}File"]["properties"]
    wanted = {
        (name, key)
        for name, about in tables.items()
        for key in models[re.search(r"\$defs/(\w+)", json.dumps(about))[1]]["properties"]  # type: ignore[index]
    }
    assert wanted == {(table.name, each.key) for table in FORMS[kind] for each in table.fields}


def test_letters_typed_straight_after_tab_go_into_the_next_field(hall: Hall) -> None:
    async def act(pilot: Pilot[None], app: StepwiseApp) -> None:
        await pilot.press("5", "enter")
        await pilot.pause()
        assert isinstance(app.screen, SetupScreen)
        await type_burst(pilot, "Amber⇥left, right⇥⇥⇥quick§")
        await pilot.pause()
        unit = read_unit_text(hall.saved["Amber"], "unit")
        assert (unit.name, unit.channels) == ("Amber", ("left", "right"))
        assert "remarks" in hall.saved["Amber"]
        assert '"quick"' in hall.saved["Amber"]

    at_home(hall, act)


def test_a_bench_of_a_name_only_is_told_to_be_of_no_use_yet(hall: Hall) -> None:
    async def act(pilot: Pilot[None], app: StepwiseApp) -> None:
        await pilot.press("6", "enter")
        await pilot.pause()
        await type_burst(pilot, "Hall§")
        await pilot.pause()
        assert "no run can use it before it has a meter and a dummy load" in " ".join(
            words(app).split()
        )

    at_home(hall, act)


def test_what_is_wrong_in_a_form_has_the_width_of_the_form_and_its_words(hall: Hall) -> None:
    async def act(pilot: Pilot[None], app: StepwiseApp) -> None:
        await pilot.press("5", "enter")
        screen = app.screen
        assert isinstance(screen, SetupScreen)
        fields = {field.place: field for field in screen.query(FormField)}
        fields["unit", 0, "channels"].query_one(Input).value = "left"
        fields["ratings", 0, "minimum_load"].query_one(Input).value = "4 V"
        await pilot.press("ctrl+s")
        await pilot.pause()
        problem = fields["unit", 0, "name"].query_one(".form-problem", Static)
        assert str(problem.render()) == "! Name is missing: fill it in, such as Teal"
        assert problem.region.height == 1
        load = fields["ratings", 0, "minimum_load"].query_one(".form-problem", Static)
        assert "“4 V” is V (voltage)" in str(load.render())
        assert load.region.width > 60
        assert not fields["unit", 0, "serial"].query_one(".form-problem").display

    at_home(hall, act)


def test_a_missing_field_is_asked_for_where_it_is_and_not_at_the_first_of_its_table() -> None:
    place, said = on_form(
        FileKind.BENCH, ("meter", 1, "id"), "“accuracy” is missing", 'write accuracy = "…"'
    )
    assert place == ("meter", 1, "accuracy")
    assert said == "Accuracy is missing: fill it in, such as 3 % of full scale"
    other = on_form(FileKind.BENCH, ("meter", 1, "id"), "stands twice", "leave one out")
    assert other == (("meter", 1, "id"), "stands twice; leave one out")
