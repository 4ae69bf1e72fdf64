"""Reservoirs that are still charged: for either sign, with what was confirmed, by the evidence."""

from __future__ import annotations

import pytest

from stepwise.judge import Confirmed, Findings, Flag, Result
from stepwise.judge.flags import find_flags
from tests.judge.flag_case import at_most, result, within

PROOF = "dead-volts//"
DISCHARGED = Confirmed(
    "make-dead///2", "make-dead", "Each reservoir discharged", frozenset({"dead-volts"})
)


def dead(plus: float, minus: float, u: float = 0.05) -> list[Result]:
    return [
        result("rail_plus_dead", plus, u=u, at=PROOF, limit=within(10.0, "V")),
        result("rail_minus_dead", minus, u=u, at=PROOF, limit=within(10.0, "V")),
    ]


def idle(plus: float = 35.0, minus: float = -35.0) -> list[Result]:
    return [result("rail_plus", plus, u=0.1), result("rail_minus", minus, u=0.1)]


def flags(*results: Result, confirmed: tuple[Confirmed, ...] = ()) -> list[Flag]:
    found = find_flags(Findings(tuple(results), confirmed=confirmed))
    return [flag for flag in found if flag.name == "reservoirs-live"]


@pytest.mark.parametrize("volts", [(34.0, -34.0), (-34.0, 34.0), (14.0, 0.1), (0.1, -10.3)])
def test_either_sign_and_either_rail(volts: tuple[float, float]) -> None:
    (flag,) = flags(*dead(*volts))
    live = [name for name, each in zip(("plus", "minus"), volts, strict=True) if abs(each) > 10.0]
    assert flag.keys == tuple(f"{PROOF}/rail_{name}_dead" for name in live)
    assert flag.next_try.startswith("Local codes and licensed practice come first.")


@pytest.mark.parametrize("volts", [(9.9, -9.9), (0.3, -0.2), (0.0, 0.0)])
def test_dead_rails_say_nothing(volts: tuple[float, float]) -> None:
    assert flags(*dead(*volts)) == []


def test_a_limit_of_the_procedure_that_is_narrower_counts_and_a_wider_one_does_not() -> None:
    assert flags(result("rail_plus_dead", 6.0, u=0.05, at=PROOF, limit=within(5.0, "V")))
    assert flags(result("rail_plus_dead", 34.0, u=0.05, at=PROOF, limit=at_most(42.0, "V")))


def test_what_was_confirmed_is_named_as_the_contradiction() -> None:
    (flag,) = flags(*dead(14.0, -14.0), confirmed=(DISCHARGED,))
    assert "though “Each reservoir discharged” was confirmed" in flag.says
    assert flag.keys[-1] == DISCHARGED.key
    assert ("Confirmed before", DISCHARGED.ask) in [(e.name, e.value) for e in flag.evidence]


def test_only_a_confirmation_of_a_discharge_before_it_is_named() -> None:
    later = Confirmed("last///1", "last", "Reservoirs discharged again", frozenset())
    other = Confirmed("make-dead///1", "make-dead", "Unplugged", frozenset({"dead-volts"}))
    (flag,) = flags(*dead(14.0, -14.0), confirmed=(other, later))
    assert "confirmed" not in flag.says
    assert flag.keys == (f"{PROOF}/rail_plus_dead", f"{PROOF}/rail_minus_dead")


def test_a_full_rail_points_to_the_feed_and_a_rest_to_the_discharge() -> None:
    (full,) = flags(*idle(), *dead(34.5, -34.6))
    assert full.likely[0].startswith("The feed is still on")
    (rest,) = flags(*idle(), *dead(14.0, -14.0))
    assert rest.likely[0].startswith("The discharge resistor was lifted")
    (lone,) = flags(*idle(), *dead(14.0, -0.2))
    assert lone.likely[0] == "Only the positive reservoir was passed over"


def test_volts_before_a_resistance_is_read_are_live_too() -> None:
    (flag,) = flags(result("volts_before", 30.0, u=0.1, at="cold-ohms/left/"))
    assert flag.channel == "left"
    assert flags(result("volts_before", 3.0, u=0.1, at="cold-ohms/left/")) == []
