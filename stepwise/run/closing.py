"""What a stop flag closes: prompts that would do harm while it stands."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

from stepwise.judge import Flag, Severity
from stepwise.steps import Prompt

_WITHOUT = "none"
"""How a square wave's point says that no capacitor lies across the load."""


def closed_by_flags(flags: Sequence[Flag], prompts: Sequence[Prompt]) -> dict[str, Flag]:
    """Key of every prompt that a flag closes -> the first flag that does.

    What a stop flag rests on stays open under all of them, or nothing could ever end one.
    """
    closing = [flag for flag in flags if flag.severity is Severity.STOP and flag.closes]
    if not closing:
        return {}
    open_to_mend = {key for flag in closing for key in flag.keys}
    speaking = loudspeaker_steps(prompts)
    found: dict[str, Flag] = {}
    for flag in closing:
        harms = [_HARMS[name] for name in flag.closes if name in _HARMS]
        for prompt in prompts:
            if prompt.key not in open_to_mend and any(harm(prompt, speaking) for harm in harms):
                found.setdefault(prompt.key, flag)
    return found


def loudspeaker_steps(prompts: Sequence[Prompt]) -> frozenset[str]:
    """Steps that need a loudspeaker: those that a reading of an offset holds by name."""
    return frozenset(
        step
        for prompt in prompts
        if prompt.hold_for and prompt.point.startswith("offset")
        for step in prompt.hold_for
    )


def _is_sounding(prompt: Prompt, _: frozenset[str]) -> bool:
    return prompt.tone


def _has_capacitor(prompt: Prompt, _: frozenset[str]) -> bool:
    if prompt.kind != "square":
        return False
    _tone, capacitor, *_rest = prompt.point.split("/")
    return capacitor != _WITHOUT


def _needs_loudspeaker(prompt: Prompt, speaking: frozenset[str]) -> bool:
    return prompt.step in speaking


_HARMS: Mapping[str, Callable[[Prompt, frozenset[str]], bool]] = MappingProxyType(
    {"tone": _is_sounding, "capacitor": _has_capacitor, "loudspeaker": _needs_loudspeaker}
)
"""Member of `Flag.closes` -> whether a prompt would do that harm."""
