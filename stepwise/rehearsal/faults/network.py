"""Faults of the amplifier's network: capacitors, feedback, loop, output inductor, slope."""

from __future__ import annotations

from dataclasses import replace

from stepwise.rehearsal.amplifier import Channel
from stepwise.rehearsal.faults.fault import CLEAR, Fault, Whose, towards
from stepwise.rehearsal.rig import Rig


def _small_coupling_capacitor(rig: Rig, severity: float) -> Rig:
    """Towards 0.27 µF: a corner near 26 Hz with 22 kilohms."""

    def change(channel: Channel) -> Channel:
        farads = towards(channel.coupling_farads, 0.27e-6, severity)
        return replace(channel, coupling_farads=farads)

    return rig.with_each_channel(change)


def _dried_coupling_capacitor(rig: Rig, severity: float) -> Rig:
    """Towards 0.15 µF on the last channel alone."""

    def change(channel: Channel) -> Channel:
        farads = towards(channel.coupling_farads, 0.15e-6, severity)
        return replace(channel, coupling_farads=farads)

    return rig.with_last_channel(change)


def _small_feedback_capacitor(rig: Rig, severity: float) -> Rig:
    """Towards a corner of 32 Hz in the feedback's leg, on top of the input's own."""

    def change(channel: Channel) -> Channel:
        return replace(channel, feedback_leg_hertz=towards(1.5, 32.0, severity))

    return rig.with_each_channel(change)


def _large_feedback_capacitor(rig: Rig, severity: float) -> Rig:
    """Towards a corner of 13 kHz across the feedback resistor."""

    def change(channel: Channel) -> Channel:
        return replace(channel, feedback_hertz=towards(400e3, 13e3, severity))

    return rig.with_each_channel(change)


def _wrong_compensation(rig: Rig, severity: float) -> Rig:
    """A loop that crosses over low and with little phase left: a hump near 50 kHz."""

    def change(channel: Channel) -> Channel:
        return replace(
            channel,
            loop_hertz=towards(channel.loop_hertz, 120e3, severity),
            second_pole_hertz=towards(channel.second_pole_hertz, 24e3, severity),
        )

    return rig.with_each_channel(change)


def _missing_output_inductor(rig: Rig, severity: float) -> Rig:
    """Inductor bridged or left out: a capacitor across the load reaches into the loop."""

    def change(channel: Channel) -> Channel:
        return replace(channel, inductor_henries=channel.inductor_henries * (1.0 - severity))

    return rig.with_each_channel(change)


def _oscillates_with_capacitor(rig: Rig, severity: float) -> Rig:
    """No inductor, and a loop too fast for its second pole: with a capacitor it breaks out."""

    def change(channel: Channel) -> Channel:
        return replace(
            channel,
            inductor_henries=channel.inductor_henries * (1.0 - severity),
            loop_hertz=towards(channel.loop_hertz, 1.9e6, severity),
            second_pole_hertz=towards(channel.second_pole_hertz, 120e3, severity),
        )

    return rig.with_each_channel(change)


def _oscillates_at_idle(rig: Rig, severity: float) -> Rig:
    """Radio frequency at the output without a signal, and a current that nothing explains."""

    def change(channel: Channel) -> Channel:
        return replace(
            channel,
            oscillation_volts=0.9 * severity,
            quiescent_amps=channel.quiescent_amps * (1.0 + 5.0 * severity),
        )

    return rig.with_last_channel(change)


def _slew_limited(rig: Rig, severity: float) -> Rig:
    """Down to 0.35 V/µs: 20 kHz is clean at 2 V RMS and a triangle at full level."""

    def change(channel: Channel) -> Channel:
        return replace(channel, slew_volts_per_s=towards(12e6, 0.35e6, severity))

    return rig.with_each_channel(change)


NETWORK_FAULTS = (
    Fault(
        "small-coupling-capacitor",
        Whose.BOARD,
        "input coupling capacitor too small: the bass rolls off early, low squares tilt",
        ("early-roll-off-low",),
        _small_coupling_capacitor,
    ),
    Fault(
        "dried-coupling-capacitor",
        Whose.BOARD,
        "coupling capacitor of the last channel dried out: its bass is gone, the other's not",
        ("early-roll-off-low", "channel-response-differs"),
        _dried_coupling_capacitor,
        stated=CLEAR,
    ),
    Fault(
        "small-feedback-capacitor",
        Whose.BOARD,
        "capacitor in the feedback's leg too small: a second corner, the low end too steep",
        ("early-roll-off-low", "roll-off-steep-low"),
        _small_feedback_capacitor,
    ),
    Fault(
        "large-feedback-capacitor",
        Whose.BOARD,
        "capacitor across the feedback too large: the treble rolls off early",
        ("early-roll-off-high",),
        _large_feedback_capacitor,
    ),
    Fault(
        "wrong-compensation",
        Whose.BOARD,
        "wrong compensation capacitor: a hump above the band, edges that ring",
        ("response-hump", "overshoot-too-much"),
        _wrong_compensation,
    ),
    Fault(
        "missing-output-inductor",
        Whose.BOARD,
        "output inductor left out: square waves ring with a capacitor across the load",
        ("rings-with-capacitor", "rings-without-end"),
        _missing_output_inductor,
    ),
    Fault(
        "oscillates-with-capacitor",
        Whose.BOARD,
        "loop too fast: it oscillates with a capacitor across the load",
        ("rings-without-end",),
        _oscillates_with_capacitor,
    ),
    Fault(
        "oscillates-at-idle",
        Whose.BOARD,
        "oscillation at idle on the last channel: noise, current and heat without a signal",
        ("oscillation-at-idle",),
        _oscillates_at_idle,
        stated=CLEAR,
    ),
    Fault(
        "slew-limited",
        Whose.BOARD,
        "output too slow: full treble becomes a triangle, small signals pass",
        ("slew-limited",),
        _slew_limited,
    ),
)
"""In the order in which they are listed."""
