"""Bench notation: what is refused, and in which words."""

from __future__ import annotations

import pytest
from prompts import (
    AC,
    AC_ANY,
    CONFIRM,
    DC,
    FARADS,
    FLATTENED,
    HEAT,
    LEVEL,
    LEVEL_FIRST,
    MARK,
    OHMS,
    PEAK,
    SHARE,
    TEXT,
    WATTS,
)

from stepwise.quantities import Refusal, Understood, parse_entry

WRONG_KIND = "is expected. Type for instance"

# Of another kind or form is not the number asked for: what is offered is an example, never the
# number with another unit, since who takes it over records what nobody read.
REFUSED = [
    (AC, "", "Nothing was typed. Type for instance 17.0 V"),
    (AC, "   ", "Nothing was typed. Type for instance 17.0 V"),
    (AC, "-4.5 dB", f"“-4.5 dB” is in dB (level) where V (voltage) {WRONG_KIND} 17.0 V"),
    (DC, "-3 dB", f"“-3 dB” is in dB (level) where V (voltage) {WRONG_KIND} 17.0 V"),
    # A zero is a zero, but what its last digit is worth must be of this world.
    (AC, "0e742", "The power of ten of 0e742 is beyond anything on a bench. Type for instance 17.0 V"),
    # So small that a full scale over it is more than any number.
    (AC, "1e-315/", "The range after “on” is missing. Type for instance 1e-315 on 0.1"),
    (LEVEL, "0E742up", "The power of ten of 0E742 is beyond anything on a bench. Type for instance -4.5 dB"),
    (AC, "20 ohm", f"“20 ohm” is in Ω (resistance) where V (voltage) {WRONG_KIND} 17.0 V"),
    (OHMS, "2 V", f"“2 V” is in V (voltage) where Ω (resistance) {WRONG_KIND} 8.2 ohm"),
    (FARADS, "4R7", f"“4R7” is in Ω (resistance) where F (capacitance) {WRONG_KIND} 10 F"),
    (HEAT, "61 K", f"“61 K” is in K (temperature difference) where °C (temperature) {WRONG_KIND} 61 C"),
    (AC, "flat", "“flat” does not begin with a number. Type for instance 17.0 V"),
    (AC, "inf", "“inf” does not begin with a number. Type for instance 17.0 V"),
    (AC, "nan V", "“nan V” does not begin with a number. Type for instance 17.0 V"),
    (AC, "٣", "Digits are 0 to 9 here, not “٣”. Type for instance 17.0 V"),
    (AC, "20²", "Digits are 0 to 9 here, not “²”. Type for instance 17.0 V"),
    (AC, "20\x00", "There is a character in it that cannot be shown. Type for instance 20 V"),
    (AC, "20 V ± 1", "The uncertainty comes from the meter, so the reading is typed alone. Type for instance 20 V"),
    (AC, "1e13", "1e13 is beyond anything on a bench. Type for instance 17.0 V"),
    (AC, "1e999", "1e999 is beyond anything on a bench. Type for instance 17.0 V"),
    (AC, "20 MV", "“MV” is not a unit that is known here. Type for instance 20 mV"),
    (AC, "5M", "“M” does not go with V here. Type for instance 5m"),
    (AC, "20 vlots", "“vlots” is not a unit that is known here. Type for instance 20 V"),
    (AC, "20kk", "“kk” is not a unit that is known here. Type for instance 20 V"),
    (OHMS, "100n", "“n” does not go with Ω here. Type for instance 8.2 ohm"),
    (HEAT, "1k", "“k” does not go with °C here. Type for instance 61 C"),
    # Marks for thousands
    (AC, "1,000", "“1,000” may have a mark for thousands, so write 1.000 or 1000. Type for instance 1000"),
    (AC, "12,345 V", "“12,345” may have a mark for thousands, so write 12.345 or 12345. Type for instance 12345 V"),
    (AC, "1 000", "“1 000” may have a mark for thousands, so write 1.000 or 1000. Type for instance 1000"),
    (AC, "1\u2009000", "“1 000” may have a mark for thousands, so write 1.000 or 1000. Type for instance 1000"),
    (AC, "1'000", "“1'000” may have a mark for thousands, so write 1.000 or 1000. Type for instance 1000"),
    (AC, "1.000,5", "“1.000,5” may have a mark for thousands, so write 1000.5. Type for instance 1000.5"),
    (AC, "1,000.5", "“1,000.5” may have a mark for thousands, so write 1000.5. Type for instance 1000.5"),
    (AC, "1.2.3", "A number has one decimal mark only. Type for instance 1.2"),
    (AC, "20 5", "There is a gap inside the number. Type for instance 20"),
    # Forms
    (AC, "-3", "An RMS value is never negative. Type for instance 3"),
    (PEAK, "-3", "A peak value is never negative. Type for instance 3"),
    (OHMS, "-3", "A resistance is never negative. Type for instance 3"),
    (DC, "48 Vpp", f"Peak-to-peak is typed where DC {WRONG_KIND} 17.0 V"),
    (DC, "12 V ac", f"RMS is typed where DC {WRONG_KIND} 17.0 V"),
    (AC, "20 Vdc", f"DC is typed where RMS {WRONG_KIND} 17.0 V"),
    (WATTS, "20 W pk", "Peak is typed where no form such as RMS or peak is expected. Type for instance 10 W"),
    # Peaks of flattened tops: of a sine they would tell the RMS
    *[
        (FLATTENED, typed, f"The tops are flattened here, so {form} does not tell the RMS: read RMS on the meter. Type for instance 17.0 V")
        for typed, form in [
            ("57 Vpp", "peak-to-peak"), ("57 V p-p", "peak-to-peak"), ("28 Vpk", "peak"),
            ("5.7 Vpp x10", "peak-to-peak"), ("2.8 pk on 3 x10", "peak"),
            ("5.7 div at 10", "peak-to-peak"), ("5.7 div", "peak-to-peak"),
        ]
    ],
    # Ranges
    (AC, "2.0 on 5", "There is no range “5”; the ranges are 100 mV, 300 mV … 30 V. Type for instance 2.0 on 3"),
    (AC, "2.5/5*10", "There is no range “5”; the ranges are 100 mV, 300 mV … 30 V. Type for instance 2.5/3x10"),
    (AC, "4.0 on 3", "4.0 lies beyond the 3 V range. Type for instance 4.0 on 10"),
    (AC, "3.07 on 3", "3.07 lies beyond the 3 V range. Type for instance 3.07 on 10"),
    (AC, "2.0 on", "The range after “on” is missing. Type for instance 2.0 on 3"),
    (AC, "2.0/", "The range after “on” is missing. Type for instance 2.0 on 3"),
    (AC, "2.0 on 3 x", "The number after “x” is missing. Type for instance 2.0 on 3 x10"),
    (AC, "2.0 on 3 xten", "“ten” after “x” is not a number. Type for instance 2.0 on 3 x10"),
    (AC, "2.0 on 3 x0", "No probe or attenuator is x0. Type for instance 2.0 on 3 x10"),
    (AC_ANY, "2.0 on 0", "A range has a positive full scale. Type for instance 2.0 V"),
    (AC, "2.0 on 3 ohm", f"“3 ohm” is in Ω (resistance) where V (voltage) {WRONG_KIND} 17.0 V"),
    (HEAT, "61 x10", "°C (temperature) is not multiplied. Type for instance 61"),
    # Divisions
    (AC, "4.2 div", "What one division is worth is missing. Type for instance 4.2 div at 5 V"),
    (AC, "4.2 div at 0", "One division is worth a positive voltage. Type for instance 4.2 div at 5"),
    (OHMS, "4.2 div at 5", f"Divisions are typed where Ω (resistance) {WRONG_KIND} 8.2 ohm"),
    # Levels and shares
    (LEVEL_FIRST, "14 V", "Volts need the reading that is 0 dB, and it has not been taken yet. Type for instance -4.5 dB"),
    (LEVEL, "0 V", "0 V has no level in decibels. Type for instance -40 dB"),
    (LEVEL, "-3 dBu", "Levels here are plain dB, against the reading that is 0 dB. Type for instance -3 dB"),
    (LEVEL, "20 Hz", "“20 Hz” is a frequency where dB or volts are expected. Type for instance -4.5 dB"),
    (LEVEL, "1e-300 V", "“1e-300 V” is no level: 20 V at 0 dB is farther from it than any two voltages. Type for instance -4.5 dB"),
    (LEVEL, "999", "999 dB is beyond any two voltages. Type for instance -4.5 dB"),
    (SHARE, "8 V", "A share is a percentage, or divisions out of divisions such as 0.4/5. Type for instance 8 %"),
    (SHARE, "1/0", "The whole is more than 0 divisions. Type for instance 1/5"),
    (SHARE, "5000 %", "That is more than ten times the whole. Type for instance 8 %"),
    # Words
    (HEAT, "lukewarm", "The words for what the finger says are cold, cool, warm, hot, too hot to hold. Type for instance warm"),
    (MARK, "11", "11 is not from 0 to 10. Type for instance 7"),
    (MARK, "good", "A mark is a number from 0 to 10. Type for instance 7"),
    (CONFIRM, "maybe", "The answer is y (or +) or n (or -). Type for instance y"),
    (TEXT, " \t", "Nothing was typed. Type for instance as it should be"),
    (TEXT, "\x1b[2J", "There is a character in it that cannot be shown. Type for instance as it should be"),
    (AC, "9" * 81, "That is longer than any answer to this prompt. Type for instance 17.0 V"),
    (AC, "0." + "1" * 30, "That is more digits than any meter shows. Type for instance 17.0 V"),
    *[
        (prompt, "=", "There is no reading yet that “=” could repeat. Type for instance " + nearest)
        for prompt, nearest in [(AC, "17.0 V"), (LEVEL, "-4.5 dB"), (SHARE, "8 %"), (HEAT, "61 C")]
    ],
]  # fmt: skip


@pytest.mark.parametrize(
    ("expected", "typed", "sentence"),
    REFUSED,
    ids=[f"{case[0].answer}:{case[0].unit}:{case[1][:20]!a}" for case in REFUSED],
)
def test_entry_is_refused_with_a_sentence(expected, typed, sentence):
    entry = parse_entry(typed, expected)
    assert isinstance(entry, Refusal), entry
    assert entry.typed == typed
    # What to do comes first on the screen, where a long line is cut.
    reason, _, nearest = sentence.partition(". Type for instance ")
    assert entry.sentence == f"Type for instance “{nearest}”. {reason}."
    assert isinstance(parse_entry(entry.nearest, expected), Understood)


def test_a_refusal_points_at_the_piece_that_is_wrong():
    assert parse_entry("2.0 on 5 x10", AC).at == 7
    assert parse_entry("20 vlots", AC).at == 3
    assert parse_entry("", AC).at is None
