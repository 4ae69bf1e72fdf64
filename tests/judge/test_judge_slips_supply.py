"""Slips at the supply: secondary, rails, and what each says of the other."""

from __future__ import annotations

import pytest
from doubting import AC, DC, FAR_RAIL, RAIL, doubt, meant, read


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
