"""How long the tone was on, from the times in the journal.

Nobody presses a key for what is plain from the readings: a tone that is read is on. It counts
as on from the first reading of a pass to its last, or as the person says by key.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache

from stepwise.journal import RecordState, Tone
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
        if prompt.tone:
            by_pass.setdefault(prompt.of.key, []).append(prompt)
    switched: dict[str, list[Tone]] = {}
    for tone in state.tones:
        if tone.key:
            switched.setdefault(pass_key(tone.key), []).append(tone)
    found = [
        times
        for key, asked in by_pass.items()
        for times in _times(asked, switched.get(key, ()), state)
    ]
    return tuple(sorted(found, key=lambda times: times.on))


def _times(
    asked: Sequence[Prompt], switched: Sequence[Tone], state: RecordState
) -> Iterator[ToneTimes]:
    # The first answer counts: taking a reading again later does not stretch the pass.
    read = [
        _moment(state.history[prompt.key][0].at)
        for prompt in asked
        if prompt.key in state.history and state.history[prompt.key][0].kind == "reading"
    ]
    on: datetime | None = None
    was_on = False
    for tone in switched:
        at = _moment(tone.at)
        if tone.state == "on":
            on = on or at
            continue
        if on is None and not was_on:
            on = min((each for each in read if each <= at), default=None)
        if on is not None:
            yield ToneTimes(asked[0].of, on, at)
            on, was_on = None, True
    # Once it was said to be off, only a key says that it is on again: what was read before is
    # often typed after.
    is_done = all(prompt.key in state.answers or prompt.optional for prompt in asked)
    last = max(read, default=None) if is_done else None
    if on is not None:
        yield ToneTimes(asked[0].of, on, last if last is not None and last > on else None)
    elif read and not was_on:
        yield ToneTimes(asked[0].of, min(read), last)


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
