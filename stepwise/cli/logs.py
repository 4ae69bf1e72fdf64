"""`stepwise logs`: find logs; the latest stand last, nearest to the next command."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from stepwise.cli.archives import state_words, use_archive
from stepwise.cli.places import logs_folder
from stepwise.errors import StepwiseError

if TYPE_CHECKING:
    from stepwise.archive import Found, LogRow, Query

_HEADING = ("LOG", "BEGUN", "UNIT", "PROCEDURE", "STATE")


def carry_out(arguments: Namespace) -> int:
    """Print one line for each log that is asked for, or what they can be sorted by."""
    logs = logs_folder(arguments.logs)
    if arguments.sort == "list":
        orders = use_archive(arguments.archive, logs, lambda archive: archive.orders())
        print("\n".join(orders))
        return 0
    query = _query(arguments)
    found = use_archive(arguments.archive, logs, lambda archive: archive.find(query))
    if arguments.json:
        _print_json(found)
        return 0
    if not found.rows:
        place = "the archive" if arguments.archive else str(logs)
        asked = _is_narrowed(arguments)
        print(f"No log in {place} is like that" if asked else f"There is no log in {place} yet")
        return 0
    # By time the list is read from its end, by a result from its top.
    by_time = query.sort == "began" and not query.reverse
    _print_table(tuple(reversed(found.rows)) if by_time else found.rows, query.sort)
    if found.more:
        print(f"… and more; --limit {2 * query.limit} shows further ones")
    return 0


def _query(arguments: Namespace) -> Query:
    from stepwise.archive import Query
    from stepwise.quantities import parse_quantity

    rehearsals = True if arguments.rehearsals else (False if arguments.no_rehearsals else None)
    name, at, load = arguments.sort.partition("@")
    if at:
        from stepwise.bench import load_label

        wanted = parse_quantity(load)
        if wanted.unit not in ("", "ohm"):
            raise StepwiseError(f"“{load}” is no load; write for instance power@8ohm")
        load = load_label(wanted.value)
    return Query(
        text=" ".join(arguments.text),
        unit=arguments.unit,
        episode=arguments.episode,
        procedure=arguments.procedure,
        verdict=arguments.verdict,
        flag=arguments.flag,
        since=_day(arguments.since),
        until=_day(arguments.until),
        rehearsals=rehearsals,
        sort=f"{name}{at}{load}",
        reverse=arguments.reverse,
        limit=arguments.limit,
    )


def _day(text: str | None) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise StepwiseError(f"“{text}” is no day; write for instance 2026-05-01") from None


def _is_narrowed(arguments: Namespace) -> bool:
    names = (
        "text", "unit", "episode", "procedure", "verdict", "flag", "since", "until",
        "rehearsals", "no_rehearsals",
    )  # fmt: skip
    return any(getattr(arguments, name) for name in names)


def _print_table(rows: Sequence[LogRow], sort: str) -> None:
    from stepwise.safe_text import plain

    figures = any(row.figure is not None for row in rows)
    heading = (*_HEADING[:4], sort.upper(), _HEADING[4]) if figures else _HEADING
    table = [heading, *(_cells(row, figures=figures) for row in rows)]
    safe = [[plain(cell) for cell in cells] for cells in table]
    columns = [max(len(cells[place]) for cells in safe) for place in range(len(heading))]
    for cells in safe:
        padded = (cell.ljust(columns[place]) for place, cell in enumerate(cells))
        print("  ".join(padded).rstrip())


def _cells(row: LogRow, *, figures: bool) -> tuple[str, ...]:
    figure = (row.figure.text if row.figure is not None else "",) if figures else ()
    return (row.name, row.began[:10], row.unit, row.procedure, *figure, state_words(row))


def _print_json(found: Found) -> None:
    import json
    from dataclasses import asdict

    rows = [
        asdict(row) | {"folder": str(row.folder) if row.folder is not None else None}
        for row in found.rows
    ]
    whole = {"format": 1, "logs": rows, "more": found.more}
    print(json.dumps(whole, ensure_ascii=False, allow_nan=False, indent=1))
