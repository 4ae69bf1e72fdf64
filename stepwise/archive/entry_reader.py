"""Reading what the archive keeps of a log, from its journal alone.

Nothing is worked out again here: an index of many logs must be quick to make, and a log whose
procedure this version no longer understands is still worth finding.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from hashlib import sha256
from pathlib import Path

from stepwise.archive.entry import Entry, EntryFlag, fold_words, sound_text
from stepwise.archive.query import UNFINISHED
from stepwise.archive.shown import LONGEST_NAME, name_of, number_of, shown_in, text_of
from stepwise.errors import DimensionError, JournalError, NotationError
from stepwise.journal import Event, Record, RecordState, fold, read_journal
from stepwise.judge import SEVERITY_ORDER
from stepwise.quantities import require

_JOURNAL = "journal.jsonl"
_PRICE = re.compile(
    r"[0-9]{1,3}([., '’\u00a0\u202f])[0-9]{3}(?:\1[0-9]{3})*(?:[.,][0-9]{1,2})?(?![0-9])"
    r"|[0-9]+(?:[.,][0-9]+)?"
)
"""Thousands apart by one mark and cents by another, or a plain number."""
_LONGEST_SUBJECT = 400
_GRAVITY = {severity.value: place for place, severity in enumerate(SEVERITY_ORDER)}


def read_entry(folder: Path) -> Entry:
    """Read what the archive keeps of a log.

    Args:
        folder: Of the log; another program may be writing to it.

    Returns:
        The entry; a journal that is damaged or cannot be read says so in `problem`.
    """
    path = folder / _JOURNAL
    try:
        content = path.read_bytes()
        record = read_journal(folder)
    except JournalError as error:
        return _unreadable(folder, error.reason)
    except OSError as error:
        return _unreadable(folder, f"cannot be read: {error.strerror}")
    if not content:
        return _unreadable(folder, "nothing was recorded in it")
    first = content[: content.find(b"\n") + 1] or content
    return _entry(folder, record, sha256(first).hexdigest(), content)


def log_identity(folder: Path) -> str:
    """What tells a log from all others, wherever a copy of it lies.

    Args:
        folder: Of the log.
    """
    return read_entry(folder).identity


def _unreadable(folder: Path, problem: str) -> Entry:
    mark = sha256(f"{problem} {folder.name}".encode(errors="backslashreplace")).hexdigest()
    name = sound_text(folder.name)
    return Entry(mark, mark, 0, 0, name, problem=problem, words=fold_words(name))


def _entry(folder: Path, record: Record, identity: str, content: bytes) -> Entry:
    state = fold(record.events)
    begin = state.begin
    unit, bench = _toml(begin, "unit"), _toml(begin, "bench")
    head = _table(unit, "unit")
    price, currency = _price(str(head.get("price", "")))
    shown = shown_in(record.events)
    ended = state.ended
    flags = tuple(sorted(shown.flags.values(), key=lambda each: _GRAVITY.get(each.severity, 9)))
    return Entry(
        identity=identity,
        digest=sha256(content).hexdigest(),
        events=len(record.events),
        size=len(content),
        name=sound_text(folder.name),
        unit=name_of(begin, "unit_name"),
        serial=sound_text(str(head.get("serial", ""))),
        episode=name_of(begin, "episode"),
        procedure=name_of(begin, "procedure_name"),
        revision=_revision(begin),
        title=text_of(begin, "title"),
        bench=text_of(begin, "bench_name"),
        operator=text_of(begin, "operator"),
        began=state.began_at or "",
        ended=_ended_at(record.events) if ended is not None else "",
        verdict=name_of(ended, "verdict") if ended is not None else UNFINISHED,
        complete=ended is not None and ended.get("complete") is True,
        subject=_subject(begin, head),
        answered=len(state.answers),
        rehearsal=bool(begin.get("rehearsal")),
        transcribed=begin.get("transcribed") is True,
        problem=_problem(record, begin),
        price=price,
        currency=currency,
        transformer=_rating(_table(bench, "supply").get("rating")),
        mark=shown.mark if ended is not None else None,
        results=shown.results,
        flags=flags,
        words=_words(folder, state, head, flags),
    )


def _revision(begin: Mapping[str, object]) -> int:
    """The procedure's revision; 0 where the log says none that a database could hold."""
    revision = number_of(begin, "revision") or 0.0
    return int(revision) if 0.0 <= revision < 2.0**31 else 0


def _subject(begin: Mapping[str, object], head: Mapping[str, object]) -> str:
    parts = [text_of(begin, "unit_name"), str(head.get("serial", ""))]
    made = begin.get("rehearsal")
    if isinstance(made, Mapping):
        parts.append(f"seed {made.get('seed')}, faults {made.get('faults')}")
    subject = fold_words(" | ".join(parts))
    if len(subject) <= _LONGEST_SUBJECT:
        return subject
    return f"{subject[:LONGEST_NAME]} {sha256(subject.encode()).hexdigest()}"


def _problem(record: Record, begin: Mapping[str, object]) -> str:
    if record.damages:
        return f"damaged at line {record.damages[0].line}"
    return "" if begin else "nothing was recorded in it"


def _ended_at(events: Sequence[Event]) -> str:
    return next((event.at for event in reversed(events) if event.kind == "end"), "")


def _words(
    folder: Path, state: RecordState, head: Mapping[str, object], flags: Sequence[EntryFlag]
) -> str:
    begin = state.begin
    names = ("unit_name", "episode", "procedure_name", "title", "bench_name", "operator")
    parts = [folder.name, *(text_of(begin, name) for name in names)]
    parts += [str(head.get(name, "")) for name in ("serial", "remarks")]
    parts += [flag.name for flag in flags]
    parts += [note.text for note in state.notes]
    parts += [
        str(answer.data["text"]) for answer in state.answers.values() if "text" in answer.data
    ]
    parts += [text_of(state.ended, "remark")] if state.ended is not None else []
    return fold_words(" ".join(parts))


def _toml(begin: Mapping[str, object], name: str) -> Mapping[str, object]:
    """A file that the journal holds; empty where this is no TOML that can be read."""
    sources = begin.get("sources")
    text = sources.get(name) if isinstance(sources, Mapping) else None
    try:
        return tomllib.loads(text) if isinstance(text, str) else {}
    except (tomllib.TOMLDecodeError, RecursionError):
        return {}


def _table(data: Mapping[str, object], name: str) -> Mapping[str, object]:
    found = data.get(name)
    return found if isinstance(found, Mapping) else {}


def _price(text: str) -> tuple[float | None, str]:
    """A price as number and currency: "49.90 EUR" -> (49.9, "EUR")."""
    match = _PRICE.search(text)
    if match is None:
        return None, ""
    currency = sound_text(" ".join((text[: match.start()] + text[match.end() :]).split()))
    digits = match[0]
    if match[1]:
        digits = digits.replace(match[1], "")
    return float(digits.replace(",", ".")), currency


def _rating(text: object) -> float | None:
    try:
        return require(text, "VA") if isinstance(text, str) else None
    except (NotationError, DimensionError):
        return None
