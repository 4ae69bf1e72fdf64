r"""One event, and the one line of bytes that stands for it.

A line is a JSON object in UTF-8, its fields always in this order, closed by a newline:

    {"seq":1,"at":"2026-05-01T09:00:00.000Z","schema":1,"kind":"reading","data":{...},
     "prev":"<64 hex digits>","self":"<64 hex digits>"}

(shown on two lines here). `prev` is the SHA-256 of the whole line before, its newline included,
64 zeros for the first line. `self` is the SHA-256 of the bytes of this line that come before
`,"self":`. The chain alone would leave the last line open to change, because no line follows
that vouches for it; with `self` every line also vouches for itself.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from types import MappingProxyType

import msgspec

SCHEMA = 1
"""Version of the line's form. A reader refuses lines of a newer one."""

NO_LINE = "0" * 64
"""What the first line carries as the hash of the line before it."""

DEEPEST = 64
"""Levels of lists and objects in the data of an event; also ends data that contains itself."""

_SEAL_OPENS = b',"self":"'
_SEAL_CLOSES = b'"}\n'
_SEAL_SIZE = len(_SEAL_OPENS) + 64 + len(_SEAL_CLOSES)

_INSTANT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z", re.ASCII)

# json escapes the controls below U+0020 only. These others can drive a terminal in which the
# file is looked at, or end a line in tools that split text by the Unicode rules.
_LEFT_BARE = re.compile("[\x7f-\x9f\u2028\u2029]")


class BrokenLineError(ValueError):
    """A line that is not what `encode` wrote."""


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened in a run. Kinds that this version does not know are legal."""

    seq: int
    """Counts from 1, without gaps."""
    at: str
    """UTC, ISO 8601 with milliseconds and Z."""
    kind: str
    data: Mapping[str, object]
    """A plain JSON object; lists and objects inside it are for reading only."""


def instant_text(at: datetime) -> str:
    """An instant as the journal writes it.

    Args:
        at: The instant, with its time zone; what is below a millisecond is cut off.

    Returns:
        UTC, ISO 8601, for instance `2026-05-01T09:00:00.000Z`.

    Raises:
        ValueError: `at` has no time zone.
    """
    if at.utcoffset() is None:
        raise ValueError(f"{at!r} has no time zone; the journal keeps UTC")
    return at.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def line_hash(line: bytes) -> str:
    """SHA-256 of a whole line with its newline, in hex: the `prev` of the line after it."""
    return sha256(line).hexdigest()


def encode(event: Event, previous_hash: str) -> bytes:
    """The one line that stands for an event.

    Args:
        event: The event. Floats that are not finite become the texts `nan`, `inf`, `-inf`,
            because JSON has no number for them; tuples become lists.
        previous_hash: `line_hash` of the line before, `NO_LINE` for the first.

    Returns:
        UTF-8 with exactly one newline, at its end.

    Raises:
        TypeError: The data holds something that JSON has no form for, or a key that is no text.
        ValueError: The data is nested deeper than `DEEPEST`, or holds an integer too long for
            Python to write.
    """
    fields = {
        "seq": event.seq,
        "at": event.at,
        "schema": SCHEMA,
        "kind": event.kind,
        "data": _plain(event.data, "data", DEEPEST),
        "prev": previous_hash,
    }
    text = json.dumps(fields, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    text = _LEFT_BARE.sub(lambda bare: f"\\u{ord(bare[0]):04x}", text)
    # Half a surrogate pair (an undecodable byte from a terminal) has no UTF-8 form. Python's
    # backslashreplace writes it as \udc80, which is the JSON escape for it as well.
    body = text.encode("utf-8", "backslashreplace")[:-1]
    return body + _seal(body)


def decode(line: bytes) -> tuple[Event, str]:
    """Read a line back. Whether it follows the line before is for the caller to check.

    Args:
        line: Any bytes.

    Returns:
        The event, and the hash that the line carries of the line before it.

    Raises:
        BrokenLineError: The line is not exactly what `encode` writes, or is of a newer schema.
    """
    event, previous_hash, _ = decode_and_hash(line)
    return event, previous_hash


def decode_and_hash(line: bytes) -> tuple[Event, str, str]:
    """Read a line back and hash it in one go, which a long log is read twice as fast by.

    Args:
        line: Any bytes.

    Returns:
        The event, the hash that the line carries of the line before it, and `line_hash` of it.

    Raises:
        BrokenLineError: As `decode` does.
    """
    body = line[:-_SEAL_SIZE]
    hashed = sha256(body)
    seal = _SEAL_OPENS + hashed.hexdigest().encode("ascii") + _SEAL_CLOSES
    if line[-_SEAL_SIZE:] != seal:
        raise BrokenLineError(_how_broken(line))
    event, previous_hash = _event(_fields(body + b"}"))
    hashed.update(seal)
    return event, previous_hash, hashed.hexdigest()


class _Line(msgspec.Struct, frozen=True, gc=False):
    """What every line has."""

    seq: int
    at: str
    schema: int
    kind: str
    data: dict[str, object]
    prev: str


_LINES = msgspec.json.Decoder(_Line)


def _fields(text: bytes) -> _Line:
    try:
        return _LINES.decode(text)
    except (ValueError, RecursionError):
        # What is wrong is told below; half a surrogate pair the standard library alone reads.
        return _fields_with_care(text)


def _fields_with_care(text: bytes) -> _Line:
    try:
        fields = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise BrokenLineError("is not a JSON object in UTF-8") from error
    match fields:
        case {"schema": int(schema)} if schema != SCHEMA:
            raise BrokenLineError(_other_schema(schema))
        case {
            "seq": int(seq),
            "at": str(at),
            "schema": int(schema),
            "kind": str(kind),
            "data": dict(data),
            "prev": str(prev),
        }:
            return _Line(seq, at, schema, kind, data, prev)
    raise BrokenLineError(_LACKING)


def _event(line: _Line) -> tuple[Event, str]:
    if line.schema != SCHEMA:
        raise BrokenLineError(_other_schema(line.schema))
    if not _INSTANT.fullmatch(line.at):
        raise BrokenLineError(_LACKING)
    return Event(line.seq, line.at, line.kind, MappingProxyType(line.data)), line.prev


_LACKING = "is JSON, but lacks what every line of a journal has"


def _other_schema(schema: int) -> str:
    return f"is of form {schema}, this version of the program reads form {SCHEMA}"


def _seal(body: bytes) -> bytes:
    return _SEAL_OPENS + sha256(body).hexdigest().encode("ascii") + _SEAL_CLOSES


def _how_broken(line: bytes) -> str:
    if not line.strip():
        return "is empty"
    if line.endswith(b"\r\n"):
        return "ends in CR LF: the file was saved by a program that changed its line ends"
    if line.startswith(b'{"seq":') and _SEAL_OPENS in line:
        return "was changed after it was written: its hash does not fit"
    return "is not a line of a journal, or was changed beyond recognition"


def _plain(value: object, where: str, levels: int) -> object:
    """A copy of `value` in what JSON has; `where` is the path to it, for the error."""
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else str(float(value))
    if value is None or isinstance(value, (str, int)):
        return value
    if levels == 0:
        raise ValueError(f"an event's data is nested deeper than {DEEPEST} levels")
    if isinstance(value, Mapping):
        return {
            _key(key, where): _plain(held, f"{where}.{key}", levels - 1)
            for key, held in value.items()
        }
    if isinstance(value, (list, tuple)):
        return [_plain(held, f"{where}[{n}]", levels - 1) for n, held in enumerate(value)]
    raise TypeError(f"{where} is a {type(value).__name__}, for which JSON has no form")


def _key(key: object, where: str) -> str:
    if not isinstance(key, str):
        raise TypeError(f"{where} has the key {key!r}; keys must be text")
    return key
