"""From what was typed to what is recorded: one answer, read and made ready for the journal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from stepwise.journal import RecordState
from stepwise.judge.slips import Slip
from stepwise.quantities import Answer, Expected, Refusal, Understood, parse_entry
from stepwise.steps import Prompt, recorded_form, understood_from


@dataclass(frozen=True, slots=True)
class Ready:
    """An answer that can be recorded."""

    kind: str
    """Kind of the journal event."""
    data: Mapping[str, object]
    echo: str

    def in_spite_of(self, slip: Slip) -> Ready:
        """The same, kept by a person who was told that it is probably a slip."""
        doubted = {"doubted": slip.name, "doubt": slip.says}
        return replace(self, data={**self.data, **doubted})

    def taken_from(self, capture: Mapping[str, object] | None) -> Ready:
        """The same, with what a capture says of it where it is a capture's proposal."""
        if capture is None or self.kind != "reading":
            return self
        return replace(self, data={**self.data, "capture": capture})


def filled_expected(prompt: Prompt, prompts: Mapping[str, Prompt], state: RecordState) -> Expected:
    """What a prompt expects, with the reading that "=" repeats and the reference of its dB."""
    expected = prompt.expected
    if expected.answer not in (Answer.QUANTITY, Answer.LEVEL, Answer.SHARE, Answer.HEAT):
        return expected
    reference = _reference(prompt, state) if expected.answer is Answer.LEVEL else None
    return replace(expected, last=_last_like(prompt, prompts, state), reference_volts=reference)


def _reference(prompt: Prompt, state: RecordState) -> float | None:
    recorded = state.answers.get(prompt.of.prompt_key("reference"))
    understood = understood_from(recorded.data) if recorded is not None else None
    return understood.value if understood is not None else None


def _last_like(
    prompt: Prompt, prompts: Mapping[str, Prompt], state: RecordState
) -> Understood | None:
    """The latest reading of the same kind of answer and unit."""
    wanted = _manner(prompt)
    alike = (
        recorded
        for key, recorded in state.answers.items()
        if recorded.kind == "reading" and key in prompts and _manner(prompts[key]) == wanted
    )
    latest = max(alike, key=lambda recorded: recorded.seq, default=None)
    return understood_from({**latest.data, "typed": latest.typed}) if latest is not None else None


def _manner(prompt: Prompt) -> tuple[object, ...]:
    """What two prompts share when one's reading may be repeated for the other."""
    expected = prompt.expected
    return expected.answer, expected.unit, expected.form


def make_ready(prompt: Prompt, raw: str, expected: Expected) -> Ready | Refusal:
    """Read an answer.

    Args:
        prompt: The prompt that is answered.
        raw: The text as typed.
        expected: What the prompt expects, filled by `filled_expected`.
    """
    entry = parse_entry(raw, expected)
    if isinstance(entry, Refusal):
        return entry
    base: dict[str, object] = {"key": prompt.key, "typed": raw}
    if expected.answer is Answer.CONFIRM:
        confirmed = entry.value > 0.5
        return Ready("confirm" if confirmed else "refuse", base, entry.echo)
    if expected.answer is Answer.TEXT:
        return Ready("reading", base | {"text": raw.strip()}, entry.echo)
    return Ready("reading", base | recorded_form(entry), entry.echo)
