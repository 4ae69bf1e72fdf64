"""The lines of the test sheet, from answers and results."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from operator import is_
from typing import NamedTuple

from stepwise.journal import Recorded, RecordState
from stepwise.judge import Judgement, Result, Verdict
from stepwise.quantities import Answer, dotted, format_uncertain, with_signs
from stepwise.run.outcome import SheetLine
from stepwise.steps import Prompt

_FEW = 3
"""A computed result is shown on a reading's line when it rests on no more readings than this;
what a whole row shows (a corner, a flatness) has no single line to stand on."""

_OF_A_ROW = frozenset(
    f"{what}_{side}"
    for what in ("minus_1db", "minus_3db", "corner", "order", "q", "slope")
    for side in ("low", "high")
) | {"coupling_capacitance", "cure_capacitance", "flatness"}
"""What a sweep shows as a whole, however few of its points were needed."""

_GRAVITY = (Verdict.OUT_OF_SPEC, Verdict.TOO_CLOSE, Verdict.IN_SPEC, Verdict.NOTED)


class Sheet:
    """Makes the lines, and keeps those whose answer and results are still the same.

    Printing figures is what takes time here, and one answer changes a few lines only.
    """

    def __init__(self, prompts: Sequence[Prompt]) -> None:
        self._prompts = prompts
        self._order = {prompt.key: place for place, prompt in enumerate(prompts)}
        self._kept: dict[str, tuple[_Made, SheetLine]] = {}
        self._homes: dict[int, tuple[Result, str | None]] = {}

    def lines(
        self, state: RecordState, results: Sequence[Result], closed: Collection[str]
    ) -> tuple[SheetLine, ...]:
        """One line for each answered prompt, in the order of the procedure.

        Args:
            state: The recorded facts.
            results: All results of the answers in force.
            closed: Keys of the prompts that are closed now.
        """
        direct, homed = self._by_line(results)
        lines = []
        for prompt in self._prompts:
            recorded = state.answers.get(prompt.key)
            if recorded is None:
                continue
            key = prompt.key
            own, computed, is_closed = direct.get(key), homed.get(key, ()), key in closed
            kept = self._kept.get(key)
            if kept is not None and kept[0].stands(recorded, own, computed, is_closed):
                lines.append(kept[1])
                continue
            made = _Made(recorded, own, computed, len(state.history[key]) > 1, is_closed)
            if kept is None or not kept[0].is_same(made):
                kept = self._kept[key] = made, _line(prompt, made)
            elif kept[0].recorded is not recorded:
                self._kept[key] = made, kept[1]  # as read from the journal: the same from now on
            lines.append(kept[1])
        return tuple(lines)

    def _by_line(
        self, results: Sequence[Result]
    ) -> tuple[dict[str, Result], dict[str, list[Result]]]:
        """Readings by their key; computed results by the last reading that they needed."""
        direct: dict[str, Result] = {}
        homed: dict[str, list[Result]] = {}
        homes: dict[int, tuple[Result, str | None]] = {}
        before = self._homes
        for result in results:
            if result.key is not None:
                direct[result.key] = result
                continue
            kept = before.get(id(result))
            if kept is None or kept[0] is not result:
                kept = result, self._home(result)
            homes[id(result)] = kept
            if kept[1] is not None:
                homed.setdefault(kept[1], []).append(result)
        self._homes = homes
        return direct, homed

    def _home(self, result: Result) -> str | None:
        """Key of the last reading that a computed result needed; None where it has no line."""
        if not 0 < len(result.basis) <= _FEW or result.name in _OF_A_ROW:
            return None
        return max(result.basis, key=lambda key: self._order.get(key, -1))


class _Made(NamedTuple):
    """What a line is made of."""

    recorded: Recorded
    direct: Result | None
    computed: Sequence[Result]
    corrected: bool
    closed: bool

    def stands(
        self,
        recorded: Recorded,
        direct: Result | None,
        computed: Sequence[Result],
        closed: bool,
    ) -> bool:
        """Whether nothing that the line is made of is another object now."""
        return (
            self.recorded is recorded
            and self.direct is direct
            and self.closed == closed
            and len(self.computed) == len(computed)
            and all(map(is_, self.computed, computed))
        )

    def is_same(self, other: _Made) -> bool:
        """Whether the same line comes of it: results are kept as objects while they stand."""
        mine, theirs = self.recorded, other.recorded
        return (
            (mine.seq, mine.typed, mine.kind) == (theirs.seq, theirs.typed, theirs.kind)
            and _given(mine) == _given(theirs)
            and self.corrected == other.corrected
            and self.stands(mine, other.direct, other.computed, other.closed)
        )


def _given(recorded: Recorded) -> dict[str, object]:
    """All that came with an answer, such as a reason, except what it was shown to lead to.

    An answer that could not be written may be given otherwise the next time, in the same place.
    """
    return {name: some for name, some in recorded.data.items() if name != "shown"}


def _line(prompt: Prompt, made: _Made) -> SheetLine:
    recorded, direct, computed = made.recorded, made.direct, made.computed
    decisive = _decisive(direct, computed)
    judgement = decisive.judgement if decisive is not None else None
    limit = judgement.limit if judgement is not None else None
    # Beside a reading that is judged itself, another figure would stand with its limit.
    is_judged = decisive is not None and decisive is direct and limit is not None
    first = None if is_judged else next(iter(computed), None)
    is_computed = decisive is not None and decisive is not direct
    shown = decisive if is_computed else first
    judged = decisive if is_computed and limit is not None else None
    return SheetLine(
        key=prompt.key,
        step=prompt.step,
        what=place_words(prompt, prompt.ask),
        typed=recorded.typed,
        as_read=_as_read(prompt, recorded, direct),
        outcome=figure(shown) if shown is not None else "",
        verdict=_verdict(recorded, judgement),
        judgement=judgement,
        position=limit.position(decisive.value) if limit and decisive else None,
        remark=_remark(recorded) or (judgement.remark if judgement is not None else ""),
        corrected=made.corrected,
        closed=made.closed,
        answer=recorded.kind,
        judged_what=_result_words(prompt, judged) if judged is not None else "",
        judged_figure=_figure(judged) if judged is not None else "",
        doubted=str(recorded.data.get("doubted", "")),
        doubt=str(recorded.data.get("doubt", "")),
    )


def figure(result: Result) -> str:
    """A result in figures, with the word that tells it from its neighbours."""
    return f"{result.label} {_figure(result)}"


def _figure(result: Result) -> str:
    return format_uncertain(result.measure, result.unit)


def _result_words(prompt: Prompt, result: Result) -> str:
    """The place and the label of a result; its place may be wider than that of the prompt."""
    return dotted(result.channel, with_signs(result.load), _picture(prompt), result.label)


def place_words(prompt: Prompt, ask: str) -> str:
    """The place and the question in short: "left · 8 Ω · Clean level"."""
    return dotted(prompt.of.channel, with_signs(prompt.of.load), _picture(prompt), ask)


def _picture(prompt: Prompt) -> str | None:
    """Which picture of a square wave: "10 kHz with 100 nF"; None elsewhere."""
    if prompt.kind != "square":
        return None
    tone, capacitor, _ = prompt.point.split("/", 2)
    return f"{tone} with {capacitor}" if capacitor != "none" else tone


def _decisive(direct: Result | None, computed: Sequence[Result]) -> Result | None:
    """The result whose verdict the line carries: the gravest, the reading itself first."""
    candidates = [*([direct] if direct is not None else []), *computed]
    for verdict in _GRAVITY:
        for result in candidates:
            if result.judgement.verdict is verdict:
                return result
    return None


def _as_read(prompt: Prompt, recorded: Recorded, direct: Result | None) -> str:
    if recorded.kind == "skip":
        return ""
    if recorded.kind in ("confirm", "refuse"):
        return "confirmed" if recorded.kind == "confirm" else "not so"
    if direct is not None:
        return format_uncertain(direct.measure, direct.unit)
    if prompt.expected.answer is Answer.TEXT:
        return ""
    return str(recorded.data.get("echo", ""))


def _verdict(recorded: Recorded, judgement: Judgement | None) -> Verdict:
    if recorded.kind == "skip":
        return Verdict.SKIPPED
    if recorded.kind == "refuse":
        return Verdict.OUT_OF_SPEC
    return judgement.verdict if judgement is not None else Verdict.NOTED


def _remark(recorded: Recorded) -> str:
    for name in ("reason", "remark", "text"):
        text = recorded.data.get(name)
        if isinstance(text, str) and text:
            return text
    return ""
