"""Flags that were shown at the bench and do not stand any more, with the answer that ended each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from stepwise.journal import Event, Recorded
from stepwise.judge import Severity
from stepwise.run import RunView, place_words

_Identity = tuple[object, ...]
_PLACE = ("flag", "step", "channel", "load")


@dataclass(frozen=True, slots=True)
class GoneFlag:
    """A flag that was shown and does not stand any more."""

    name: str
    is_stop: bool
    channel: str | None
    load: str | None
    says: str
    """As it was said last."""
    then: str
    """With which answer it went, in a sentence."""


def gone_flags(view: RunView) -> tuple[GoneFlag, ...]:
    """Flags in the journal that do not stand at the end, each once.

    Args:
        view: A log as it was read.
    """
    shown: dict[_Identity, Mapping[str, object]] = {}
    ended_by: dict[_Identity, Event] = {}
    for event in view.record.events:
        for identity in _cleared(event):
            ended_by[identity] = event
        for each in _flags(event):
            identity = tuple(each.get(name) for name in _PLACE)
            shown[identity] = each
            ended_by.pop(identity, None)
    standing: set[_Identity] = {flag.identity for flag in view.run.flags()}
    return tuple(
        _gone(each, _then(view, ended_by.get(identity)))
        for identity, each in shown.items()
        if identity not in standing
    )


def _listed(event: Event, name: str) -> list[object]:
    shown = event.data.get("shown")
    some = shown.get(name) if isinstance(shown, Mapping) else None
    return list(some) if isinstance(some, list | tuple) else []


def _flags(event: Event) -> Iterator[Mapping[str, object]]:
    for each in _listed(event, "flags"):
        if isinstance(each, Mapping):
            yield each


def _cleared(event: Event) -> Iterator[_Identity]:
    for each in _listed(event, "cleared"):
        if isinstance(each, list | tuple):
            yield tuple(each)


def _gone(each: Mapping[str, object], then: str) -> GoneFlag:
    channel, load = (str(each[name]) if each.get(name) else None for name in ("channel", "load"))
    return GoneFlag(
        str(each.get("flag", "")), each.get("severity") == Severity.STOP.value, channel, load,
        str(each.get("says", "")), then,
    )  # fmt: skip


def _then(view: RunView, event: Event | None) -> str:
    """The answer that the journal says it went with."""
    if event is None:
        return "The log does not say with which answer it went."
    history = view.run.state.history.get(str(event.data.get("key")), ())
    after = next((each for each in history if each.seq == event.seq), None)
    if after is None:
        return "The log does not say with which answer it went."
    before = [each for each in history if each.seq < event.seq]
    what = _what(view, after.key)
    if not before:
        return f"It went when this was answered: {what}, {typed_words(after)}."
    return f"{what} was taken again: {typed_words(after)} instead of {typed_words(before[-1])}."


def _what(view: RunView, key: str) -> str:
    for prompt in view.run.prompts:
        if prompt.key == key:
            return place_words(prompt, prompt.ask)
    return key


def typed_words(answer: Recorded) -> str:
    """What was typed; a skip and a confirmation by key say so."""
    words = {"skip": "skipped", "confirm": "confirmed", "refuse": "not so"}
    return words.get(answer.kind) or answer.typed
