"""What every step of a procedure may say, whatever its kind."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

DurationText = Annotated[
    str, msgspec.Meta(description="A time with its unit", examples=["15 s", "2 min"])
]
FrequencyText = Annotated[
    str, msgspec.Meta(description="A frequency with its unit", examples=["1 kHz", "100 Hz"])
]
LoadText = Annotated[
    str, msgspec.Meta(description="A load's nominal resistance", examples=["8 ohm"])
]
NameText = Annotated[
    str,
    msgspec.Meta(
        pattern="^[a-z][a-z0-9_]*$",
        max_length=40,
        description="Lower-case letters, digits and underscores; usable in limits and formulas",
    ),
]
IdText = Annotated[
    str,
    msgspec.Meta(
        pattern="^[a-z0-9][a-z0-9-]*$",
        max_length=40,
        description="Lower-case letters, digits and hyphens",
    ),
]
Repeat = Literal["channel", "load"]


class HoldExcept(
    msgspec.Struct,
    frozen=True,
    kw_only=True,
    forbid_unknown_fields=True,
    rename={"steps": "except"},
):
    """A hold for all later steps but those named, which stay open to make the board dead."""

    steps: Annotated[tuple[IdText, ...], msgspec.Meta(min_length=1)]


Hold = bool | tuple[IdText, ...] | HoldExcept


class StepFields(
    msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind"
):
    """The fields that all kinds share."""

    id: IdText
    title: Annotated[str, msgspec.Meta(min_length=1, max_length=80)]
    why: str = ""
    """One or two sentences: why this is done."""
    how: str = ""
    """What a beginner does, in order."""
    caution: tuple[str, ...] = ()
    """Said before the first prompt of the step; what could hurt here."""
    repeat: tuple[Repeat, ...] = ()
    hold: Hold = False
    """True: nothing later opens until this step is satisfied. A list: only the steps named wait.
    A table { except = […] }: all later ones wait but those named."""
    optional: bool = False
    """The whole step may be left out without a reason."""
    on_time: DurationText | None = None
    """Longest that the tone may stay on in one pass."""
    rest: DurationText | None = None
    """Shortest time with the tone off before the next pass."""
