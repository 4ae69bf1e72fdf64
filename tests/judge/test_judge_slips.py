"""Slips of reading: what is doubted, what was meant, and what is let through."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stepwise.judge import Findings, Result
from stepwise.judge.slips import Asked, Slip, find_slip
from stepwise.quantities import (
    Answer,
    Expected,
    Form,
    Uncertain,
    Understood,
    parse_entry,
)

RANGES = (0.3, 1.0, 3.0, 10.0)
AC = Expected(Answer.QUANTITY, "V", Form.RMS, "AC meter", RANGES)
DC = Expected(Answer.QUANTITY, "V", Form.DC, "multimeter")
OFFSET = Expected(Answer.QUANTITY, "mV", Form.DC, "multimeter")
ROW = (10.0, 16.0, 20.0, 31.5, 50.0, 100.0)
GOOD_ROW = (-6.5, -3.6, -2.6, -1.2, -0.5, -0.1)


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


def clean(raw: str, *known: Result, load: str = "8 ohm") -> Slip | None:
    return doubt(raw, "level", AC, *known, kind="clip", load=load, hertz=1000.0)


class TestCleanLevel:
    """A rail of 34 V lets a sine swing to 34/sqrt 2 = 24.0 V RMS and no higher."""

    def test_peak_to_peak_for_rms(self) -> None:
        slip = clean("54", RAIL)
        assert slip is not None
        assert slip.name == "peak-to-peak"
        assert slip.meant == "54 Vpp"
        # 54 / (2 sqrt 2)
        assert meant(slip, AC) == pytest.approx(19.09, abs=0.01)
        assert "34.0 V" in slip.says
        assert "2.8 times" in slip.says

    def test_peak_for_rms(self) -> None:
        slip = clean("27.0 V", RAIL)
        assert slip is not None
        assert slip.name == "peak"
        assert meant(slip, AC) == pytest.approx(19.09, abs=0.01)

    def test_a_multiplier_left_out_keeps_the_range_that_was_typed(self) -> None:
        slip = clean("1.9 on 3", RAIL)
        assert slip is not None
        assert (slip.name, slip.meant) == ("multiplier", "1.9 on 3 x10")
        assert slip.meant_echo.startswith("read as 19")

    def test_a_hundredfold(self) -> None:
        assert meant(clean("0.19", RAIL), AC) == pytest.approx(19.0, rel=1e-3)

    def test_millivolts_for_volts(self) -> None:
        slip = clean("19 mV", RAIL)
        assert slip is not None
        assert slip.name == "kilo"
        assert meant(slip, AC) == pytest.approx(19.0, rel=1e-3)

    def test_the_wrong_scale_of_a_pointer(self) -> None:
        other = read("level", 19.0, channel="right", load="8 ohm")
        slip = clean("6.0 on 10", other)
        assert slip is not None
        assert slip.name == "range"
        # two scales lie 10 dB apart: a factor of sqrt 10
        assert meant(slip, AC) == pytest.approx(18.97, abs=0.05)

    def test_the_frequency_of_the_tone(self) -> None:
        slip = clean("1000", RAIL)
        assert slip is not None
        assert (slip.name, slip.meant) == ("frequency", "")

    @pytest.mark.parametrize("raw", ["19", "23.5", "12", "1.9 on 3 x10", "54 Vpp", "27 Vpk"])
    def test_what_the_rails_allow_is_let_through(self, raw: str) -> None:
        assert clean(raw, RAIL) is None

    def test_a_board_that_limits_its_current_is_let_through(self) -> None:
        same = read("level", 19.0, channel="left", load="8 ohm")
        # 4 ohm at half the level of 8 ohm: an honest fault, and no slip explains it
        assert clean("9.5", RAIL, same, load="4 ohm") is None

    def test_without_anything_read_before_nothing_is_doubted(self) -> None:
        assert clean("54") is None

    def test_a_value_that_no_slip_explains_is_let_through(self) -> None:
        # both windings in series: twice the marked volts, which is a wrong place, not a slip
        assert doubt("52", "secondary_volts", AC, facts={"transformer_secondary": 24.0}) is None


class TestSupply:
    def test_the_secondary_against_its_marking(self) -> None:
        facts = {"transformer_secondary": 24.0}
        slip = doubt("2.6 on 3", "secondary_volts", AC, facts=facts)
        assert slip is not None
        assert slip.meant == "2.6 on 3 x10"
        assert "marked" in slip.says
        assert doubt("26.3", "secondary_volts", AC, facts=facts) is None
        assert doubt("22", "secondary_volts", AC, facts=facts) is None

    def test_the_peak_of_the_secondary(self) -> None:
        slip = doubt("37", "secondary_volts", AC, facts={"transformer_secondary": 24.0})
        assert slip is not None
        assert slip.name == "peak"

    def test_a_rail_follows_from_the_secondary(self) -> None:
        # 26 V RMS makes 1.414 x 26 - 1.5 = 35.3 V
        secondary = read("secondary_volts", 26.0, step="secondary")
        slip = doubt("352", "rail_plus", DC, secondary)
        assert slip is not None
        assert meant(slip, DC) == pytest.approx(35.2)
        assert doubt("35.2", "rail_plus", DC, secondary) is None
        assert doubt("25", "rail_plus", DC, secondary) is None

    def test_a_negative_rail_typed_without_its_sign(self) -> None:
        slip = doubt("35.1", "rail_minus", DC, read("rail_plus", 35.0, channel="left"))
        assert slip is not None
        assert (slip.name, slip.meant) == ("sign", "-35.1")
        assert "positive rail" in slip.says

    def test_kilovolts(self) -> None:
        slip = doubt("34.0 kV", "rail_plus", DC, FAR_RAIL)
        assert slip is not None
        assert slip.name == "kilo"
        assert meant(slip, DC) == pytest.approx(34.0)

    def test_what_was_meant_keeps_the_digits_that_were_typed(self) -> None:
        for raw, text in (("34280", "34280 mV"), ("342.8", "34.28 V")):
            slip = doubt(raw, "rail_plus", DC, FAR_RAIL)
            assert slip is not None
            assert slip.meant == text
            assert meant(slip, DC) == pytest.approx(34.28)

    def test_a_rail_that_sags_is_no_slip(self) -> None:
        for raw in ("30.1", "22", "34.0"):
            assert doubt(raw, "rail_plus", DC, RAIL, kind="clip", load="8 ohm") is None

    def test_a_weak_rail_is_no_slip(self) -> None:
        plus = read("rail_plus", 35.0, channel="left")
        for raw in ("-28", "-17", "-5", "0"):
            assert doubt(raw, "rail_minus", DC, plus) is None


class TestSweep:
    LEVEL = Expected(Answer.LEVEL, "dB", Form.PLAIN, "AC meter", RANGES, None, 6.0)

    def level(
        self, raw: str, hertz: float, *known: Result, channel: str = "left", **more: object
    ) -> Slip | None:
        return doubt(
            raw, "level_db", self.LEVEL, *known, kind="sweep", channel=channel,
            point=f"{hertz:g} Hz", hertz=hertz, **more,
        )  # fmt: skip

    def row(self, count: int, channel: str = "left", typed: str | None = None) -> list[Result]:
        return [
            read("level_db", level, "dB", channel=channel, point=f"{hertz:g} Hz", typed=typed)
            for hertz, level in zip(ROW[:count], GOOD_ROW, strict=False)
        ]

    def test_the_sign_left_out_at_the_first_point(self) -> None:
        slip = self.level("6.5", 10.0, *self.row(6, "right"))
        assert slip is not None
        assert (slip.name, slip.meant) == ("sign", "-6.5")

    def test_the_sign_left_out_with_nothing_read_before(self) -> None:
        slip = self.level("10", 20.0)
        assert slip is not None
        assert slip.meant == "-10"

    def test_volts_where_decibels_are_asked(self) -> None:
        slip = self.level("5.9", 50.0, *self.row(4))
        assert slip is not None
        assert slip.name == "volts-for-decibels"
        # 20 lg (5.9 / 6.0) = -0.146 dB
        assert meant(slip, self.LEVEL) == pytest.approx(-0.146, abs=0.01)

    def test_a_range_left_out_on_the_decibel_scale(self) -> None:
        slip = self.level("-10.1", 100.0, *self.row(5))
        assert slip is not None
        assert slip.name == "range"
        assert meant(slip, self.LEVEL) == pytest.approx(-0.1)

    def test_a_multiplier_left_out_of_volts(self) -> None:
        slip = self.level("0.59 V", 50.0, *self.row(4))
        assert slip is not None
        assert slip.name == "multiplier"
        assert meant(slip, self.LEVEL) == pytest.approx(-0.146, abs=0.01)

    def test_the_frequency_for_the_level(self) -> None:
        slip = self.level("20", 20.0, *self.row(2))
        assert slip is not None
        assert (slip.name, slip.meant) == ("frequency", "")

    def test_the_same_row_twice_on_a_slope(self) -> None:
        steep = read("level_db", -10.0, "dB", channel="left", point="10 Hz", typed="-10")
        slip = self.level("-10", 16.0, steep, last_key=steep.key)
        assert slip is not None
        assert slip.name == "row-twice"

    def test_a_flat_row_reads_the_same_all_along(self) -> None:
        flat = [
            read("level_db", -0.5, "dB", channel="left", point=f"{hertz:g} Hz", typed="-0.5")
            for hertz in ROW[:3]
        ]
        assert self.level("-0.5", 31.5, *flat, last_key=flat[-1].key) is None

    def test_one_row_out_of_step(self) -> None:
        falling = (-14.0, -9.8, -7.9, -4.8, -2.5, -0.8)
        right = [
            read("level_db", level, "dB", channel="right", point=f"{hertz:g} Hz")
            for hertz, level in zip(ROW, falling, strict=True)
        ]
        left = [
            read("level_db", level, "dB", channel="left", point=f"{hertz:g} Hz")
            for hertz, level in zip(ROW[:2], falling, strict=False)
        ]
        slip = self.level("-4.8", 20.0, *right, *left)
        assert slip is not None
        assert (slip.name, slip.meant) == ("out-of-step", "")
        assert "31.5 Hz" in slip.says
        assert self.level("-7.8", 20.0, *right, *left) is None

    def test_an_early_roll_off_is_let_through(self) -> None:
        early = (-10.0, -6.6, -5.2, -2.9, -1.4, -0.4)
        read_so_far: list[Result] = []
        for hertz, level in zip(ROW, early, strict=True):
            assert self.level(f"{level}", hertz, *read_so_far, *self.row(6, "right")) is None
            point = f"{hertz:g} Hz"
            read_so_far.append(read("level_db", level, "dB", channel="left", point=point))

    def test_a_hump_is_let_through(self) -> None:
        known: list[Result] = []
        for hertz, level in zip(
            (20e3, 31.5e3, 50e3, 80e3, 100e3), (0.5, 2, 4.5, 6, 3), strict=True
        ):
            point = f"{hertz / 1000:g} kHz"
            assert self.level(f"{level}", hertz, *known) is None
            known.append(read("level_db", float(level), "dB", channel="left", point=point))

    def test_the_reference_read_again_in_decibels(self) -> None:
        first = read("reference", 6.0, channel="left")
        slip = doubt("0", "reference_again", AC, first, kind="sweep", hertz=1000.0)
        assert slip is not None
        assert slip.name == "decibels-for-volts"
        assert meant(slip, AC) == pytest.approx(6.0)
        assert doubt("5.8", "reference_again", AC, first, kind="sweep", hertz=1000.0) is None

    def test_the_reference_against_the_level_that_is_asked_for(self) -> None:
        slip = doubt("60", "reference", AC, kind="sweep", hertz=1000.0, aim=6.0)
        assert slip is not None
        assert slip.name == "multiplier"
        for lower in ("2.83", "2.0 on 3", "0.775"):
            assert doubt(lower, "reference", AC, kind="sweep", hertz=1000.0, aim=6.0) is None


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
    expected=st.sampled_from([AC, DC, OFFSET, TestSweep.LEVEL]),
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
