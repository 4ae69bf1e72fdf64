"""A swing above its rail: what is out of line with its like is doubted, and taken again first."""

from __future__ import annotations

from stepwise.judge import Flag, Result
from stepwise.judge.flags import find_flags
from tests.judge.flag_case import findings, result
from tests.judge.flag_cases_physics import CLIP, CLIP4, level

RIGHT = "clip/right/8 ohm"


def rail(name: str, volts: float, at: str = CLIP) -> Result:
    return result(name, volts, u=0.1, at=at)


def swing(*results: Result) -> Flag:
    (flag,) = [f for f in find_flags(findings(*results)) if f.name == "swing-above-rails"]
    return flag


# 24 V RMS is 33.9 V peak: within a rail of 44 V, and not within the 27 V that was typed.
def test_a_rail_that_fell_out_of_line_is_taken_again_first() -> None:
    flag = swing(rail("rail_plus", 48.2, "quiescent/left/"), level(24.0), rail("rail_plus", 27.0))
    assert flag.keys == (f"{CLIP}/rail_plus", f"{CLIP}/level")
    assert flag.likely[0].startswith("The rail was misread")
    assert flag.next_try.startswith("Take the rail again first, with the tone on: 27.00 V stands")
    assert "beside 48.20 V at idle" in flag.next_try


def test_the_rail_across_and_the_other_passes_speak_too() -> None:
    flag = swing(level(24.0), rail("rail_plus", 27.0), rail("rail_minus", -44.0))
    assert flag.keys[0] == f"{CLIP}/rail_plus"
    flag = swing(
        level(24.0), rail("rail_plus", 27.0), level(24.2, RIGHT), rail("rail_plus", 44.0, RIGHT)
    )
    assert flag.keys[0] == f"{CLIP}/rail_plus"


def test_a_level_out_of_line_is_taken_again_first() -> None:
    others = (level(24.0, RIGHT), rail("rail_plus", 36.0, RIGHT), level(23.0, CLIP4))
    flag = swing(level(67.9), rail("rail_plus", 36.0), *others)
    assert flag.keys == (f"{CLIP}/level", f"{CLIP}/rail_plus")
    assert flag.likely[0] == "Peak-to-peak volts typed as RMS (a factor of 2.8)"
    assert flag.next_try.startswith("Take the level again first")


def test_a_level_that_not_even_the_idle_rail_holds_is_the_slip() -> None:
    # 34 V RMS is 48.1 V peak, over the 38 V at idle as well: a peak that was typed as RMS.
    flag = swing(rail("rail_plus", 38.0, "quiescent/left/"), level(34.0), rail("rail_plus", 34.0))
    assert flag.keys[0] == f"{CLIP}/level"
    assert flag.likely[0] == "Peak volts typed as RMS (a factor of 1.4)"


def test_no_rail_is_said_to_have_been_read_with_the_tone_off() -> None:
    # It stands higher then, and no swing passes it for that.
    flag = swing(level(20.0), rail("rail_plus", 25.0), rail("rail_minus", -25.0))
    assert flag.keys[0] == f"{CLIP}/level"
    assert not any("tone off" in text for text in flag.likely)
