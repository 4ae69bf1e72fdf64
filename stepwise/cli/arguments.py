"""What may be written on the command line."""

from __future__ import annotations

import argparse

from stepwise import __version__


def parser() -> argparse.ArgumentParser:
    """The whole command line."""
    top = argparse.ArgumentParser(
        prog="stepwise",
        description="Leads one person through testing audio power amplifier boards at a bench, "
        "and keeps a judged record. Without a command: the screens.",
        epilog="Exit codes: 0 fine, 1 something is out of spec or a check failed, "
        "2 the command could not be carried out.",
    )
    top.add_argument("--version", action="version", version=f"stepwise {__version__}")
    _logs(top, default=None)
    commands = top.add_subparsers(dest="command", metavar="COMMAND", title="commands")
    _run(commands.add_parser("run", help="take a unit through a procedure"))
    _rehearse(commands.add_parser("rehearse", help="the same on a simulated bench"))
    resume = commands.add_parser("resume", help="carry on with a run")
    resume.add_argument("log", metavar="LOG", help="folder, its name in the logs, or: last")
    _front_end(resume)
    _transcribe(commands.add_parser("transcribe", help="enter a run from a table of notes"))
    show = commands.add_parser("show", help="print a log")
    show.add_argument("log", metavar="LOG", help="folder, its name in the logs, or: last")
    show.add_argument("--json", action="store_true", help="as JSON for other programs")
    commands.add_parser("logs", help="list the logs")
    commands.add_parser("procedures", help="list the procedures that can be run")
    check = commands.add_parser("check", help="check procedures, units, benches and logs")
    check.add_argument("paths", metavar="FILE|LOG", nargs="+")
    for command in commands.choices.values():
        _logs(command, default=argparse.SUPPRESS)
    return top


def _logs(target: argparse.ArgumentParser, default: object) -> None:
    target.add_argument(
        "--logs",
        metavar="DIR",
        default=default,
        help="where logs are kept; else logs/ here if there is one, else your data folder",
    )


def _front_end(target: argparse.ArgumentParser) -> None:
    target.add_argument("--plain", action="store_true", help="printed lines, no screens")
    target.add_argument("--no-mouse", action="store_true", help="leave the mouse to the terminal")
    target.add_argument("--no-bell", action="store_true", help="no bell on flags and late tones")


def _subject(target: argparse.ArgumentParser) -> None:
    target.add_argument("--unit", required=True, metavar="U", help="TOML file or name of the unit")
    target.add_argument(
        "--bench", required=True, metavar="B", help="TOML file or name of the bench"
    )


def _run(target: argparse.ArgumentParser) -> None:
    target.add_argument("procedure", metavar="PROCEDURE", help="name or TOML file")
    _subject(target)
    target.add_argument("--episode", default="", help="label that groups logs")
    target.add_argument("--operator", default="", help="who tests")
    _front_end(target)


def _rehearse(target: argparse.ArgumentParser) -> None:
    target.add_argument("procedure", metavar="PROCEDURE", nargs="?", default="first-look")
    target.add_argument("--seed", type=int, default=1, help="which board and meters (default 1)")
    target.add_argument(
        "--fault",
        action="append",
        default=[],
        metavar="NAME[:SEVERITY]",
        help="build a fault into the board, severity 0 to 1; “list” names them",
    )
    target.add_argument("--unattended", action="store_true", help="answer all, print the sheet")
    _front_end(target)


def _transcribe(target: argparse.ArgumentParser) -> None:
    target.add_argument("procedure", metavar="PROCEDURE", help="name or TOML file")
    target.add_argument("readings", metavar="READINGS.csv")
    _subject(target)
