"""Slips along a sweep: signs, ranges, rows read twice or out of step."""

from __future__ import annotations

from dataclasses import replace

import pytest
from doubting import AC, LEVEL, doubt, meant, read

from stepwise.judge import Result
from stepwise.judge.slips import Slip

ROW = (10.0, 16.0, 20.0, 31.5, 50.0, 100.0)
GOOD_ROW = (-6.5, -3.6, -2.6, -1.2, -0.5, -0.1)


class TestSweep:
    def level(
        self, raw: str, hertz: float, *known: Result, channel: str = "left", **more: object
    ) -> Slip | None:
        return doubt(
            raw, "level_db", LEVEL, *known, kind="sweep", channel=channel,
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
        assert meant(slip, LEVEL) == pytest.approx(-0.146, abs=0.01)

    def test_a_range_left_out_on_the_decibel_scale(self) -> None:
        slip = self.level("-10.1", 100.0, *self.row(5))
        assert slip is not None
        assert slip.name == "range"
        assert meant(slip, LEVEL) == pytest.approx(-0.1)

    def test_a_multiplier_left_out_of_volts(self) -> None:
        slip = self.level("0.59 V", 50.0, *self.row(4))
        assert slip is not None
        assert slip.name == "multiplier"
        assert meant(slip, LEVEL) == pytest.approx(-0.146, abs=0.01)

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


HIGH = (16e3, 20e3, 31.5e3, 50e3, 80e3, 100e3)
FALLING = (-0.3, -0.5, -1.0, -3.5, -7.0, -9.2)


def high_row(*levels: float, channel: str = "left", typed: str | None = None) -> list[Result]:
    """The upper end of a row, from 16 kHz out."""
    return [
        read("level_db", level, "dB", channel=channel, point=f"{hertz / 1e3:g} kHz", typed=typed)
        for hertz, level in zip(HIGH, levels, strict=False)
    ]


class TestSignLeftOut:
    """A level above 0 dB where the row, or the other channel, stands below."""

    def level(self, raw: str, hertz: float, *known: Result, volts: float = 6.0) -> Slip | None:
        point = f"{hertz:g} Hz" if hertz < 1e3 else f"{hertz / 1e3:g} kHz"
        return doubt(
            raw, "level_db", replace(LEVEL, reference_volts=volts), *known, kind="sweep",
            point=point, hertz=hertz,
        )  # fmt: skip

    @pytest.mark.parametrize("place", [2, 3, 4, 5])
    def test_where_the_row_has_begun_to_fall(self, place: int) -> None:
        raw = f"{-FALLING[place]:g}"
        slip = self.level(raw, HIGH[place], *high_row(*FALLING[:place]))
        assert slip is not None
        assert (slip.name, slip.meant) == ("sign", f"-{raw}")
        assert "begun to fall" in slip.says
        assert f"with the other sign it is -{raw}" in slip.says

    @pytest.mark.parametrize("place", [2, 3, 4])
    def test_where_the_other_channel_stands_below(self, place: int) -> None:
        flat = [0.1] * place
        right = high_row(*FALLING, channel="right")
        slip = self.level(f"{-FALLING[place]:g}", HIGH[place], *high_row(*flat), *right)
        assert slip is not None
        assert slip.meant == f"{FALLING[place]:g}"
        assert "of the right channel" in slip.says

    def test_at_the_low_end_where_the_other_channel_stands_below(self) -> None:
        right = read("level_db", -1.1, "dB", channel="right", point="10 Hz")
        slip = self.level("1.0", 10.0, right)
        assert slip is not None
        assert slip.meant == "-1.0"

    def test_a_low_end_that_rises_with_nothing_else_read_of_it(self) -> None:
        slip = self.level("1.0", 10.0)
        assert slip is not None
        assert slip.meant == "-1.0"
        assert self.level("0.5", 10.0) is None
        # kept as it was typed, it is a hump
        kept = read("level_db", 1.0, "dB", channel="left", point="10 Hz")
        assert self.level("1.4", 16.0, kept) is None

    def test_a_step_up_that_no_hump_begins_with(self) -> None:
        slip = self.level("3.5", 50e3, *high_row(0.0, -0.1, 0.0))
        assert slip is not None
        assert slip.meant == "-3.5"

    def test_a_wrong_level_that_was_kept_does_not_make_the_next_one_right(self) -> None:
        slip = self.level("3.5", 50e3, *high_row(-0.3, -0.5, 1.0))
        assert slip is not None
        assert slip.meant == "-3.5"
        # the volts of the reference are near, yet the row is written in decibels
        slip = self.level("7.0", 80e3, *high_row(-0.3, -0.5, 1.0, 3.5), volts=5.5)
        assert slip is not None
        assert slip.meant == "-7.0"

    def test_a_slope_that_was_begun_at_the_end(self) -> None:
        # first order through -2.6 dB at 20 Hz: -1.2 dB at 31.5 Hz
        end = read("level_db", -2.6, "dB", channel="left", point="20 Hz")
        slip = self.level("1.2", 31.5, end)
        assert slip is not None
        assert slip.meant == "-1.2"

    def test_a_plus_that_was_typed_is_meant(self) -> None:
        assert self.level("+1.0", 31.5e3, *high_row(-0.3, -0.5)) is None

    def test_volts_without_their_unit_in_a_row_of_volts_are_no_missing_sign(self) -> None:
        known = high_row(-0.05, -0.1, typed="5.93 V")
        slip = self.level("5.8", 31.5e3, *known)
        assert slip is not None
        assert slip.name == "volts-for-decibels"

    @pytest.mark.parametrize(
        "hump", [(0.1, 0.5, 2.0, 4.5, 6.0, 3.0), (-0.1, 0.2, 0.9, 2.6, 1.5, -2.0)]
    )
    def test_humps_are_let_through(self, hump: tuple[float, ...]) -> None:
        for place, level in enumerate(hump):
            assert self.level(f"{level}", HIGH[place], *high_row(*hump[:place])) is None

    def test_a_hump_of_both_channels_is_let_through(self) -> None:
        right = high_row(-0.4, 0.5, 3.0, channel="right")
        assert self.level("0.6", 20e3, *high_row(-0.4), *right) is None
        assert self.level("3.1", 31.5e3, *high_row(-0.4, 0.6), *right) is None

    def test_what_a_scale_makes_of_a_flat_row_is_let_through(self) -> None:
        for raw in ("0.1", "0.2", "0.3"):
            assert self.level(raw, 31.5e3, *high_row(-0.3, -0.3)) is None
