"""The run as printed lines and plain input: for screen readers, dumb terminals and scripts."""

from __future__ import annotations

import sys
import textwrap
from typing import TYPE_CHECKING

from stepwise.errors import JournalError, RunError
from stepwise.report import flag_text, plain, sheet_text

if TYPE_CHECKING:
    from stepwise.run import AnsweringBench, Card, Outcome, Run

_HELP = """\
   a reading as you would write it: 20, 17.0 Vrms, 48 Vpp, 2.0 on 3 x10, -4.5, flat, =
   y or n   confirm, or say that it is not so        ?         why and how, and this
   / WHY    skip, with a reason                      -- KEY    take an earlier reading again
   # TEXT   keep a remark                            --        take the last reading again
   *        let the simulated bench answer           quit      leave; the run can be carried on"""


class PlainRun:
    """One run at a line-by-line terminal."""

    def __init__(self, run: Run, bench: AnsweringBench | None, *, bell: bool) -> None:
        self._run = run
        self._bench = bench
        self._bell = bell
        self._again: str | None = None
        self._last: str | None = None
        self._step = ""

    def play(self) -> int:
        """Ask until the run is complete or left; gives the exit code."""
        while (key := self._key()) is not None:
            card = self._run.card(key)
            self._show(card)
            try:
                line = input("> ").strip()
            except EOFError:
                return self._leave()
            if line == "quit":
                return self._leave()
            try:
                self._handle(key, line, card)
            except RunError as error:
                print(f"   {error}")
            except JournalError as error:
                print(f"   Not kept: {error}", file=sys.stderr)
                return 2
        review = self._run.end()
        print(sheet_text(self._run), end="")
        print(self._run.folder)
        return 1 if review.verdict == "out of spec" else 0

    def _key(self) -> str | None:
        if self._again is not None:
            return self._again
        prompt = self._run.next_prompt()
        return prompt.key if prompt is not None else None

    def _leave(self) -> int:
        print()
        print(f"Left. Everything kept is in {self._run.folder}; carry on with:")
        print(f"   stepwise resume {self._run.folder}")
        return 0

    def _show(self, card: Card) -> None:
        prompt = card.prompt
        if prompt.step != self._step:
            self._step = prompt.step
            print()
            print(plain(f"Step {card.step_number} of {card.of_steps}: {card.step_title}"))
            _wrapped(card.why)
            for caution in card.cautions:
                _wrapped(f"CAUTION: {caution}")
        blocked = self._run.blocked()
        if blocked is not None:
            _wrapped(blocked.reason)
        settings = ", ".join(f"{each.what} {each.to}" for each in card.settings)
        where = f" [{settings}]" if settings else ""
        limit = f" ({card.limit_text})" if card.limit_text else ""
        optional = ", optional" if prompt.optional else ""
        print(plain(f"{card.number}/{card.of} {prompt.ask}{where}{limit}{optional}"))
        if self._bench is not None:
            for shown in self._bench.panel(prompt, card):
                print(plain(f"   {shown.what}: {shown.to}"))

    def _handle(self, key: str, line: str, card: Card) -> None:
        if line in ("", "?"):
            if line:
                _wrapped(card.why)
                _wrapped(card.how)
                print(_HELP)
        elif line.startswith("#"):
            self._run.note(line[1:], key)
            print("   remark kept")
        elif line.startswith("--"):
            self._again = line[2:].strip() or self._last
            if self._again is not None:
                self._run.prompt(self._again)
        elif line.startswith("/"):
            self._told(self._run.skip(key, line[1:]))
        elif line == "*":
            self._answer(key, card)
        else:
            self._told(self._run.take(key, line))

    def _answer(self, key: str, card: Card) -> None:
        answer = self._bench.answer(card.prompt, card) if self._bench is not None else None
        if answer is None:
            print("   no simulated bench answers here")
            return
        print(f"   {answer}")
        self._told(self._run.take(key, answer))

    def _told(self, outcome: Outcome) -> None:
        _wrapped(outcome.message)
        if outcome.line is None:
            return
        self._again, self._last = None, outcome.key
        figures = "; ".join(part for part in (outcome.line.as_read, outcome.line.outcome) if part)
        print(plain(f"   {figures}: {outcome.line.verdict}"))
        for flag in outcome.flags:
            if self._bell and flag.severity in ("stop", "wrong"):
                print("\a", end="")
            for text in flag_text(flag):
                print(text)


def _wrapped(text: str) -> None:
    for line in textwrap.wrap(plain(text), 80, initial_indent="   ", subsequent_indent="   "):
        print(line)
