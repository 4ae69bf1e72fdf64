"""Export: tidy, one row a result, and harmless in a table program."""

from __future__ import annotations

import builtins
import csv
import io
from collections.abc import Mapping
from pathlib import Path
from types import ModuleType

import pytest
from sqlalchemy import Engine

from stepwise.archive import COLUMNS, ArchiveError, open_archive, write_csv, write_parquet
from stepwise.archive.archive import Archive
from tests.archive.entries import entry, put_in, result


def filled(engine: Engine) -> None:
    put_in(
        engine,
        entry(1, unit="=cmd|' /C calc'!A0", episode="@fair",
              results=(result("power", 60.5, "W", load="8 ohm"),
                       result("offset", -0.012, "V", spread=None))),
        entry(0, results=(result("sag", 5.0, "%"),)),
    )  # fmt: skip


def read(archive: Archive) -> list[dict[str, str]]:
    file = io.StringIO(newline="")
    count = write_csv(archive.tidy(), file)
    rows = list(csv.DictReader(io.StringIO(file.getvalue(), newline="")))
    assert len(rows) == count
    return rows


def test_csv_has_one_row_a_result_the_oldest_log_first(archive: Archive, engine: Engine) -> None:
    filled(engine)
    rows = read(archive)
    assert list(rows[0]) == list(COLUMNS)
    assert [(row["folder"], row["name"]) for row in rows] == [
        ("log-000", "sag"), ("log-001", "power"), ("log-001", "offset"),
    ]  # fmt: skip
    assert rows[1]["load"] == "8 ohm"
    assert float(rows[1]["value"]) == 60.5
    assert rows[1]["rehearsal"] == "false"


def test_text_from_people_is_no_formula_and_numbers_stay_numbers(
    archive: Archive, engine: Engine
) -> None:
    filled(engine)
    row = read(archive)[2]
    assert row["unit"] == "'=cmd|' /C calc'!A0"
    assert row["episode"] == "'@fair"
    assert row["value"] == "-0.012"
    assert row["uncertainty"] == ""


def test_parquet_holds_the_same_with_types(
    archive: Archive, engine: Engine, tmp_path: Path
) -> None:
    import pyarrow.parquet as pq

    filled(engine)
    path = tmp_path / "results.parquet"
    assert write_parquet(archive.tidy(), path) == 3
    table = pq.read_table(path)
    assert table.column_names == list(COLUMNS)
    kinds = {field.name: str(field.type) for field in table.schema}
    assert (kinds["value"], kinds["revision"], kinds["rehearsal"]) == ("double", "int64", "bool")
    rows = table.to_pylist()
    assert rows[1]["unit"] == "=cmd|' /C calc'!A0"
    assert rows[2]["uncertainty"] is None
    assert [row["value"] for row in rows] == [5.0, 60.5, -0.012]


def test_an_empty_archive_gives_an_empty_table(archive: Archive, tmp_path: Path) -> None:
    import pyarrow.parquet as pq

    assert read(archive) == []
    assert write_parquet(archive.tidy(), tmp_path / "none.parquet") == 0
    assert pq.read_table(tmp_path / "none.parquet").num_rows == 0


def test_without_pyarrow_it_is_said_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    usual = builtins.__import__

    def without(
        name: str,
        variables: Mapping[str, object] | None = None,
        local: Mapping[str, object] | None = None,
        wanted: tuple[str, ...] = (),
        level: int = 0,
    ) -> ModuleType:
        if name.startswith("pyarrow"):
            raise ModuleNotFoundError(name)
        return usual(name, variables, local, wanted, level)

    monkeypatch.setattr(builtins, "__import__", without)
    monkeypatch.setattr("sys.executable", "/opt/a bench/python")
    with pytest.raises(ArchiveError) as caught:
        write_parquet([], tmp_path / "x.parquet")
    said = "in the folder of the project run '/opt/a bench/python' -m pip install -e '.[parquet]'"
    assert said in str(caught.value)


def test_without_its_driver_a_server_says_how_it_is_put_in(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def without(*_: object, **__: object) -> None:
        raise ModuleNotFoundError("no driver")

    monkeypatch.setattr("stepwise.archive.engine.create_engine", without)
    with pytest.raises(ArchiveError, match=r"-m pip install -e '\.\[server\]'"):
        open_archive("postgresql://hall@localhost/boards")
