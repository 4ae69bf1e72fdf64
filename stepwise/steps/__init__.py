"""The kinds of step: what each may say in TOML, what it asks, and what its answers show.

A kind is one file here, registered in `KINDS`. Kinds are stateless and pure: fields, unit,
bench and readings come in as values, prompts and results go out. Nothing here reads a file, a
clock or a screen.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from stepwise.steps.bench_response import BenchResponse, bench_response, read_bench_response
from stepwise.steps.check import Checker, StepProblem, starting_names
from stepwise.steps.clip import Clip, ClipFields
from stepwise.steps.clip_claim import claim_verdict, is_met
from stepwise.steps.confirm import Confirm, ConfirmFields
from stepwise.steps.derive import (
    UnknownFormError,
    Workings,
    kind_name,
    read_back,
    recorded_form,
    understood_from,
)
from stepwise.steps.fields import StepFields
from stepwise.steps.flag_facts import flag_facts
from stepwise.steps.kind import StepKind
from stepwise.steps.known import Known
from stepwise.steps.note import Note, NoteFields
from stepwise.steps.prompt import Pass, Prompt, Reading, Setting, pass_key
from stepwise.steps.reading_fields import ReadingsFields
from stepwise.steps.readings import ReadingsKind
from stepwise.steps.scene import Scene, load_name
from stepwise.steps.square import Square, SquareFields
from stepwise.steps.sweep import Sweep
from stepwise.steps.sweep_fields import SweepFields, SweepLimits
from stepwise.steps.thermal import Thermal, ThermalFields

KINDS: Mapping[str, StepKind[Any]] = MappingProxyType(
    {
        "confirm": Confirm(),
        "readings": ReadingsKind(),
        "clip": Clip(),
        "sweep": Sweep(),
        "square": Square(),
        "thermal": Thermal(),
        "note": Note(),
    }
)
"""Every kind of step by its name in TOML. A new kind is registered here and nowhere else."""

__all__ = [
    "KINDS",
    "BenchResponse",
    "Checker",
    "ClipFields",
    "ConfirmFields",
    "Known",
    "NoteFields",
    "Pass",
    "Prompt",
    "Reading",
    "ReadingsFields",
    "Scene",
    "Setting",
    "SquareFields",
    "StepFields",
    "StepKind",
    "StepProblem",
    "SweepFields",
    "SweepLimits",
    "ThermalFields",
    "UnknownFormError",
    "Workings",
    "bench_response",
    "claim_verdict",
    "flag_facts",
    "is_met",
    "kind_name",
    "load_name",
    "pass_key",
    "read_back",
    "read_bench_response",
    "recorded_form",
    "starting_names",
    "understood_from",
]
