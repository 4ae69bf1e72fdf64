"""`stepwise rehearse`: the same on a simulated bench, led through or unattended."""

from __future__ import annotations

import math
from argparse import Namespace
from collections import Counter
from typing import TYPE_CHECKING

from stepwise.cli.front_end import lead
from stepwise.cli.places import logs_folder, now
from stepwise.cli.plans import rehearsal_plan
from stepwise.cli.printing import has_terminal, print_run
from stepwise.errors import StepwiseError

if TYPE_CHECKING:
    from stepwise.run import AnsweringBench, Run

_CHANCES = 2
"""How often the simulated bench may answer a hold point before the run stops there."""


def carry_out(arguments: Namespace) -> int:
    """Rehearse, or list what can be rehearsed."""
    if "list" in arguments.fault:
        return _list_faults()
    from stepwise.rehearsal import RehearsalBench
    from stepwise.run import Run

    faults = [_fault(text) for text in arguments.fault]
    plan = rehearsal_plan(arguments.procedure)
    bench = RehearsalBench(arguments.seed, plan.unit, plan.bench, faults)
    made = {"seed": arguments.seed, "faults": [list(fault) for fault in faults]}
    with Run.start(plan, logs_folder(arguments.logs), now, rehearsal=made) as run:
        if arguments.unattended or not (arguments.plain or has_terminal()):
            answer_all(run, bench)
            return print_run(run)
        return lead(run, bench, arguments)


def _list_faults() -> int:
    from stepwise.rehearsal import FAULTS
    from stepwise.report import hanging

    for fault in FAULTS.values():
        print(fault.name)
        for line in hanging(fault.summary, "    ", "    "):
            print(line)
    return 0


def _fault(text: str) -> tuple[str, float]:
    name, colon, written = text.partition(":")
    try:
        severity = float(written) if colon else 1.0
    except ValueError:
        severity = math.nan
    if not 0.0 <= severity <= 1.0:
        raise StepwiseError(f"--fault {text}: “{written}” is no severity; write a number, 0 to 1")
    return name, severity


def answer_all(run: Run, bench: AnsweringBench) -> None:
    """Let the bench answer until nothing is open, then end the run.

    It stops early at a hold point that stays unsatisfied; the remark at the end says so.

    Raises:
        StepwiseError: The bench's answer was not understood.
    """
    remark = ""
    tries: Counter[str] = Counter()
    while (prompt := run.next_prompt()) is not None:
        blocked = run.blocked()
        if blocked is not None and tries[prompt.key] >= _CHANCES:
            remark = f"Stopped. {blocked.reason}"
            break
        answer = bench.answer(prompt, run.card(prompt.key))
        tries[prompt.key] += 1
        if answer is None and prompt.hold:
            remark = f"Stopped: the simulated bench cannot tell “{prompt.ask}”"
            break
        if answer is None:
            outcome = run.skip(prompt.key, "the simulated bench cannot tell")
        else:
            outcome = run.take(prompt.key, answer)
        if outcome.line is None:
            raise StepwiseError(f"{prompt.key}: “{answer}” was refused: {outcome.message}")
    run.end(remark)
