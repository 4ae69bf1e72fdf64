"""What the screens may ask of the rest of the program, handed in by the command line.

The screens know neither files nor other rooms of their floor: everything that lists, reads,
writes or starts something comes in as a callable of `Services`. Each may raise a
`StepwiseError`, whose sentence is shown where the person asked for it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from stepwise.errors import Problem

if TYPE_CHECKING:
    from stepwise.archive import Comparison, Found, Query, Ranking
    from stepwise.run import AnsweringBench, Review, Run


class FileKind(StrEnum):
    """The TOML files that the setup screen can write."""

    UNIT = "unit"
    BENCH = "bench"


@dataclass(frozen=True, slots=True)
class Choice:
    """One procedure, unit or bench that can be chosen."""

    name: str
    """What the services take: a file's stem, or a path."""
    title: str
    detail: str = ""
    """One line about it."""
    problem: str = ""
    """Why it cannot be used, in one sentence; empty where it can."""


@dataclass(frozen=True, slots=True)
class LogEntry:
    """One log, as the home screen lists it."""

    folder: Path
    title: str
    """Unit, procedure and date."""
    detail: str = ""
    """Verdict and what was flagged, or how far it got."""
    is_finished: bool = False
    problem: str = ""
    """What is wrong with the log, where it cannot be carried on."""


@dataclass(frozen=True, slots=True)
class RunChoice:
    """What a new run is to be."""

    procedure: str
    unit: str
    bench: str
    operator: str = ""
    episode: str = ""
    bench_log: str = ""
    """Folder of a log in which the bench's own response was read; empty for none."""


class ReportWriter(Protocol):
    """Writes a report of a log beside its journal."""

    def __call__(self, folder: Path, kind: str = "html") -> Path:
        """Folder of a log; html, markdown, csv, talk or notes -> the file."""


def nothing() -> None:
    """Do nothing: the service that is not there."""


def resume_by_name(folder: Path) -> str:
    """What to type to carry on with a log, where its folder is the one that is looked in."""
    return f"stepwise resume {folder.name}"


@dataclass(frozen=True, slots=True)
class Services:
    """Everything the screens ask for."""

    clock: Callable[[], datetime]
    logs: Path
    """Folder of the logs, to be named on the screen."""
    list_procedures: Callable[[], tuple[Choice, ...]]
    list_units: Callable[[], tuple[Choice, ...]]
    list_benches: Callable[[], tuple[Choice, ...]]
    list_bench_logs: Callable[[], tuple[Choice, ...]]
    """Logs in which a bench's own response was read, newest first."""
    list_logs: Callable[[], tuple[LogEntry, ...]]
    """Newest first."""
    start_run: Callable[[RunChoice], Run]
    resume_run: Callable[[Path], tuple[Run, AnsweringBench | None]]
    """Folder of a log -> its run, and who answers where it is a rehearsal."""
    rehearsal_run: Callable[[], tuple[Run, AnsweringBench]]
    read_review: Callable[[Path], Review]
    """What a log holds, without opening it for writing."""
    read_toml: Callable[[FileKind, str], str]
    """Text of the unit or bench of that name."""
    save_toml: Callable[[FileKind, str, str], Path]
    """Kind, name, text -> the file written."""
    check_toml: Callable[[FileKind, str], tuple[Problem, ...]]
    """Kind, text -> everything that is wrong with it, with line numbers of that text."""
    write_report: ReportWriter | None = None
    """Folder of a log, kind of report -> the file made from it."""
    find_logs: Callable[[Query], Found] | None = None
    """What the archive knows of the logs; a `Found` of `LogRow`s."""
    compare_logs: Callable[[Sequence[Path]], Comparison] | None = None
    """Folders of two or more logs -> the runs side by side."""
    rank_log: Callable[[Path], Ranking] | None = None
    """Folder of a log -> where its unit stands among all."""
    resume_command: Callable[[Path], str] = resume_by_name
    """Folder of a log -> what to type to carry on with it."""
    warm_up: Callable[[], None] = nothing
    """Imports what is slow to import; called in a thread once the first screen stands."""


@dataclass(frozen=True, slots=True)
class Start:
    """Where the program opens: on a run, on a finished log, or at home."""

    run: Run | None = None
    bench: AnsweringBench | None = None
    """Who answers in a rehearsal."""
    log: Path | None = None
    theme: str = field(default="")
    """Name of a theme; empty for the dark one."""
    bell: bool = True
