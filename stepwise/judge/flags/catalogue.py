"""Every flag by name, in the order in which people should deal with them."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from stepwise.judge.flag import Severity

STOP, WRONG, LOOK, NOTE = Severity.STOP, Severity.WRONG, Severity.LOOK, Severity.NOTE


class FlagKind(NamedTuple):
    """What a flag of that name is."""

    severity: Severity
    """The gravest that it can have; a mild case may have less."""
    meaning: str
    """One line."""


FLAGS: Mapping[str, FlagKind] = MappingProxyType(
    {
        # Harm first: people, then the board, then what hangs on it.
        "reservoirs-live": FlagKind(STOP, "Reservoirs still charged where they should be dead"),
        "reservoir-over-rating": FlagKind(STOP, "A rail stands above its reservoir's rating"),
        "oscillation-at-idle": FlagKind(
            STOP, "Current, noise or heat without a signal that only an oscillation explains"
        ),
        "rings-without-end": FlagKind(STOP, "Ringing into a capacitor hardly dies away"),
        "too-hot": FlagKind(STOP, "A place is too hot to hold, or above its limit"),
        "dc-offset": FlagKind(STOP, "DC at the output that a loudspeaker would have to bear"),
        "protection-late": FlagKind(STOP, "The protection opens late or not at all"),
        # Readings that cannot be true: what is worked out from them is not true either.
        "swing-above-rails": FlagKind(WRONG, "The output swings higher than its rails"),
        "power-above-transformer": FlagKind(WRONG, "More power than the transformer can give"),
        "rails-above-secondary": FlagKind(WRONG, "A rail above the peak of its winding"),
        "sag-wrong-sign": FlagKind(WRONG, "A supply voltage that rises under load"),
        "more-volts-into-less": FlagKind(WRONG, "A lower load that has more volts across it"),
        "same-load-twice": FlagKind(WRONG, "Two loads that make the supply sag alike"),
        "level-above-gain": FlagKind(WRONG, "A loaded level above the generator's times the gain"),
        "tilt-against-sweep": FlagKind(
            WRONG, "The tilt of a square wave and the low end of the sweep disagree"
        ),
        "rise-time-against-sweep": FlagKind(
            WRONG, "An edge is faster than the high end of the sweep allows"
        ),
        "source-impedance-disagrees": FlagKind(
            LOOK, "The source impedance from one load is not that from the other"
        ),
        "reference-drift": FlagKind(WRONG, "The reference of a sweep moved while it was read"),
        "point-out-of-line": FlagKind(LOOK, "One point of a sweep lies off the line of the rest"),
        "cooler-while-driven": FlagKind(LOOK, "A place that cools while it dissipates more"),
        "idle-current-against-heat": FlagKind(
            WRONG, "Idle current and temperature do not go together"
        ),
        "idle-currents-differ": FlagKind(LOOK, "The channels idle at different currents"),
        "channels-share-rails": FlagKind(
            LOOK, "The same rail read differently at the two channels"
        ),
        "gain-unlikely": FlagKind(LOOK, "A gain that no power amplifier has"),
        # Heat.
        "heat-to-come": FlagKind(WRONG, "A place that will pass its limit before it settles"),
        "tone-too-long": FlagKind(WRONG, "The tone is on longer than the procedure allows"),
        "rest-not-kept": FlagKind(LOOK, "The next pass began before the rest was over"),
        "channel-hotter": FlagKind(LOOK, "One channel runs hotter than the other"),
        # Stability.
        "rings-with-capacitor": FlagKind(WRONG, "Ringing or overshoot that a capacitor brings"),
        "overshoot-too-much": FlagKind(WRONG, "Overshoot into a resistor beyond its limit"),
        "slew-limited": FlagKind(LOOK, "Edges slower than the bandwidth: slewing, not roll-off"),
        # Supply.
        "reservoir-margin": FlagKind(WRONG, "High mains would bring a reservoir past its rating"),
        "one-rail-weak": FlagKind(WRONG, "One rail gives way, or stands lower, than the other"),
        "rails-below-secondary": FlagKind(LOOK, "Rails lower than their winding should give"),
        "transformer-limit": FlagKind(LOOK, "The transformer gives way, not the board"),
        "reservoir-weak": FlagKind(LOOK, "Rectifier or reservoirs give way, not the transformer"),
        "supply-sag": FlagKind(LOOK, "The supply gives way, with no reading to say which part"),
        "transformer-overloaded": FlagKind(LOOK, "More is drawn than the transformer is rated for"),
        # Power and claims.
        "current-limited": FlagKind(LOOK, "A low load gets less than the rails allow"),
        "swing-lost": FlagKind(LOOK, "The output stops far below its rails"),
        "output-impedance-high": FlagKind(LOOK, "The output gives way as if through a resistor"),
        "claim-only-at-ten-percent": FlagKind(WRONG, "The claim holds only well into clipping"),
        "claim-only-at-one-load": FlagKind(LOOK, "A claim that names no load holds at one only"),
        "claim-not-met": FlagKind(WRONG, "Less power than the seller says"),
        "claim-names-no-load": FlagKind(NOTE, "A claim that does not say into which load"),
        # Response.
        "early-roll-off-low": FlagKind(WRONG, "The low end falls away early"),
        "early-roll-off-high": FlagKind(WRONG, "The high end falls away early"),
        "roll-off-steep-low": FlagKind(
            LOOK, "The low end falls faster than one capacitor makes it"
        ),
        "roll-off-steep-high": FlagKind(LOOK, "The high end falls faster than one pole makes it"),
        "response-hump": FlagKind(WRONG, "A hump in the response"),
        "response-notch": FlagKind(LOOK, "A notch in the response"),
        # Channels.
        "channel-mismatch": FlagKind(WRONG, "The channels differ in level or in gain"),
        "channel-response-differs": FlagKind(LOOK, "The channels differ in where they roll off"),
        # Bench.
        "bench-not-flat": FlagKind(WRONG, "Oscillator and meter alone are not flat"),
        "load-over-rating": FlagKind(LOOK, "A dummy load is given more than it is rated for"),
        "load-off-mark": FlagKind(LOOK, "A dummy load is not what is marked on it"),
        "meter-zero-off": FlagKind(LOOK, "A meter shows something with its leads shorted"),
        "switch-on-thump": FlagKind(LOOK, "A thump when it is switched on"),
        "rail-to-rail-shock": FlagKind(NOTE, "More than 60 V DC between rails, or on one"),
        "meter-beyond-range": FlagKind(NOTE, "More than the highest range of its meter shows"),
        "meter-low-on-scale": FlagKind(NOTE, "A pointer read low on its scale for nothing"),
    }
)
"""Name -> gravest severity and meaning. Within one severity flags stand in this order."""
