"""Slips of a clean level: what the rails allow, and what was meant where they do not."""

from __future__ import annotations

import math
from typing import ClassVar

import pytest
from doubting import AC, FLATTENED, RAIL, doubt, meant, read

from stepwise.judge import Result
from stepwise.judge.slips import Slip, candidate
from stepwise.science import clipped_mean_square, overdrive_for_thd


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
        assert "34 V" in slip.says
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


class TestCleanLevelWithoutRails:
    """No rail was read: reservoirs for 50 V bear no sine above 50/sqrt 2 = 35.4 V RMS."""

    RATED: ClassVar = {"reservoir_rating": 50.0, "rail_share": 1.0, "load_8": 8.06}
    CLAIMED: ClassVar = {"claimed_power_4": 60.0, "claimed_distortion_4": 10.0}

    def level(self, raw: str, facts: dict[str, float], *known: Result) -> Slip | None:
        return doubt(raw, "level", AC, *known, kind="clip", load="8 ohm", hertz=1000.0, facts=facts)

    def test_peak_to_peak_above_what_the_reservoirs_bear(self) -> None:
        slip = self.level("63", self.RATED)
        assert slip is not None
        assert (slip.name, slip.meant) == ("peak-to-peak", "63 Vpp")
        # 63 / (2 sqrt 2)
        assert meant(slip, AC) == pytest.approx(22.27, abs=0.01)
        assert "reservoirs rated 50 V" in slip.says

    def test_half_a_rail_bears_half_the_sine(self) -> None:
        half = {**self.RATED, "rail_share": 0.5}
        assert self.level("35", self.RATED) is None
        slip = self.level("35", half)
        assert slip is not None
        assert meant(slip, AC) == pytest.approx(35 / math.sqrt(8.0), abs=0.01)

    def test_far_more_than_the_claim(self) -> None:
        # 60 W into 4 ohm are 15.5 V; 63 V are 492 W into 8 ohm
        slip = self.level("63", self.CLAIMED)
        assert slip is not None
        assert slip.meant == "63 Vpp"
        assert "the claimed 60 W into 4" in slip.says

    def test_another_channel_far_away(self) -> None:
        right = read("level", 22.3, channel="right", load="8 ohm")
        for facts in (self.RATED | self.CLAIMED, {}):
            slip = self.level("31.5", facts, right)
            assert slip is not None
            assert slip.name == "peak"
            assert "right into 8" in slip.says

    def test_a_multiplier_too_many(self) -> None:
        slip = self.level("223", self.RATED | self.CLAIMED)
        assert slip is not None
        assert meant(slip, AC) == pytest.approx(22.3)

    def test_a_level_that_all_of_them_allow_is_let_through(self) -> None:
        right = read("level", 20.0, channel="right", load="8 ohm")
        for raw in ("22.3", "30", "12", "2.2 on 3 x10", "63 Vpp"):
            assert self.level(raw, self.RATED | self.CLAIMED) is None
        for raw in ("22.3", "18", "2.2 on 3 x10"):
            assert self.level(raw, self.RATED | self.CLAIMED, right) is None

    def test_a_modest_claim_is_no_slip(self) -> None:
        # twice the claimed power
        assert self.level("21.9", {"claimed_power_8": 30.0}) is None

    def test_rails_that_were_read_say_more_than_ratings(self) -> None:
        assert self.level("23.5", {"reservoir_rating": 25.0}, RAIL) is None


class TestFlattenedLevel:
    """Peaks of flattened tops do not tell their RMS, so none is offered for them."""

    def level(self, raw: str) -> Slip | None:
        known = read("level", 22.3, channel="left", load="8 ohm")
        return self.after(raw, known)

    def after(self, raw: str, *known: Result) -> Slip | None:
        return doubt(
            raw, "level_at_ten_percent", FLATTENED, *known, kind="clip", load="8 ohm", hertz=1000.0
        )

    def test_with_rails_no_other_scale_is_offered_for_peaks(self) -> None:
        clean = read("level", 20.0, channel="left", load="8 ohm")
        rail = read("rail_plus", 31.72, channel="left", load="8 ohm")
        slip = self.after("63.6", clean, rail)
        assert slip is not None
        assert (slip.name, slip.meant) == ("peak-to-peak", "")

    @pytest.mark.parametrize(("raw", "slip"), [("63.6", "peak-to-peak"), ("31.5", "peak")])
    def test_peaks_typed_for_the_rms_are_doubted_and_nothing_is_offered(
        self, raw: str, slip: str
    ) -> None:
        found = self.level(raw)
        assert found is not None
        assert (found.name, found.meant) == (slip, "")
        assert "does not tell the RMS" in found.says
        assert "the clean 22.3 V" in found.says

    def test_a_multiplier_left_out_is_still_offered(self) -> None:
        assert meant(self.level("2.5 on 3"), FLATTENED) == pytest.approx(25.0)

    def test_a_level_as_the_meter_reads_it_is_let_through(self) -> None:
        for raw in ("23", "2.5 on 3 x10", "26.5"):
            assert self.level(raw) is None

    def test_the_share_of_rms_in_the_peak_is_that_of_ten_per_cent(self) -> None:
        share = math.sqrt(clipped_mean_square(overdrive_for_thd(10.0)))
        assert share == pytest.approx(candidate._FLATTENED, abs=0.005)
