"""How long the tone was on, from the times in the journal.

Nobody presses a key for what is plain from the readings: a tone that is read is on. It counts
as on from the first reading of a pass, or from when the person says so by key, until the person
says that it is off. Where nobody does, it is on while anything of the pass is still to be asked,
optional or not, unless a later pass has begun or the run has ended. It then counts as off from
the last reading, or, where it was said to be on, from the last answer.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache

from stepwise.journal import Recorded, RecordState, Tone
from stepwise.judge import ToneSpan
from stepwise.quantities import require
from stepwise.run.outcome import ToneClock
from stepwise.steps import Pass, Prompt, StepFields, pass_key


@dataclass(frozen=True, slots=True)
class ToneTimes:
    """One time that the tone of a pass was on; `off` is None while it is."""

    of: Pass
    on: datetime
    off: datetime | None


def tone_times(prompts: Sequence[Prompt], state: RecordState) -> tuple[ToneTimes, ...]:
    """Every time that the tone was on, in the order in which it went on."""
    by_pass: dict[str, list[Prompt]] = {}
    for prompt in prompts:
        by_pass.setdefault(prompt.of.key, []).append(prompt)
    switched: dict[str, list[Tone]] = {}
    for tone in state.tones:
        if tone.key:
            switched.setdefault(pass_key(tone.key), []).append(tone)
    found: list[ToneTimes] = []
    later: list[Recorded] = []
    for key, passed in reversed(by_pass.items()):
        asked = [prompt for prompt in passed if prompt.tone]
        if asked:
            found = [*_times(asked, switched.get(key, ()), later, state), *found]
        later += _first_answers(passed, state)
    return tuple(sorted(found, key=lambda times: times.on))


def _first_answers(prompts: Sequence[Prompt], state: RecordState) -> list[Recorded]:
    """The first answer counts: taking a reading again later does not stretch the pass."""
    return [state.history[each.key][0] for each in prompts if each.key in state.history]


def _times(
    asked: Sequence[Prompt],
    switched: Sequence[Tone],
    later: Sequence[Recorded],
    state: RecordState,
) -> Iterator[ToneTimes]:
    """Of one pass; `later` are the first answers of the passes after it."""
    answers = _first_answers(asked, state)
    read = [each for each in answers if each.kind == "reading"]
    on: Tone | Recorded | None = None
    was_on = False
    for tone in switched:
        if tone.state == "on":
            on = on or tone
            continue
        if on is None and not was_on:
            before = [each for each in read if _moment(each.at) <= _moment(tone.at)]
            on = min(before, key=_when, default=None)
        if on is not None:
            yield ToneTimes(asked[0].of, _when(on), _when(tone))
            on, was_on = None, True
    if on is not None:
        yield _left_on(asked, on, answers, later, state)
    # Once it was said to be off, only a key says that it is on again: what was read before is
    # often typed after.
    elif read and not was_on:
        yield _left_on(asked, min(read, key=_when), read, later, state)


def _left_on(
    asked: Sequence[Prompt],
    on: Tone | Recorded,
    until: Sequence[Recorded],
    later: Sequence[Recorded],
    state: RecordState,
) -> ToneTimes:
    """A tone that nobody said to be off, on since `on`, and at most until the last of `until`."""
    known = [_when(each) for each in until if each.seq >= on.seq]
    if not known or any(prompt.key not in state.answers for prompt in asked):
        # Told apart only here: most passes are answered, and there are many answers after them.
        ends = [_when(each) for each in later if each.seq > on.seq]
        if state.ended is not None and state.last_at is not None:
            ends.append(_moment(state.last_at))
        if not ends:
            return ToneTimes(asked[0].of, _when(on), None)
        known = known or [min(ends)]
    # A clock may have been set back since.
    return ToneTimes(asked[0].of, _when(on), max(_when(on), *known))


def _when(event: Tone | Recorded) -> datetime:
    return _moment(event.at)


@lru_cache(maxsize=1024)
def _moment(at: str) -> datetime:
    return datetime.fromisoformat(at.replace("Z", "+00:00"))


def tone_spans(
    times: Sequence[ToneTimes], steps: Mapping[str, StepFields], now: datetime
) -> tuple[ToneSpan, ...]:
    """The spans that flags look at; a tone that is on runs until `now`."""
    spans = []
    begun: set[str] = set()
    last_off: datetime | None = None
    for each in times:
        # Switched off for a moment within a pass is no rest.
        is_rest = last_off is not None and each.of.key not in begun
        spans.append(
            ToneSpan(
                step=each.of.step,
                channel=each.of.channel,
                load=each.of.load,
                seconds=((each.off or now) - each.on).total_seconds(),
                allowed_seconds=seconds(steps[each.of.step].on_time),
                running=each.off is None,
                rested=(each.on - last_off).total_seconds() if last_off and is_rest else None,
                wanted_rest=seconds(steps[each.of.step].rest),
            )
        )
        begun.add(each.of.key)
        if each.off is not None:
            last_off = max(each.off, last_off or each.off)
    return tuple(spans)


@lru_cache(maxsize=128)
def seconds(text: str | None) -> float | None:
    """A time as a procedure writes it [s]."""
    return require(text, "s") if text is not None else None


def tone_clock(
    times: Sequence[ToneTimes], steps: Mapping[str, StepFields], prompt: Prompt, now: datetime
) -> ToneClock | None:
    """The tone at the prompt in hand: running with its on time, or resting before this pass."""
    if not prompt.tone or not times:
        return None
    step = steps[prompt.step]
    here = next((each for each in reversed(times) if each.of == prompt.of), None)
    if here is not None and here.off is None:
        return ToneClock(True, (now - here.on).total_seconds(), seconds(step.on_time))
    last_off = max((each.off for each in times if each.off is not None), default=None)
    if last_off is None:
        return None
    rest = seconds(step.rest) if here is None else None
    return ToneClock(False, (now - last_off).total_seconds(), rest)
