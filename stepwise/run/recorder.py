"""The only thing that writes a run's journal: on disk first, and only then what the run stands on.

An answer is worked out before it is written, so that what it was shown to lead to stands beside
it; the same working is what the run goes on with.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime

from stepwise.journal import Event, Recorded, StateBuilder, extend, instant_text
from stepwise.judge import Marks
from stepwise.judge.slips import Slip
from stepwise.run.answers import Ready
from stepwise.run.keeper import Keeper
from stepwise.run.outcome import Outcome, Status
from stepwise.run.shown import (
    changed_flags,
    closing_data,
    fresh_results,
    shown_data,
    withdrawn_data,
)
from stepwise.run.standing import Standing, Standings, with_answer
from stepwise.steps import Prompt

Clock = Callable[[], datetime]


class Recorder:
    """A journal and where the run stands by it; the two never part."""

    def __init__(self, journal: Keeper, standings: Standings, clock: Clock) -> None:
        self.journal = journal
        self._standings = standings
        self._clock = clock
        self._builder = StateBuilder()
        self._seq = 0
        for event in journal.events:
            self._fold(event)
        # A doubt changes nothing that stands.
        last = next((each for each in reversed(journal.events) if each.kind != "doubt"), None)
        self._now = datetime.fromisoformat(last.at) if last is not None else self._moment()
        self.standing: Standing = standings.work_out(self._builder.state(), self._now)
        """As of the last event."""

    def append(self, kind: str, data: Mapping[str, object]) -> None:
        """Keep an event that is no answer.

        Raises:
            JournalError: It could not be put on disk; nothing has changed.
        """
        before, now = self.standing, self._moment()
        after = self._ahead(kind, data, now)
        new_flags, cleared = changed_flags(after.flags, before.flags)
        if new_flags or cleared:
            # A tone that goes off, say, was on for too long: no later answer tells it as new.
            shown = shown_data((), new_flags) | withdrawn_data((), (), cleared)
            data = {**data, "shown": shown}
        self._fold(self.journal.append(kind, data, now))
        self._now = now
        self.standing = after.with_state(self._builder.state())

    def end(self, data: Mapping[str, object], marks: Marks) -> None:
        """Keep that the run ends, with its marks and with every flag that stands then.

        Some flags wait for what the pass in hand still asks: at the end nothing is asked.

        Raises:
            JournalError: It could not be put on disk; nothing has changed.
        """
        flags = self._ahead("end", data, self._moment()).flags
        self.append("end", {**data, "closing": closing_data(flags, marks)})

    def keep_doubt(self, key: str, raw: str, slip: Slip) -> Outcome:
        """Keep that an answer was doubted; it is no reading, so nothing else changes.

        Raises:
            JournalError: It could not be put on disk; nothing has changed.
        """
        data = {"key": key, "typed": raw, "slip": slip.name, "says": slip.says}
        self._fold(self.journal.append("doubt", data | {"meant": slip.meant}, self._clock()))
        self.standing = self.standing.with_state(self._builder.state())
        next_key = self.standing.progress.next_key
        return Outcome(Status.DOUBTED, key, slip.says, next_key=next_key, doubt=slip)

    def keep_answer(self, prompt: Prompt, ready: Ready, status: Status) -> Outcome:
        """Work out what an answer leads to, put both on disk, and only then give it back.

        Raises:
            JournalError: It could not be put on disk; nothing has changed.
        """
        before, now = self.standing, self._moment()
        after = self._foreseen(prompt, ready, now)
        fresh = fresh_results(after.results, before.results)
        new_flags, cleared = changed_flags(after.flags, before.flags)
        shown = shown_data(fresh, new_flags)
        shown |= withdrawn_data(after.results, before.results, cleared)
        self._fold(self.journal.append(ready.kind, {**ready.data, "shown": shown}, now))
        self._now = now
        self.standing = after.with_state(self._builder.state())
        return Outcome(
            status=status,
            key=prompt.key,
            message=ready.echo,
            line=after.line(prompt.key),
            results=fresh,
            flags=new_flags,
            cleared=cleared,
            next_key=after.progress.next_key,
            is_led=_is_led(prompt, before, after),
        )

    def foresee(self, prompt: Prompt, ready: Ready) -> None:
        """Work out ahead what an answer would lead to; nothing is written, nothing changes.

        What was worked out last is kept wherever standings are worked out, so the same answer
        costs little when it comes. Only what goes by the clock is left to be worked out then.
        """
        self._foreseen(prompt, ready, self._now)

    def _foreseen(self, prompt: Prompt, ready: Ready, now: datetime) -> Standing:
        """Where the run would stand, of the answer as it will be found in the journal."""
        typed = str(ready.data.get("typed", ""))
        at = instant_text(now)
        recorded = Recorded(self._seq + 1, at, prompt.key, typed, ready.kind, ready.data)
        return self._standings.work_out(with_answer(self.standing.state, recorded), now)

    def _moment(self) -> datetime:
        """Now, as the journal writes it: what goes by the clock is the same when it is read."""
        return datetime.fromisoformat(instant_text(self._clock()))

    def _ahead(self, kind: str, data: Mapping[str, object], now: datetime) -> Standing:
        event = Event(self._seq + 1, instant_text(now), kind, data)
        return self._standings.work_out(extend(self.standing.state, event), now)

    def _fold(self, event: Event) -> None:
        self._builder.add(event)
        self._seq = event.seq


def _is_led(prompt: Prompt, before: Standing, after: Standing) -> bool:
    """Whether the answer to a prompt has led to what makes the board dead."""
    is_new = not before.progress.way_out or bool(prompt.hold_except)
    return bool(after.progress.way_out) and is_new
