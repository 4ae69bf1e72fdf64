"""Faults that a rehearsal can be given, alone or together.

Each changes what is true of the board, of the bench, or of what the person writes down; what it
shows in the sheet follows from the physics. A new fault is one function and one entry in one of
the files here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from stepwise.rehearsal.faults.bench import BENCH_FAULTS
from stepwise.rehearsal.faults.fault import (
    SEVERITIES,
    Fault,
    UnknownFault,
    Whose,
    severity_word,
)
from stepwise.rehearsal.faults.network import NETWORK_FAULTS
from stepwise.rehearsal.faults.person import PERSON_FAULTS
from stepwise.rehearsal.faults.stage import STAGE_FAULTS
from stepwise.rehearsal.faults.supply import SUPPLY_FAULTS
from stepwise.rehearsal.rig import Rig

FAULTS: Mapping[str, Fault] = MappingProxyType(
    {
        fault.name: fault
        for fault in (*NETWORK_FAULTS, *STAGE_FAULTS, *SUPPLY_FAULTS, *BENCH_FAULTS, *PERSON_FAULTS)
    }
)
"""Name -> fault."""


def find_fault(name: str) -> Fault:
    """The fault of that name.

    Raises:
        UnknownFault: There is none.
    """
    fault = FAULTS.get(name)
    if fault is None:
        raise UnknownFault(name, tuple(FAULTS))
    return fault


def with_faults(rig: Rig, faults: Sequence[tuple[str, float]]) -> Rig:
    """The rig with faults, in the order given.

    Args:
        rig: As it would be without.
        faults: Names with severities, each 0 to 1; 0 is no fault.

    Raises:
        UnknownFault: There is no fault of that name.
        ValueError: A severity is not from 0 to 1.
    """
    for name, severity in faults:
        fault = find_fault(name)
        if not 0.0 <= severity <= 1.0:
            raise ValueError(f"the severity of {name} is from 0 to 1, not {severity:g}")
        if severity:
            rig = fault.apply(rig, severity)
    return rig


__all__ = [
    "FAULTS",
    "SEVERITIES",
    "Fault",
    "UnknownFault",
    "Whose",
    "find_fault",
    "severity_word",
    "with_faults",
]
