"""Slips at the supply: secondary, rails, and what each says of the other."""

from __future__ import annotations

from typing import ClassVar

import pytest
from doubting import AC, DC, FAR_RAIL, RAIL, doubt, meant, read

from stepwise.judge import Result
from stepwise.judge.slips import Slip


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


class TestSecondWinding:
    """34.9 V is the peak of 24.7 V RMS, and was typed as the RMS off a pointer."""

    FIRST = read("secondary_volts", 24.75, step="s")
    MARKED: ClassVar = {"transformer_secondary": 24.0}
    RAILS = (
        read("rail_plus", 34.0, step="idle", channel="left"),
        read("rail_minus", -34.1, step="idle", channel="left"),
    )

    def second(
        self, raw: str, *known: Result, facts: dict[str, float] | None = None
    ) -> Slip | None:
        return doubt(raw, "secondary_volts_2", AC, *known, channel=None, facts=facts)

    @pytest.mark.parametrize("raw", ["3.49 on 10 x10", "34.9"])
    def test_against_the_other_winding_the_marking_or_the_rails(self, raw: str) -> None:
        for known, facts, evidence in (
            ((self.FIRST,), {}, "of the other winding"),
            ((), self.MARKED, "marked with"),
            (self.RAILS, {}, "behind a rail of"),
            ((self.FIRST, *self.RAILS), self.MARKED, "24"),
        ):
            slip = self.second(raw, *known, facts=facts)
            assert slip is not None
            assert slip.name == "peak"
            assert meant(slip, AC) == pytest.approx(24.68, abs=0.01)
            assert evidence in slip.says

    def test_a_winding_as_the_others_say_is_let_through(self) -> None:
        for raw in ("2.47 on 3 x10", "23.1", "26.5"):
            assert self.second(raw, self.FIRST, *self.RAILS, facts=self.MARKED) is None

    def test_a_winding_of_its_own_is_no_slip(self) -> None:
        # 15 V beside 24.75 V: another winding, which no slip explains
        assert self.second("1.5 on 3 x10", self.FIRST) is None

    def test_the_first_winding_read_again_after_the_rails(self) -> None:
        slip = doubt("3.49 on 10 x10", "secondary_volts", AC, *self.RAILS, channel=None)
        assert slip is not None
        assert meant(slip, AC) == pytest.approx(24.68, abs=0.01)

    def test_with_the_tone_on_and_nothing_read_at_idle_but_the_rails(self) -> None:
        slip = doubt(
            "33", "secondary_volts", AC, *self.RAILS, kind="clip", load="8 ohm", channel="left"
        )
        assert slip is not None
        assert slip.name == "peak"
