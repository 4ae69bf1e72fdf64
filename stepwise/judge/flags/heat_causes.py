"""Why a place gets too hot, and what to try next, by what sits there."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class HeatCauses:
    """Of one kind of place. All of it is common practice, no source."""

    words: tuple[str, ...]
    """What the names of such places hold, in lower case."""
    likely: tuple[str, ...]
    """Where it is too hot now, the most likely first."""
    cool: str
    """What to do once it is switched off and cool."""
    to_come: str
    """What to do where it will be too hot, once it is turned down."""
    most_to_come: int = 0
    """Which cause is the first where it only gets too hot in time."""

    apart: tuple[str, ...] = ()
    """Where only one channel's is hot, if that has causes of its own."""
    compare: str = "compare what both feed"
    """What tells two channels apart while they are on."""

    @property
    def likely_apart(self) -> tuple[str, ...]:
        """Causes where one channel's is hotter than the other's."""
        return (*(self.apart or self.likely[:2]), _NOT_ALIKE)

    @property
    def likely_to_come(self) -> tuple[str, ...]:
        """The same causes where it will be too hot."""
        first = self.most_to_come
        return (self.likely[first], *self.likely[:first], *self.likely[first + 1 :])


def heat_causes(place: str) -> HeatCauses:
    """What is known of a place of that name; what holds for all where it is none of these.

    Args:
        place: As the procedure calls it: "heatsink", "left rectifier".
    """
    name = place.casefold()
    fitting = (each for each in _PLACES if any(word in name for word in each.words))
    return next(fitting, _ANYWHERE)


_NOT_ALIKE = "That channel was driven longer, or the air reaches the other one first"
_ANYWHERE = HeatCauses(
    (),
    (
        "More current through it than it is made for, or an oscillation that no signal explains",
        "It does not sit tight on what cools it, or no air reaches it",
        "It is damaged, or the wrong value is fitted",
    ),
    "check how it is fastened and cooled, and what it feeds",
    "see that air reaches it, and what it feeds",
)
_PLACES = (
    HeatCauses(
        ("rectifier", "bridge", "diode"),
        (
            "What it feeds draws too much: idle current set too high, or a short behind it",
            "A loose screw or no paste between it and its metal, or no metal at all",
            "One of its diodes leaks, or it is too small for the claimed power",
        ),
        "check its screw, measure each of its diodes both ways, and read the current drawn "
        "without a tone",
        "see that it sits tight on its metal and that air reaches it",
    ),
    HeatCauses(
        ("regulator",),
        (
            "What it feeds draws too much, or it oscillates for want of a capacitor near it",
            "Too many volts across it: its feed is higher than meant",
            "A loose screw, no paste, or too little metal to cool it",
        ),
        "check its mounting and capacitors, then read the volts before and behind it",
        "see that it sits tight on its metal, and read the volts before and behind it",
    ),
    HeatCauses(
        ("transformer", "toroid"),
        (
            "More power drawn from it, or for longer, than it is rated for",
            "A rectifier or reservoir behind it shorted or leaking",
            "Shorted turns, or DC on the mains: then it gets hot without a load too",
        ),
        "run it with nothing connected behind it: if it gets hot all the same, the fault is in "
        "it or in the mains",
        "hold the power drawn against its rating, and see that air reaches it",
    ),
    HeatCauses(
        ("reservoir", "capacitor", "electrolytic"),
        (
            "Ripple current too high for them, or their series resistance gone up with age",
            "Volts above their rating, or one the wrong way round",
            "Heat from a heatsink or resistor beside them",
        ),
        "discharge them, see which way round they are and what they are rated for, and measure "
        "their series resistance; until then keep your face away, they may burst",
        "see what heats them from beside, and measure their ripple and series resistance",
    ),
    HeatCauses(
        ("resistor",),
        (
            "More current through it than meant: what is behind it draws too much",
            "An oscillation: in an output network it goes through the resistor",
            "The wrong value or too small a rating is fitted",
        ),
        "measure its value, and look for an oscillation with the oscilloscope",
        "look for an oscillation with the oscilloscope, and reckon what it has to bear",
    ),
    HeatCauses(
        ("heatsink", "heat sink", "output", "driver", "transistor", "device"),
        (
            "No paste, a loose screw or a burr between device and heatsink",
            "Idle current set too high, or an oscillation that no signal explains",
            "Heatsink too small for the claimed power, or the fan does not turn",
        ),
        "check screws and paste, and read the idle current again from cold",
        "see that air reaches the heatsink, and that the fan, if there is one, blows the right way",
        most_to_come=2,
        apart=(
            "No paste, a loose screw or a burr under one device",
            "The idle current of that channel is set higher, or it oscillates",
        ),
        compare="compare both idle currents from cold",
    ),
)
"""Looked through in this order: an “output capacitor” is a capacitor."""
