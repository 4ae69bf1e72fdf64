"""The marking scheme of a procedure: read, and held against what its steps find."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import msgspec

from stepwise.bench import load_label
from stepwise.errors import NotationError, did_you_mean
from stepwise.judge import Criterion, MarkFields
from stepwise.procedure.locate import Path
from stepwise.procedure.problems import Problems
from stepwise.procedure.quantity_fields import positive, quantity
from stepwise.procedure.shape import check_shape, entries
from stepwise.procedure.step_salvage import salvaged_names
from stepwise.quantities import si_unit, spell
from stepwise.steps import KINDS, NoteFields, StepFields, kind_name

_SAMPLE = 'begin a criterion with [[mark]], then name = "…", weight = 10, from = "power", …'
_ANCHORS = ("zero", "ten")


@dataclass(frozen=True, slots=True)
class _Offer:
    """What one step finds."""

    step: str
    computed: Mapping[str, str]
    """Name of a result -> its SI unit."""
    judged: tuple[str, ...] = ()
    """Names of the marks that the person gives."""


def read_marks(
    data: dict[str, Any], steps: Sequence[StepFields | None], out: Problems
) -> tuple[Criterion, ...]:
    """Read the scheme and report all that is wrong with it.

    Args:
        data: The whole file.
        steps: Its steps, as far as their shape is right; None in place of the others.
        out: Takes the problems.

    Returns:
        The criteria that are sound, in their order.
    """
    if "mark" in data and not isinstance(data["mark"], list):
        out.add(("mark",), "is not a list of criteria", "write [[mark]] in double brackets")
        return ()
    offers = tuple(_offers(data, steps))
    found: list[Criterion] = []
    names: set[str] = set()
    for at, entry in entries(data, "mark"):
        if not isinstance(entry, dict):
            out.add(at, "is not a table", _SAMPLE)
            continue
        check_shape(MarkFields, entry, at, out)
        fields = _readable(entry, at, out)
        if fields is None:
            continue
        if fields.name in names:
            out.add((*at, "name"), f"“{fields.name}” stands twice", "rename one")
        names.add(fields.name)
        criterion = _criterion(fields, at, offers, out)
        if criterion is not None:
            found.append(criterion)
    return tuple(found)


def _readable(entry: dict[str, Any], at: Path, out: Problems) -> MarkFields | None:
    """The sound fields of a criterion, also where its name or weight is faulty or missing."""
    depth = len(at)
    faulty = {path[depth] for path, *_ in out.found if path[:depth] == at and path[depth:]}
    sound = {key: value for key, value in entry.items() if key not in faulty}
    stand_in = {"name": f"criterion {at[-1]}", "weight": 1}
    try:
        return msgspec.convert(stand_in | sound, MarkFields)
    except msgspec.ValidationError:
        return None  # it says of nothing what it marks; that is reported


def _offers(data: dict[str, Any], steps: Sequence[StepFields | None]) -> Iterator[_Offer]:
    for step, (_, entry) in zip(steps, entries(data, "step"), strict=False):
        if isinstance(step, NoteFields):
            yield _Offer(step.id, {}, tuple(note.name for note in step.notes if note.mark))
        elif step is not None:
            kind = KINDS[kind_name(step)]
            try:
                named = dict(kind.names(step))
            except NotationError:
                named = {}  # a unit that is not known is reported by the kind
            units = {**kind.result_units, **named}
            yield _Offer(step.id, {name: _si(unit) for name, unit in units.items()})
        elif isinstance(entry, dict):
            yield _salvaged(entry)


def _salvaged(entry: dict[str, Any]) -> _Offer:
    """What a step of wrong shape would find, so that no criterion is blamed for it."""
    notes = entry.get("notes")
    asked = [note for note in notes if isinstance(note, dict)] if isinstance(notes, list) else []
    judged = tuple(str(note.get("name")) for note in asked if note.get("mark") is True)
    return _Offer(str(entry.get("id")), salvaged_names(entry), judged)


def _si(unit: str) -> str:
    return "" if unit == "1" else si_unit(unit)


def _criterion(
    fields: MarkFields, at: Path, offers: Sequence[_Offer], out: Problems
) -> Criterion | None:
    before = len(out.found)
    here = _chosen(fields, at, offers, out)
    load = positive(fields.load, "ohm", (*at, "load"), out)
    unit = ""
    zero, ten = 0.0, 10.0
    if fields.judged:
        _check_judged(fields, at, here, out)
    else:
        known = {name: unit for offer in here for name, unit in offer.computed.items()}
        _check_computed(fields, at, here, known, out)
        unit = known.get(fields.source, "")
        if fields.source in known:
            zero, ten = _anchors(fields, at, unit, out)
    if len(out.found) > before:
        return None
    return Criterion(
        name=fields.name,
        weight=fields.weight,
        source=fields.source,
        unit=unit,
        zero=zero,
        ten=ten,
        judged=fields.judged,
        step=fields.step,
        load=None if load is None else load_label(load),
        point=fields.point,
        where=fields.where,
        size=fields.size,
    )


def _chosen(
    fields: MarkFields, at: Path, offers: Sequence[_Offer], out: Problems
) -> Sequence[_Offer]:
    if fields.step is None:
        return offers
    here = [offer for offer in offers if offer.step == fields.step]
    if not here:
        known = [offer.step for offer in offers]
        out.add(
            (*at, "step"), f"there is no step “{fields.step}”", did_you_mean(fields.step, known)
        )
        return offers
    return here


def _check_judged(fields: MarkFields, at: Path, here: Sequence[_Offer], out: Problems) -> None:
    for name in _ANCHORS:
        if getattr(fields, name) is not None:
            out.add((*at, name), "belongs to a computed criterion", "leave it out, or judged")
    if fields.size:
        out.add((*at, "size"), "belongs to a computed criterion", "leave it out, or judged")
    marks = [name for offer in here for name in offer.judged]
    if fields.source not in marks:
        what = f"no note asks for a mark called “{fields.source}”"
        hint = did_you_mean(fields.source, marks) if marks else "add a note with mark = true"
        out.add((*at, "from"), what, hint)


def _check_computed(
    fields: MarkFields,
    at: Path,
    here: Sequence[_Offer],
    known: Mapping[str, str],
    out: Problems,
) -> None:
    for name in _ANCHORS:
        if getattr(fields, name) is None and (*at, name) not in {path for path, *_ in out.found}:
            out.add(at, f"“{name}” is missing", f"say what earns {name}, or judged = true")
    if fields.source in known:
        return
    if any(fields.source in offer.judged for offer in here):
        out.add((*at, "from"), f"“{fields.source}” is a mark", "write judged = true")
        return
    where = f"step “{fields.step}”" if fields.step is not None else "no step"
    verb = "does not find" if fields.step is not None else "finds"
    what = f"{where} {verb} anything called “{fields.source}”"
    out.add((*at, "from"), what, did_you_mean(fields.source, list(known)))


def _anchors(fields: MarkFields, at: Path, unit: str, out: Problems) -> tuple[float, float]:
    zero = quantity(fields.zero, unit, (*at, "zero"), out)
    ten = quantity(fields.ten, unit, (*at, "ten"), out)
    if zero is None or ten is None:
        return 0.0, 10.0
    if zero == ten:
        what = "is the same as zero"
        out.add((*at, "ten"), what, f"give another number of {spell(unit) or 'points'}")
    if fields.size and (zero < 0.0 or ten < 0.0):
        out.add((*at, "size"), "counts no negative values", "give zero and ten without a sign")
    return zero, ten
