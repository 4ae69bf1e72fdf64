"""A small plan with every turn of the run in it, and a clock that tests can move."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from stepwise.run import Plan, Run, plan_from_texts

PROCEDURE = """\
[procedure]
title = "Try"
revision = 1
summary = "try"
[[step]]
id = "safe"
kind = "confirm"
title = "Safe"
hold = true
items = ["a", "b"]
[[step]]
id = "idle"
kind = "readings"
title = "Idle"
repeat = ["channel"]
readings = [
 { name = "rail_plus", ask = "Positive rail", unit = "V", meter = "dc", limit = { max = "90 % of reservoir_rating" } },
 { name = "offset", ask = "Offset", unit = "mV", meter = "dc", limit = { target = "0 mV", within = "50 mV" }, hold = ["listen"] },
]
[[step]]
id = "clip"
kind = "clip"
title = "Clip"
repeat = ["channel", "load"]
also = ["rail_plus"]
on_time = "15 s"
rest = "30 s"
[step.limits]
power = { min = "claimed_power" }
[[step]]
id = "sweep"
kind = "sweep"
title = "Sweep"
repeat = ["channel"]
points = ["100 Hz", "60 Hz", "30 Hz", "20 Hz", "10 Hz"]
below_clip = "10 dB"
[step.limits]
minus_3db_low = { max = "20 Hz" }
[[step]]
id = "listen"
kind = "confirm"
title = "Listen"
items = ["sounds fine"]
"""

UNIT = """\
[unit]
name = "Teal"
channels = ["left", "right"]
[ratings]
reservoir_rating = "50 V"
minimum_load = "4 ohm"
input_resistance = "22 kohm"
[[claim]]
power = "60 W"
load = "4 ohm"
"""

BENCH = """\
[bench]
name = "Hall workshop"
[[meter]]
id = "ac"
type = "analogue"
reads = "V rms"
ranges = ["1 V", "3 V", "10 V"]
accuracy = "3 % of full scale"
resolves = "1/4 division of 30"
detector = "average"
[[meter]]
id = "dc"
type = "digital"
reads = "V"
accuracy = "0.5 % + 2 digits"
[[load]]
nominal = "8 ohm"
measured = "8.06 ohm"
uncertainty = "0.5 %"
rating = "100 W"
[[load]]
nominal = "4 ohm"
measured = "4.02 ohm"
uncertainty = "0.5 %"
"""


def plan() -> Plan:
    """The plan of these three texts."""
    return plan_from_texts(PROCEDURE, UNIT, BENCH, "try")


class Clock:
    """A clock that stands still until told otherwise."""

    def __init__(self) -> None:
        self.now = datetime(2026, 3, 14, 10, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now

    def advance(self, seconds: float) -> None:
        """Let time pass."""
        self.now += timedelta(seconds=seconds)


ANSWERS = {
    "rail_plus": "35.0",
    "offset": "12",
    "level": "1.9 on 3 x10",
    "reference": "2.0 on 3",
    "reference_again": "2.0 on 3",
    "100 Hz": "flat",
    "60 Hz": "-1",
    "30 Hz": "-2",
    "20 Hz": "-4.5",
    "10 Hz": "-10",
    "10 kHz/none/overshoot": "5 %",
    "10 kHz/100 nF/ringing_cycles": "2",
    "10 kHz/220 nF/ringing_cycles": "2",
}
"""What is typed at each point; everything else is confirmed."""


def answer_for(point: str) -> str:
    """What the person types."""
    return ANSWERS.get(point, "y")


def play(run: Run, until: str | None = None) -> list[str]:
    """Answer what is asked, up to a prompt; gives the keys answered."""
    keys = []
    while (prompt := run.next_prompt()) is not None and prompt.key != until:
        outcome = run.take(prompt.key, answer_for(prompt.point))
        assert outcome.status.value in ("kept", "confirmed"), outcome
        keys.append(prompt.key)
    return keys
