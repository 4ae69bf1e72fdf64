"""Closing a screen once, whatever keys are still on their way to it."""

from __future__ import annotations

from typing import TypeVar

from textual.screen import ModalScreen, Screen

Result = TypeVar("Result")

# Two classes rather than one mixed into both: the toolkit's styles follow the first base only,
# and a modal screen that is none for them hides what lies below it.


class ClosingScreen(Screen[Result]):
    """A screen that gives an answer."""

    def answer(self, result: Result | None) -> None:
        """Close with an answer; does nothing where this screen is not the one in front."""
        _close(self, result)


class ClosingModal(ModalScreen[Result]):
    """The same over the screen that it asks for."""

    def answer(self, result: Result | None) -> None:
        """Close with an answer; does nothing where this screen is not the one in front."""
        _close(self, result)


def _close(screen: Screen[Result], result: Result | None) -> None:
    # In a burst a second key may reach a screen that is closed already; the stock `dismiss`
    # would then close the screen below it, and call back twice.
    if screen.is_current:
        screen.dismiss(result)
