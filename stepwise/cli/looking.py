"""Commands that only look: show, logs, procedures, check."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from stepwise.cli.places import find_log, logs_folder
from stepwise.errors import FileProblems, Problem, StepwiseError


def show(arguments: argparse.Namespace) -> int:
    """Print a log."""
    from stepwise.report import run_record, sheet_text
    from stepwise.run import read_run

    view = read_run(find_log(arguments.log, logs_folder(arguments.logs)))
    run, record = view.run, view.record
    if arguments.json:
        import json

        print(json.dumps(run_record(view), ensure_ascii=False, allow_nan=False, indent=1))
    else:
        print(sheet_text(run), end="")
    for warning in view.warnings:
        print(f"stepwise: {warning}", file=sys.stderr)
    return 1 if run.review().verdict == "out of spec" or record.damages else 0


def logs(arguments: argparse.Namespace) -> int:
    """List the logs, oldest first."""
    from stepwise.journal import find_log_folders
    from stepwise.report import plain
    from stepwise.run import read_run

    for folder in find_log_folders(logs_folder(arguments.logs)):
        try:
            view = read_run(folder)
        except StepwiseError as error:
            print(f"{folder.name}  {error}")
            continue
        run, record = view.run, view.record
        state = run.review().verdict if run.ended else "unfinished"
        marks = " (rehearsal)" if run.state.begin.get("rehearsal") else ""
        marks += "" if record.is_whole else " (damaged)"
        named = f"{run.plan.unit.name}  {run.plan.procedure.name}"
        print(plain(f"{folder.name}  {named}  {state}{marks}"))
    return 0


def procedures(_: argparse.Namespace) -> int:
    """List the procedures that can be run."""
    from stepwise.procedure import list_procedures, read_procedure
    from stepwise.report import plain

    for shelved in list_procedures():
        try:
            summary = read_procedure(shelved.path).summary
        except FileProblems as error:
            summary = f"cannot be used: {error.problems[0]}"
        print(plain(f"{shelved.name:<16} {summary}"))
    return 0


def check(arguments: argparse.Namespace) -> int:
    """Check files and logs; every problem is told."""
    failed = False
    for text in arguments.paths:
        path = Path(text)
        is_log = path.is_dir() or path.suffix == ".jsonl"
        problems = _log_problems(path) if is_log else _file_problems(path)
        for problem in problems:
            print(problem)
        if not problems:
            print(f"{path}: ok")
        failed = failed or bool(problems)
    return 1 if failed else 0


def _log_problems(path: Path) -> list[Problem]:
    from stepwise.journal import read_journal

    record = read_journal(path)
    found = [
        Problem(record.path, damage.line, "", f"this line {damage.reason}",
                "everything before it can still be read")
        for damage in record.damages
    ]  # fmt: skip
    if record.torn is not None and not found:
        what = "the last line was never finished"
        found.append(Problem(record.path, None, "", what, "carrying on sets it aside"))
    return found


def _file_problems(path: Path) -> list[Problem]:
    import tomllib

    from stepwise.procedure import read_bench, read_procedure, read_source, read_unit

    try:
        source = read_source(path)
        keys = set(source.data)
        readers = {"unit": read_unit, "bench": read_bench}
        reader = next((readers[key] for key in readers if key in keys), read_procedure)
        reader(path)
    except FileProblems as error:
        return list(error.problems)
    except tomllib.TOMLDecodeError as error:
        return [Problem(path, None, "", str(error))]
    return []
