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
from datetime import UTC, datetime
from hashlib import sha256
from types import MappingProxyType
from typing import Any, NamedTuple

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

# The encoder escapes the controls below U+0020 only. These others (U+007F to U+009F, U+2028 and
# U+2029) can drive a terminal in which the file is looked at, or end a line in tools that split
# text by the Unicode rules.
_LEFT_BARE = re.compile(rb"\x7f|\xc2[\x80-\x9f]|\xe2\x80[\xa8\xa9]")


class BrokenLineError(ValueError):
    """A line that is not what `encode` wrote."""


class Event(msgspec.Struct, frozen=True):
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
    if at.tzinfo is not UTC:
        if at.utcoffset() is None:
            raise ValueError(f"{at!r} has no time zone; the journal keeps UTC")
        at = at.astimezone(UTC)
    return at.isoformat(timespec="milliseconds").removesuffix("+00:00") + "Z"


def shown_instant(at: str | None) -> str:
    """An instant of the journal as people read it, to the minute: "2026-03-14 10:00 UTC".

    Args:
        at: As `instant_text` makes it; empty or None gives nothing.
    """
    return f"{at[:10]} {at[11:16]} UTC" if at else ""


def line_hash(line: bytes) -> str:
    """SHA-256 of a whole line with its newline, in hex: the `prev` of the line after it."""
    return sha256(line).hexdigest()


class Written(NamedTuple):
    """An event made ready for the disk."""

    line: bytes
    """UTF-8 with exactly one newline, at its end."""
    hash: str
    """`line_hash` of the line."""
    event: Event
    """The event as a reader of the line finds it."""


def encode(event: Event, previous_hash: str) -> Written:
    """Write the one line that stands for an event.

    Args:
        event: The event. Floats that are not finite become the texts `nan`, `inf`, `-inf`,
            because JSON has no number for them; tuples become lists.
        previous_hash: `line_hash` of the line before, `NO_LINE` for the first.

    Returns:
        The line, its hash and the event; the event shares nothing with the one given.

    Raises:
        TypeError: The data holds something that JSON has no form for, or a key that is no text.
        ValueError: The data is nested deeper than `DEEPEST`, or holds an integer too long for
            Python to write.
    """
    data = _plain(event.data, "data", DEEPEST)
    fields = _Line(event.seq, event.at, SCHEMA, event.kind, data, previous_hash)
    try:
        body = _WRITER.encode(fields)[:-1]
    except UnicodeEncodeError:
        body = _encoded_with_care(fields)[:-1]
        # two halves that stand side by side are read as the one letter that they make
        data = _fields(body + b"}").data
    if not body.isascii() or b"\x7f" in body:
        body = _LEFT_BARE.sub(_escaped, body)
    hashed = sha256(body)
    seal = _SEAL_OPENS + hashed.hexdigest().encode("ascii") + _SEAL_CLOSES
    hashed.update(seal)
    found = Event(event.seq, event.at, event.kind, MappingProxyType(data))
    return Written(body + seal, hashed.hexdigest(), found)


def _encoded_with_care(fields: _Line) -> bytes:
    # Half a surrogate pair (an undecodable byte from a terminal) has no UTF-8 form. Python's
    # backslashreplace writes it as \udc80, which is the JSON escape for it as well.
    plain = msgspec.structs.asdict(fields)
    text = json.dumps(plain, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return text.encode("utf-8", "backslashreplace")


def _escaped(bare: re.Match[bytes]) -> bytes:
    return f"\\u{ord(bare[0].decode()):04x}".encode("ascii")


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


_READER = msgspec.json.Decoder(_Line)
_WRITER = msgspec.json.Encoder()


def _fields(text: bytes) -> _Line:
    try:
        return _READER.decode(text)
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
    try:
        datetime.fromisoformat(line.at)
    except ValueError:
        raise BrokenLineError(f"happened at {line.at}, which is no instant") from None
    return Event(line.seq, line.at, line.kind, MappingProxyType(line.data)), line.prev


_LACKING = "is JSON, but lacks what every line of a journal has"


def _other_schema(schema: int) -> str:
    return f"is of form {schema}, this version of the program reads form {SCHEMA}"


def _how_broken(line: bytes) -> str:
    if not line.strip():
        return "is empty"
    if line.endswith(b"\r\n"):
        return "ends in CR LF: the file was saved by a program that changed its line ends"
    if line.startswith(b'{"seq":') and _SEAL_OPENS in line:
        return "was changed after it was written: its hash does not fit"
    return "is not a line of a journal, or was changed beyond recognition"


_AS_IT_IS = frozenset({str, int, bool, type(None)})


def _plain(value: object, where: str, levels: int) -> Any:
    """A copy of `value` in what JSON has; `where` is the path to it, for the error."""
    if type(value) in _AS_IT_IS:
        return value
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else str(float(value))
    if levels == 0:
        raise ValueError(f"an event's data is nested deeper than {DEEPEST} levels")
    if isinstance(value, Mapping):
        # what needs no copy is passed over here, which a reading is written twice as fast by
        return {
            key if type(key) is str else _key(key, where): held
            if type(held) in _AS_IT_IS
            else _plain(held, f"{where}.{key}", levels - 1)
            for key, held in value.items()
        }
    if isinstance(value, (list, tuple)):
        return [_plain(held, f"{where}[{n}]", levels - 1) for n, held in enumerate(value)]
    # a name from an enumeration is kept as the plain text or number it stands for
    if isinstance(value, str):
        return str.__str__(value)
    if isinstance(value, int):
        return int(value)
    raise TypeError(f"{where} is a {type(value).__name__}, for which JSON has no form")


def _key(key: object, where: str) -> str:
    if not isinstance(key, str):
        raise TypeError(f"{where} has the key {key!r}; keys must be text")
    return key if type(key) is str else str.__str__(key)
