"""Slips along a sweep: signs, ranges, rows read twice or out of step."""

from __future__ import annotations

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
