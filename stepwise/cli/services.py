"""What the screens may ask for, built from the rooms below."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from stepwise.cli.own_name import own_name
from stepwise.cli.places import log_at, logs_folder, now
from stepwise.cli.plans import carried_on, plan_from_names, rehearsal_plan, with_own_response
from stepwise.cli.report import write_report
from stepwise.cli.summary import summarise
from stepwise.cli.written import write_file
from stepwise.errors import FileProblems, Problem
from stepwise.tui import Choice, FileKind, LogEntry, RunChoice, Services

if TYPE_CHECKING:
    from collections.abc import Sequence

    from stepwise.archive import Comparison, Found, Query, Ranking
    from stepwise.procedure import Shelved
    from stepwise.run import AnsweringBench, Review, Run

_REHEARSED = "first-look"
_BENCH_CHECK = "bench-check"
_SEED = 1


def services(logs: Path) -> Services:
    """Everything that the screens may ask for, for one folder of logs."""
    return Services(
        clock=now,
        logs=logs,
        list_procedures=_procedures,
        list_units=_units,
        list_benches=_benches,
        list_bench_logs=lambda: _bench_logs(logs),
        list_logs=lambda: _logs(logs),
        start_run=lambda choice: _start(choice, logs),
        resume_run=carried_on,
        rehearsal_run=lambda: _rehearsal(logs),
        read_review=_review,
        read_toml=_read_toml,
        save_toml=_save_toml,
        check_toml=_check_toml,
        find_logs=lambda query: _find(logs, query),
        compare_logs=_compare,
        rank_log=lambda folder: _rank(logs, folder),
        write_report=write_report,
        resume_command=resume_command,
        warm_up=_warm_up,
    )


def _choice(shelved: Shelved, title: str, detail: str = "", problem: str = "") -> Choice:
    return Choice(str(shelved.path), title, detail, problem)


def _procedures() -> tuple[Choice, ...]:
    from stepwise.procedure import list_procedures, read_procedure

    found = []
    for shelved in list_procedures():
        try:
            procedure = read_procedure(shelved.path)
        except FileProblems as error:
            found.append(_choice(shelved, shelved.name, problem=str(error.problems[0])))
        else:
            found.append(_choice(shelved, procedure.title, procedure.summary))
    return tuple(found)


def _units() -> tuple[Choice, ...]:
    from stepwise.procedure import list_units, read_unit

    found = []
    for shelved in list_units():
        try:
            unit = read_unit(shelved.path)
        except FileProblems as error:
            found.append(_choice(shelved, shelved.name, problem=str(error.problems[0])))
        else:
            found.append(_choice(shelved, unit.name, ", ".join(unit.channels)))
    return tuple(found)


def _benches() -> tuple[Choice, ...]:
    from stepwise.procedure import list_benches, read_bench

    found = []
    for shelved in list_benches():
        try:
            bench = read_bench(shelved.path)
        except FileProblems as error:
            found.append(_choice(shelved, shelved.name, problem=str(error.problems[0])))
        else:
            detail = f"{len(bench.meters)} meters, {len(bench.loads)} loads"
            found.append(_choice(shelved, bench.name, detail))
    return tuple(found)


def _logs(logs: Path) -> tuple[LogEntry, ...]:
    from stepwise.journal import find_log_folders

    return tuple(_log_entry(folder) for folder in reversed(find_log_folders(logs)))


def _bench_logs(logs: Path) -> tuple[Choice, ...]:
    from stepwise.journal import find_log_folders

    found = (summarise(folder) for folder in reversed(find_log_folders(logs)))
    return tuple(
        Choice(str(log.folder), f"{log.folder.name}, {log.began}", log.state)
        for log in found
        if log.is_readable and log.procedure == _BENCH_CHECK
    )


def _log_entry(folder: Path) -> LogEntry:
    log = summarise(folder)
    if not log.is_readable:
        return LogEntry(folder, folder.name, problem=log.problem)
    title = " · ".join((log.unit, log.title or log.procedure, log.began))
    detail = ", ".join((log.state, *log.marks))
    return LogEntry(folder, title, detail, log.is_ended, log.problem)


def _start(choice: RunChoice, logs: Path) -> Run:
    from stepwise.run import Run

    plan = plan_from_names(choice.procedure, choice.unit, choice.bench)
    if choice.bench_log:
        plan = with_own_response(plan, choice.bench_log, logs)
    return Run.start(plan, logs, now, operator=choice.operator, episode=choice.episode)


def _rehearsal(logs: Path) -> tuple[Run, AnsweringBench]:
    from stepwise.rehearsal import AttendedClock, RehearsalBench
    from stepwise.run import Run

    plan = rehearsal_plan(_REHEARSED)
    bench, clock = RehearsalBench(_SEED, plan.unit, plan.bench, []), AttendedClock(now)
    bench.keep(clock)
    return Run.start(plan, logs, clock, rehearsal={"seed": _SEED, "faults": []}), bench


def _find(logs: Path, query: Query) -> Found:
    from stepwise.archive import with_local_archive

    return with_local_archive(logs, lambda archive: archive.find(query))[0]


def _compare(folders: Sequence[Path]) -> Comparison:
    from stepwise.archive import compare_runs
    from stepwise.run import read_run

    return compare_runs([read_run(folder) for folder in folders])


def _rank(logs: Path, folder: Path) -> Ranking:
    from stepwise.archive import log_identity, with_local_archive

    identity = log_identity(folder)
    return with_local_archive(logs, lambda archive: archive.rank(identity))[0]


def _review(folder: Path) -> Review:
    from stepwise.run import read_run

    return read_run(folder).run.review()


def _read_toml(kind: FileKind, name: str) -> str:
    from stepwise.procedure import find_bench, find_unit, read_source

    find = find_unit if kind is FileKind.UNIT else find_bench
    return read_source(find(name)).text


def _save_toml(kind: FileKind, name: str, text: str) -> Path:
    """Write a unit or bench into the user's own folder, whole or not at all."""
    from stepwise.procedure import own_folder

    stem = "".join(c if c.isalnum() else "-" for c in name.lower()).strip("-") or kind.value
    folder = own_folder("units" if kind is FileKind.UNIT else "benches")
    return write_file(folder / f"{stem}.toml", text.encode("utf-8"))


def _check_toml(kind: FileKind, text: str) -> tuple[Problem, ...]:
    from stepwise.procedure import read_bench_text, read_unit_text

    read = read_unit_text if kind is FileKind.UNIT else read_bench_text
    try:
        read(text, Path(f"{kind.value}.toml"))
    except FileProblems as error:
        return error.problems
    return ()


def resume_command(folder: Path) -> str:
    """What to type to carry on with a log: its name where that is enough, else its path."""
    from shlex import quote

    known = log_at(folder.name, logs_folder(None))
    is_enough = known is not None and known.resolve() == folder.resolve()
    return f"{own_name()} resume {quote(folder.name if is_enough else str(folder))}"


def _warm_up() -> None:
    """Bring in what the first results need."""
    import stepwise.science  # noqa: F401, imported for its cost alone
