"""One TOML file as read: its text and its tables, or a sentence saying why there are none."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from stepwise.errors import FileProblems, Problem

LARGEST_BYTES = 1_000_000
"""No checklist is longer; what is was chosen by mistake."""
_MOST_KEY_PARTS = 32
# The reader of TOML needs quadratic time for a.a.a…; possessive so that the search is linear.
_LONG_KEY = re.compile(
    r"(?<![A-Za-z0-9_-])(?:(?:[A-Za-z0-9_-]++|\"[^\"\n]*+\"|'[^'\n]*+')[ \t]*+\.[ \t]*+){"
    + str(_MOST_KEY_PARTS)
    + "}"
)
_PLACE = re.compile(r"\s*\(at (?:line (?P<line>\d+), column \d+|end of document)\)\Z")
_REMEDIES = (
    ("Invalid value", "put text in quotes; numbers, true and false stand without"),
    ("Invalid statement", 'write name = "value" or a [table] heading'),
    ("Invalid initial character for a key", "a key has letters, digits, - and _ only"),
    ("Expected '=' after a key", 'write name = "value"'),
    ("Expected newline or end of document", "begin a new line after each value"),
    ("Cannot overwrite a value", "this key stands twice in its table; remove one"),
    ("Cannot declare", "this table stands twice; join the two, or write [[…]] for a list"),
    ("Duplicate inline table key", "this key stands twice; remove one"),
    ("Illegal character '\\n'", "close the quotes before the end of the line"),
    ("Unterminated string", "close the quotes"),
    ("Unclosed array", "a “,” or “]” is missing before this place"),
    ("Unclosed inline table", "a “,” or “}” is missing; { … } stands on one line"),
    ("Unescaped '\\'", "write two backslashes, or use single quotes"),
    ("Expected ']", "close the brackets of the heading"),
)


@dataclass(frozen=True, slots=True)
class Source:
    """A file's text, and the tables in it."""

    path: Path
    text: str
    data: dict[str, Any]


def read_source(path: Path) -> Source:
    """Read a TOML file.

    Raises:
        FileProblems: It is missing, no file, too large, not UTF-8, or not TOML.
    """
    return parse_source(_read_text(path), path)


def parse_source(text: str, path: Path) -> Source:
    """Take a TOML text apart.

    Args:
        text: The text.
        path: Where it is from, for the sentences; it need not exist.

    Raises:
        FileProblems: The text is not TOML, or is nested beyond reason.
    """
    if len(text) > LARGEST_BYTES:
        raise _refusal(path, "is larger than 1 MB", "choose a TOML file of stepwise")
    long_key = _LONG_KEY.search(text)
    if long_key is not None:
        line = text.count("\n", 0, long_key.start()) + 1
        what = f"a key has more than {_MOST_KEY_PARTS} parts joined by dots"
        raise _refusal(path, what, "write it as tables", line)
    try:
        data = tomllib.loads(text)
    except RecursionError:
        what = "lists or tables are nested too deeply"
        raise _refusal(path, what, "three levels are enough for every field") from None
    except ValueError as error:
        raise _syntax_refusal(path, text, str(error)) from None
    return Source(path, text, data)


def _read_text(path: Path) -> str:
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST_BYTES + 1)
    except FileNotFoundError:
        raise _refusal(path, "there is no such file", "check the name and the folder") from None
    except IsADirectoryError:
        raise _refusal(path, "is a folder", "name a file in it") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise _refusal(path, f"cannot be read ({reason})", "choose another file") from None
    if len(raw) > LARGEST_BYTES:
        raise _refusal(path, "is larger than 1 MB", "choose a TOML file of stepwise")
    try:
        # Some editors put a byte-order mark before the text; TOML itself knows none.
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        what = f"byte {raw[error.start]:#04x} is not UTF-8 text"
        raise _refusal(path, what, "save the file as UTF-8", line) from None


def _syntax_refusal(path: Path, text: str, message: str) -> FileProblems:
    place = _PLACE.search(message)
    line = None
    if place is not None:
        message = message[: place.start()]
        line = int(place["line"]) if place["line"] else max(1, len(text.splitlines()))
    remedy = next((each for start, each in _REMEDIES if message.startswith(start)), "")
    if "\0" in text:
        message, remedy = "there is a NUL character in it", "save the file as plain text"
        line = text.count("\n", 0, text.index("\0")) + 1
    what = f"is not valid TOML: {message[:1].lower()}{message[1:]}"
    return _refusal(path, what, remedy, line)


def _refusal(path: Path, what: str, remedy: str, line: int | None = None) -> FileProblems:
    return FileProblems((Problem(path, line, "", what, remedy),))
