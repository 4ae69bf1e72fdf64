"""The supply under load: which part of it gives way, and how near its end it is."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.sure import difference, surely_above, surely_below
from stepwise.judge.verdict import Verdict

_MUCH_SAG = 20.0
"""[%] Above this a supply is at its end, where no limit is given: common practice, no source."""
_OF_TRANSFORMER = 0.25
"""The winding's sag over the rail's [1] from which the transformer gives way. A rail charged in
short pulses falls by the peak of their drop while the meter on the winding follows the mean: with
stiff reservoirs the share is near 0.4, with the winding at fault or not. A weak reservoir or
bridge lowers the rail alone. Own working from charge balance of a rectifier."""
_BY_ITSELF = 0.03
"""Share of a rail by which one may sag more than the other [1]: reservoirs 20 % apart change it
by half of a tenth of ripple, 1 %, and diodes by as much. Common practice, no source."""


def find(findings: Findings) -> Iterator[Flag]:
    """One flag a step for one supply giving way; one for a transformer past its rating."""
    for step, sags in _too_much(findings).items():
        yield _which_part(step, sags, findings)
    loads: dict[str, Result] = {}
    for load in findings.named("transformer_load"):
        if surely_above(load.measure, 100.0) and load.value > _value(loads.get(load.step)):
            loads[load.step] = load
    yield from map(_overloaded, loads.values())
    yield from _one_rail(findings)


def _value(result: Result | None) -> float:
    return result.value if result is not None else float("-inf")


def _too_much(findings: Findings) -> dict[str, list[Result]]:
    """Sags that are too much, gathered by step: all channels hang on one supply."""
    groups: dict[str, list[Result]] = {}
    for sag in findings.named("sag"):
        limited = sag.judgement.limit is not None
        beyond = surely_above(sag.measure, _MUCH_SAG)
        if sag.judgement.verdict is Verdict.OUT_OF_SPEC if limited else beyond:
            groups.setdefault(sag.step, []).append(sag)
    return groups


def _which_part(step: str, sags: list[Result], findings: Findings) -> Flag:
    worst = max(sags, key=lambda sag: sag.value)
    in_pass = list(findings.named("sag", step=step, channel=worst.channel, load=worst.load))
    winding = next((sag for sag in in_pass if sag.point == "secondary_volts"), None)
    rails = [sag for sag in in_pass if sag.point != "secondary_volts"]
    deepest = max(rails, key=lambda sag: sag.value, default=None)
    name, part, likely = "supply-sag", "The supply gives", _UNKNOWN
    if winding is not None and deepest is not None:
        # Both sags are read against their own idle value; what is left of the share must be
        # told from its edge beyond what the meters leave open.
        gap = difference(winding.measure, deepest.measure.scaled(_OF_TRANSFORMER))
        if surely_above(gap, 0.0):
            name, part, likely = "transformer-limit", "The transformer gives", _TRANSFORMER
        elif surely_below(gap, 0.0):
            name, part, likely = "reservoir-weak", "Rectifier and reservoirs give", _RESERVOIR
    elif winding is not None:
        name, part, likely = "transformer-limit", "The transformer gives", _TRANSFORMER
    shown = (*in_pass, *(sag for sag in sags if sag not in in_pass))
    return Flag(
        name=name,
        severity=Severity.LOOK,
        step=step,
        channel=None,
        load=None,
        says=f"{part} way by {evidence.shown(worst)} under load; what the "
        "board could do on a stiffer supply stays unseen.",
        evidence=(*map(evidence.here, shown), *evidence.limit_of(worst)),
        likely=likely,
        next_try=_NEXT[name],
        keys=evidence.keys_of(*([winding] if winding else []), worst)[::-1],
    )


_UNKNOWN = (
    "Transformer rated too low for this load",
    "Reservoir capacitors small, aged or dry",
    "Thin leads or a poor contact between transformer and board",
)
_TRANSFORMER = (
    "Transformer rated too low for this load, or marked higher than it is",
    "Thin or long leads to the primary, a lamp or a variable transformer still in the feed",
    "The mains itself is weak at this outlet",
)
_RESERVOIR = (
    "Reservoir capacitors small, aged or dry",
    "A diode of the bridge open or its joint poor",
    "Thin leads or a poor contact between rectifier and board",
)
_NEXT = {
    "supply-sag": "Read the secondary with the tone on as well: if it falls with the rails, the "
    "transformer is the limit; if it hardly moves, look at rectifier and reservoirs.",
    "transformer-limit": "Try the board on a larger transformer before you judge it; until then "
    "call its power that of board and transformer together.",
    "reservoir-weak": "Look at the ripple of the rails with the oscilloscope, tone on. More than "
    "a tenth of the rail: power off, discharge, and try a new reservoir beside the old one.",
}


def _overloaded(load: Result) -> Flag:
    return Flag(
        name="transformer-overloaded",
        severity=Severity.LOOK,
        step=load.step,
        channel=None,
        load=None,
        says=f"At this output the transformer gives {evidence.shown(load)} of "
        "its rating: good for a short test, not for an evening.",
        evidence=(evidence.here(load),),
        likely=(
            "The board can do more than this transformer can give for long",
            "The rating in the bench file is that of another transformer",
        ),
        next_try="Keep the tone short, let the transformer cool, and use a larger one for a test "
        "that lasts.",
        keys=load.basis,
    )


def _one_rail(findings: Findings) -> Iterator[Flag]:
    """The rail that falls before the other, or stands lower than it: the worst of a step."""
    worst: dict[str, tuple[float, Result, Result]] = {}
    for plus, minus in _pairs(findings):
        gap = difference(plus.measure, minus.measure)
        if plus.name == "sag":
            allowed = 100.0 * _BY_ITSELF
        else:
            gap = difference(plus.measure, minus.measure.scaled(-1.0))
            allowed = 2.0 * _BY_ITSELF * abs(plus.value)
        if not (surely_above(gap, allowed) or surely_below(gap, -allowed)):
            continue
        excess = abs(gap.value) / allowed if allowed else 0.0
        if excess > worst.get(plus.step, (0.0,))[0]:
            worst[plus.step] = (excess, plus, minus)
    for _, plus, minus in worst.values():
        yield _weak(plus, minus)


def _pairs(findings: Findings) -> Iterator[tuple[Result, Result]]:
    """Sag of both rails in one pass; both rails at idle."""
    for plus in findings.named("sag", point="rail_plus"):
        place = {"step": plus.step, "channel": plus.channel, "load": plus.load}
        minus = findings.first("sag", point="rail_minus", **place)
        if minus is not None:
            yield plus, minus
    for plus in findings.named("rail_plus", load=None):
        minus = findings.first("rail_minus", step=plus.step, channel=plus.channel, load=None)
        # A negative rail typed without its sign is a slip of its own, not a weak rail.
        if minus is not None and minus.value < 0.0 < plus.value:
            yield plus, minus


def _weak(plus: Result, minus: Result) -> Flag:
    sags = plus.name == "sag"
    lower_is_plus = plus.value > minus.value if sags else abs(plus.value) < abs(minus.value)
    weak, name = (plus, "positive") if lower_is_plus else (minus, "negative")
    other = minus if weak is plus else plus
    seen = "falls further under load" if sags else "stands lower at idle"
    return Flag(
        name="one-rail-weak",
        severity=Severity.WRONG,
        step=plus.step,
        channel=None,
        load=plus.load,
        says=f"The {name} rail {seen} than the other: "
        f"{evidence.height(weak)} against "
        f"{evidence.height(other)}. It clips first.",
        evidence=(evidence.here(plus), evidence.here(minus)),
        likely=(
            f"The reservoir of the {name} rail is dry, leaky or has a poor joint",
            f"A diode or a winding of the {name} rail is open or of high resistance",
            "Something draws current from one rail only: a regulator, a fan, an offset",
        ),
        next_try=f"Take the {name} rail again. If it stays, power off, discharge, and compare "
        "both reservoirs and the four diodes with the meter.",
        keys=evidence.keys_of(weak, other) if not sags else _loaded_first(weak, other),
    )


def _loaded_first(weak: Result, other: Result) -> tuple[str, ...]:
    """A sag rests on an idle and a loaded reading: the loaded one is the quicker to take."""
    return tuple(dict.fromkeys((*weak.basis[::-1], *other.basis[::-1])))
