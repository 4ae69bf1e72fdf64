"""Which power a claim speaks of: one rule for limits, and for the share of it that is there.

A claim made well into clipping is one about the power at 10 %; any other is one about the clean
power. A limit that names the claim goes with it, whichever of the two a procedure writes it at, so
that one procedure serves both kinds of claim.
"""

from __future__ import annotations

from typing import TypeVar

import msgspec

from stepwise.bench import Claim
from stepwise.judge import NOTED, Limit, LimitFields, Verdict, judge, named_in
from stepwise.quantities import Uncertain
from stepwise.steps.clip_pass import ClipPass, Sourced
from stepwise.steps.scene import CLAIMED

_POWERS = ("power", "power_at_ten_percent")

L = TypeVar("L", bound=msgspec.Struct)


def claim_limits(limits: L | None, claim: Claim | None) -> L | None:
    """The limits of a clip test with the one that names the claim at what the claim is about.

    A limit that the procedure states there without naming the claim stays as it is.

    Args:
        limits: As the procedure states them, by result name.
        claim: For the load of the pass, where there is one.
    """
    if limits is None or claim is None:
        return limits
    stated: dict[str, LimitFields | None] = {name: getattr(limits, name) for name in _POWERS}
    speaking = {name: each for name, each in stated.items() if each and CLAIMED in named_in(each)}
    if not speaking:
        return limits
    kept = {name: None if name in speaking else each for name, each in stated.items()}
    about = claim.is_about
    if kept[about] is None:
        kept[about] = speaking.get(about) or next(iter(speaking.values()))
    return msgspec.structs.replace(limits, **kept)


def work_out_share(turn: ClipPass, clean: Sourced | None, loud: Sourced | None) -> None:
    """Enter what was had of the claim, and say where the power it is about was not read."""
    claim = turn.claim
    if claim is None:
        return
    about = {"power": clean, "power_at_ten_percent": loud}[claim.is_about]
    had = about or clean
    if had is None:
        return
    power, key = had
    share = power.scaled(100.0 / claim.power)
    turn.work.put("claim_ratio", "Share of the claim", share, "%", (key,))
    if about is None and not is_met(power, claim):
        # Clean power may meet a claim at 10 %, and never misses it.
        turn.work.rejudge(NOTED)
        turn.work.remark(
            f"The claim{claim.at} cannot be judged without the level at 10 %; this is the share "
            "that the clean power has of it."
        )


def is_met(power: Uncertain, claim: Claim) -> bool:
    """Whether a power [W] surely reaches what is claimed."""
    return claim_verdict(power, claim) is Verdict.IN_SPEC


def claim_verdict(power: Uncertain, claim: Claim) -> Verdict:
    """What comes of a claim where this power [W] is the one that it is about."""
    return judge(power, Limit(claim.power, None, "W", "as claimed")).verdict
