"""What other readings will be: idle current, loads, times, heat."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge.slips.asked import Asked
from stepwise.judge.slips.plausible import Plausible, like
from stepwise.judge.slips.supply import place
from stepwise.quantities import format_value

_RISE_TIMES_CORNER = 0.35
"""Rise time from 10 % to 90 % times the -3 dB frequency of a first-order response: ln 9 / 2 pi;
two poles without a peak differ from it by a fiftieth."""


def idle_current(asked: Asked) -> Iterator[Plausible]:
    """The idle current: as in the other channel, or what output stages idle at."""
    others = [each for each in asked.elsewhere(asked.name) if each.value > 0.0]
    for other in others:
        yield like(other, near=1.35, sure=8.0, words=place(other))
    if not others:
        words = "what an output stage idles at, 1 mA to 1 A"
        yield Plausible(0.05, (0.002, 0.5), (0.0002, 5.0), words)


def load_ohms(asked: Asked) -> Iterator[Plausible]:
    """A dummy load by the ohmmeter: what the bench file says of it."""
    nominal = asked.fact(f"load_{asked.name.rpartition('_')[2]}")
    if nominal:
        words = f"the {format_value(nominal, 'ohm')} of that load"
        yield Plausible(nominal, (0.8 * nominal, 1.3 * nominal), (0.3 * nominal, 3.0 * nominal),
                        words)  # fmt: skip


def oscillator(asked: Asked) -> Iterator[Plausible]:
    """The oscillator loaded: below what it gave open."""
    opened = asked.reading("oscillator_open", step=asked.step)
    if opened is not None and opened.value > 0.0:
        yield like(opened, 0.7, near=1.45, sure=2.2, words="without the resistor")


def delay(_: Asked) -> Iterator[Plausible]:
    """A switch-on delay: some seconds."""
    words = "the few seconds that a relay waits"
    yield Plausible(3.0, (0.05, 30.0), (-1.0, 120.0), words)


def temperature(_: Asked) -> Iterator[Plausible]:
    """A temperature: what silicon bears."""
    words = "what anything on a bench gets to"
    yield Plausible(50.0, (10.0, 130.0), (-40.0, 220.0), words)


def edge_time(asked: Asked) -> Iterator[Plausible]:
    """A rise or fall time: from the sweep's upper corner, the other edge, the other channel."""
    corner = asked.findings.last_of_board("minus_3db_high", channel=asked.channel)
    if corner is not None and corner.value > 0.0:
        seconds = _RISE_TIMES_CORNER / corner.value
        follows = format_value(corner.value, "Hz", digits=2)
        words = f"the {format_value(seconds, 's', digits=2)} that follow from {follows}"
        yield Plausible(seconds, (0.4 * seconds, 1.8 * seconds), (seconds / 6.0, 6.0 * seconds),
                        words)  # fmt: skip
    for name in ("rise_time", "fall_time"):
        for other in asked.readings(name, step=asked.step):
            is_same_look = (other.point or "").rpartition("/")[0] == asked.point.rpartition("/")[0]
            if other.value > 0.0 and is_same_look:
                yield like(other, near=1.4, sure=6.0, words=place(other))
