"""Where a unit stands: places, and what the uncertainties leave open."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine

from stepwise.archive import ArchiveError, Standing
from stepwise.archive.archive import Archive
from tests.archive.entries import entry, mark, put_in, result


def powers(*watts: float, spread: float | None = 1.0) -> list[object]:
    return [
        entry(n, results=(result("power", w, "W", spread=spread, load="8 ohm"),))
        for n, w in enumerate(watts)
    ]


def standing(archive: Archive, number: int, name: str = "power") -> Standing:
    ranking = archive.rank(f"{number:064x}")
    (found,) = (each for each in ranking.standings if each.name == name)
    return found


def test_places_are_counted_from_the_best(archive: Archive, engine: Engine) -> None:
    put_in(engine, *powers(50.0, 70.0, 60.0))  # type: ignore[arg-type]
    assert [standing(archive, n).place for n in range(3)] == [3, 1, 2]
    assert standing(archive, 1).places == "1st of 3"


def test_what_is_too_near_to_tell_apart_shares_places(archive: Archive, engine: Engine) -> None:
    """61 and 60 W are known to 1 W each: sqrt 2 W apart they would be told apart."""
    put_in(engine, *powers(70.0, 61.0, 60.0, 40.0))  # type: ignore[arg-type]
    near = standing(archive, 2)
    assert (near.place, near.best_place, near.worst_place, near.of) == (3, 2, 3, 4)
    assert near.places == "2nd to 3rd of 4"
    assert standing(archive, 1).places == "2nd to 3rd of 4"
    assert not standing(archive, 0).is_tied
    assert standing(archive, 3).places == "4th of 4"


def test_a_figure_without_uncertainty_is_told_apart_to_the_last_digit(
    archive: Archive, engine: Engine
) -> None:
    put_in(engine, *powers(50.0, 50.0, 50.1, spread=None))  # type: ignore[arg-type]
    assert standing(archive, 2).places == "1st of 3"
    assert standing(archive, 0).places == standing(archive, 1).places == "2nd of 3"


def test_less_heat_is_better(archive: Archive, engine: Engine) -> None:
    put_in(
        engine,
        entry(0, results=(result("temperature", 70.0, "C"), result("temperature", 30.0, "C"))),
        entry(1, results=(result("temperature", 50.0, "C"),)),
    )
    assert standing(archive, 1, "temperature").place == 1
    assert standing(archive, 0, "temperature").value == 70.0


def test_of_several_places_the_one_that_counts_gives_its_name(
    archive: Archive, engine: Engine
) -> None:
    cool = result("temperature", 30.0, "C", label="Heatsink")
    hot = result("temperature", 70.0, "C", label="Transformer")
    put_in(engine, entry(0, results=(cool, hot)))
    assert standing(archive, 0, "temperature").label == "Transformer"


def test_only_the_latest_ended_log_of_a_unit_counts(archive: Archive, engine: Engine) -> None:
    again = {"subject": "teal | 0", "serial": "0"}
    put_in(
        engine,
        *powers(50.0, 60.0),  # type: ignore[arg-type]
        entry(5, **again, results=(result("power", 70.0, "W", load="8 ohm"),)),
        entry(6, **again, ended="", results=(result("power", 90.0, "W", load="8 ohm"),)),
    )
    assert standing(archive, 1).places == "2nd of 2"
    assert standing(archive, 5).places == "1st of 2"
    # Asked about, an earlier log stands in place of the later one and not beside it.
    assert standing(archive, 0).places == "2nd of 2"


def test_an_older_log_that_is_added_later_does_not_stand_for_its_unit(
    archive: Archive, engine: Engine
) -> None:
    put_in(engine, entry(5, subject="one", results=(result("power", 70.0, "W", load="8 ohm"),)))
    put_in(engine, entry(1, subject="one", results=(result("power", 20.0, "W", load="8 ohm"),)))
    put_in(engine, entry(2, subject="two", results=(result("power", 50.0, "W", load="8 ohm"),)))
    assert standing(archive, 2).places == "2nd of 2"


def test_rehearsals_other_procedures_and_other_currencies_are_kept_apart(
    archive: Archive, engine: Engine
) -> None:
    put_in(
        engine,
        entry(0, price=50.0, currency="EUR", mark=mark(5.0)),
        entry(1, price=20.0, currency="GBP", mark=mark(9.0), rehearsal=True),
        entry(2, price=20.0, currency="EUR", mark=mark(9.0), procedure="quick-check"),
        entry(3, price=20.0, currency="GBP", mark=mark(4.0)),
    )
    assert standing(archive, 0, "price").places == "1st of 1"
    assert standing(archive, 0, "mark").places == "1st of 2"


def test_watts_for_each_volt_ampere_are_ranked(archive: Archive, engine: Engine) -> None:
    small, large = (result("power", w, "W", load="4 ohm") for w in (60.0, 80.0))
    put_in(
        engine,
        entry(0, transformer=100.0, results=(small,)),
        entry(1, transformer=160.0, results=(large,)),
    )
    frugal = standing(archive, 0, "power_per_va")
    assert frugal.value == pytest.approx(0.6)
    assert frugal.uncertainty == pytest.approx(0.01)
    assert frugal.places == "1st of 2"


def test_a_log_that_is_not_there_is_said(archive: Archive) -> None:
    with pytest.raises(ArchiveError, match="the log is not in it"):
        archive.rank("0" * 64)
