"""The plain fold: from the events of a run to what is recorded of it.

Recorded facts only. Nothing is judged or computed again here, no clock is read, and every
sequence of events has a state: an event of a kind that this version does not know, or without
what its kind needs, is kept in `unknown`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from stepwise.journal.event import Event

_ANSWERS = frozenset({"reading", "confirm", "refuse", "skip"})


@dataclass(frozen=True, slots=True)
class Recorded:
    """One accepted answer to one prompt."""

    seq: int
    at: str
    key: str
    """Of the prompt that was answered."""
    typed: str
    """As typed; for a skip without it, the reason given."""
    kind: str
    """`reading`, `confirm`, `refuse` or `skip`."""
    data: Mapping[str, object]
    """Everything of the event."""


@dataclass(frozen=True, slots=True)
class Note:
    """A remark, on a prompt or on the whole run."""

    seq: int
    at: str
    key: str | None
    text: str
    data: Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Tone:
    """The tone was switched."""

    seq: int
    at: str
    key: str | None
    state: str
    """`on` or `off`."""
    data: Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Attachment:
    """A file that lies beside the journal."""

    seq: int
    at: str
    key: str | None
    name: str
    sha256: str
    """Of its content when it was attached, in hex; empty if the event has none."""
    data: Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Doubt:
    """An answer that was probably a slip, and was therefore not kept as it was typed."""

    seq: int
    at: str
    key: str
    """Of the prompt that was answered."""
    typed: str
    slip: str
    """Name of the slip."""
    meant: str
    """What was probably meant, in bench notation; empty where that is not known."""
    data: Mapping[str, object]


@dataclass(frozen=True, slots=True)
class RecordState:
    """What is recorded of a run."""

    begin: Mapping[str, object]
    """Data of the first begin event; empty if there is none."""
    began_at: str | None
    last_at: str | None
    """When the last event happened, of whatever kind."""
    answers: Mapping[str, Recorded]
    """Prompt key to the answer in force, in the order in which prompts were first answered."""
    history: Mapping[str, tuple[Recorded, ...]]
    """Prompt key to every answer ever given, oldest first; withdrawn ones too."""
    notes: tuple[Note, ...]
    tones: tuple[Tone, ...]
    attachments: tuple[Attachment, ...]
    doubts: tuple[Doubt, ...]
    """Answers that were doubted, whatever was kept afterwards."""
    flags: tuple[Event, ...]
    """Flags as they were shown."""
    resumed: int
    """How often the run was resumed."""
    ended: Mapping[str, object] | None
    """Data of the end event; None while the run goes on, also after it was resumed."""
    unknown: tuple[Event, ...]
    """Events that this version can make nothing of."""


class StateBuilder:
    """Folds one event after another, each in constant time.

    `state()` takes time in proportion to what is recorded, so ask for it when it is shown, not
    after every event of a long file.
    """

    def __init__(self) -> None:
        self._begin: Event | None = None
        self._last_at: str | None = None
        self._answers: dict[str, Recorded] = {}
        self._history: dict[str, list[Recorded]] = {}
        self._notes: list[Note] = []
        self._tones: list[Tone] = []
        self._attachments: list[Attachment] = []
        self._doubts: list[Doubt] = []
        self._flags: list[Event] = []
        self._resumed = 0
        self._ended: Mapping[str, object] | None = None
        self._unknown: list[Event] = []

    def add(self, event: Event) -> None:
        """Fold one event more."""
        self._last_at = event.at
        if not self._fold(event):
            self._unknown.append(event)

    def state(self) -> RecordState:
        """What is recorded so far; events added later leave it as it is."""
        return RecordState(
            begin=MappingProxyType({}) if self._begin is None else self._begin.data,
            began_at=None if self._begin is None else self._begin.at,
            last_at=self._last_at,
            # By the history: a prompt answered again after a withdrawal keeps its place.
            answers=MappingProxyType(
                {key: self._answers[key] for key in self._history if key in self._answers}
            ),
            history=MappingProxyType(
                {key: tuple(answers) for key, answers in self._history.items()}
            ),
            notes=tuple(self._notes),
            tones=tuple(self._tones),
            attachments=tuple(self._attachments),
            doubts=tuple(self._doubts),
            flags=tuple(self._flags),
            resumed=self._resumed,
            ended=self._ended,
            unknown=tuple(self._unknown),
        )

    @classmethod
    def from_state(cls, state: RecordState) -> StateBuilder:
        """A builder that goes on from a state. Takes time in proportion to the state."""
        builder = cls()
        if state.began_at is not None:
            # Only the time and the data of it are ever asked for again.
            builder._begin = Event(1, state.began_at, "begin", state.begin)
        builder._last_at = state.last_at
        builder._answers = dict(state.answers)
        builder._history = {key: list(answers) for key, answers in state.history.items()}
        builder._notes = list(state.notes)
        builder._tones = list(state.tones)
        builder._attachments = list(state.attachments)
        builder._doubts = list(state.doubts)
        builder._flags = list(state.flags)
        builder._resumed = state.resumed
        builder._ended = state.ended
        builder._unknown = list(state.unknown)
        return builder

    def _fold(self, event: Event) -> bool:
        """Fold one event by its kind; False where nothing can be made of it."""
        if event.kind in _ANSWERS:
            return self._fold_answer(event)
        match event.kind:
            case "begin":
                return self._fold_begin(event)
            case "withdraw":
                return self._fold_withdrawal(event)
            case "note" | "tone" | "attach" | "doubt":
                return self._fold_aside(event)
            case "flag":
                self._flags.append(event)
            case "resume":
                self._resumed += 1
                self._ended = None
            case "end":
                self._ended = event.data
            case _:
                return False
        return True

    def _fold_begin(self, event: Event) -> bool:
        if self._begin is not None:
            return False  # a run begins once; a second one must not change what the first said
        self._begin = event
        return True

    def _fold_answer(self, event: Event) -> bool:
        key = _text(event, "key")
        if key is None:
            return False
        typed = _text(event, "typed")
        if typed is None:
            typed = _text(event, "reason") or ""
        answer = Recorded(event.seq, event.at, key, typed, event.kind, event.data)
        self._answers[key] = answer
        self._history.setdefault(key, []).append(answer)
        return True

    def _fold_withdrawal(self, event: Event) -> bool:
        key = _text(event, "key")
        if key is None:
            return False
        self._answers.pop(key, None)
        return True

    def _fold_aside(self, event: Event) -> bool:
        seq, at, data = event.seq, event.at, event.data
        key = _text(event, "key")
        match (event.kind, data):
            case ("note", {"text": str(text)}):
                self._notes.append(Note(seq, at, key, text, data))
            case ("tone", {"state": "on" | "off" as state}):
                self._tones.append(Tone(seq, at, key, state, data))
            case ("attach", {"name": str(name)}):
                content_hash = _text(event, "sha256") or ""
                self._attachments.append(Attachment(seq, at, key, name, content_hash, data))
            case ("doubt", {"typed": str(typed), "slip": str(slip)}) if key is not None:
                meant = _text(event, "meant") or ""
                self._doubts.append(Doubt(seq, at, key, typed, slip, meant, data))
            case _:
                return False
        return True


def fold(events: Iterable[Event]) -> RecordState:
    """What is recorded by a sequence of events.

    Args:
        events: In their order.

    Returns:
        The state; there is one for every sequence.
    """
    builder = StateBuilder()
    for event in events:
        builder.add(event)
    return builder.state()


def extend(state: RecordState, event: Event) -> RecordState:
    """The state after one event more: `fold([*events, event])` for the `fold(events)` given.

    Copies the state; for many events take one `StateBuilder`.

    Args:
        state: What was recorded before; it stays as it is.
        event: The event that follows.

    Returns:
        What is recorded then.
    """
    builder = StateBuilder.from_state(state)
    builder.add(event)
    return builder.state()


def _text(event: Event, field: str) -> str | None:
    value = event.data.get(field)
    return value if isinstance(value, str) else None
