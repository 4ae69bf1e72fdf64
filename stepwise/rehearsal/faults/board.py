"""Faults of the amplifier board: capacitors, loop, output stage, protection, cooling."""

from __future__ import annotations

from dataclasses import replace

from stepwise.rehearsal.amplifier import Channel
from stepwise.rehearsal.faults.fault import Fault, Whose
from stepwise.rehearsal.heat import Cooling
from stepwise.rehearsal.rig import Rig


def _towards(sound: float, faulty: float, severity: float) -> float:
    """From one value to another by ratio, so that half way is half of the harm."""
    return float(sound ** (1.0 - severity) * faulty**severity)


def _small_coupling_capacitor(rig: Rig, severity: float) -> Rig:
    """Towards 0.27 µF: a corner near 26 Hz with 22 kilohms."""

    def change(channel: Channel) -> Channel:
        farads = _towards(channel.coupling_farads, 0.27e-6, severity)
        return replace(channel, coupling_farads=farads)

    return rig.with_each_channel(change)


def _dried_coupling_capacitor(rig: Rig, severity: float) -> Rig:
    """Towards 0.15 µF on the last channel alone."""

    def change(channel: Channel) -> Channel:
        farads = _towards(channel.coupling_farads, 0.15e-6, severity)
        return replace(channel, coupling_farads=farads)

    return rig.with_last_channel(change)


def _small_feedback_capacitor(rig: Rig, severity: float) -> Rig:
    """Towards a corner of 32 Hz in the feedback's leg, on top of the input's own."""

    def change(channel: Channel) -> Channel:
        return replace(channel, feedback_leg_hertz=_towards(1.5, 32.0, severity))

    return rig.with_each_channel(change)


def _large_feedback_capacitor(rig: Rig, severity: float) -> Rig:
    """Towards a corner of 13 kHz across the feedback resistor."""

    def change(channel: Channel) -> Channel:
        return replace(channel, feedback_hertz=_towards(400e3, 13e3, severity))

    return rig.with_each_channel(change)


def _wrong_compensation(rig: Rig, severity: float) -> Rig:
    """A loop that crosses over low and with little phase left: a hump near 50 kHz."""

    def change(channel: Channel) -> Channel:
        return replace(
            channel,
            loop_hertz=_towards(channel.loop_hertz, 120e3, severity),
            second_pole_hertz=_towards(channel.second_pole_hertz, 24e3, severity),
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
            loop_hertz=_towards(channel.loop_hertz, 1.9e6, severity),
            second_pole_hertz=_towards(channel.second_pole_hertz, 120e3, severity),
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
        return replace(channel, slew_volts_per_s=_towards(12e6, 0.35e6, severity))

    return rig.with_each_channel(change)


def _dc_offset(rig: Rig, severity: float) -> Rig:
    """Up to 0.18 V at the first channel."""
    first, *others = rig.board.channels
    faulty = replace(first, offset_volts=first.offset_volts + 0.18 * severity)
    return rig.with_channels((faulty, *others))


def _harmful_offset(rig: Rig, severity: float) -> Rig:
    """Up to -6 V at the last channel: a shorted device."""

    def change(channel: Channel) -> Channel:
        return replace(channel, offset_volts=channel.offset_volts - 6.0 * severity)

    return rig.with_last_channel(change)


def _current_limit(rig: Rig, severity: float) -> Rig:
    """Down to a peak of 4.2 A: enough for 8 ohm, not for 4."""

    def change(channel: Channel) -> Channel:
        return replace(channel, limit_amps=_towards(9.0, 4.2, severity))

    return rig.with_each_channel(change)


def _asymmetric_clipping(rig: Rig, severity: float) -> Rig:
    """Up to 9 V lost above the positive half: a driver without its bootstrap."""

    def change(channel: Channel) -> Channel:
        return replace(channel, drop_plus_volts=channel.drop_plus_volts + 9.0 * severity)

    return rig.with_each_channel(change)


def _gain_mismatch(rig: Rig, severity: float) -> Rig:
    """Up to 3 dB less gain in the last channel."""

    def change(channel: Channel) -> Channel:
        return replace(channel, gain=channel.gain * 10.0 ** (-3.0 * severity / 20.0))

    return rig.with_last_channel(change)


def _high_output_impedance(rig: Rig, severity: float) -> Rig:
    """Up to 1.2 ohm between the feedback point and the terminals: a burnt relay contact."""

    def change(channel: Channel) -> Channel:
        return replace(channel, wiring_ohms=_towards(channel.wiring_ohms, 1.2, severity))

    return rig.with_last_channel(change)


def _late_protection(rig: Rig, severity: float) -> Rig:
    """The relay closes at once and lets go after seconds; the thump goes through."""
    board = rig.board
    slow = replace(
        board,
        switch_on_delay_s=_towards(board.switch_on_delay_s, 0.04, severity),
        quiet_after_s=_towards(board.quiet_after_s, 6.0, severity),
    )

    def change(channel: Channel) -> Channel:
        return replace(channel, thump_volts=channel.thump_volts + 5.0 * severity)

    return replace(rig, board=slow).with_each_channel(change)


def _high_idle_current(rig: Rig, severity: float) -> Rig:
    """Up to fourteen times the idle current: a bias that was set by the wrong resistor."""

    def change(channel: Channel) -> Channel:
        return replace(channel, quiescent_amps=channel.quiescent_amps * 14.0**severity)

    return rig.with_each_channel(change)


def _with_cooling(rig: Rig, cooling: Cooling) -> Rig:
    return replace(rig, board=replace(rig.board, cooling=cooling))


def _missing_heatsink_paste(rig: Rig, severity: float) -> Rig:
    """Devices that stand far above their heatsink, whose sensor knows nothing of it."""
    cooling = rig.board.cooling
    ohms = _towards(cooling.device_kelvin_per_watt, 3.0, severity)
    return _with_cooling(rig, replace(cooling, device_kelvin_per_watt=ohms))


def _stopped_fan(rig: Rig, severity: float) -> Rig:
    """A heatsink made for moving air, in still air: three times its thermal resistance."""
    cooling = rig.board.cooling
    still = cooling.heatsink_kelvin_per_watt * 3.0**severity
    return _with_cooling(rig, replace(cooling, heatsink_kelvin_per_watt=still))


BOARD_FAULTS = (
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
    ),
    Fault(
        "slew-limited",
        Whose.BOARD,
        "output too slow: full treble becomes a triangle, small signals pass",
        ("slew-limited",),
        _slew_limited,
    ),
    Fault(
        "dc-offset",
        Whose.BOARD,
        "direct voltage at the first channel's output",
        ("dc-offset",),
        _dc_offset,
    ),
    Fault(
        "harmful-offset",
        Whose.BOARD,
        "volts of direct voltage at the last channel's output: a loudspeaker would burn",
        ("dc-offset",),
        _harmful_offset,
    ),
    Fault(
        "current-limit",
        Whose.BOARD,
        "current limiter set too low: 4 ohm gets less than the rails allow",
        ("current-limited",),
        _current_limit,
    ),
    Fault(
        "asymmetric-clipping",
        Whose.BOARD,
        "positive half clips early: the clean level ends far below the rails",
        ("swing-lost",),
        _asymmetric_clipping,
    ),
    Fault(
        "gain-mismatch",
        Whose.BOARD,
        "last channel has less gain than the first",
        ("channel-mismatch",),
        _gain_mismatch,
    ),
    Fault(
        "high-output-impedance",
        Whose.BOARD,
        "resistance in the last channel's output: the level gives way under load",
        ("channel-mismatch", "source-impedance-disagrees"),
        _high_output_impedance,
    ),
    Fault(
        "late-protection",
        Whose.BOARD,
        "output relay closes too soon and opens late: thumps go through",
        ("protection-late", "switch-on-thump"),
        _late_protection,
    ),
    Fault(
        "high-idle-current",
        Whose.BOARD,
        "idle current too high: it runs hot without a signal",
        ("oscillation-at-idle", "too-hot", "heat-to-come"),
        _high_idle_current,
    ),
    Fault(
        "missing-heatsink-paste",
        Whose.BOARD,
        "no paste under the devices: idle current runs away as they heat up",
        ("idle-current-against-heat", "heat-to-come"),
        _missing_heatsink_paste,
        procedure="thermal-soak",
    ),
    Fault(
        "stopped-fan",
        Whose.BOARD,
        "fan does not turn: the heatsink ends far above its limit",
        ("too-hot", "heat-to-come"),
        _stopped_fan,
        procedure="thermal-soak",
    ),
)
"""In the order in which they are listed."""
