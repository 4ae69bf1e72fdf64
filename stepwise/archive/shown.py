"""What a run has shown, folded from its journal: the results and flags that stand at its end."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from stepwise.archive.entry import EntryFlag, EntryResult, Mark, sound_text
from stepwise.journal import Event

LONGEST_NAME = 120
"""Characters; four names in UTF-8 fit into the 2704 bytes of one key on PostgreSQL."""
_LARGEST = 1e300

Place = tuple[str | None, ...]


@dataclass(slots=True)
class Shown:
    """Folds what was shown with each answer; the last that was said of a place stands."""

    _results: dict[Place, Mapping[str, object]] = field(default_factory=dict)
    flags: dict[Place, EntryFlag] = field(default_factory=dict)
    mark: Mark | None = None

    @property
    def results(self) -> tuple[EntryResult, ...]:
        """Every result as it was shown last, in the order in which they first came."""
        made = (_result(each) for each in self._results.values())
        return tuple(each for each in made if each is not None)

    def add(self, data: Mapping[str, object]) -> None:
        """Fold what was shown with one answer."""
        for result in _tables(data, "results"):
            self._results[_result_place(result)] = result
        for flag in _tables(data, "flags"):
            self.flags[_flag_place(flag)] = _flag(flag)
        for place in _places(data, "gone"):
            self._results.pop(place, None)
        for place in _places(data, "cleared"):
            self.flags.pop(place, None)

    def close(self, data: Mapping[str, object]) -> None:
        """Take over what stood at the end, where that was recorded."""
        if "flags" in data:
            self.flags = {_flag_place(flag): _flag(flag) for flag in _tables(data, "flags")}
        mark = data.get("mark")
        if isinstance(mark, Mapping):
            value, spread = number_of(mark, "value"), number_of(mark, "uncertainty")
            self.mark = None if value is None else Mark(value, spread or 0.0)


def shown_in(events: Sequence[Event]) -> Shown:
    """What the events of a journal have shown.

    Args:
        events: In their order.
    """
    shown = Shown()
    for event in events:
        said = event.data.get("shown")
        if isinstance(said, Mapping):
            shown.add(said)
        closing = event.data.get("closing")
        if event.kind == "end" and isinstance(closing, Mapping):
            shown.close(closing)
    return shown


def _tables(data: Mapping[str, object], name: str) -> Iterator[Mapping[str, object]]:
    found = data.get(name)
    if isinstance(found, list | tuple):
        yield from (each for each in found if isinstance(each, Mapping))


def _places(data: Mapping[str, object], name: str) -> Iterator[Place]:
    found = data.get(name)
    for each in found if isinstance(found, list | tuple) else ():
        if isinstance(each, list | tuple):
            yield tuple(part if isinstance(part, str) else None for part in each)


def _result(data: Mapping[str, object]) -> EntryResult | None:
    value = number_of(data, "value")
    if value is None:
        return None  # written as text: it was not finite
    name = name_of(data, "name")
    return EntryResult(
        step=name_of(data, "step"),
        channel=name_of(data, "channel"),
        load=name_of(data, "load"),
        point=name_of(data, "point"),
        name=name,
        label=text_of(data, "label") or name,
        value=value,
        uncertainty=_expanded(data),
        unit=name_of(data, "unit"),
        verdict=name_of(data, "verdict"),
        probability=number_of(data, "probability"),
    )


def _expanded(data: Mapping[str, object]) -> float | None:
    """The expanded uncertainty; journals of the first version kept the standard one, k = 2."""
    expanded, standard = number_of(data, "uncertainty"), number_of(data, "standard_uncertainty")
    return expanded if expanded is not None or standard is None else 2.0 * standard


def _result_place(data: Mapping[str, object]) -> Place:
    get = data.get
    place = (get("step"), get("channel"), get("load"), get("point"), get("name"))
    return tuple(part if isinstance(part, str) else None for part in place)


def _flag(data: Mapping[str, object]) -> EntryFlag:
    names = ("flag", "severity", "step", "channel", "load", "says")
    return EntryFlag(*(text_of(data, name) for name in names))


def _flag_place(data: Mapping[str, object]) -> Place:
    return tuple(_part(data, part) for part in ("flag", "step", "channel", "load"))


def _part(data: Mapping[str, object], name: str) -> str | None:
    value = data.get(name)
    return value if isinstance(value, str) else None


def text_of(data: Mapping[str, object], name: str) -> str:
    """A text of an event, as every database takes it; empty where there is none."""
    return sound_text(_part(data, name) or "")


def name_of(data: Mapping[str, object], name: str) -> str:
    """A text of an event as a name, cut where it is longer than keys of an index may be."""
    return text_of(data, name)[:LONGEST_NAME]


def number_of(data: Mapping[str, object], name: str) -> float | None:
    """A number of an event; None where there is none, or one that was not finite."""
    value = data.get(name)
    if not isinstance(value, int | float) or not -_LARGEST <= value <= _LARGEST:
        return None
    return float(value)
