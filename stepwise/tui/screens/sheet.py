"""The test sheet: a ledger that fills from top to bottom, and the line in hand as a card."""

from __future__ import annotations

from pathlib import Path

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.message import Message
from textual.screen import Screen
from textual.timer import Timer
from textual.widgets import Label

from stepwise.run import AnsweringBench, Card, Run
from stepwise.tui.reply import Mode, Reply
from stepwise.tui.screens.attach import AttachScreen, ProposalScreen
from stepwise.tui.screens.dialogs import HelpDialog, LeaveDialog
from stepwise.tui.screens.flags import FlagsScreen
from stepwise.tui.screens.review import ReviewScreen
from stepwise.tui.screens.sheet_parts import (
    hints,
    ledger_rows,
    placeholder,
    top_ends,
    unit_sign,
    unlike_words,
)
from stepwise.tui.services import Services
from stepwise.tui.session import Session
from stepwise.tui.widgets.bars import Hints, TopBar
from stepwise.tui.widgets.card import Asked, CardBody, CardHead
from stepwise.tui.widgets.curve_plot import CurvePlot
from stepwise.tui.widgets.echo import EchoLine
from stepwise.tui.widgets.entry import ReadingEntry
from stepwise.tui.widgets.last import LastResult
from stepwise.tui.widgets.ledger import Ledger
from stepwise.tui.widgets.seen import Seen, SeenLine, StopBanner
from stepwise.tui.widgets.text import StillText
from stepwise.tui.widgets.tone_line import ToneLine, is_running
from stepwise.tui.widgets.trace_plot import TracePlot

_BELL_EVERY = 5
"""Seconds between bells while the tone has been on too long."""
_RESTING = 0.03
"""Seconds without a key after which a text is worked out ahead: a hand that types fast needs twice
as long from key to key, a scanner or a paste much less (common practice, no source)."""
_SEEN_FROM = 100
"""Columns of the screen from which *Seen so far* has a column of its own."""
_CARD_ROWS = ((42, (14, 13)), (30, (12, 11)), (22, (9, 7)), (0, (5, 5)))
"""Rows of the screen from which the card has so many rows: alone, and beside a picture."""
_ROOMY_FROM = 34
"""Rows of the screen from which the card tells the how of a step."""


class SheetScreen(Screen[None]):
    """Leads through one run. Holds what is on the glass; the session holds the rest."""

    CSS_PATH = "sheet.tcss"
    HORIZONTAL_BREAKPOINTS = [  # noqa: RUF012 - the toolkit declares them as lists
        (0, "-narrow"),
        (_SEEN_FROM, "-wide"),
        (150, "-very-wide"),
    ]
    VERTICAL_BREAKPOINTS = [  # noqa: RUF012 - as above
        (0, "-short"),
        (22, "-usual"),
        (30, "-medium"),
        (42, "-tall"),
    ]

    class Left(Message):
        """The person leaves the run; what was taken is in its log."""

    def __init__(
        self,
        run: Run,
        services: Services,
        bench: AnsweringBench | None = None,
        *,
        has_bell: bool = True,
    ) -> None:
        super().__init__()
        self.session = Session(run, bench)
        self._services = services
        self._has_bell = has_bell
        self._shows_picture = True
        self._second: Timer | None = None
        self._rest: Timer | None = None
        """Runs while a text stands in the entry and no key follows."""
        self._asks_soon = False
        """Whether the next question is to be shown once the verdict is drawn."""

    def compose(self) -> ComposeResult:
        """Ledger above, card below, flags to the right."""
        yield TopBar()
        with Horizontal(id="desk"):
            with Vertical(id="paper"):
                yield Ledger()
                yield CurvePlot()
                yield TracePlot()
                yield SeenLine()
                with Vertical(id="card"):
                    yield CardHead()
                    with Horizontal(id="card-middle"):
                        yield CardBody()
                        yield LastResult()
            yield Seen()
        yield StopBanner()
        with Vertical(id="entry-block"):
            yield ToneLine()
            with Horizontal(id="entry-line"):
                yield Label("▶", id="entry-sign", markup=False)
                yield ReadingEntry(self.session, self._show_text, self._show_reply)
                yield StillText("entry-unit")
            yield EchoLine()
        yield Hints()

    def on_mount(self) -> None:
        """Show where the run stands, and start the clock."""
        self._second = self.set_interval(1.0, self._tick, pause=True)
        self.query_one(ReadingEntry).focus()
        self._show()

    def on_screen_resume(self) -> None:
        """The entry has the keys again after a dialog."""
        self.query_one(ReadingEntry).focus()
        self._show()

    def on_resize(self) -> None:
        """The card tells more where there is more room."""
        self._show()

    # What the widgets say

    def _show_text(self, text: str) -> None:
        """Show what a text would be read as."""
        self.query_one(EchoLine).preview(self.session.preview(text))
        if self._rest is not None:
            self._rest.stop()
        self._rest = self.set_timer(_RESTING, self._foresee) if text else None

    def _foresee(self) -> None:
        """Work out what the text leads to while the hand is on its way to Enter."""
        self.session.foresee(self.query_one(ReadingEntry).value)

    def _show_reply(self, raw: str, reply: Reply) -> None:
        """Show what came of a line at once, and what is asked next when that is drawn.

        Whoever types sees the verdict sooner; and of answers that come faster than a screen
        can be drawn, only the last one's question is laid out.
        """
        self._show_found()
        if not self._asks_soon:
            self._asks_soon = self.call_after_refresh(self._show_asked)
        # An empty reply (a step through the lines) leaves the last sentence standing.
        if reply != Reply():
            self.query_one(EchoLine).say(reply.hint, is_problem=reply.is_problem)
        if reply.is_loud:
            self._ring()
        if not raw and reply.outcome is None and not reply.clears:
            self._after_empty_enter(reply)

    def _after_empty_enter(self, reply: Reply) -> None:
        if self.query_one(StopBanner).was_seen():
            self.query_one(EchoLine).say(self.session.acknowledge())
            self._show()
        elif reply.opens_review:
            self.query_one(ReadingEntry).command("sheet.review")

    def on_reading_entry_wanted(self, event: ReadingEntry.Wanted) -> None:
        """Something other than an answer was asked for."""
        self._do(event.command)

    def on_hints_clicked(self, event: Hints.Clicked) -> None:
        """A hint was clicked: the same as its key."""
        if event.command == "app.leave":
            self.action_leave()
        elif event.command == "sheet.again":
            self._take_again(None)
        else:
            self.query_one(ReadingEntry).command(event.command)

    def on_ledger_picked(self, event: Ledger.Picked) -> None:
        """A line was clicked."""
        self.session.pick(event.key)
        self._show()

    # What can be asked for

    def _do(self, command: str) -> None:
        if not self.is_current:
            return  # what was asked for first lies above the sheet already
        match command:
            case "sheet.help":
                self.app.push_screen(HelpDialog(self._card()))
            case "sheet.flags":
                self._open_flags()
            case "sheet.attach":
                self._open_attach()
            case "sheet.review":
                self._open_review()
            case "sheet.picture":
                self._shows_picture = not self._shows_picture
                self._show()
            case "sheet.bell":
                self._has_bell = not self._has_bell
                word = "on" if self._has_bell else "off"
                self.query_one(EchoLine).say(f"The bell is {word}")
            case "sheet.page_up" | "sheet.page_down":
                pages = 1 if command == "sheet.page_down" else -1
                self.query_one(Ledger).scroll_by_pages(pages)

    def _open_flags(self) -> None:
        run = self.session.run
        questions = {line.key: line.what for line in run.sheet()}
        self.app.push_screen(FlagsScreen(self.session.seen, questions), self._take_flagged)

    def _take_flagged(self, key: str | None) -> None:
        if key is not None:
            self._take_again(key)

    def _take_again(self, key: str | None) -> None:
        self._show_led(self.session.take_again(key))

    def _show_led(self, reply: Reply) -> None:
        """Show what came of something else than a line of the entry.

        What is half typed there was meant for the prompt that it was typed at, and for no other.
        """
        if reply.clears:
            self.query_one(ReadingEntry).value = ""
        self._show()
        self.query_one(EchoLine).say(reply.hint, is_problem=reply.is_problem)
        if reply.is_loud:
            self._ring()

    def _open_attach(self) -> None:
        prompt = self.session.prompt
        ask = prompt.ask if prompt is not None else "the whole run"
        screen = AttachScreen(ask, takes_capture=self.session.takes_capture)
        self.app.push_screen(screen, self._keep_file)

    def _keep_file(self, path: Path | None) -> None:
        if path is None:
            return
        reply, proposal = self.session.attach(path)
        if proposal is None:
            self.query_one(EchoLine).say(reply.hint, is_problem=reply.is_problem)
            return
        questions = {each.key: each.ask for each in self.session.run.prompts}

        def settled(is_taken: bool | None) -> None:
            self._show_led(
                self.session.take_proposed(proposal) if is_taken else Reply(hint="None taken")
            )

        self.app.push_screen(ProposalScreen(proposal, questions), settled)

    def _open_review(self) -> None:
        run = self.session.run
        self.app.push_screen(
            ReviewScreen(run.review(), run.folder, self._services, run, self.session.bench)
        )

    def action_leave(self) -> None:
        """Leave at once; ask only where something is half typed."""
        half_typed = self.query_one(ReadingEntry).value
        if half_typed:
            self.app.push_screen(LeaveDialog(half_typed), self._leave_if)
        else:
            self._leave_if(True)

    def _leave_if(self, wants: bool | None) -> None:
        if wants:
            self.post_message(self.Left())

    # What is on the glass

    def _card(self) -> Card | None:
        key = self.session.key
        return self.session.run.card(key) if key is not None else None

    def _show(self) -> None:
        self._show_found()
        self._show_asked()

    def _show_found(self) -> None:
        """What the answers so far have shown."""
        session, run = self.session, self.session.run
        self.query_one(TopBar).show(*top_ends(session))
        in_hand = session.key if session.is_again else None
        self.query_one(Ledger).show(ledger_rows(run), session.selected, in_hand)
        self.query_one(LastResult).show(session.last)
        self.query_one(Seen).show(session.seen, unlike_words(run))
        has_column = self.size.width >= _SEEN_FROM
        is_told = session.alarm is not None or has_column
        self.query_one(SeenLine).show([] if is_told else session.seen)
        self.query_one(StopBanner).show(session.alarm)
        self.query_one(EchoLine).stand(session.standing_hint())

    def _show_asked(self) -> None:
        """What is asked now, and how it is answered."""
        self._asks_soon = False
        session = self.session
        session.is_led = False
        card = self._card()
        self._show_card(card)
        self._show_picture(card)
        self.query_one(Hints).show(hints(session))
        self._show_tone(card)
        entry = self.query_one(ReadingEntry)
        entry.placeholder = placeholder(session)
        self.query_one("#entry-unit", StillText).show_text(unit_sign(session))

    def _show_card(self, card: Card | None) -> None:
        session = self.session
        self.query_one(CardHead).show(card, is_again=session.is_again)
        body = self.query_one(CardBody)
        if card is None:
            body.show_done("Everything is answered. Enter looks at the review.")
            return
        if session.doubted is not None and session.mode is Mode.DOUBT:
            body.show_doubt(card, session.doubted)
            return
        panel = session.bench.panel(card.prompt, card) if session.bench is not None else ()
        before = session.run.line(card.prompt.key) if session.is_again else None
        first = next(each for each in session.run.prompts if each.step == card.prompt.step)
        is_first = first.key == card.prompt.key or session.is_again
        is_roomy = self.size.height >= _ROOMY_FROM
        body.show(Asked(card, session.mode, panel, before, is_first, is_roomy))

    def _show_picture(self, card: Card | None) -> None:
        """The curve of a sweep so far, or what a square wave should look like by it."""
        run = self.session.run
        curve, trace = None, None
        # A list of reasons, or a doubt, needs all the room of the card.
        asks_aside = self.session.mode in (Mode.REASON, Mode.DOUBT)
        if card is not None and self._shows_picture and not asks_aside:
            prompt = card.prompt
            curve = run.curve(prompt.step, prompt.of.channel) if prompt.kind == "sweep" else None
            trace = run.trace(prompt.key) if prompt.kind == "square" else None
        plot, predicted = self.query_one(CurvePlot), self.query_one(TracePlot)
        plot.display, predicted.display = curve is not None, trace is not None
        self._size_card(is_pictured=curve is not None or trace is not None)
        predicted.show(trace)
        if curve is not None:
            plot.show(curve)

    def _size_card(self, *, is_pictured: bool) -> None:
        """Give the card its rows: fixed for the size of the screen, fewer beside a picture.

        A card that grew and shrank with its text would have all laid out anew with each answer,
        and the ledger would jump. A class on the screen would have all styles worked out anew.
        """
        rows = next(rows for least, rows in _CARD_ROWS if self.size.height >= least)
        wanted = rows[is_pictured]
        middle = self.query_one("#card-middle")
        if middle.styles.height is None or middle.styles.height.value != wanted:
            middle.styles.height = wanted

    # The tone

    def _show_tone(self, card: Card | None) -> None:
        clock = self.session.tone_clock()
        self.query_one(ToneLine).show(clock, card)
        if self._second is not None:
            # Idle is idle: nothing is drawn by the clock while no time runs.
            (self._second.resume if is_running(clock) else self._second.pause)()

    def _tick(self) -> None:
        clock = self.session.tone_clock()
        self._show_tone(self._card())
        is_over = clock is not None and clock.on and clock.over >= 0
        if clock is not None and is_over and int(clock.over) % _BELL_EVERY == 0:
            self._ring()

    def _ring(self) -> None:
        if self._has_bell:
            self.app.bell()
