"""What may be written after the commands that look at many logs."""

from __future__ import annotations

import argparse

LOG = "a log: its folder, the folder's name within the logs, or “last”"


def logs_arguments(target: argparse.ArgumentParser) -> None:
    """`stepwise logs`."""
    target.add_argument(
        "text", metavar="WORD", nargs="*", help="words that stand in names, remarks or flags"
    )
    target.add_argument("--unit", metavar="U", default="", help="part of the unit's name")
    target.add_argument("--episode", metavar="E", default="", help="part of the episode's name")
    target.add_argument("--procedure", metavar="P", default="", help="part of the procedure's name")
    target.add_argument(
        "--verdict", metavar="V", default="",
        help="“in spec”, “out of spec”, “too close to call”, noted or unfinished",
    )  # fmt: skip
    target.add_argument("--flag", metavar="NAME", default="", help="a flag that stands")
    target.add_argument("--since", metavar="DATE", help="first day, such as 2026-05-01")
    target.add_argument("--until", metavar="DATE", help="last day")
    only = target.add_mutually_exclusive_group()
    only.add_argument("--rehearsals", action="store_true", help="rehearsals only")
    only.add_argument("--no-rehearsals", action="store_true", help="no rehearsals")
    target.add_argument(
        "--sort", metavar="RESULT[@LOAD]", default="began",
        help="began, unit, episode, procedure, verdict, mark, price, or any result, best first: "
        "power@8ohm, corner_low; “list” tells all that there are",
    )  # fmt: skip
    target.add_argument("--reverse", action="store_true", help="the other way round")
    target.add_argument("--limit", metavar="N", type=int, default=50, help="lines at most (50)")
    target.add_argument("--json", action="store_true", help="as JSON, for other programs")
    _archive(target)


def compare_arguments(target: argparse.ArgumentParser) -> None:
    """`stepwise compare`."""
    target.add_argument(
        "log",
        metavar="LOG",
        nargs="+",
        help="two or more logs, each by its folder, its name within the logs, or “last”",
    )
    target.add_argument(
        "--all", action="store_true", help="readings that only serve other results as well"
    )
    target.add_argument("--json", action="store_true", help="as JSON, for other programs")


def rank_arguments(target: argparse.ArgumentParser) -> None:
    """`stepwise rank`."""
    target.add_argument(
        "log", metavar="LOG", nargs="?", default="last", help=f"{LOG}, which is meant without"
    )
    target.add_argument("--json", action="store_true", help="as JSON, for other programs")
    _archive(target)


def archive_arguments(target: argparse.ArgumentParser) -> None:
    """`stepwise archive push|export|rebuild`."""
    target.set_defaults(module="archive", action="")
    actions = target.add_subparsers(metavar="ACTION", title="actions")
    push = _action(actions, "push", "copy the logs to an archive that several benches share")
    push.add_argument("--archive", metavar="URL", required=True, help="postgresql://user@host/name")
    export = _action(actions, "export", "write every result of every log for other programs")
    export.set_defaults(module="export")
    export.add_argument("target", metavar="FOLDER|FILE", help="the file, or a folder for it")
    export.add_argument(
        "--as", dest="form", choices=("csv", "parquet"),
        help="form of the file; otherwise as its name ends, else csv",
    )  # fmt: skip
    _archive(export)
    _action(actions, "rebuild", "make the index of the logs anew from their journals")


def _action(
    actions: argparse._SubParsersAction[argparse.ArgumentParser], name: str, summary: str
) -> argparse.ArgumentParser:
    action = actions.add_parser(
        name, help=summary, description=f"{summary[:1].upper()}{summary[1:]}."
    )
    action.set_defaults(action=name)
    action.add_argument("--logs", metavar="DIR", default=argparse.SUPPRESS, help="where logs are")
    return action


def _archive(target: argparse.ArgumentParser) -> None:
    target.add_argument(
        "--archive",
        metavar="URL",
        help="the archive that several benches share: postgresql://user@host/name",
    )
