"""`stepwise rehearse`: the same on a simulated bench, led through or unattended."""

from __future__ import annotations

import math
from argparse import Namespace
from collections import Counter
from datetime import timedelta
from typing import TYPE_CHECKING

from stepwise.cli.front_end import lead
from stepwise.cli.places import logs_folder, now
from stepwise.cli.plans import rehearsal_plan
from stepwise.cli.printing import has_terminal, print_lines, print_run
from stepwise.errors import StepwiseError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from stepwise.run import AnsweringBench, Outcome, Plan, Run
    from stepwise.steps import Prompt

_CHANCES = 2
"""How often the simulated bench may answer a hold point before the run stops there."""


def carry_out(arguments: Namespace) -> int:
    """Rehearse, or list what can be rehearsed."""
    if "list" in arguments.fault:
        return _list_faults()
    from stepwise.rehearsal import AttendedClock, RehearsalBench
    from stepwise.run import Run

    faults = [_fault(text) for text in arguments.fault]
    plan = rehearsal_plan(arguments.procedure)
    bench = RehearsalBench(arguments.seed, plan.unit, plan.bench, faults)
    made = {"seed": arguments.seed, "faults": [list(fault) for fault in faults]}
    logs = logs_folder(arguments.logs)
    if arguments.unattended or not (arguments.plain or has_terminal()):
        # Nobody waits: time is the bench's own, set back so that it does not end in the future.
        own = bench.clock(now() - _planned(plan))
        is_over = False
        with Run.start(
            plan, logs, lambda: max(own(), now()) if is_over else own(), rehearsal=made
        ) as run:
            remark = _answer_open(run, bench)
            is_over = True  # it ends when it was made: "last" is the run just made
            run.end(remark)
            return print_run(run, bench)
    attended = AttendedClock(now)
    bench.keep(attended)
    with Run.start(plan, logs, attended, rehearsal=made) as run:
        return lead(run, bench, arguments)


def _planned(plan: Plan) -> timedelta:
    return timedelta(minutes=plan.procedure.minutes or 0)


def _list_faults() -> int:
    from stepwise.rehearsal import FAULTS, SEVERITIES
    from stepwise.report import hanging

    for fault in FAULTS.values():
        where = "" if fault.procedure == "first-look" else f", in {fault.procedure}"
        print(fault.name)
        print_lines(hanging(f"{fault.summary}{where}", "    ", "    "))
        print_lines(hanging(" · ".join(fault.flags), "    -> ", "       "))
    words = ", ".join(f"{word} {value:g}" for word, value in SEVERITIES.items())
    print_lines(hanging(f"--fault NAME:SEVERITY takes {words}, or a number from 0 to 1.", "", ""))
    return 0


def _fault(text: str) -> tuple[str, float]:
    from stepwise.rehearsal import SEVERITIES, find_fault

    name, colon, written = text.partition(":")
    find_fault(name)
    try:
        severity = SEVERITIES.get(written) or (float(written) if colon else 1.0)
    except ValueError:
        severity = math.nan
    if not 0.0 <= severity <= 1.0:
        words = ", ".join(SEVERITIES)
        raise StepwiseError(
            f"--fault {text}: “{written}” is no severity; write {words}, or a number, 0 to 1"
        )
    return name, severity


def answer_all(run: Run, bench: AnsweringBench) -> None:
    """Let the bench answer until nothing is open, then end the run.

    It stops early at a hold point that stays unsatisfied; the remark at the end says so.

    Raises:
        StepwiseError: The bench's answer was not understood, however often it looked.
    """
    run.end(_answer_open(run, bench))


def _answer_open(run: Run, bench: AnsweringBench) -> str:
    """Let the bench answer until nothing is open; why it stopped early, empty if it did not."""
    tries: Counter[str] = Counter()
    while (prompt := run.next_prompt()) is not None:
        blocked = run.blocked()
        if blocked is not None and tries[prompt.key] >= _CHANCES:
            return f"Stopped. {blocked.reason}"
        tries[prompt.key] += 1
        outcome = _answered(run, bench, prompt)
        if outcome is None:
            return f"Stopped: the simulated bench cannot tell “{prompt.ask}”"
        if outcome.line is None:
            raise StepwiseError(f"{prompt.key}: refused: {outcome.message}")
    return ""


def _answered(run: Run, bench: AnsweringBench, prompt: Prompt) -> Outcome | None:
    """Take or skip one prompt; None where a hold point cannot be read."""
    outcome = None
    for turn, text in enumerate(_looks(run, bench, prompt)):
        if text is None and prompt.hold:
            return None
        if text is None:
            return run.skip(prompt.key, "the simulated bench cannot tell")
        # Whoever is asked whether that is right looks again, and then stands by it.
        outcome = run.take(prompt.key, text, sure=turn > 0)
        if outcome.line is not None:
            break
    return outcome


def _looks(run: Run, bench: AnsweringBench, prompt: Prompt) -> Iterator[str | None]:
    for _ in range(_CHANCES):
        yield bench.answer(prompt, run.card(prompt.key))
