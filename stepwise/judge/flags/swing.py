"""Against physics: more volts or watts than the rails and the transformer can give."""

from __future__ import annotations

import math
from collections.abc import Iterator

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.sure import (
    MAINS_DRIFT,
    SURE,
    difference,
    size,
    surely_above,
    surely_below,
)
from stepwise.judge.flags.swing_suspect import suspect
from stepwise.quantities import Uncertain, format_estimate, format_value

_CREST = math.sqrt(2.0)
_AVERAGE_METER_ON_A_SQUARE = math.pi / (2.0 * math.sqrt(2.0))
"""What an average-responding meter shows of a square wave of 1 V: 1.111 (form factor of a
sine). Nothing between two rails reads more than this on either kind of meter."""
_BEST_EFFICIENCY = math.pi / 4.0
"""Class B at full swing: 78.5 %; textbook, Boylestad and Nashelsky chapter 12."""
_STIFFEST = 0.04
"""Least regulation of a transformer up to some 500 VA [1]: common practice, no source (small
ones give way by 8 % to 15 % at their rating)."""


def find(findings: Findings) -> Iterator[Flag]:
    """Clean and clipped levels against the rails; power against the transformer."""
    for level in findings.named("level"):
        yield from _swing(level, _CREST, findings)
    for level in findings.named("level_at_ten_percent"):
        if findings.first("level", **_place(level)) is not None:
            yield from _swing(level, 1.0 / _AVERAGE_METER_ON_A_SQUARE, findings)
    for power in findings.named("power"):
        yield from _transformer(power, findings)


def _place(result: Result) -> dict[str, str | None]:
    return {"step": result.step, "channel": result.channel, "load": result.load}


def _rail(level: Result, findings: Findings) -> Result | None:
    """The lower rail while the tone was on; without one, the lower rail at idle."""
    names = ("rail_plus", "rail_minus")
    loaded = findings.firsts(*names, **_place(level))
    if not loaded:
        loaded = [
            rail
            for name in names
            for rail in findings.named(name, load=None)
            if rail.channel in (None, level.channel)
        ]
    return min(loaded, key=lambda rail: abs(rail.value), default=None)


def _swing(level: Result, to_peak: float, findings: Findings) -> Iterator[Flag]:
    rail = _rail(level, findings)
    if rail is None:
        return
    peak = level.measure.scaled(to_peak)
    # With one rail and a capacitor in the output, the output stands at half of the rail.
    height = size(rail.measure).scaled(0.5 if "output_capacitor" in findings.facts else 1.0)
    # A rail read at idle may have been lower by what the mains has moved since.
    drift = 0.0 if rail.load is not None else MAINS_DRIFT * height.value
    if not surely_above(difference(peak, height), drift):
        return
    ratio = peak.value / height.value if height.value else math.inf
    # How high the rail, as it is read, would have to be for that swing.
    doubted = suspect(level, rail, abs(rail.value) * ratio, findings)
    beside = () if doubted.beside is None else (evidence.here(doubted.beside),)
    yield Flag(
        name="swing-above-rails",
        severity=Severity.WRONG,
        step=level.step,
        channel=level.channel,
        load=level.load,
        says=f"The output cannot swing to {format_estimate(peak, 'V')} peak on a "
        f"rail of {format_estimate(height, 'V')}"
        f"{evidence.channel_words(level)}: one of the two readings is wrong.",
        evidence=(
            evidence.of(level),
            evidence.of_measure("Its peak", peak, "V"),
            evidence.here(rail),
            *beside,
        ),
        likely=_slips_of_rail(ratio) if doubted.is_rail else _slips(ratio),
        next_try=_rail_again(rail, doubted.beside) if doubted.is_rail else _LEVEL_AGAIN,
        keys=evidence.keys_of(rail, level) if doubted.is_rail else evidence.keys_of(level, rail),
    )


_LEVEL_AGAIN = (
    "Take the level again first and say the range, such as “2.0 on 3 x10”; then the rail."
)


def _rail_again(rail: Result, beside: Result | None) -> str:
    tone = "with the tone on" if rail.load is not None else "without a tone"
    against = f": {_against(rail, beside)}" if beside is not None else ""
    return f"Take the rail again first, {tone}{against}. Then the level, and say its range."


def _against(rail: Result, beside: Result) -> str:
    """How far a rail is from its like."""
    if beside.name != rail.name:
        where = "on the rail across"
    else:
        where = "in another pass" if beside.load is not None else "at idle"
    return f"{evidence.height(rail)} stands beside {evidence.height(beside)} {where}"


def _slips(ratio: float) -> tuple[str, ...]:
    slips = (
        ("Read on the wrong range, or a factor of ten taken twice", 3.0),
        ("Peak-to-peak volts typed as RMS (a factor of 2.8)", 2.0),
        ("Peak volts typed as RMS (a factor of 1.4)", 1.0),
    )
    # A swing that fills the rails times the slip: the nearest factor is the likeliest.
    fitting = [text for text, least in slips if ratio >= least]
    rest = [text for text, least in slips if ratio < least]
    return (*fitting, *rest, *_MISREAD)


_MISREAD = (
    "The rail was misread, or a figure of it typed wrongly",
    "The rail was read at another point or board, or over a bad contact",
)


def _slips_of_rail(ratio: float) -> tuple[str, ...]:
    """The rail is what stands alone: its slips come before those of the level."""
    return (*_MISREAD, *(text for text in _slips(ratio) if text not in _MISREAD))


def _transformer(power: Result, findings: Findings) -> Iterator[Flag]:
    rating = findings.facts.get("transformer_rating")
    if rating is None:
        return
    sag = findings.first("sag", point="secondary_volts", **_place(power))
    most = _most_watts(rating, sag.measure if sag is not None else None)
    if not surely_above(power.measure, most):
        return
    yield Flag(
        name="power-above-transformer",
        severity=Severity.WRONG,
        step=power.step,
        channel=power.channel,
        load=power.load,
        says=f"A transformer of {format_value(rating, 'VA')} cannot give "
        f"{evidence.shown(power)}{evidence.load_words(power)}"
        f"{evidence.channel_words(power)} with so little sag.",
        evidence=(
            evidence.of(power),
            *([evidence.of(sag)] if sag is not None else ()),
            evidence.of_value("Most that the transformer could give", most, "W"),
        ),
        likely=(
            "The level was read on the wrong range, or is peak or peak-to-peak",
            "The load is higher than its mark, or not connected",
            "The transformer is larger than the bench file says",
        ),
        next_try="Take the level again and say the range; then, tone off, hold a hand near the "
        "load: is it warm at all?",
        keys=evidence.keys_of(power, sag),
    )


def _most_watts(rating: float, sag: Uncertain | None) -> float:
    """Power at the load that a transformer can give while it sags as it does [W].

    Its volts fall in proportion to its current (sag over regulation, times rated current), and
    no class-B stage makes more of them than 78.5 %. A winding that falls to a half gives most
    of all (maximum power transfer), which bounds it where no sag was read.
    """
    share = 0.5
    if sag is not None and not surely_below(sag, 0.0):
        # No fall at all still lets it carry what the meter could not tell from none.
        share = min(0.5, max((sag.value + SURE * sag.standard_uncertainty) / 100.0, MAINS_DRIFT))
    return _BEST_EFFICIENCY * (1.0 - share) * share / _STIFFEST * rating
