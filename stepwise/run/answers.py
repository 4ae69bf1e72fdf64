"""From what was typed to what is recorded: one answer, read and made ready for the journal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from stepwise.journal import Recorded, RecordState
from stepwise.judge.slips import Slip
from stepwise.quantities import (
    Answer,
    Expected,
    Refusal,
    dotted,
    parse_entry,
    with_signs,
)
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
    filled = replace(expected, repeats=_repeated_words(prompt), reference_volts=reference)
    latest = _last_like(prompt, prompts, state)
    if latest is None:
        return filled
    last = understood_from({**latest.data, "typed": latest.typed})
    return replace(filled, last=last, last_where=_where(prompts[latest.key], prompt))


def _reference(prompt: Prompt, state: RecordState) -> float | None:
    recorded = state.answers.get(prompt.of.prompt_key("reference"))
    understood = understood_from(recorded.data) if recorded is not None else None
    return understood.value if understood is not None else None


def _last_like(
    prompt: Prompt, prompts: Mapping[str, Prompt], state: RecordState
) -> Recorded | None:
    """The latest reading of the same thing."""
    wanted = _thing(prompt)
    alike = (
        recorded
        for key, recorded in state.answers.items()
        if recorded.kind == "reading" and key in prompts and _thing(prompts[key]) == wanted
    )
    return max(alike, key=lambda recorded: recorded.seq, default=None)


def _thing(prompt: Prompt) -> tuple[object, ...]:
    """What two prompts share when one's reading may be repeated for the other.

    The unit alone does not do: the volts of a transformer are no volts of an output.
    """
    expected = prompt.expected
    # A sweep's reference once more is the reference; of temperatures the place counts.
    is_again = prompt.kind == "sweep" and prompt.point == "reference_again"
    name = "reference" if is_again else reading_name(prompt)
    place = prompt.ask if prompt.kind == "thermal" else ""
    return prompt.kind, name, place, expected.answer, expected.unit, expected.form


def reading_name(prompt: Prompt) -> str:
    """What is read, whatever the channel, the load, the repetition or the tone."""
    if prompt.kind == "sweep" and prompt.expected.answer is Answer.LEVEL:
        return "level_db"
    if prompt.kind == "square":  # its points are tone/capacitor/what
        return prompt.point.rpartition("/")[2]
    if prompt.kind == "thermal":
        return "temperature"
    # a reading that is taken several times is called name, name/2, name/3
    return prompt.point.partition("/")[0]


def _repeated_words(prompt: Prompt) -> str:
    """What "=" would repeat, for the sentence that says that there is none."""
    if prompt.kind == "sweep" and prompt.expected.answer is Answer.LEVEL:
        return "an earlier level of a sweep"
    return f"an earlier reading of “{prompt.ask}”"


def _where(other: Prompt, prompt: Prompt) -> str:
    """Where another prompt's reading was taken, seen from this one: "left · 8 Ω"."""
    if other.key == prompt.key:
        return "before"
    is_here = other.of.key == prompt.of.key
    where = "" if is_here else dotted(other.of.channel, with_signs(other.of.load))
    if other.point == prompt.point:
        return where or other.ask
    is_by_point = other.expected.answer is Answer.LEVEL or other.kind in ("square", "thermal")
    return dotted(where, other.point if is_by_point else other.ask)


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
