"""Where a run stands: what is open, what a hold point or a stop flag closes, what is asked next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stepwise.journal import Recorded
from stepwise.judge import Flag, Result, Verdict
from stepwise.quantities import Answer
from stepwise.run.closing import closed_by_flags
from stepwise.run.outcome import Blocked
from stepwise.steps import Prompt, StepFields


@dataclass(frozen=True, slots=True)
class Progress:
    """The standing of a run, worked out from its answers."""

    next_key: str | None
    """The prompt to ask; the one to take again where nothing else is open."""
    blocked: Blocked | None
    closed_steps: Mapping[str, str]
    """Step id -> key of the hold point that closes it, as a whole."""
    held_by: Mapping[str, str]
    """Key of every prompt that a hold point closes -> key of that hold point."""
    closed: Mapping[str, str]
    """Key of every closed prompt -> the sentence that says why, and what opens it again."""
    unsatisfied: tuple[str, ...]
    """Keys of hold points that are answered but not satisfied, closed steps or not."""
    way_out: str
    """What is to be done now, where a hold point that is not satisfied leaves only some steps open
    and one of them is asked; else empty."""
    answered: int
    total: int
    """Prompts that can be asked: those of closed steps do not count once the rest is done."""

    @property
    def is_complete(self) -> bool:
        """Whether everything that can be asked has an answer, and no hold point waits for one."""
        return self.next_key is None


def work_out_progress(
    steps: Sequence[StepFields],
    prompts: Sequence[Prompt],
    answers: Mapping[str, Recorded],
    results: Sequence[Result],
    flags: Sequence[Flag] = (),
    *,
    holds_close: bool = True,
) -> Progress:
    """Find what is open.

    A hold point closes every later step, or the steps it names, or all later ones but those it
    names, until it is satisfied: until confirmed, or until its reading is in spec. One that is to
    be confirmed closes the rest of its own step too, since each item there may rest on the one
    before; beside a reading the rest of its step stays open. One that has nothing after it keeps
    the run itself open. A stop flag closes what would do harm while it stands; what it rests on
    stays open, to be taken again.
    Without `holds_close` only the rest of a list is closed whose item is not so: what is
    transcribed has happened already, but not after that.
    """
    by_key = {result.key: result for result in results if result.key is not None}
    closed_steps, unsatisfied = _closed_by_holds(steps, prompts, answers, by_key)
    if not holds_close:
        closed_steps = {}
    held_by = {
        prompt.key: closed_steps[prompt.step] for prompt in prompts if prompt.step in closed_steps
    } | _rest_of_lists(prompts, answers, only_refused=not holds_close)
    asks = {prompt.key: prompt.ask for prompt in prompts}
    closed = {
        key: f"Closed until the hold point “{asks[holding]}” is satisfied"
        for key, holding in held_by.items()
    }
    by_flag = closed_by_flags(flags, prompts) if holds_close else {}
    for key, flag in by_flag.items():
        closed.setdefault(key, _flag_sentence(flag))
    waiting = [prompt for prompt in prompts if prompt.key not in answers]
    next_key = next((prompt.key for prompt in waiting if prompt.key not in closed), None)
    blocked = None
    if next_key is None and holds_close:
        blocked = _held(prompts, waiting, unsatisfied, held_by, by_key) or _stopped(
            waiting, held_by, by_flag, closed
        )
        next_key = blocked.key if blocked is not None else None
    return Progress(
        next_key, blocked, closed_steps, held_by, closed, tuple(unsatisfied),
        _way_out(steps, prompts, next_key, unsatisfied, by_key) if blocked is None else "",
        len(prompts) - len(waiting), len(prompts),
    )  # fmt: skip


def _closed_by_holds(
    steps: Sequence[StepFields],
    prompts: Sequence[Prompt],
    answers: Mapping[str, Recorded],
    by_key: Mapping[str, Result],
) -> tuple[dict[str, str], list[str]]:
    """Steps that hold points close, and the hold points that were answered in vain."""
    order = {step.id: place for place, step in enumerate(steps)}
    closed: dict[str, str] = {}
    unsatisfied: list[str] = []
    for prompt in prompts:
        if not prompt.hold or _is_satisfied(prompt, answers, by_key):
            continue
        if prompt.key in answers:
            unsatisfied.append(prompt.key)
        for step_id, place in order.items():
            is_later = place > order[prompt.step] and step_id not in prompt.hold_except
            is_held = step_id in prompt.hold_for if prompt.hold_for else is_later
            if is_held:
                closed.setdefault(step_id, prompt.key)
    return closed, unsatisfied


def _rest_of_lists(
    prompts: Sequence[Prompt], answers: Mapping[str, Recorded], *, only_refused: bool
) -> dict[str, str]:
    """Prompts behind an item of their own list that is not confirmed -> key of that item.

    Whoever said that no lamp is in series must not be asked what it did when it was switched on.
    """
    held_by: dict[str, str] = {}
    open_item: dict[str, str] = {}
    for prompt in prompts:
        if not prompt.hold or prompt.expected.answer is not Answer.CONFIRM:
            continue
        if prompt.step in open_item:
            held_by[prompt.key] = open_item[prompt.step]
            continue
        recorded = answers.get(prompt.key)
        kind = recorded.kind if recorded is not None else ""
        if kind == "refuse" or (kind != "confirm" and not only_refused):
            open_item[prompt.step] = prompt.key
    return held_by


def _is_satisfied(
    prompt: Prompt, answers: Mapping[str, Recorded], by_key: Mapping[str, Result]
) -> bool:
    recorded = answers.get(prompt.key)
    if recorded is None or recorded.kind in ("refuse", "skip"):
        return False
    result = by_key.get(prompt.key)
    return result is None or result.judgement.verdict in (Verdict.IN_SPEC, Verdict.NOTED)


def _held(
    prompts: Sequence[Prompt],
    waiting: Sequence[Prompt],
    unsatisfied: Sequence[str],
    held_by: Mapping[str, str],
    by_key: Mapping[str, Result],
) -> Blocked | None:
    """The hold point that keeps everything later shut, or the run open where nothing is later.

    One that holds only named steps does not stop the run: those steps stay closed and are
    reported as such. One in a step that another leaves open comes before that other: first the
    board is dead.
    """
    if waiting and not any(prompt.key in held_by for prompt in waiting):
        return None
    holding = [each for each in prompts if each.key in unsatisfied and not each.hold_for]
    if not holding:
        return None
    left_open = {step for each in holding for step in each.hold_except}
    prompt = next((each for each in holding if each.step in left_open), holding[0])
    # What it means comes first: the question may be long, and stands on the card.
    shut = "later steps stay" if prompt.key in by_key else "all that follows stays"
    leads_to = f"{shut} shut" if waiting else "the run is not finished"
    judged = _judged(prompt.key, by_key)
    return Blocked(prompt.key, f"{judged}, so {leads_to}: “{prompt.ask}”")


def _way_out(
    steps: Sequence[StepFields],
    prompts: Sequence[Prompt],
    next_key: str | None,
    unsatisfied: Sequence[str],
    by_key: Mapping[str, Result],
) -> str:
    """What a hold point that is not satisfied leaves to be done, where that is what is asked."""
    asked = {prompt.key: prompt for prompt in prompts}
    step = asked[next_key].step if next_key is not None else ""
    for key in unsatisfied:
        if step in asked[key].hold_except:
            title = next(each.title for each in steps if each.id == step)
            return f"{_judged(key, by_key)}: now “{title}”; all else stays shut"
    return ""


def _judged(key: str, by_key: Mapping[str, Result]) -> str:
    """What came of a hold point that is not satisfied, as the beginning of a sentence."""
    result = by_key.get(key)
    judged = result.judgement.verdict.value if result is not None else "not so"
    return judged.capitalize()


def _stopped(
    waiting: Sequence[Prompt],
    held_by: Mapping[str, str],
    by_flag: Mapping[str, Flag],
    closed: Mapping[str, str],
) -> Blocked | None:
    """The stop flag that keeps the rest shut, where a reading of it can be taken again."""
    for prompt in waiting:
        flag = by_flag.get(prompt.key)
        if flag is None or prompt.key in held_by:
            continue
        again = next((key for key in flag.keys if key not in closed), None)
        if again is not None:
            return Blocked(again, f"Stop: {_clause(flag.says)}; the rest stays shut")
    return None


def _flag_sentence(flag: Flag) -> str:
    """Which flag closes a prompt, and what opens it again."""
    reopens = flag.reopens or "Take the reading again that the flag rests on, once it is mended"
    return f"Closed by the stop flag {flag.name}: {_clause(flag.says)}. {reopens.rstrip('.')}"


def _clause(sentence: str) -> str:
    return sentence.rstrip(". ")
