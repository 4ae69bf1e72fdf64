"""How this program is called from the shell that it was started in."""

from __future__ import annotations

import re
import sys
from collections.abc import Sequence
from pathlib import Path

_NAME = "stepwise"
_COMMAND = re.compile(rf"“{_NAME} (?=[^“”]* --)")
"""How a quoted command begins; what people name something is hardly ever like it."""


def as_called(sentence: str) -> str:
    """A sentence whose quoted commands can be pasted into the shell that this was started in.

    Args:
        sentence: As a room below says it, with “stepwise … --option …” in quotation marks: they
            cannot know how the program is called.
    """
    if not _COMMAND.search(sentence):
        return sentence
    name = own_name()
    return _COMMAND.sub(lambda _: f"“{name} ", sentence)


def own_name(words: Sequence[str] | None = None, started: Sequence[str] | None = None) -> str:
    """What to type for `stepwise`, so that a printed command can be pasted.

    Args:
        words: The words that the program sees, its own name first; `sys.argv` where None.
        started: The words that the interpreter was started by; `sys.orig_argv` where None.

    Returns:
        The bare name where the shell finds it, else the way in which the program was started.
    """
    from shlex import quote
    from shutil import which

    if which(_NAME) is not None:
        return _NAME
    words = sys.argv if words is None else words
    started = sys.orig_argv if started is None else started
    if words and Path(words[0]).stem == _NAME:
        return quote(words[0])
    python = started[0] if started else sys.executable
    return f"{quote(python)} -m {_NAME}"
