"""What a prompt says of its hold, from what its step and its reading say."""

from __future__ import annotations

import pytest

from stepwise.steps import KINDS, ReadingsFields, Scene, Workings
from stepwise.steps.fields import Hold, HoldExcept
from stepwise.steps.kind import HoldOf, holds
from stepwise.steps.reading_fields import ReadingAsk

OPEN = HoldExcept(steps=("dead", "proof"))


def hold_of(hold: bool, *, only: tuple[str, ...] = (), left: tuple[str, ...] = ()) -> HoldOf:
    return HoldOf(hold=hold, hold_for=only, hold_except=left)


@pytest.mark.parametrize(
    ("wanted", "made"),
    [
        ((False, False), hold_of(False)),
        (((),), hold_of(False)),
        ((False, True), hold_of(True)),
        ((("listen",), ("clip", "listen")), hold_of(True, only=("listen", "clip"))),
        ((OPEN,), hold_of(True, left=("dead", "proof"))),
        ((OPEN, False), hold_of(True, left=("dead", "proof"))),
        ((True, OPEN), hold_of(True)),
        ((("listen",), OPEN), hold_of(True, left=("dead", "proof"))),
        ((OPEN, ("proof",)), hold_of(True, left=("dead",))),
        ((OPEN, HoldExcept(steps=("proof", "marks"))), hold_of(True, left=("proof",))),
        ((OPEN, HoldExcept(steps=("marks",))), hold_of(True)),
    ],
)
def test_together_they_hold_whatever_one_alone_would(
    wanted: tuple[Hold, ...], made: HoldOf
) -> None:
    assert holds(*wanted) == made


def test_a_reading_that_leaves_steps_open_says_so_to_its_prompt(scene: Scene) -> None:
    ask = ReadingAsk(name="offset", ask="Offset", unit="mV", hold=OPEN)
    step = ReadingsFields(id="idle", title="Idle", readings=(ask,))
    (prompt,) = Workings([step], KINDS, scene).prompts
    assert prompt.hold
    assert prompt.hold_for == ()
    assert prompt.hold_except == ("dead", "proof")
