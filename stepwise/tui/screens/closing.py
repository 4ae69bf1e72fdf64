"""Closing a screen once, whatever keys are still on their way to it."""

from __future__ import annotations

from typing import TypeVar

from textual.screen import ModalScreen, Screen

Result = TypeVar("Result")


class ClosingScreen(Screen[Result]):
    """A screen that gives an answer.

    In a burst a second key may reach a screen that is closed already; the stock `dismiss`
    would then close the screen below it, and call back twice.
    """

    def answer(self, result: Result | None) -> None:
        """Close with an answer; does nothing where this screen is not the one in front."""
        if self.is_current:
            self.dismiss(result)


class ClosingModal(ClosingScreen[Result], ModalScreen[Result]):
    """The same over the screen that it asks for."""
