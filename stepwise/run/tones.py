"""How long the tone was on, from the times in the journal.

Nobody presses a key for what is plain from the readings: a tone that is read is on. It counts
as on from the first reading of a pass to its last, or as the person says by key.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from stepwise.journal import RecordState
from stepwise.judge import ToneSpan
from stepwise.quantities import require
from stepwise.run.outcome import ToneClock
from stepwise.steps import Pass, Prompt, StepFields, pass_key


@dataclass(frozen=True, slots=True)
class ToneTimes:
    """When the tone of one pass went on and off; None while it is on or never was."""

    of: Pass
    on: datetime
    off: datetime | None


def tone_times(prompts: Sequence[Prompt], state: RecordState) -> tuple[ToneTimes, ...]:
    """The tone of every pass that was begun, in the order in which they were."""
    by_pass: dict[str, list[Prompt]] = {}
    for prompt in prompts:
        if prompt.tone:
            by_pass.setdefault(prompt.of.key, []).append(prompt)
    found = []
    for key, asked in by_pass.items():
        times = _times(key, asked, state)
        if times is not None:
            found.append(times)
    return tuple(sorted(found, key=lambda times: times.on))


def _times(key: str, asked: Sequence[Prompt], state: RecordState) -> ToneTimes | None:
    # The first answer counts: taking a reading again later does not stretch the pass.
    read = [
        _moment(state.history[prompt.key][0].at)
        for prompt in asked
        if prompt.key in state.history and state.history[prompt.key][0].kind == "reading"
    ]
    switched = [tone for tone in state.tones if tone.key and pass_key(tone.key) == key]
    on = [_moment(tone.at) for tone in switched if tone.state == "on"]
    off = [_moment(tone.at) for tone in switched if tone.state == "off"]
    begun = on[:1] or read[:1]
    if not begun:
        return None
    is_done = all(prompt.key in state.answers or prompt.optional for prompt in asked)
    ended = off[-1:] or ([max(read)] if is_done and read else [])
    return ToneTimes(asked[0].of, begun[0], ended[0] if ended else None)


def _moment(at: str) -> datetime:
    return datetime.fromisoformat(at.replace("Z", "+00:00"))


def tone_spans(
    times: Sequence[ToneTimes], steps: Mapping[str, StepFields], now: datetime
) -> tuple[ToneSpan, ...]:
    """The spans that flags look at; a tone that is on runs until `now`."""
    return tuple(
        ToneSpan(
            step=each.of.step,
            channel=each.of.channel,
            load=each.of.load,
            seconds=((each.off or now) - each.on).total_seconds(),
            allowed_seconds=seconds(steps[each.of.step].on_time),
            running=each.off is None,
            rested=_rested(times[:place], each.on),
            wanted_rest=seconds(steps[each.of.step].rest),
        )
        for place, each in enumerate(times)
    )


def _rested(earlier: Sequence[ToneTimes], on: datetime) -> float | None:
    """Seconds since the tone last went off; None where it never did."""
    offs = [each.off for each in earlier if each.off is not None]
    return (on - max(offs)).total_seconds() if offs else None


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
    here = next((each for each in times if each.of == prompt.of), None)
    if here is not None and here.off is None:
        return ToneClock(True, (now - here.on).total_seconds(), seconds(step.on_time))
    last_off = max((each.off for each in times if each.off is not None), default=None)
    if last_off is None:
        return None
    rest = seconds(step.rest) if here is None else None
    return ToneClock(False, (now - last_off).total_seconds(), rest)
