"""What may be written on the command line."""

from __future__ import annotations

import argparse

from stepwise import __version__
from stepwise.cli.archive_arguments import (
    LOG,
    archive_arguments,
    compare_arguments,
    logs_arguments,
    rank_arguments,
)


def parser() -> argparse.ArgumentParser:
    """The whole command line; `module` names the file that carries a command out."""
    top = argparse.ArgumentParser(
        prog="stepwise",
        description="Leads one person through testing audio power amplifier boards at a bench, "
        "and keeps a judged record. Without a command it opens the screens.",
        epilog="Exit codes: 0 fine, 1 something is out of spec or a check failed, "
        "2 the command could not be carried out.",
    )
    top.set_defaults(module="screens")
    top.add_argument("--version", action="version", version=f"stepwise {__version__}")
    _logs(top, default=None)
    commands = top.add_subparsers(metavar="COMMAND", title="commands")
    _run(_command(commands, "run", "run", "take a unit through a procedure"))
    _rehearse(_command(commands, "rehearse", "rehearse", "the same on a simulated bench"))
    _resume(_command(commands, "resume", "resume", "carry on with a run where it stopped"))
    _transcribe(
        _command(commands, "transcribe", "transcribe", "enter a run from a table of readings")
    )
    _capture(_command(commands, "capture", "capture", "tell what a trace of an oscilloscope shows"))
    _show(_command(commands, "show", "show", "print a log"))
    _report(_command(commands, "report", "report", "make a report of a log, for others"))
    logs_arguments(_command(commands, "logs", "logs", "find logs and list them"))
    compare_arguments(_command(commands, "compare", "compare", "lay logs side by side"))
    rank_arguments(_command(commands, "rank", "rank", "say where a unit stands among all"))
    archive_arguments(_command(commands, "archive", "archive", "share and export the logs"))
    _command(commands, "procedures", "list_procedures", "list what can be run")
    _check(_command(commands, "check", "check", "check procedures, units, benches and logs"))
    return top


def _command(
    commands: argparse._SubParsersAction[argparse.ArgumentParser],
    name: str,
    module: str,
    summary: str,
) -> argparse.ArgumentParser:
    command = commands.add_parser(
        name, help=summary, description=f"{summary[:1].upper()}{summary[1:]}."
    )
    command.set_defaults(module=module)
    # Without a default of its own, what was given before the command stays.
    _logs(command, default=argparse.SUPPRESS)
    return command


def _logs(target: argparse.ArgumentParser, default: object) -> None:
    target.add_argument(
        "--logs",
        metavar="DIR",
        default=default,
        help="where logs are kept; otherwise logs/ here where there is one, else your data folder",
    )


def _front_end(target: argparse.ArgumentParser) -> None:
    target.add_argument("--plain", action="store_true", help="printed lines instead of screens")
    target.add_argument("--no-mouse", action="store_true", help="leave the mouse to the terminal")
    target.add_argument(
        "--no-bell", action="store_true", help="no bell on grave flags and overdue tones"
    )


def _subject(target: argparse.ArgumentParser) -> None:
    target.add_argument("procedure", metavar="PROCEDURE", help="name or TOML file of a procedure")


def _unit_and_bench(target: argparse.ArgumentParser) -> None:
    target.add_argument("--unit", metavar="U", required=True, help="name or TOML file of the unit")
    target.add_argument(
        "--bench", metavar="B", required=True, help="name or TOML file of the bench"
    )
    target.add_argument(
        "--bench-log",
        metavar="LOG",
        help="a log of bench-check on this bench; its own response is taken off every sweep",
    )
    target.add_argument("--operator", metavar="O", default="", help="who tests, such as initials")
    target.add_argument("--episode", metavar="E", default="", help="a label that groups logs")


def _run(target: argparse.ArgumentParser) -> None:
    _subject(target)
    _unit_and_bench(target)
    _front_end(target)


def _rehearse(target: argparse.ArgumentParser) -> None:
    target.add_argument(
        "procedure",
        metavar="PROCEDURE",
        nargs="?",
        default="first-look",
        help="name or TOML file of a procedure (first-look)",
    )
    target.add_argument(
        "--fault",
        metavar="NAME[:SEVERITY]",
        action="append",
        default=[],
        help="build a fault into the board, severity from 0 to 1; “list” names them all",
    )
    target.add_argument(
        "--seed", metavar="N", type=int, default=1, help="which board and which instruments (1)"
    )
    target.add_argument(
        "--unattended", action="store_true", help="let the bench answer all, print the sheet"
    )
    _front_end(target)


def _resume(target: argparse.ArgumentParser) -> None:
    target.add_argument("log", metavar="LOG", help=LOG)
    _front_end(target)


def _transcribe(target: argparse.ArgumentParser) -> None:
    _subject(target)
    target.add_argument(
        "readings",
        metavar="READINGS.csv",
        help="table with the columns step,channel,load,point,reading,note",
    )
    _unit_and_bench(target)


def _capture(target: argparse.ArgumentParser) -> None:
    target.add_argument("file", metavar="FILE.csv", help="trace with times and volts, as CSV")
    target.add_argument(
        "--as", dest="taken_as", choices=("square", "sine"), required=True, help="what it is of"
    )
    target.add_argument(
        "--channel", metavar="N", default="", help="number or name of the channel (the first)"
    )
    target.add_argument(
        "--bench", metavar="B", default=None,
        help="bench whose oscilloscope made it: the error of its scales is counted",
    )  # fmt: skip
    target.add_argument("--json", action="store_true", help="as JSON, for other programs")
    target.add_argument(
        "--picture", metavar="FILE", default=None, help="draw it into a .png or .svg file"
    )


def _report(target: argparse.ArgumentParser) -> None:
    target.add_argument("log", metavar="LOG", nargs="?", help=LOG)
    target.add_argument(
        "--as",
        dest="form",
        choices=("html", "markdown", "csv"),
        help="a page (the default, beside the journal), Markdown, or the readings as a table",
    )
    target.add_argument(
        "--for",
        dest="public",
        nargs="+",
        metavar=("talk|notes|pictures", "FOLDER"),
        help="sentences to say, a summary to paste, or pictures to show, which go into FOLDER",
    )
    target.add_argument("--output", metavar="FILE", help="where to, “-” for standard output")


def _show(target: argparse.ArgumentParser) -> None:
    target.add_argument("log", metavar="LOG", help=LOG)
    target.add_argument("--json", action="store_true", help="as JSON, for other programs")


def _check(target: argparse.ArgumentParser) -> None:
    target.add_argument(
        "paths", metavar="FILE|LOG", nargs="+", help="TOML files, names of such, or logs"
    )
