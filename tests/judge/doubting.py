"""What is asked and what was read before, for the tests of slips."""

from __future__ import annotations

from dataclasses import replace

from stepwise.judge import Findings, Result
from stepwise.judge.slips import Asked, Slip, find_slip
from stepwise.quantities import Answer, Expected, Form, Uncertain, Understood, parse_entry

RANGES = (0.3, 1.0, 3.0, 10.0)
AC = Expected(Answer.QUANTITY, "V", Form.RMS, "AC meter", RANGES)
DC = Expected(Answer.QUANTITY, "V", Form.DC, "multimeter")
FLATTENED = replace(AC, is_sine=False)
OFFSET = Expected(Answer.QUANTITY, "mV", Form.DC, "multimeter")
LEVEL = Expected(Answer.LEVEL, "dB", Form.PLAIN, "AC meter", RANGES, None, 6.0)


def read(
    name: str,
    value: float,
    unit: str = "V",
    *,
    step: str = "s",
    channel: str | None = None,
    load: str | None = None,
    point: str | None = None,
    typed: str | None = None,
) -> Result:
    """A reading in force."""
    key = f"{step}/{channel or ''}/{load or ''}/{point or name}"
    return Result(
        step, channel, load, point or name, name, Uncertain(value, {}), unit, name,
        key=key, typed=typed, basis=(key,),
    )  # fmt: skip


def doubt(
    raw: str,
    name: str,
    expected: Expected,
    *known: Result,
    kind: str = "readings",
    step: str = "s",
    channel: str | None = "left",
    load: str | None = None,
    point: str | None = None,
    facts: dict[str, float] | None = None,
    **more: object,
) -> Slip | None:
    """What is said of a text, after `known` was read."""
    asked = Asked(
        f"{step}/{channel or ''}/{load or ''}/{point or name}", step, channel, load, kind, name,
        expected, Findings(known, facts or {}), point or name, **more,
    )  # fmt: skip
    entry = parse_entry(raw, expected)
    assert isinstance(entry, Understood), entry
    slip = find_slip(asked, entry)
    if slip is not None and slip.meant:
        meant = parse_entry(slip.meant, expected)
        assert isinstance(meant, Understood), "what was meant can be typed"
        assert meant.echo == slip.meant_echo
        assert find_slip(asked, meant) is None, "what was meant is not doubted itself"
    return slip


def meant(slip: Slip | None, expected: Expected) -> float:
    assert slip is not None
    entry = parse_entry(slip.meant, expected)
    assert isinstance(entry, Understood)
    return entry.value


RAIL = read("rail_plus", 34.0, step="idle", channel="left")
FAR_RAIL = read("rail_plus", 34.2, step="s", channel="right")
