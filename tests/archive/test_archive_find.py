"""Finding logs: the same answers from SQLite and from PostgreSQL."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy import Engine

from stepwise.archive import Query, QueryError
from stepwise.archive import find as find_module
from stepwise.archive.archive import Archive
from tests.archive.entries import entry, flag, mark, put_in, result


def names(archive: Archive, **asked: object) -> list[str]:
    return [row.name for row in archive.find(Query(**asked)).rows]  # type: ignore[arg-type]


def test_the_newest_stand_first_and_pages_fit_together(archive: Archive, engine: Engine) -> None:
    put_in(engine, *(entry(number) for number in range(7)))
    first = archive.find(Query(limit=3))
    assert [row.name for row in first.rows] == ["log-006", "log-005", "log-004"]
    assert first.more
    last = archive.find(Query(limit=3, offset=6))
    assert [row.name for row in last.rows] == ["log-000"]
    assert not last.more
    assert names(archive, reverse=True, limit=2) == ["log-000", "log-001"]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("relay", [1, 3]),
        ("RELAY hum", [3]),
        ("ela", [1, 3]),
        ("re", [1, 3]),
        ('"', [2]),
        ("100% _", [2]),
        ("%%%", []),
        ("straße", [4]),
        ("nowhere", []),
        ("' OR 1=1 --", []),
    ],
)
def test_text_is_found_in_parts_and_is_never_a_pattern(
    archive: Archive, engine: Engine, text: str, found: list[int]
) -> None:
    words = {1: "relay", 2: 'a "quoted" 100% _', 3: "a relay and a hum", 4: "strasse"}
    put_in(engine, *(entry(n, words=words.get(n, "log")) for n in range(5)))
    assert sorted(names(archive, text=text)) == [f"log-{number:03d}" for number in found]


def test_each_filter_narrows(archive: Archive, engine: Engine) -> None:
    put_in(
        engine,
        entry(0, unit="Amber", episode="Spring fair", verdict="out of spec"),
        entry(1, unit="Amber Two", procedure="quick-check", flags=(flag("early-roll-off"),)),
        entry(30, unit="Slate", rehearsal=True),
        entry(31, unit="Slate", ended="", verdict="unfinished"),
    )
    assert sorted(names(archive, unit="AMBER")) == ["log-000", "log-001"]
    assert names(archive, episode="spring") == ["log-000"]
    assert names(archive, procedure="quick") == ["log-001"]
    assert names(archive, verdict="out of spec") == ["log-000"]
    assert names(archive, verdict="unfinished") == ["log-031"]
    assert names(archive, flag="early-roll-off") == ["log-001"]
    assert names(archive, flag="early") == []
    assert names(archive, rehearsals=True) == ["log-030"]
    assert names(archive, rehearsals=False, unit="slate") == ["log-031"]
    assert names(archive, since=date(2026, 5, 2)) == ["log-031", "log-030"]
    assert names(archive, until=date(2026, 5, 1)) == ["log-001", "log-000"]
    assert names(archive, since=date(2026, 5, 2), until=date(2026, 5, 2), unit="amber") == []


def test_a_row_tells_its_flags_once_and_worst_first(archive: Archive, engine: Engine) -> None:
    put_in(engine, entry(0, flags=(flag("hot", "stop"), flag("odd"), flag("hot", "stop"))))
    (row,) = archive.find(Query()).rows
    assert row.flags == ("hot", "odd")


def test_sorting_by_a_result_puts_the_best_first(archive: Archive, engine: Engine) -> None:
    put_in(
        engine,
        entry(0, results=(result("power", 60.0, "W", load="8 ohm"),)),
        entry(1, results=(result("power", 80.0, "W", load="8 ohm"),
                          result("power", 50.0, "W", load="8 ohm", channel="right"))),
        entry(2, results=(result("power", 55.0, "W", load="8 ohm"),
                          result("power", 99.0, "W", load="4 ohm"))),
        entry(3),
    )  # fmt: skip
    found = archive.find(Query(sort="power@8 ohm"))
    assert [row.name for row in found.rows] == ["log-000", "log-002", "log-001", "log-003"]
    assert [row.figure.text for row in found.rows if row.figure] == [
        "60.0 ± 1.0 W", "55.0 ± 1.0 W", "50.0 ± 1.0 W",
    ]  # fmt: skip
    assert names(archive, sort="power@8 ohm", reverse=True)[0] == "log-001"
    assert names(archive, sort="power@4 Ω") == ["log-002", "log-003", "log-001", "log-000"]


def test_logs_without_the_result_come_last_the_newest_first_whichever_way_round(
    archive: Archive, engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = [
        entry(n, words="hum", results=(result("power", float(n), "W", load="8 ohm"),) * (n % 3 == 0))
        for n in range(10)
    ]  # fmt: skip
    put_in(engine, *made, entry(30, words="relay"))
    last = ["log-030", "log-008", "log-007", "log-005", "log-004", "log-002", "log-001"]
    has = ["log-009", "log-006", "log-003", "log-000"]
    for few in (2000, 1):
        monkeypatch.setattr(find_module, "_FEW", few)
        assert names(archive, sort="power@8 ohm") == has + last
        assert names(archive, sort="power@8 ohm", reverse=True) == has[::-1] + last
        assert names(archive, sort="power", text="hum") == has + last[1:]
        assert names(archive, sort="power", text="relay") == ["log-030"]
        assert names(archive, sort="power", text="nowhere") == []


@pytest.mark.parametrize("limit", [1, 2, 3, 4, 5, 20])
def test_pages_of_a_sorted_list_fit_together_where_the_result_ends(
    archive: Archive, engine: Engine, limit: int
) -> None:
    made = [entry(n, results=(result("power", float(n), "W"),) * (n % 2)) for n in range(9)]
    put_in(engine, *made)
    whole = names(archive, sort="power")
    assert len(whole) == 9
    pages = []
    for offset in range(0, 12, limit):
        found = archive.find(Query(sort="power", limit=limit, offset=offset))
        assert found.more is (offset + limit < 9)
        pages += [row.name for row in found.rows]
    assert pages == whole


def test_less_is_better_for_heat_and_the_size_counts_for_offset(
    archive: Archive, engine: Engine
) -> None:
    put_in(
        engine,
        entry(0, results=(result("temperature", 60.0, "C"), result("offset", -0.030, "V"))),
        entry(1, results=(result("temperature", 40.0, "C"), result("offset", 0.010, "V"))),
    )
    assert names(archive, sort="temperature") == ["log-001", "log-000"]
    assert names(archive, sort="offset") == ["log-001", "log-000"]


def test_marks_and_prices_can_be_sorted_by(archive: Archive, engine: Engine) -> None:
    put_in(
        engine,
        entry(0, mark=mark(6.0), price=49.9, currency="EUR"),
        entry(1, mark=mark(8.0), price=89.0, currency="EUR"),
    )
    assert names(archive, sort="mark") == ["log-001", "log-000"]
    found = archive.find(Query(sort="price"))
    assert [row.figure.text for row in found.rows if row.figure] == ["49.9 EUR", "89 EUR"]


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"sort": "power@3 ohm"}, "no log has a result “power” into 3 ohm to sort by"),
        ({"sort": "powr"}, "no log has a result “powr” to sort by; did you mean “power”?"),
        ({"verdict": "good"}, "there is no verdict “good”; known: in spec"),
        ({"limit": 0}, "a list has 1 to 1000000 lines, and begins at 0 or later"),
        (
            {"since": date(2026, 5, 2), "until": date(2026, 5, 1)},
            "no day lies between 2026-05-02 and 2026-05-01",
        ),
    ],
)
def test_what_cannot_be_asked_is_a_sentence(
    archive: Archive, engine: Engine, asked: dict[str, object], said: str
) -> None:
    put_in(engine, entry(0, results=(result("power", 60.0, "W"),)))
    with pytest.raises(QueryError) as caught:
        archive.find(Query(**asked))  # type: ignore[arg-type]
    assert str(caught.value).startswith(said)


def test_few_and_many_logs_are_found_alike(
    archive: Archive, engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The query is put in two ways; which one must not be seen."""
    made = [
        entry(n, words=f"log {'relay' if n % 2 else 'hum'}", verdict="in spec",
              results=(result("power", float(n % 5), "W"),))
        for n in range(20)
    ]  # fmt: skip
    put_in(engine, *made)
    asked = [
        Query(text="relay", sort="power"), Query(text="relay"), Query(text="re", limit=4),
        Query(text="hum", verdict="in spec", sort="power", reverse=True),
    ]  # fmt: skip
    few = [archive.find(query) for query in asked]
    monkeypatch.setattr(find_module, "_FEW", 1)
    assert [archive.find(query) for query in asked] == few


def test_a_log_that_went_on_is_found_by_its_new_words_only(
    archive: Archive, engine: Engine
) -> None:
    put_in(engine, entry(0, words="relay"))
    put_in(engine, replace(entry(0, words="hum"), digest="other", events=11))
    assert names(archive, text="relay") == []
    assert names(archive, text="hum") == ["log-000"]
    put_in(engine, replace(entry(0, words="relay"), digest="older", events=5))
    assert names(archive, text="hum") == ["log-000"]


def test_best_first_knows_what_is_best_of_what_the_shipped_procedures_find(
    archive: Archive, engine: Engine
) -> None:
    put_in(
        engine,
        entry(0, results=(result("crosstalk", -50.0, "dB"), result("offset_hot", -0.04, "V"))),
        entry(1, results=(result("crosstalk", -70.0, "dB"), result("offset_hot", 0.01, "V"))),
    )
    for name in ("crosstalk", "offset_hot"):
        rows = archive.find(Query(sort=name)).rows
        assert [row.name for row in rows] == ["log-001", "log-000"]
