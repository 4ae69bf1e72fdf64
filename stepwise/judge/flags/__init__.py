"""Flags: what is odd about the findings, said while the rig is still wired up.

One file a family; each exports `find(findings) -> Iterator[Flag]` and is listed in `FAMILIES`.
A family looks at results by name and never asks where they came from, so the same flags are
found live, in a finished log and in a comparison.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from stepwise.judge.findings import Findings
from stepwise.judge.flag import SEVERITY_ORDER, Flag
from stepwise.judge.flags import channels, heat, offset, power, response, shock, tone

FAMILIES: tuple[Callable[[Findings], Iterator[Flag]], ...] = (
    shock.find,
    offset.find,
    tone.find,
    heat.find,
    power.find,
    response.find,
    channels.find,
)
"""Every family; a new one is registered here and nowhere else."""


def find_flags(findings: Findings) -> tuple[Flag, ...]:
    """All flags, worst first; the same one is said once."""
    unique: dict[tuple[str, str, str | None, str | None], Flag] = {}
    for find in FAMILIES:
        for flag in find(findings):
            unique.setdefault(flag.identity, flag)
    return tuple(sorted(unique.values(), key=lambda flag: SEVERITY_ORDER.index(flag.severity)))


__all__ = ["FAMILIES", "find_flags"]
