"""`stepwise check`: procedures, units, benches, and whether logs are what was written."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from stepwise.cli.places import find_log, log_at, logs_folder
from stepwise.errors import FileProblems, Problem, StepwiseError

if TYPE_CHECKING:
    from stepwise.bench import Bench
    from stepwise.run import RunView


def carry_out(arguments: Namespace) -> int:
    """Check each thing named; every problem is told, and 1 is given where there is any."""
    from stepwise.safe_text import plain

    logs = logs_folder(arguments.logs)
    failed = False
    for text in arguments.paths:
        try:
            path, detail = _checked(text, logs)
        except FileProblems as error:
            failed = True
            for problem in error.problems:
                print(plain(str(problem)))
        except StepwiseError as error:
            failed = True
            print(plain(str(error)))
        else:
            print(plain(f"{path}: ok, {detail}"))
    return 1 if failed else 0


def _checked(text: str, logs: Path) -> tuple[Path, str]:
    """What was checked, and what it is; raises everything that is wrong with it."""
    folder = find_log(text, logs) if text == "last" else log_at(text, logs)
    if folder is not None:
        return folder, _checked_log(folder)
    if Path(text).is_dir():
        find_log(text, logs)  # tells that there is no log in that folder
    path = _find_file(text)
    return path, _checked_file(path)


def _find_file(text: str) -> Path:
    """A file by its path, or a procedure, unit or bench by its name."""
    from stepwise.procedure import find_bench, find_procedure, find_unit, list_benches, list_units

    if any(shelved.name == text for shelved in list_units()):
        return find_unit(text)
    if any(shelved.name == text for shelved in list_benches()):
        return find_bench(text)
    return find_procedure(text)


def _checked_file(path: Path) -> str:
    from stepwise.procedure import read_bench, read_procedure, read_source, read_unit

    readers: dict[str, Callable[[Path], str]] = {
        "procedure": lambda path: f"procedure “{read_procedure(path).title}”",
        "step": lambda path: f"procedure “{read_procedure(path).title}”",
        "unit": lambda path: f"unit “{read_unit(path).name}”",
        "bench": lambda path: _bench_words(read_bench(path)),
    }
    tables = read_source(path).data
    for table, read in readers.items():
        if table in tables:
            return read(path)
    what = "is neither a procedure nor a unit nor a bench"
    remedy = "begin it with [procedure], [unit] or [bench]"
    raise FileProblems((Problem(path, None, "", what, remedy),))


def _bench_words(bench: Bench) -> str:
    """What was checked, and what is asked of it: nothing that is surely wrong."""
    from stepwise.procedure import questions_on

    return "; ".join((f"bench “{bench.name}”", *questions_on(bench)))


def _checked_log(folder: Path) -> str:
    """Chain, completeness, attachments, and whether the run can still be worked out."""
    from stepwise.journal import read_journal
    from stepwise.run import read_run

    record = read_journal(folder)
    problems = [
        Problem(record.path, damage.line, "", f"this line {damage.reason}")
        for damage in record.damages
    ]
    if record.torn is not None:
        what = "the writing of the last line was cut off, so it was never told as kept"
        problems.append(Problem(record.path, None, "", what, "resuming the run sets it aside"))
    if problems:
        raise FileProblems(tuple(problems))
    view = read_run(folder)
    problems = _attachment_problems(view, folder)
    if problems:
        raise FileProblems(tuple(problems))
    ended = view.run.review().conclusion.listed if view.run.ended else "unfinished"
    return f"log of {len(record.events)} lines, {ended}{_otherwise(view)}"


def _otherwise(view: RunView) -> str:
    """What an older version showed and this one works out otherwise: no damage, but to know."""
    found = view.otherwise
    if not found:
        return ""
    first = found[0]
    was, now = first.shown or "nothing", first.now or "nothing"
    count = f"{len(found)} result{'' if len(found) == 1 else 's'}"
    return (
        f"; {count} worked out otherwise than shown at the bench, "
        f"the first: {first.where}, shown {was}, now {now}"
    )


def _attachment_problems(view: RunView, folder: Path) -> list[Problem]:
    from hashlib import sha256

    found = []
    for attached in view.run.state.attachments:
        path = folder / Path(attached.name).name
        try:
            content_hash = sha256(path.read_bytes()).hexdigest()
        except OSError as error:
            what = f"was attached and cannot be read ({error.strerror})"
            found.append(Problem(path, None, "", what))
            continue
        if attached.sha256 and content_hash != attached.sha256:
            found.append(Problem(path, None, "", "was changed after it was attached"))
    return found
