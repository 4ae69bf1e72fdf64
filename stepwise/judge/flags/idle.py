"""At idle: oscillation that no signal explains, and idle current that does not fit the heat."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from stepwise.judge.findings import Findings, Result
from stepwise.judge.flag import Flag, Severity
from stepwise.judge.flags import evidence
from stepwise.judge.flags.sure import difference, surely_above
from stepwise.judge.verdict import Verdict
from stepwise.quantities import format_value

_MUCH_CURRENT = 0.25
"""[A] Class-AB stages idle at 20 mA to 100 mA a pair of devices: common practice, no source."""
_MUCH_NOISE = 0.05
"""[V] Hum of a poor board is some millivolts, an oscillation volts: common practice, no source."""
_HOT = 60.0
"""[C] Too hot to hold: common practice, no source."""
_ROOM = 25.0
"""[C] Ambient of a test, 16 CFR 432.3 (d)."""
_WARM = 20.0
"""[K] Above the room: what no stage that draws next to nothing reaches."""
_COLD_CURRENT = 0.005
"""[A] Below this a class-AB stage has no idle current at all: common practice, no source."""
_TWICE = 2.0
"""Factor between two channels' idle currents, or hot and cold of one, that trimmers and a bias
that follows the heat do not explain: common practice, no source."""


def find(findings: Findings) -> Iterator[Flag]:
    """Signs of oscillation gathered by channel; currents against temperatures."""
    for channel in _channels(findings):
        signs = _signs(findings, channel)
        if signs:
            yield _oscillates(signs)
    yield from _against_heat(findings)
    yield from _unlike(findings)
    yield from _runs_away(findings)


def _channels(findings: Findings) -> list[str | None]:
    names = ("idle_current", "residual_noise", "idle_power")
    return list(dict.fromkeys(each.channel for name in names for each in findings.named(name)))


def _signs(findings: Findings, channel: str | None) -> list[Result]:
    """What only an oscillation, or a bias run away, explains."""
    signs = []
    for current in findings.named("idle_current", channel=channel):
        if _beyond(current, _MUCH_CURRENT):
            signs.append(current)
    for power in findings.named("idle_power", channel=channel):
        if power.judgement.verdict is Verdict.OUT_OF_SPEC and not signs:
            signs.append(power)
    for noise in findings.named("residual_noise", channel=channel):
        if _beyond(noise, _MUCH_NOISE):
            signs.append(noise)
    if signs:
        signs.extend(
            heat for heat in _idle_heats(findings, channel) if surely_above(heat.measure, _HOT)
        )
    return signs


def _beyond(result: Result, edge: float) -> bool:
    if result.judgement.limit is not None:
        return result.judgement.verdict is Verdict.OUT_OF_SPEC
    return surely_above(result.measure, edge)


def _idle_heats(findings: Findings, channel: str | None) -> list[Result]:
    """Heatsink temperatures that were taken before any tone made power."""
    heats = []
    for result in findings.results:
        if result.name == "power":
            break
        of_channel = result.name == "temperature" and result.channel in (None, channel)
        if of_channel and "heatsink" in (result.point or ""):
            heats.append(result)
    return heats


def _oscillates(signs: list[Result]) -> Flag:
    first = signs[0]
    kinds = {each.name for each in signs}
    is_sure = len(kinds) > 1
    if kinds == {"residual_noise"}:
        return _noisy(first)
    oscillation = "The stage oscillates, at a frequency that nobody hears"
    bias = "The bias is set too high, or its sensing transistor is off the heatsink"
    device = "An output device leaks, or is of a wrong type"
    return Flag(
        name="oscillation-at-idle",
        severity=Severity.STOP if is_sure else Severity.LOOK,
        step=first.step,
        channel=first.channel,
        load=None,
        says=f"{_named(first)}{''.join(f', {_named(each)}' for each in signs[1:2])} without a "
        f"signal{evidence.channel_words(first)}: does it oscillate?",
        evidence=tuple(map(evidence.of, signs)),
        likely=(oscillation, bias, device) if is_sure else (bias, oscillation, device),
        next_try="Oscilloscope across the output, no signal, fastest time base. If there is a "
        "wave, switch off. If there is none, set the idle current again from cold.",
        keys=evidence.keys_of(*signs),
        closes=("capacitor", "loudspeaker") if is_sure else (),
        reopens="Take the idle readings again; it opens when no more than one of them is out."
        if is_sure
        else "",
    )


def _noisy(noise: Result) -> Flag:
    """Volts without a signal and no current that is odd: an oscillation, or hum."""
    return Flag(
        name="oscillation-at-idle",
        severity=Severity.LOOK,
        step=noise.step,
        channel=noise.channel,
        load=None,
        says=f"{_named(noise)} without a signal{evidence.channel_words(noise)}: does it "
        "oscillate, or hum?",
        evidence=(evidence.of(noise), *evidence.limit_of(noise)),
        likely=(
            "The stage oscillates, at a frequency that nobody hears",
            "Hum: a loop through two earths, an input that is open, or a reservoir that is dry",
            "The meter's leads catch the field of the transformer",
        ),
        next_try="Oscilloscope across the output, no signal, fastest time base. If there is a "
        "wave, switch off. If it is hum, short the input at the board's own terminals and read "
        "again.",
        keys=evidence.keys_of(noise),
    )


def _named(sign: Result) -> str:
    return f"{sign.label}: {evidence.shown(sign)}"


def _against_heat(findings: Findings) -> Iterator[Flag]:
    """Warm without a current."""
    currents = list(findings.named("idle_current"))
    if any(current.value > _COLD_CURRENT for current in currents):
        return  # another channel on the same heatsink may warm it
    for current in currents[:1]:
        for heat in _idle_heats(findings, current.channel)[-1:]:
            if surely_above(heat.measure, _ROOM + _WARM):
                yield _unfit(current, heat)


def _unlike(findings: Findings) -> Iterator[Flag]:
    """One channel's idle current far from the other's."""
    for first, second in pairwise(findings.named("idle_current")):
        low, high = sorted((first, second), key=lambda each: each.value)
        spread = difference(high.measure, low.measure.scaled(_TWICE))
        is_pair = first.step == second.step and first.channel != second.channel
        if is_pair and surely_above(spread, 2.0 * _COLD_CURRENT):
            yield _differ(high, low)


def _runs_away(findings: Findings) -> Iterator[Flag]:
    """An idle current that grows with the heat by more than a bias that follows it lets it."""
    for hot in findings.named("idle_current_hot"):
        cold = findings.first("idle_current", channel=hot.channel)
        if cold is None:
            continue
        grown = difference(hot.measure, cold.measure.scaled(_TWICE))
        if surely_above(grown, 0.0):
            yield _run_away(hot, cold)


def _run_away(hot: Result, cold: Result) -> Flag:
    times = format_value(hot.value / cold.value, "", digits=2) if cold.value > 0 else "many"
    return Flag(
        name="idle-current-against-heat",
        severity=Severity.WRONG,
        step=hot.step,
        channel=hot.channel,
        load=None,
        says=f"The idle current is {times} times what it was cold{evidence.channel_words(hot)}: "
        "the bias does not follow the heat.",
        evidence=(evidence.of(cold), evidence.of(hot)),
        likely=(
            "No paste under the output devices: they are far hotter than the heatsink",
            "The transistor that senses the heat is off its place",
            "The cold current was read before the board had settled",
        ),
        next_try="Turn down and watch the current: if it goes on rising without a tone, switch "
        "off. When cool, look at paste and at the sensing transistor.",
        keys=evidence.keys_of(hot, cold),
    )


def _unfit(current: Result, heat: Result) -> Flag:
    return Flag(
        name="idle-current-against-heat",
        severity=Severity.LOOK,
        step=current.step,
        channel=current.channel,
        load=None,
        says=f"The heatsink is at {evidence.shown(heat)} at idle, yet next to "
        f"no idle current was read: {evidence.shown(current)}.",
        evidence=(evidence.here(current), evidence.here(heat)),
        likely=(
            "The idle current was read across another resistor, or millivolts were typed for it",
            "The stage oscillates: current flows that the meter does not show",
            "The heatsink is warm from an earlier test",
        ),
        next_try="Take the idle current again, when the board has been on for ten minutes; then "
        "the temperature.",
        keys=evidence.keys_of(current, heat),
    )


def _differ(high: Result, low: Result) -> Flag:
    return Flag(
        name="idle-currents-differ",
        severity=Severity.LOOK,
        step=high.step,
        channel=high.channel,
        load=None,
        says=f"The idle current is {evidence.shown(high)}"
        f"{evidence.channel_words(high)} and {evidence.shown(low)}"
        f"{evidence.channel_words(low)}: the two should be alike.",
        evidence=(evidence.here(high), evidence.here(low)),
        likely=(
            "The bias trimmer of one channel was not set",
            "One of the two was read across another resistor",
            "The bias of one channel does not follow its heatsink",
        ),
        next_try="Take both again from cold, at the same resistor of each channel; then set the "
        "trimmer of the one that is off.",
        keys=evidence.keys_of(high, low),
    )
