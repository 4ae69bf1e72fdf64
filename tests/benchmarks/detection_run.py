"""A rehearsal without a disk: all prompts answered, everything worked out once at the end.

What a run shows is the fold of its events, so that a run made from all of them at once carries
the flags that a run carries which was taken step by step. Slips are what a run doubts as it
goes: where the person errs the run so far is asked; `whole_run` asks it at every answer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from stepwise.journal import Event, Recorded, StateBuilder
from stepwise.journal.event import instant_text
from stepwise.procedure import procedures_folder
from stepwise.quantities import Refusal
from stepwise.rehearsal import RehearsalBench, bench_text, noticed_in, unit_text
from stepwise.run import Card, Plan, Run, plan_from_texts
from stepwise.run.answers import filled_expected, make_ready
from stepwise.run.tones import seconds
from stepwise.steps import KINDS, Prompt, Setting, Workings

START = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
NOT_THERE = "the simulated bench cannot tell"


def plan_of(procedure: str) -> Plan:
    """A shipped procedure for the shipped unit on the shipped bench."""
    text = (procedures_folder() / f"{procedure}.toml").read_text(encoding="utf-8")
    return plan_from_texts(text, unit_text(), bench_text(), procedure)


@dataclass(slots=True)
class Memory:
    """A journal that is kept in memory alone."""

    events: tuple[Event, ...] = ()
    path: Path = Path("memory/journal.jsonl")
    set_aside: Path | None = None

    def append(self, kind: str, data: Mapping[str, object], at: datetime) -> Event:
        event = Event(len(self.events) + 1, instant_text(at), kind, dict(data))
        self.events += (event,)
        return event

    def close(self) -> None:
        """There is nothing to let go of."""


def begun(bench: RehearsalBench) -> Memory:
    memory = Memory()
    memory.append("begin", {"rehearsal": {"faults": [list(each) for each in bench.faults]}}, START)
    return memory


@dataclass(slots=True)
class Sheet:
    """The cards of a run, with no more on them than a rehearsal bench looks at."""

    plan: Plan
    workings: Workings
    answers: dict[str, Recorded] = field(default_factory=dict)
    _pass: str = ""
    _guidance: tuple[Setting, ...] = ()

    def card(self, prompt: Prompt) -> Card:
        step = next(each for each in self.plan.procedure.steps if each.id == prompt.step)
        if prompt.of.key != self._pass:
            self._pass = prompt.of.key
            self._guidance = self._guided(prompt, step)
        settings = (*prompt.settings, *self._guidance)
        return Card(
            prompt, step.title, "", "", (), settings, "", 1, 1, 1, 1,
            seconds(step.on_time), seconds(step.rest),
        )  # fmt: skip

    def _guided(self, prompt: Prompt, step: object) -> tuple[Setting, ...]:
        if prompt.kind != "sweep":
            return ()
        results = self.workings.results(self.answers)
        known = self.workings.known_before(prompt.of, results)
        return KINDS[prompt.kind].guidance(step, prompt.of, known)


def fast_run(plan: Plan, bench: RehearsalBench) -> Run:
    """All prompts answered as they come; where the person errs, as a person is answered."""
    memory, clock = begun(bench), bench.clock(START)
    workings = Workings(plan.procedure.steps, KINDS, plan.scene)
    sheet = Sheet(plan, workings)
    by_key = {prompt.key: prompt for prompt in workings.prompts}
    empty = StateBuilder().state()
    for prompt in workings.prompts:
        mistakes = len(bench.person.made)
        typed = bench.answer(prompt, sheet.card(prompt))
        if typed is None:
            memory.append("skip", {"key": prompt.key, "typed": "", "reason": NOT_THERE}, clock())
            continue
        if len(bench.person.made) > mistakes:
            run = Run(plan, memory, clock)
            # What another fault has shut by now, a run would not ask; here all is answered.
            if prompt.key not in run.closed_prompts():
                take(run, bench, prompt, typed)
                sheet.answers[prompt.key] = run.state.answers[prompt.key]
                continue
        ready = make_ready(prompt, typed, filled_expected(prompt, by_key, empty))
        if isinstance(ready, Refusal):
            raise TypeError(f"{prompt.key}: {typed!r} was refused: {ready.sentence}")
        event = memory.append(ready.kind, ready.data, clock())
        sheet.answers[prompt.key] = Recorded(
            event.seq, event.at, prompt.key, typed, ready.kind, ready.data
        )
    return Run(plan, memory, clock)


def take(run: Run, bench: RehearsalBench, prompt: Prompt, typed: str) -> None:
    """Take an answer; who is doubted looks again and stands by it."""
    if run.take(prompt.key, typed).line is not None:
        return
    again = bench.answer(prompt, run.card(prompt.key))
    assert again is not None
    assert run.take(prompt.key, again, sure=True).line is not None, (prompt.key, again)


def whole_run(plan: Plan, bench: RehearsalBench) -> Run:
    """Every answer taken as a person's is: honest readings may be doubted too."""
    run = Run(plan, begun(bench), bench.clock(START))
    while (prompt := run.next_prompt()) is not None and run.blocked() is None:
        typed = bench.answer(prompt, run.card(prompt.key))
        if typed is None:
            run.skip(prompt.key, NOT_THERE)
        else:
            take(run, bench, prompt, typed)
    return run


Player = Callable[[Plan, RehearsalBench], Run]


def noticed(
    plan: Plan, seed: int, faults: Sequence[tuple[str, float]], play: Player = fast_run
) -> tuple[Run, tuple[str, ...]]:
    """A rehearsal with its flags and slips.

    Args:
        plan: What is run.
        seed: Of board and bench.
        faults: Names with severities.
        play: How the answers are taken.
    """
    run = play(plan, RehearsalBench(seed, plan.unit, plan.bench, faults))
    return run, noticed_in(run)
