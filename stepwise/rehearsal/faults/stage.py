"""Faults of the output stage: offset, swing, current, gain, protection, cooling."""

from __future__ import annotations

from dataclasses import replace

from stepwise.rehearsal.amplifier import Channel
from stepwise.rehearsal.faults.fault import CLEAR, Fault, Whose, towards
from stepwise.rehearsal.heat import Cooling
from stepwise.rehearsal.rig import Rig


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
        return replace(channel, limit_amps=towards(9.0, 4.2, severity))

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
        return replace(channel, wiring_ohms=towards(channel.wiring_ohms, 1.2, severity))

    return rig.with_last_channel(change)


def _late_protection(rig: Rig, severity: float) -> Rig:
    """The relay closes at once and lets go after seconds; the thump goes through."""
    board = rig.board
    slow = replace(
        board,
        switch_on_delay_s=towards(board.switch_on_delay_s, 0.04, severity),
        quiet_after_s=towards(board.quiet_after_s, 6.0, severity),
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
    ohms = towards(cooling.device_kelvin_per_watt, 3.0, severity)
    return _with_cooling(rig, replace(cooling, device_kelvin_per_watt=ohms))


def _stopped_fan(rig: Rig, severity: float) -> Rig:
    """A heatsink made for moving air, in still air: three times its thermal resistance."""
    cooling = rig.board.cooling
    still = cooling.heatsink_kelvin_per_watt * 3.0**severity
    return _with_cooling(rig, replace(cooling, heatsink_kelvin_per_watt=still))


STAGE_FAULTS = (
    Fault(
        "dc-offset",
        Whose.BOARD,
        "direct voltage at the first channel's output",
        ("dc-offset",),
        _dc_offset,
        stated=CLEAR,
    ),
    Fault(
        "harmful-offset",
        Whose.BOARD,
        "volts of direct voltage at the last channel's output: a loudspeaker would burn",
        ("dc-offset",),
        _harmful_offset,
        stated=CLEAR,
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
        ("output-impedance-high", "channel-mismatch"),
        _high_output_impedance,
    ),
    Fault(
        "late-protection",
        Whose.BOARD,
        "output relay closes too soon and opens late: thumps go through",
        ("protection-late", "switch-on-thump"),
        _late_protection,
        stated=CLEAR,
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
        stated=CLEAR,
    ),
)
"""In the order in which they are listed."""
