"""One log as the archive keeps it: frozen values, no database and no journal in them."""

from __future__ import annotations

from dataclasses import dataclass

from stepwise.archive.query import UNFINISHED


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


def sound_text(text: str) -> str:
    """Text as every database takes it: no NUL, no half of a character from a stray byte."""
    if text.isascii() and "\0" not in text:
        return text
    whole = text.replace("\0", "\N{REPLACEMENT CHARACTER}")
    return whole.encode("utf-8", "backslashreplace").decode("utf-8")


def fold_words(text: str) -> str:
    """Text as it is searched: lower case, single blanks, nothing that a database refuses."""
    return " ".join(sound_text(text).casefold().split())
