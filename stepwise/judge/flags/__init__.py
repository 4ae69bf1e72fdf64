"""Flags: what is odd about the findings, said while the rig is still wired up.

One file a family; each exports `find(findings) -> Iterator[Flag]` and is listed in `FAMILIES`.
A family looks at results by name and never asks where they came from, so the same flags are
found live, in a finished log and in a comparison. `FLAGS` names every flag; `absorb` says which
ones stand in for which.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from stepwise.judge.findings import Findings, Noted
from stepwise.judge.flag import SEVERITY_ORDER, Flag
from stepwise.judge.flags import (
    channels,
    claims,
    dead,
    heat,
    idle,
    instruments,
    levels,
    loads,
    offset,
    output,
    protection,
    rails,
    reference,
    reservoir,
    response,
    response_form,
    shock,
    square_sweep,
    stability,
    supply,
    swing,
    tone,
)
from stepwise.judge.flags.absorb import absorbed
from stepwise.judge.flags.catalogue import FLAGS, FlagKind

FAMILIES: tuple[Callable[[Findings], Iterator[Flag]], ...] = (
    dead.find,
    shock.find,
    reservoir.find,
    offset.find,
    protection.find,
    tone.find,
    heat.find,
    idle.find,
    swing.find,
    rails.find,
    levels.find,
    loads.find,
    square_sweep.find,
    reference.find,
    supply.find,
    output.find,
    claims.find,
    stability.find,
    response.find,
    response_form.find,
    channels.find,
    instruments.find,
)
"""Every family; a new one is registered here and nowhere else."""

_RANK = {name: place for place, name in enumerate(FLAGS)}


def find_flags(findings: Findings) -> tuple[Flag, ...]:
    """All flags, by harm and then by what to do first; the same thing is said once."""
    return FlagFinder().find(findings)


class FlagFinder:
    """Finds flags again and again: a family only where something that it looked at has changed.

    A family makes its flags of findings alone, so where it looked decides what it finds.
    """

    def __init__(self) -> None:
        self._before = Findings()
        self._kept: list[tuple[set[str], list[Flag]]] | None = None
        """Where each family looked in the findings before, and what it found."""

    def find(self, findings: Findings) -> tuple[Flag, ...]:
        """All flags of these findings, as `find_flags` finds them."""
        if self._kept is None:
            kept = [_look(find, findings) for find in FAMILIES]
        else:
            changed = findings.changed_since(self._before)
            kept = [
                before if changed.isdisjoint(before[0]) else _look(find, findings)
                for find, before in zip(FAMILIES, self._kept, strict=True)
            ]
        self._before, self._kept = findings, kept
        unique: dict[tuple[str, str, str | None, str | None], Flag] = {}
        for _, flags in kept:
            for flag in flags:
                unique.setdefault(flag.identity, flag)
        return tuple(sorted(absorbed(list(unique.values())), key=_order))


def _look(
    find: Callable[[Findings], Iterator[Flag]], findings: Findings
) -> tuple[set[str], list[Flag]]:
    """Where a family looks, and what it finds."""
    noted = Noted(findings)
    found = list(find(noted))
    return noted.looked_at, found


def _order(flag: Flag) -> tuple[int, int]:
    return SEVERITY_ORDER.index(flag.severity), _RANK[flag.name]


__all__ = ["FAMILIES", "FLAGS", "FlagFinder", "FlagKind", "find_flags"]
