"""Contradiction: what goes into the board and what comes out of it as signal and heat."""

from __future__ import annotations

import math
from collections.abc import Iterator

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Evidence, Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.sure import surely_above, surely_below
from stepwise.quantities import Uncertain, from_terms

_CLASS_B = 25.0 * math.pi
"""[%] Efficiency of class B at full swing, 78.5: textbook, Boylestad and Nashelsky chapter 12."""
_LEAST_THROUGH = 0.4
"""Least share of the mains power that reaches rails and load at high output [1]: transformer,
rectifier and idle current take 15 % to 40 %. Common practice, no source."""
_MUCH = 20.0
"""[W] Below this output idle losses outweigh the rest, and the share says nothing."""


def find(findings: Findings) -> Iterator[Flag]:
    """Efficiency above that of class B; output and loss against the power from the mains."""
    for efficiency in findings.named("efficiency"):
        if surely_above(efficiency.measure, _CLASS_B):
            yield _too_good(efficiency, findings)
    for power in findings.named("power"):
        yield from _balance(power, findings)


def _too_good(efficiency: Result, findings: Findings) -> Flag:
    beside = evidence.beside(efficiency, findings, "power", "supply_power", "dissipation")
    return _flag(
        efficiency,
        "More comes out than a class-AB stage can make of what goes in: its efficiency never "
        "passes 78.5 %",
        (evidence.of(efficiency), *map(evidence.of, beside)),
        efficiency.basis[::-1],
    )


def _balance(power: Result, findings: Findings) -> Iterator[Flag]:
    loss, taken = None, None
    for each in evidence.beside(power, findings, "dissipation"):
        loss = each
    for each in findings.named("input_power"):
        if each.channel in (None, power.channel) and each.load in (None, power.load):
            taken = each
    if loss is None or taken is None or power.value < _MUCH:
        return
    # The same readings stand behind output and loss: what they share adds before it squares.
    terms = [*power.measure.terms.items(), *loss.measure.terms.items()]
    spent = from_terms(power.value + loss.value, terms)
    numbers = (
        evidence.of(power),
        evidence.of(loss),
        evidence.of_measure("Output and loss together", spent, "W"),
        evidence.of(taken),
    )
    keys = (*taken.basis, *power.basis)
    if surely_above(_less(spent, taken.measure, 1.0), 0.0):
        yield _flag(
            power, "Output and loss together are more than the supply takes in", numbers, keys
        )
    elif surely_below(_less(spent, taken.measure, _LEAST_THROUGH), 0.0):
        yield _flag(
            power, "Far more goes in than comes out as signal and heat of the stage", numbers, keys
        )


def _less(spent: Uncertain, taken: Uncertain, share: float) -> Uncertain:
    part = taken.scaled(share)
    terms = [*spent.terms.items(), *((name, -term) for name, term in part.terms.items())]
    return from_terms(spent.value - part.value, terms)


def _flag(at: Result, says: str, numbers: tuple[Evidence, ...], keys: tuple[str, ...]) -> Flag:
    return Flag(
        name="energy-not-conserved",
        severity=Severity.WRONG,
        step=at.step,
        channel=at.channel,
        load=at.load,
        says=f"{says}{evidence.channel_words(at)}{evidence.load_words(at)}.",
        evidence=numbers,
        likely=(
            "The level or a rail was read on the wrong range",
            "The power taken in was read with the tone off, or with another load",
            "The stage is not of class AB, or it oscillates besides the tone",
        ),
        next_try="Tone on: take the power taken in again, then the level, naming the range.",
        keys=tuple(dict.fromkeys(keys)),
    )
