"""`stepwise archive`: push logs to a shared archive, or make the index of the logs anew."""

from __future__ import annotations

from argparse import Namespace

from stepwise.cli.archives import use_archive
from stepwise.cli.places import logs_folder
from stepwise.errors import StepwiseError


def carry_out(arguments: Namespace) -> int:
    """Carry out the action that is asked for."""
    if arguments.action == "push":
        return _push(arguments)
    if arguments.action == "rebuild":
        return _rebuild(arguments)
    raise StepwiseError("say what to do with the archive: push, export or rebuild")


def _push(arguments: Namespace) -> int:
    from stepwise.archive import open_archive

    logs = logs_folder(arguments.logs)
    with open_archive(arguments.archive) as shared:
        done = use_archive(None, logs, lambda archive: archive.push(shared))
        print(f"{done.new} new, {done.updated} gone on, {done.same} there already")
        if done.older:
            print(f"{done.older} left alone: {shared.place} has a later state of them")
    return 0


def _rebuild(arguments: Namespace) -> int:
    from stepwise.archive import INDEX_NAME, rebuild_local

    logs = logs_folder(arguments.logs)
    read = rebuild_local(logs)
    print(f"{read} {'log' if read == 1 else 'logs'} read into {logs / INDEX_NAME}")
    return 0
