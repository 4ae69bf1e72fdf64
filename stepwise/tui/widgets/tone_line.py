"""The tone: on for how long, or resting for how long yet."""

from __future__ import annotations

import math

from textual.content import Content

from stepwise.run import Card, ToneClock
from stepwise.tui.widgets.text import StillText

_BAR = 20


class ToneLine(StillText):
    """One line; drawn again once a second, and only while a time runs."""

    def __init__(self) -> None:
        super().__init__("tone")

    def show(self, clock: ToneClock | None, card: Card | None) -> None:
        """Print the tone's state."""
        self.set_class(clock is not None and clock.on and clock.over > 0, "-over")
        if clock is not None and (clock.on or is_running(clock)):
            self.show_text(_running(clock))
        elif card is not None and card.prompt.tone:
            allowed = f", at most {card.on_time:g} s" if card.on_time is not None else ""
            self.show_text(
                Content.styled(f"tone     off{allowed}; + Enter says it is on", "$faint")
            )
        else:
            self.show_text("")


def is_running(clock: ToneClock | None) -> bool:
    """Whether a time runs that a person waits for."""
    if clock is None:
        return False
    return clock.on or (clock.allowed is not None and clock.over < 0)


def _running(clock: ToneClock) -> Content:
    word = "ON" if clock.on else "rest"
    since = math.floor(clock.since)
    if clock.allowed is None:
        return Content.assemble(("tone     ", "$faint"), (f"{word} {since} s", "bold $live"))
    left = math.ceil(clock.allowed - clock.since)
    share = min(1.0, clock.since / clock.allowed) if clock.allowed else 1.0
    filled = round(_BAR * share)
    bar = "━" * filled + "·" * (_BAR - filled)
    if clock.on and clock.over > 0:
        says = f"ON {since} s: {-left} s too long. Turn it down now"
        return Content.assemble(("tone     ", "$faint"), (f"! {says}", "bold $out-of-spec"))
    style = "bold $caution" if clock.on else "$noted"
    says = f"{word} {since} s  {bar}  {left} s left"
    return Content.assemble(("tone     ", "$faint"), (says, style))
