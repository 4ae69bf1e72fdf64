"""The card: who gives way to whom where there is little room."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from hall import FIRST_LOOK, Hall, make_plan

from stepwise.quantities import with_signs
from stepwise.run import Card, Run
from stepwise.steps import Setting
from stepwise.tui.reply import Mode
from stepwise.tui.widgets.card import Asked, card_lines

Cards = Callable[[str], Card]


@pytest.fixture
def cards(tmp_path: Path) -> Iterator[Cards]:
    hall = Hall(tmp_path)
    with Run.start(make_plan(FIRST_LOOK, "first-look"), hall.folder, hall.clock) as run:
        yield lambda point: run.card(
            next(each.key for each in run.prompts if point in (each.key, each.point))
        )


def lines_of(card: Card, width: int, height: int) -> list[str]:
    """What stands on the card, line by line."""
    asked = Asked(card, Mode.ANSWER, (), None, is_first=True, is_roomy=False)
    return [line.plain for line in card_lines(asked, width, height)]


@pytest.mark.parametrize("width", [34, 52, 65, 100])
def test_no_line_is_wider_than_the_card(cards: Cards, width: int) -> None:
    for point in ("make-safe///1", "level"):
        assert all(len(line.rstrip()) <= width for line in lines_of(cards(point), width, 12))


def test_cautions_stand_whole_where_lines_are_free(cards: Cards) -> None:
    card = cards("make-safe///2")
    said = " ".join(" ".join(lines_of(card, 65, 12)).split())
    for caution in card.cautions:
        assert caution.split(".")[0] in said
    assert "(?)" not in said


@pytest.mark.parametrize("height", range(5, 8))
def test_a_caution_is_cut_with_a_mark_and_meter_and_limit_stay(cards: Cards, height: int) -> None:
    card = replace(cards("level"), limit_text="power at least 40 W")
    lines = lines_of(card, 52, height)
    assert len(lines) <= height
    assert lines[-2].startswith("meter")
    assert lines[-1] == "limit    power at least 40 W"
    cautions = lines[2:-2]
    assert cautions[0].startswith("caution")
    assert cautions[-1].endswith(" … (?)")
    words = {word for text in card.cautions for word in text.split()}
    assert set(" ".join(cautions).split()) - words <= {"caution", "!", "…", "(?)"}


def test_the_rest_is_set_tight_so_that_cautions_stand_whole(cards: Cards) -> None:
    card = replace(cards("level"), limit_text="power at least 40 W")
    assert len(lines_of(card, 52, 9)) == 9  # as it is with room for all
    lines = lines_of(card, 52, 8)
    assert len(lines) == 8
    said = " ".join(" ".join(lines).split())
    assert all(caution in said for caution in card.cautions)
    assert lines[-2:] == ["meter    AC voltmeter, V RMS", "limit    power at least 40 W"]


@pytest.mark.parametrize(
    ("point", "panel", "limit"),
    [
        ("20 kHz", "AC voltmeter: decibel scale at -0.5 dB", "level 0 dB ± 3 dB"),
        ("100 Hz/none/tilt", "oscilloscope: 2.8 of 5 divisions", ""),
    ],
)
def test_a_caution_beside_a_picture_stands_whole_on_the_rehearsal_bench(
    cards: Cards, point: str, panel: str, limit: str
) -> None:
    card = replace(cards(point), limit_text=limit)
    shown = Setting(*panel.split(": "))
    asked = Asked(card, Mode.ANSWER, (shown,), None, is_first=True, is_roomy=False)
    # What 100 by 30 cells leave to the card beside flags, picture and last result.
    lines = [line.plain for line in card_lines(asked, 36, 11)]
    assert len(lines) <= 11
    assert all(len(line) <= 36 for line in lines)
    said = " ".join(" ".join(lines).split())
    settings = [f"{each.what} {with_signs(each.to)}" for each in card.settings]
    for text in (*card.cautions, panel, limit, *settings):
        assert text in said


def test_a_card_without_a_free_line_still_says_that_there_is_a_caution(cards: Cards) -> None:
    lines = lines_of(replace(cards("level"), limit_text="power at least 40 W"), 52, 4)
    assert lines[0].endswith("! caution (?)")
    assert len(lines) == 4
