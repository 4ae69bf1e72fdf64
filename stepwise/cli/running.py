"""Commands that make or carry on a run: run, rehearse, resume, transcribe, and the screens."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from stepwise.cli.places import find_log, logs_folder, now
from stepwise.cli.plans import plan_from_names, rehearsal_plan
from stepwise.errors import StepwiseError

if TYPE_CHECKING:
    from stepwise.run import AnsweringBench, Run


def has_terminal() -> bool:
    """Whether there is a terminal at both ends."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def home(arguments: argparse.Namespace) -> int:
    """The screens, from the home screen."""
    if not has_terminal():
        print("stepwise: the screens need a terminal; see stepwise --help", file=sys.stderr)
        return 2
    from stepwise.cli.services import open_screens

    return open_screens(logs_folder(arguments.logs), None, None)


def run(arguments: argparse.Namespace) -> int:
    """Take a unit through a procedure."""
    from stepwise.run import Run

    plan = plan_from_names(arguments.procedure, arguments.unit, arguments.bench)
    logs = logs_folder(arguments.logs)
    with Run.start(
        plan, logs, now, operator=arguments.operator, episode=arguments.episode
    ) as begun:
        return _front_end(begun, None, arguments)


def resume(arguments: argparse.Namespace) -> int:
    """Carry on with a run; a rehearsal goes on with its own simulated bench."""
    from stepwise.run import Run

    with Run.resume(find_log(arguments.log, logs_folder(arguments.logs)), now) as carried:
        if carried.set_aside is not None:
            print(f"The last line was torn and is set aside in {carried.set_aside}")
        return _front_end(carried, _bench_of(carried), arguments)


def rehearse(arguments: argparse.Namespace) -> int:
    """The job on the simulated bench."""
    from stepwise.rehearsal import FAULTS, RehearsalBench

    if "list" in arguments.fault:
        for fault in FAULTS.values():
            print(f"{fault.name:<28} {fault.summary}")
        return 0
    faults = [_fault(text) for text in arguments.fault]
    plan = rehearsal_plan(arguments.procedure)
    bench = RehearsalBench(arguments.seed, plan.unit, plan.bench, faults)
    from stepwise.run import Run

    made = {"seed": arguments.seed, "faults": [list(fault) for fault in faults]}
    with Run.start(plan, logs_folder(arguments.logs), now, operator="QH", rehearsal=made) as begun:
        if arguments.unattended or not (has_terminal() or arguments.plain):
            return _unattended(begun, bench)
        return _front_end(begun, bench, arguments)


def _fault(text: str) -> tuple[str, float]:
    name, _, severity = text.partition(":")
    try:
        value = float(severity) if severity else 1.0
    except ValueError:
        raise StepwiseError(f"“{severity}” is no severity; write a number from 0 to 1") from None
    if not 0.0 <= value <= 1.0:
        raise StepwiseError(f"severity {severity} is outside 0 to 1")
    return name, value


def _bench_of(carried: Run) -> AnsweringBench | None:
    made = carried.state.begin.get("rehearsal")
    if not isinstance(made, dict):
        return None
    from stepwise.rehearsal import RehearsalBench

    faults = [(str(name), float(severity)) for name, severity in made.get("faults", [])]
    return RehearsalBench(int(made.get("seed", 1)), carried.plan.unit, carried.plan.bench, faults)


def _unattended(begun: Run, bench: AnsweringBench) -> int:
    """Let the bench answer everything; stop where a hold point stays shut."""
    from stepwise.report import sheet_text

    refused: set[str] = set()
    while (prompt := begun.next_prompt()) is not None:
        blocked = begun.blocked()
        if blocked is not None and blocked.key in refused:
            begun.note(blocked.reason)
            break
        if blocked is not None:
            refused.add(blocked.key)
        answer = bench.answer(prompt, begun.card(prompt.key))
        if answer is None:
            begun.skip(prompt.key, "the simulated bench cannot tell")
        else:
            outcome = begun.take(prompt.key, answer)
            if outcome.line is None:
                raise StepwiseError(f"{prompt.key}: “{answer}” was refused: {outcome.message}")
    review = begun.end()
    print(sheet_text(begun), end="")
    print(begun.folder)
    return 1 if review.verdict == "out of spec" else 0


def _front_end(begun: Run, bench: AnsweringBench | None, arguments: argparse.Namespace) -> int:
    if arguments.plain or not has_terminal():
        from stepwise.cli.plain import PlainRun

        return PlainRun(begun, bench, bell=not arguments.no_bell).play()
    from stepwise.cli.services import open_screens

    mouse, bell = not arguments.no_mouse, not arguments.no_bell
    return open_screens(begun.folder.parent, begun, bench, mouse=mouse, bell=bell)


def transcribe(arguments: argparse.Namespace) -> int:
    """Enter a run from a table of notes."""
    from stepwise.report import sheet_text
    from stepwise.run import read_notes
    from stepwise.run import transcribe as enter

    plan = plan_from_names(arguments.procedure, arguments.unit, arguments.bench)
    notes = read_notes(Path(arguments.readings))
    with enter(plan, notes, logs_folder(arguments.logs), now) as entered:
        print(sheet_text(entered), end="")
        print(entered.folder)
        return 1 if entered.review().verdict == "out of spec" else 0
