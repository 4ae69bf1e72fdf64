"""`stepwise rank`: where a unit stands among all that were tested, and its marks."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from stepwise.cli.archives import use_archive
from stepwise.cli.places import find_log, logs_folder

if TYPE_CHECKING:
    from stepwise.archive import Ranking
    from stepwise.judge import Marks


def carry_out(arguments: Namespace) -> int:
    """Print the places of a log's unit."""
    from stepwise.archive import log_identity
    from stepwise.run import read_run, run_marks

    logs = logs_folder(arguments.logs)
    folder = find_log(arguments.log, logs)
    identity = log_identity(folder)
    ranking = use_archive(arguments.archive, logs, lambda archive: archive.rank(identity))
    marks = run_marks(read_run(folder))
    if arguments.json:
        _print_json(ranking, marks, folder)
    else:
        _print(ranking, marks)
    return 0


def _print(ranking: Ranking, marks: Marks) -> None:
    from stepwise.cli.archives import state_words
    from stepwise.journal import shown_instant
    from stepwise.quantities import dotted
    from stepwise.report import hanging, marks_text, table_row
    from stepwise.safe_text import plain

    log = ranking.log
    began = f"begun {shown_instant(log.began)}"
    head = dotted(log.unit, log.serial, log.procedure, began, state_words(log))
    lines = list(hanging(plain(head)))
    lines += [
        "",
        *hanging(plain(f"Among the {ranking.among}, of several channels or places the worst:")),
    ]
    for each in ranking.standings:
        cells = [([plain(each.what)], 36), ([plain(each.figure)], 20), ([each.places], 20)]
        lines += table_row(cells)
    if not ranking.standings:
        lines.append(" nothing to rank by was found")
    if marks.lines:
        lines += ["", *marks_text(marks)]
    print("\n".join(lines))


def _print_json(ranking: Ranking, marks: Marks, folder: Path) -> None:
    import json
    from dataclasses import asdict

    from stepwise.report import marks_record

    whole = {
        "format": 1,
        "log": asdict(ranking.log) | {"folder": str(folder)},
        "among": ranking.among,
        "standings": [asdict(each) for each in ranking.standings],
        "marks": marks_record(marks),
    }
    print(json.dumps(whole, ensure_ascii=False, allow_nan=False, indent=1))
