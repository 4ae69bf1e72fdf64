"""One log as the archive keeps it: recorded facts and what was shown, from its journal alone.

Nothing is worked out again here: an index of many logs must be quick to make, and a log whose
procedure this version no longer understands is still worth finding.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path

from stepwise.archive.query import UNFINISHED
from stepwise.errors import DimensionError, JournalError, NotationError
from stepwise.journal import Event, Record, RecordState, fold, read_journal
from stepwise.judge import SEVERITY_ORDER
from stepwise.quantities import require

_JOURNAL = "journal.jsonl"
_PRICE = re.compile(r"[0-9]+(?:[.,][0-9]+)?")
_GRAVITY = {severity.value: place for place, severity in enumerate(SEVERITY_ORDER)}

Place = tuple[str | None, ...]


@dataclass(frozen=True, slots=True)
class EntryResult:
    """One result as it was shown last."""

    step: str
    channel: str
    load: str
    point: str
    """These three are empty where the result has none."""
    name: str
    label: str
    value: float
    uncertainty: float | None
    """Expanded, unit of `value`."""
    unit: str
    verdict: str
    probability: float | None


@dataclass(frozen=True, slots=True)
class EntryFlag:
    """One flag that stands."""

    name: str
    severity: str
    step: str
    channel: str
    load: str
    says: str


@dataclass(frozen=True, slots=True)
class Mark:
    """The total out of ten as it was recorded at the end."""

    value: float
    uncertainty: float
    """Expanded."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One log."""

    identity: str
    """SHA-256 of the journal's first line: the same wherever a copy of the log lies."""
    digest: str
    """SHA-256 of the whole journal; tells whether a copy has gone on."""
    events: int
    size: int
    """Bytes of the journal that were read."""
    name: str
    """Of the folder."""
    unit: str = ""
    serial: str = ""
    episode: str = ""
    procedure: str = ""
    revision: int = 0
    title: str = ""
    bench: str = ""
    operator: str = ""
    began: str = ""
    ended: str = ""
    verdict: str = UNFINISHED
    complete: bool = False
    subject: str = ""
    """What tells its unit from others: name and serial; in a rehearsal the seed as well."""
    answered: int = 0
    rehearsal: bool = False
    transcribed: bool = False
    problem: str = ""
    price: float | None = None
    currency: str = ""
    transformer: float | None = None
    """Rating [VA]."""
    mark: Mark | None = None
    results: tuple[EntryResult, ...] = ()
    flags: tuple[EntryFlag, ...] = ()
    words: str = ""
    """Everything that a search for text looks through, in lower case."""


@dataclass(slots=True)
class _Shown:
    """Folds what was shown with each answer; the last that was said of a place stands."""

    results: dict[Place, Mapping[str, object]] = field(default_factory=dict)
    flags: dict[Place, EntryFlag] = field(default_factory=dict)
    mark: Mark | None = None

    def add(self, data: Mapping[str, object]) -> None:
        for result in _tables(data, "results"):
            self.results[_result_place(result)] = result
        for flag in _tables(data, "flags"):
            self.flags[_flag_place(flag)] = _flag(flag)
        for place in _lists(data, "gone"):
            self.results.pop(tuple(place), None)
        for place in _lists(data, "cleared"):
            self.flags.pop(tuple(place), None)

    def close(self, data: Mapping[str, object]) -> None:
        """Take over what stood at the end, where that was recorded."""
        if "flags" in data:
            self.flags = {_flag_place(flag): _flag(flag) for flag in _tables(data, "flags")}
        mark = data.get("mark")
        if isinstance(mark, Mapping):
            value, spread = _number(mark, "value"), _number(mark, "uncertainty")
            self.mark = None if value is None else Mark(value, spread or 0.0)


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
    return Entry(mark, mark, 0, 0, folder.name, problem=problem, words=folder.name.casefold())


def _entry(folder: Path, record: Record, identity: str, content: bytes) -> Entry:
    state = fold(record.events)
    begin = state.begin
    unit, bench = _toml(begin, "unit"), _toml(begin, "bench")
    head = _table(unit, "unit")
    price, currency = _price(str(head.get("price", "")))
    shown = _shown(record.events)
    ended = state.ended
    flags = tuple(sorted(shown.flags.values(), key=lambda each: _GRAVITY.get(each.severity, 9)))
    return Entry(
        identity=identity,
        digest=sha256(content).hexdigest(),
        events=len(record.events),
        size=len(content),
        name=folder.name,
        unit=_text(begin, "unit_name"),
        serial=str(head.get("serial", "")),
        episode=_text(begin, "episode"),
        procedure=_text(begin, "procedure_name"),
        revision=int(_number(begin, "revision") or 0),
        title=_text(begin, "title"),
        bench=_text(begin, "bench_name"),
        operator=_text(begin, "operator"),
        began=state.began_at or "",
        ended=_ended_at(record.events) if ended is not None else "",
        verdict=_text(ended, "verdict") if ended is not None else UNFINISHED,
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
        results=tuple(
            made for each in shown.results.values() if (made := _result(each)) is not None
        ),
        flags=flags,
        words=_words(folder, state, head, flags),
    )


def _subject(begin: Mapping[str, object], head: Mapping[str, object]) -> str:
    parts = [_text(begin, "unit_name"), str(head.get("serial", ""))]
    made = begin.get("rehearsal")
    if isinstance(made, Mapping):
        parts.append(f"seed {made.get('seed')}, faults {made.get('faults')}")
    return fold_words(" | ".join(parts))


def _problem(record: Record, begin: Mapping[str, object]) -> str:
    if record.damages:
        return f"damaged at line {record.damages[0].line}"
    return "" if begin else "nothing was recorded in it"


def _shown(events: Sequence[Event]) -> _Shown:
    shown = _Shown()
    for event in events:
        said = event.data.get("shown")
        if isinstance(said, Mapping):
            shown.add(said)
        closing = event.data.get("closing")
        if event.kind == "end" and isinstance(closing, Mapping):
            shown.close(closing)
    return shown


def _ended_at(events: Sequence[Event]) -> str:
    return next((event.at for event in reversed(events) if event.kind == "end"), "")


def _words(
    folder: Path, state: RecordState, head: Mapping[str, object], flags: Sequence[EntryFlag]
) -> str:
    begin = state.begin
    names = ("unit_name", "episode", "procedure_name", "title", "bench_name", "operator")
    parts = [folder.name, *(_text(begin, name) for name in names)]
    parts += [str(head.get(name, "")) for name in ("serial", "remarks")]
    parts += [flag.name for flag in flags]
    parts += [note.text for note in state.notes]
    parts += [
        str(answer.data["text"]) for answer in state.answers.values() if "text" in answer.data
    ]
    parts += [_text(state.ended, "remark")] if state.ended is not None else []
    return fold_words(" ".join(parts))


def fold_words(text: str) -> str:
    """Text as it is searched: lower case, single blanks, nothing that a database refuses."""
    return " ".join(text.replace("\0", " ").casefold().split())


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
    currency = " ".join((text[: match.start()] + text[match.end() :]).split())
    return float(match[0].replace(",", ".")), currency


def _rating(text: object) -> float | None:
    try:
        return require(text, "VA") if isinstance(text, str) else None
    except (NotationError, DimensionError):
        return None


def _tables(data: Mapping[str, object], name: str) -> Iterator[Mapping[str, object]]:
    found = data.get(name)
    if isinstance(found, list | tuple):
        yield from (each for each in found if isinstance(each, Mapping))


def _lists(data: Mapping[str, object], name: str) -> Iterator[Sequence[str | None]]:
    found = data.get(name)
    if isinstance(found, list | tuple):
        yield from (each for each in found if isinstance(each, list | tuple))


def _result(data: Mapping[str, object]) -> EntryResult | None:
    value = _number(data, "value")
    if value is None:
        return None  # written as text: it was not finite
    name = _text(data, "name")
    return EntryResult(
        step=_text(data, "step"),
        channel=_text(data, "channel"),
        load=_text(data, "load"),
        point=_text(data, "point"),
        name=name,
        label=_text(data, "label") or name,
        value=value,
        uncertainty=_expanded(data),
        unit=_text(data, "unit"),
        verdict=_text(data, "verdict"),
        probability=_number(data, "probability"),
    )


def _expanded(data: Mapping[str, object]) -> float | None:
    """The expanded uncertainty; journals of the first version kept the standard one, k = 2."""
    expanded, standard = _number(data, "uncertainty"), _number(data, "standard_uncertainty")
    return expanded if expanded is not None or standard is None else 2.0 * standard


def _result_place(data: Mapping[str, object]) -> Place:
    get = data.get
    place = (get("step"), get("channel"), get("load"), get("point"), get("name"))
    return tuple(part if isinstance(part, str) else None for part in place)


def _flag(data: Mapping[str, object]) -> EntryFlag:
    names = ("flag", "severity", "step", "channel", "load", "says")
    return EntryFlag(*(_text(data, name) for name in names))


def _flag_place(data: Mapping[str, object]) -> Place:
    return tuple(_part(data, part) for part in ("flag", "step", "channel", "load"))


def _part(data: Mapping[str, object], name: str) -> str | None:
    value = data.get(name)
    return value if isinstance(value, str) else None


def _text(data: Mapping[str, object], name: str) -> str:
    return (_part(data, name) or "").replace("\0", "\N{REPLACEMENT CHARACTER}")


def _number(data: Mapping[str, object], name: str) -> float | None:
    value = data.get(name)
    return float(value) if isinstance(value, int | float) else None
