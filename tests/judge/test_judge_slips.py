"""Slips of other readings, and what holds of every doubt whatever was read before."""

from __future__ import annotations

import pytest
from doubting import AC, DC, LEVEL, OFFSET, RAIL, doubt, meant, read
from hypothesis import given, settings
from hypothesis import strategies as st

from stepwise.judge import Result
from stepwise.quantities import Answer, Expected, Uncertain, Understood, parse_entry


class TestOthers:
    def test_volts_typed_for_millivolts(self) -> None:
        slip = doubt("0.012", "offset", OFFSET)
        assert slip is not None
        assert meant(slip, OFFSET) == pytest.approx(0.012)

    @pytest.mark.parametrize("raw", ["12", "-3.2", "0", "0.4", "12 V", "34000", "-31.5 V"])
    def test_an_offset_is_never_explained_away(self, raw: str) -> None:
        assert doubt(raw, "offset", OFFSET, RAIL) is None

    def test_a_level_under_load_at_the_same_setting(self) -> None:
        opened = read("level_open", 2.83, channel="left")
        assert doubt("2.75", "level_8", AC, opened) is None
        slip = doubt("7.8", "level_8", AC, opened)
        assert slip is not None
        assert slip.name == "peak-to-peak"

    def test_a_load_by_the_ohmmeter(self) -> None:
        ohms = Expected(Answer.QUANTITY, "ohm")
        slip = doubt("82", "shown_8", ohms, facts={"load_8": 8.06})
        assert slip is not None
        assert meant(slip, ohms) == pytest.approx(8.2)
        assert doubt("8.2", "shown_8", ohms, facts={"load_8": 8.06}) is None

    def test_a_rise_time_against_the_corner(self) -> None:
        # 0.35 / 80 kHz = 4.4 us
        us = Expected(Answer.QUANTITY, "us")
        corner = Result(
            "sweep", "left", None, None, "minus_3db_high", Uncertain(80e3, {}), "Hz", "c"
        )
        slip = doubt(
            "4.5 ms", "rise_time", us, corner, kind="square", point="10 kHz/none/rise_time"
        )
        assert slip is not None
        assert meant(slip, us) == pytest.approx(4.5e-6)
        assert doubt("7", "rise_time", us, corner, kind="square") is None

    def test_a_temperature_ten_times_too_high(self) -> None:
        heat = Expected(Answer.HEAT, "C")
        slip = doubt("610", "temperature", heat, kind="thermal")
        assert meant(slip, heat) == pytest.approx(61.0)
        for raw in ("61", "95", "too hot to hold", "cold"):
            assert doubt(raw, "temperature", heat, kind="thermal") is None

    def test_a_reading_that_nothing_predicts_is_never_doubted(self) -> None:
        for name in ("thump", "rail_plus_dead", "test_resistor", "residual_noise", "anything"):
            assert doubt("1234", name, DC, RAIL) is None


NUMBERS = st.floats(-1e4, 1e4, allow_nan=False).map(lambda value: round(value, 4))
NAMES = (
    "secondary_volts", "rail_plus", "rail_minus", "level", "level_at_ten_percent", "level_8",
    "reference", "reference_again", "level_db", "idle_current", "offset", "rise_time", "shown_8",
)  # fmt: skip


@given(
    name=st.sampled_from(NAMES),
    number=NUMBERS,
    known=st.lists(st.tuples(st.sampled_from(NAMES), NUMBERS), max_size=8),
    kind=st.sampled_from(["clip", "readings", "sweep", "square"]),
    expected=st.sampled_from([AC, DC, OFFSET, LEVEL]),
    suffix=st.sampled_from(["", " V", " dB", " on 10", " x10", " Vpp", " mV", " kV"]),
)
@settings(max_examples=400, deadline=None, derandomize=True)
def test_whatever_was_read_before_a_doubt_makes_sense(
    name: str, number: float, known: list[tuple[str, float]], kind: str, expected: Expected,
    suffix: str,
) -> None:  # fmt: skip
    text = f"{number:g}{suffix}"
    if not isinstance(parse_entry(text, expected), Understood):
        return
    before = [
        read(each, value, channel=channel, load=load, point="20 Hz" if each == "level_db" else None)
        for (each, value), channel, load in zip(
            known, ("left", "right") * 4, ("8 ohm", None, "4 ohm", "8 ohm") * 2, strict=False
        )
    ]
    facts = {"transformer_secondary": 24.0, "load_8": 8.0}
    # `doubt` itself holds that what was meant can be typed and is not doubted in its turn.
    slip = doubt(
        text, name, expected, *before, kind=kind, load="8 ohm" if kind == "clip" else None,
        facts=facts, hertz=20.0, aim=6.0, point="20 Hz" if name == "level_db" else None,
    )  # fmt: skip
    if slip is not None:
        assert slip.says
        assert bool(slip.meant) == bool(slip.meant_echo)
