"""A file as blocks of whole lines, read a bounded portion at a time."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from stepwise.captures.layout import LONGEST_LINE
from stepwise.errors import CaptureError

_PORTION = 1 << 20
_LARGEST_FILE = 1 << 30
_BOM = b"\xef\xbb\xbf"
_OTHER_TEXT = (b"\xff\xfe", b"\xfe\xff")


def blocks(file: BinaryIO, path: Path) -> Iterator[bytes]:
    """Whole lines, some ten thousand at a time, each with a line feed at its end.

    Args:
        file: Open at its beginning.
        path: For the error.

    Raises:
        CaptureError: It cannot be read, a line is longer than any row of numbers, the file is
            larger than any capture, or it is no text.
    """
    rest, line, size, is_first = b"", 1, 0, True
    while portion := _read(file, path):
        size += len(portion)
        if size > _LARGEST_FILE:
            raise CaptureError(path, "is larger than 1 GB; export a shorter trace")
        if is_first:
            portion = _without_mark(portion, path)
            is_first = False
        _refuse_no_text(portion, line, path)
        text = rest + portion
        # a carriage return at the end may be half of a line end
        held = b"\r" if text.endswith(b"\r") else b""
        text = text.removesuffix(b"\r").replace(b"\r\n", b"\n").replace(b"\r", b"\n")
        end = text.rfind(b"\n") + 1
        rest = text[end:] + held
        _refuse_long(text[:end], rest, line, path)
        if end:
            yield text[:end]
            line += text.count(b"\n")
    rest = rest.replace(b"\r", b"\n")
    if rest:
        yield rest if rest.endswith(b"\n") else rest + b"\n"


def _read(file: BinaryIO, path: Path) -> bytes:
    try:
        return file.read(_PORTION)
    except OSError as error:
        raise CaptureError(path, f"cannot be read ({error.strerror})") from error


def _without_mark(portion: bytes, path: Path) -> bytes:
    if portion.startswith(_OTHER_TEXT):
        raise CaptureError(path, "is text in UTF-16; save it as CSV in UTF-8")
    return portion.removeprefix(_BOM)


def _refuse_no_text(portion: bytes, line: int, path: Path) -> None:
    place = portion.find(b"\0")
    if place >= 0:
        there = line + portion.count(b"\n", 0, place)
        raise CaptureError(path, "is not a table in text; save the trace as CSV", there)


def _refuse_long(lines: bytes, rest: bytes, line: int, path: Path) -> None:
    """Refuse a line that no row of numbers is as long as; most blocks are cleared at a glance."""
    start = 0
    while len(lines) - start > LONGEST_LINE:
        end = lines.rfind(b"\n", start, start + LONGEST_LINE)
        if end < 0:
            _long(line + lines.count(b"\n", 0, start), path)
        start = end + 1
    if len(rest) > LONGEST_LINE:
        _long(line + lines.count(b"\n"), path)


def _long(line: int, path: Path) -> None:
    reason = f"this line is longer than {LONGEST_LINE} bytes, which no row of a capture is"
    raise CaptureError(path, reason, line)
