"""The columns of the ledger: what a row names, and what gives way where room is short."""

from __future__ import annotations

import pytest
from hall import (
    FIRST_LOOK,
    Hall,
    glass,
    make_plan,
    on_screen,
    type_burst,
)
from textual.pilot import Pilot

from stepwise.run import Run
from stepwise.tui.screens.sheet import SheetScreen
from stepwise.tui.widgets.columns import _join, columns_for, fit_figure, line_text


def test_what_a_narrow_row_names_is_what_it_shows(hall: Hall) -> None:
    run = hall.run()

    async def act(pilot: Pilot[None], screen: SheetScreen) -> None:
        await type_burst(pilot, "yy34⏎-33⏎/⏎20⏎")
        line = run.line("clip//8 ohm/level")
        assert line is not None
        power = line.outcome.removeprefix("Clean power ")
        for size in ((80, 24), (100, 30)):
            await pilot.resize_terminal(*size)
            await pilot.pause()
            rows = glass(pilot).splitlines()
            (row,) = [row for row in rows if "Clean power" in row and "8 Ω" in row and "✓" in row]
            assert power in row
            # Rail to rail has no limit here: the row is the reading's.
            (rail,) = [row for row in rows if "Negative rail" in row]
            assert "-33.00 ± " in rail
            assert "67" not in rail
        await pilot.resize_terminal(160, 50)
        await pilot.pause()
        row = next(row for row in glass(pilot).splitlines() if line.what[:20] in row and "✓" in row)
        assert line.as_read[:5] in row
        assert power in row
        assert "Clean pow" in row

    on_screen(hall, run, act)


@pytest.mark.parametrize(
    ("figure", "shown"),
    [
        ("50.0 ± 1.2 W", "50.0 ± 1.2 W"),
        ("-16.100 ± 0.096 dB", "-16.100±0.096 dB"),
        ("-1234.567 ± 0.096 dB", "-1234.567 dB ±…"),
        ("warm", "warm"),
    ],
)
def test_a_figure_with_little_room_keeps_its_unit(figure: str, shown: str) -> None:
    assert fit_figure(figure, 17) == shown


@pytest.mark.parametrize("width", [64, 78, 112, 158])
def test_a_confirmed_question_has_the_room_of_the_columns_that_say_nothing(
    hall: Hall, width: int
) -> None:
    with Run.start(make_plan(FIRST_LOOK, "first-look"), hall.folder, hall.clock) as run:
        run.take("make-safe///1", "y")
        (line,) = run.sheet()
        columns = columns_for(width)
        text = line_text(line, columns)
    assert len(text) == columns.before_verdict == len(_join(columns, ("",) * 5))
    assert text.rstrip(" …") == line.what[: len(text.rstrip(" …"))]
    assert len(text.rstrip()) >= min(len(line.what), columns.before_verdict)
