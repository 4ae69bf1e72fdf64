"""The sheet's glass: what is always in sight, what is shouted, and what people's text may hold."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hall import (
    FIRST_LOOK,
    SMALL,
    Hall,
    glass,
    make_bench,
    make_plan,
    on_screen,
    type_burst,
)
from textual.pilot import Pilot

from stepwise.run import Run
from stepwise.tui.screens.dialogs import HelpDialog
from stepwise.tui.screens.sheet import SheetScreen
from stepwise.tui.session import Session
from stepwise.tui.widgets.card import CardBody
from stepwise.tui.widgets.curve_plot import CurvePlot, numbers
from stepwise.tui.widgets.echo import EchoLine
from stepwise.tui.widgets.entry import ReadingEntry
from stepwise.tui.widgets.last import LastResult
from stepwise.tui.widgets.ledger import Ledger
from stepwise.tui.widgets.seen import StopBanner
from stepwise.tui.widgets.tone_line import ToneLine
from stepwise.tui.widgets.trace_plot import TracePlot


def is_whole(pilot: Pilot[None], widget: Any) -> bool:
    """Whether no part of a widget is off the screen."""
    return widget.region.area > 0 and pilot.app.screen.region.contains_region(widget.region)


SIZES = ((60, 18), (80, 24), (100, 30), (160, 50))


def answer_on(session: Session) -> None:
    """Answer the prompt in hand, without drawing anything."""
    key = session.key
    if session.is_confirm:
        session.confirm(is_so=True)
    else:
        session.answer_by_bench()
    if session.key == key and session.skip().outcome is None:
        session.choose_reason(1)


def test_entry_echo_and_last_verdict_are_always_in_sight(hall: Hall) -> None:
    run = Run.start(make_plan(FIRST_LOOK, "first-look"), hall.folder, hall.clock)

    async def act(pilot: Pilot[None], screen: SheetScreen) -> None:
        kinds: list[str] = []
        while (prompt := screen.session.prompt) is not None and "square" not in kinds:
            if prompt.kind not in kinds:
                kinds.append(prompt.kind)
                for size in SIZES:
                    await pilot.resize_terminal(*size)
                    await pilot.pause()
                    shown = ["#entry", "#echo"] + ["#last-verdict"] * (len(kinds) > 1)
                    for name in shown:
                        assert is_whole(pilot, screen.query_one(name)), (prompt.key, size, name)
                    if size == (100, 30) and prompt.kind in ("sweep", "square"):
                        card = " ".join(str(screen.query_one(CardBody).content).split())
                        assert all(each in card for each in run.card(prompt.key).cautions)
            answer_on(screen.session)
        assert kinds == ["confirm", "readings", "clip", "sweep", "square"]

    on_screen(hall, run, act, rehearses=True)


def test_the_sweep_draws_its_curve_and_says_its_corners(hall: Hall) -> None:
    run = hall.run()

    async def act(pilot: Pilot[None], screen: SheetScreen) -> None:
        await type_burst(pilot, "yy34⏎-34⏎/⏎20⏎15⏎6⏎0⏎0⏎-3⏎-6⏎")
        plot = screen.query_one(CurvePlot)
        assert plot.display
        assert is_whole(pilot, plot)
        curve = run.curve("sweep", None)
        assert curve is not None
        shown = glass(pilot)
        assert shown.count("●") >= 4
        assert "4 of 6 read" in numbers(curve, 72)
        assert numbers(curve, 72) in shown
        assert "-3 dB" in numbers(curve, 16)
        await pilot.press("ctrl+l")
        await pilot.pause()
        assert not plot.display

    on_screen(hall, run, act)


HOSTILE = "R [/] [red]x[/red] [$ink] \\["


def test_text_from_people_is_never_markup(hall: Hall) -> None:
    procedure = (
        SMALL.replace("Quiescent volts", HOSTILE.replace("\\", "\\\\"))
        .replace("Positive rail", HOSTILE.replace("\\", "\\\\"))
        .replace("Mains can kill", HOSTILE.replace("\\", "\\\\"))
    )
    run = Run.start(make_plan(procedure), hall.folder, hall.clock)

    async def act(pilot: Pilot[None], screen: SheetScreen) -> None:
        await type_burst(pilot, "yy")
        assert glass(pilot).count(HOSTILE) >= 2
        await type_burst(pilot, HOSTILE + "⏎")
        await pilot.press("ctrl+u")
        await type_burst(pilot, "34⏎/" + HOSTILE + "⏎")
        assert run.sheet()[-1].remark == HOSTILE
        assert HOSTILE[:12] in glass(pilot)
        await type_burst(pilot, "?")
        await pilot.press("escape")
        await pilot.press("ctrl+o")
        await pilot.pause()

    on_screen(hall, run, act)


OFFSET = SMALL.replace('name = "rail_minus", ask = "Negative rail", unit = "V"',
                       'name = "offset", ask = "DC at the output", unit = "mV"')  # fmt: skip


def test_a_stop_stands_until_it_was_seen_and_hides_nothing(hall: Hall) -> None:
    hall.procedure = OFFSET
    run = hall.run()

    async def act(pilot: Pilot[None], screen: SheetScreen) -> None:
        rung: list[None] = []
        pilot.app.bell = lambda: rung.append(None)  # type: ignore[method-assign]
        await type_burst(pilot, "yy34⏎18 V⏎")
        banner = screen.query_one(StopBanner)
        assert banner.display
        assert "STOP" in glass(pilot)
        assert len(rung) == 1
        # What was typed ahead has not seen it.
        await type_burst(pilot, "⏎⏎/⏎")
        assert banner.display
        for widget in (banner, screen.query_one(ReadingEntry), screen.query_one(EchoLine)):
            assert is_whole(pilot, widget)
        assert not banner.region.overlaps(screen.query_one(ReadingEntry).region)
        await pilot.press("escape")
        await pilot.pause()
        assert not banner.display
        assert "1 stop" in glass(pilot)

    on_screen(hall, run, act)


def test_the_column_of_what_was_seen_says_what_is_not_so(hall: Hall) -> None:
    run = hall.run()

    async def act(pilot: Pilot[None], screen: SheetScreen) -> None:
        nothing = "Nothing out of the ordinary"
        assert nothing in glass(pilot)
        await type_burst(pilot, "n")
        seen = " ".join(str(screen.query_one("#seen-text").render()).split())
        assert "✗ not so: Feed isolated and fused" in seen
        assert "Not so, so all that follows stays shut." in seen
        assert nothing not in glass(pilot)
        await type_burst(pilot, "--⏎yy60⏎")
        seen = " ".join(str(screen.query_one("#seen-text").render()).split())
        assert "not so" not in seen
        assert "✗ 1 out of spec in the sheet" in seen
        await type_burst(pilot, "--⏎34⏎")
        assert nothing in glass(pilot)

    on_screen(hall, run, act, (100, 30))


def test_the_bell_can_be_switched_off(hall: Hall) -> None:
    hall.procedure = OFFSET
    run = hall.run()

    async def act(pilot: Pilot[None], screen: SheetScreen) -> None:
        rung: list[None] = []
        pilot.app.bell = lambda: rung.append(None)  # type: ignore[method-assign]
        await pilot.press("ctrl+g")
        await type_burst(pilot, "yy34⏎18 V⏎")
        assert rung == []

    on_screen(hall, run, act)


def test_a_tone_that_is_on_too_long_is_said_and_rung(hall: Hall) -> None:
    run = hall.run()

    async def act(pilot: Pilot[None], screen: SheetScreen) -> None:
        rung: list[None] = []
        pilot.app.bell = lambda: rung.append(None)  # type: ignore[method-assign]
        await type_burst(pilot, "yy34⏎-34⏎/⏎+⏎")
        line = screen.query_one(ToneLine)
        screen._tick()
        assert "15 s left" in str(line.render())
        assert rung == []
        hall.clock.pass_seconds(17)
        screen._tick()
        assert "2 s too long" in str(line.render())
        hall.clock.pass_seconds(3)
        screen._tick()
        assert len(rung) == 1
        await type_burst(pilot, "+⏎")
        assert "too long" not in str(line.render())

    on_screen(hall, run, act)


def test_help_tells_why_and_how_and_its_key_acts_on_nothing_below(hall: Hall) -> None:
    run = hall.run()

    async def act(pilot: Pilot[None], screen: SheetScreen) -> None:
        await type_burst(pilot, "yy?")
        assert isinstance(pilot.app.screen, HelpDialog)
        assert "idles wrongly" in glass(pilot)
        assert "Meter on DC" in glass(pilot)
        await pilot.press("enter")
        await pilot.pause()
        assert pilot.app.screen is screen
        assert pilot.app.focused is screen.query_one(ReadingEntry)
        assert len(run.sheet()) == 2
        assert "Nothing was typed" not in glass(pilot)

    on_screen(hall, run, act)


def test_leaving_asks_only_where_something_is_half_typed(hall: Hall) -> None:
    run = hall.run()

    async def act(pilot: Pilot[None], screen: SheetScreen) -> None:
        await type_burst(pilot, "yy34")
        await pilot.press("ctrl+q")
        await pilot.pause()
        assert "half typed" in glass(pilot)
        await pilot.press("n")
        await pilot.pause()
        assert screen.query_one(ReadingEntry).value == "34"
        await pilot.press("ctrl+u", "ctrl+q")
        await pilot.pause()
        assert not pilot.app.is_running or pilot.app._exit

    app = on_screen(hall, run, act)
    assert app.return_code == 0


def test_a_reading_shows_its_verdict_in_words_without_colour(
    hall: Hall, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    run = hall.run()

    async def act(pilot: Pilot[None], screen: SheetScreen) -> None:
        await type_burst(pilot, "yy34⏎")
        assert pilot.app.no_color
        shown = glass(pilot)
        assert "✓ in spec" in shown
        assert "●" in shown
        await type_burst(pilot, "--⏎60⏎")
        assert "✗ out of spec" in glass(pilot)

    on_screen(hall, run, act)


def test_a_click_on_a_line_picks_it(hall: Hall) -> None:
    run = hall.run()

    async def act(pilot: Pilot[None], screen: SheetScreen) -> None:
        await type_burst(pilot, "yy34⏎")
        ledger = screen.query_one(Ledger)
        row = next(
            y for y in range(ledger.size.height) if "Positive rail" in ledger.render_line(y).text
        )
        await pilot.click(Ledger, offset=(8, row))
        await type_burst(pilot, "⏎33⏎")
        assert run.line("idle///rail_plus").typed == "33"  # type: ignore[union-attr]

    on_screen(hall, run, act)


def test_the_last_figure_is_large(hall: Hall) -> None:
    run = hall.run()

    async def act(pilot: Pilot[None], screen: SheetScreen) -> None:
        await type_burst(pilot, "yy34⏎")
        figure = screen.query_one(LastResult).query_one("#last-figure")
        assert figure.region.height == 3
        rows = str(figure.render()).splitlines()
        assert [row[:6] for row in rows] == ["╺━┓╻ ╻", " ━┫┗━┫", "╺━┛  ╹"]
        assert rows[2].endswith("V")

    on_screen(hall, run, act)


def test_a_square_wave_shows_what_the_sweep_predicts(hall: Hall) -> None:
    run = Run.start(make_plan(FIRST_LOOK, "first-look"), hall.folder, hall.clock)
    bench = make_bench(run.plan)
    while (prompt := run.next_prompt()) is not None and prompt.kind != "square":
        text = bench.answer(prompt, run.card(prompt.key))
        if text is None:
            run.skip(prompt.key, "not here")
        else:
            run.take(prompt.key, text, sure=True)
    assert prompt is not None
    trace = run.trace(prompt.key)
    assert trace is not None

    async def act(pilot: Pilot[None], screen: SheetScreen) -> None:
        plot = screen.query_one(TracePlot)
        assert plot.display
        assert trace.says.partition(", ")[2] in " ".join(glass(pilot).split())
        assert not plot.region.overlaps(screen.query_one("#entry").region)

    on_screen(hall, run, act)


def test_what_to_do_is_never_cut_off_at_the_smallest_size(hall: Hall) -> None:
    asked = 'name = "rail_minus", ask = "Negative rail", unit = "V"'
    offset = 'name = "offset", ask = "DC at the output", unit = "mV"'
    run = replace(hall, procedure=SMALL.replace(asked, offset)).run()

    async def act(pilot: Pilot[None], screen: SheetScreen) -> None:
        await type_burst(pilot, "n")
        assert "Not so, so all that follows stays shut: “" in glass(pilot)
        await type_burst(pilot, "--⏎yy34⏎150⏎")
        flagged = "▲ wrong dc-offset (Ctrl+F: what to try) 150.0 mV DC stands"
        assert flagged in " ".join(glass(pilot).split())
        while run.prompt(screen.session.key or "").point != "level":
            answer_on(screen.session)
        screen._show()
        await type_burst(pilot, "2.5 on 5⏎")
        assert "! Type for instance “2.5 on 3”. There is no range “5”; the ranges" in glass(pilot)

    on_screen(hall, run, act)
