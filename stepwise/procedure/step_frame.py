"""What all kinds of step share, checked on the tables as written: ids, times, hold points.

Whether the rest of a step is sound does not matter here, so that a fault elsewhere in it hides
nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stepwise.errors import did_you_mean
from stepwise.procedure.locate import Path
from stepwise.procedure.problems import Problems
from stepwise.procedure.quantity_fields import positive


def check_frames(entries: Sequence[object], out: Problems) -> None:
    """Check ids, times and hold lists of all steps.

    Args:
        entries: The steps as TOML gave them.
        out: Takes the problems.
    """
    first = _first_places(entries, out)
    for index, entry in enumerate(entries):
        if isinstance(entry, dict):
            _check_times(entry, ("step", index), out)
            _check_repeat(entry, ("step", index), out)
            _check_holds(entry, index, first, out)


def _id(entry: object) -> str | None:
    text = entry.get("id") if isinstance(entry, dict) else None
    return text if isinstance(text, str) else None


def _first_places(entries: Sequence[object], out: Problems) -> dict[str, int]:
    """Id -> index of the first step that has it."""
    first: dict[str, int] = {}
    for index, entry in enumerate(entries):
        step_id = _id(entry)
        if step_id is None:
            continue
        if step_id in first:
            what = f"“{step_id}” is the id of step {first[step_id] + 1} too"
            out.add(("step", index, "id"), what, "give each step its own")
        first.setdefault(step_id, index)
    return first


def _check_times(entry: dict[str, object], at: Path, out: Problems) -> None:
    for name in ("on_time", "rest"):
        text = entry.get(name)
        if isinstance(text, str):
            positive(text, "s", (*at, name), out)


def _check_repeat(entry: dict[str, object], at: Path, out: Problems) -> None:
    repeat = entry.get("repeat")
    if not isinstance(repeat, list):
        return
    if any(each in repeat[:index] for index, each in enumerate(repeat)):
        out.add((*at, "repeat"), "names one thing twice", "leave one out")
    if "load" in repeat and "load" in entry:
        out.add((*at, "load"), "stands beside repeat over the loads", "leave one out")


def _check_holds(
    entry: dict[str, object], position: int, first: dict[str, int], out: Problems
) -> None:
    for path, named in _holds(entry):
        at = ("step", position, *path)
        is_open = "except" in path
        if named == _id(entry):
            what = "a step cannot be left open by its own hold"
            out.add(at, what if is_open else "a step cannot hold itself", "name a later step")
        elif named not in first:
            out.add(at, f"there is no step “{named}”", did_you_mean(named, first))
        elif first[named] < position:
            why = "is not held by it" if is_open else "cannot wait for it"
            what = f"“{named}” comes before this step and {why}"
            out.add(at, what, "name a later step")


def _holds(entry: dict[str, object]) -> Iterator[tuple[Path, str]]:
    """Every step id in a hold's list, with its place in the step."""
    yield from _names_in(entry.get("hold"), ("hold",))
    readings = entry.get("readings")
    for place, ask in enumerate(readings if isinstance(readings, list) else ()):
        if isinstance(ask, dict):
            yield from _names_in(ask.get("hold"), ("readings", place, "hold"))


def _names_in(hold: object, at: Path) -> Iterator[tuple[Path, str]]:
    if isinstance(hold, dict):
        hold, at = hold.get("except"), (*at, "except")
    if isinstance(hold, list):
        for index, named in enumerate(hold):
            if isinstance(named, str):
                yield (*at, index), named
