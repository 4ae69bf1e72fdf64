"""What the archive costs at 100,000 logs, on SQLite and PostgreSQL, beside a scan of journals.

    python -m tests.benchmarks.archive [COUNT] [sqlite|postgresql]

The logs are synthetic: rows are put in by the bulk, with figures drawn around those of four
boards. The journals that are scanned beside them are copies of one real rehearsal; a sample of
them is read and the time scaled, which is said. Prints, asserts nothing.
"""

from __future__ import annotations

import random
import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from statistics import median
from typing import Any

import msgspec
from sqlalchemy import Connection, Engine, Table, text

from stepwise.archive import Query, tables
from stepwise.archive.archive import Archive
from stepwise.archive.engine import file_engine, server_engine
from stepwise.archive.entry import Entry, EntryFlag, EntryResult, Mark
from stepwise.archive.entry_reader import read_entry
from stepwise.archive.refresh import refresh
from stepwise.archive.rows import (
    figure_rows,
    flag_rows,
    log_row,
    pool_of,
    result_rows,
    standing_rows,
)
from stepwise.cli.places import now
from stepwise.cli.plans import rehearsal_plan
from stepwise.cli.rehearse import answer_all
from stepwise.rehearsal import RehearsalBench
from stepwise.run import Run
from tests.archive.postgres import server

COUNT = 100_000
RUNS_OF_A_UNIT = 4
SAMPLE = 100
FOLDERS = 10_000
PARTS = ("log", "result", "flag", "figure", "standing")
POOL = pool_of(rehearsal=False, procedure="first-look")
BOARDS = {"Teal": 50.0, "Amber": 42.0, "Slate": 66.0, "Sand": 35.0}
FLAGS = ("early-roll-off", "claim-missed", "warm-heatsink", "offset-high", "range-too-high")
WORDS = [
    "hum",
    "relay",
    "solder",
    "spare",
    "fan",
    "transformer",
    "rack",
    "stage",
    "aisle",
    "balcony",
    "bar",
    "foyer",
]
START = datetime(2016, 1, 1, tzinfo=UTC)


def synthetic(number: int, chance: random.Random) -> Entry:
    """One log; each unit is tested four times, weeks apart."""
    unit = number // RUNS_OF_A_UNIT
    board = list(BOARDS)[unit % len(BOARDS)]
    began = START + timedelta(minutes=37 * number)
    flags = tuple(
        EntryFlag(name, "look", "clip", "left", "8 ohm", f"{name} was seen")
        for name in FLAGS
        if chance.random() < 0.1
    )
    remark = " ".join(chance.choices(WORDS, k=8))
    rare = " needle-in-a-haystack" if number % 20_011 == 17 else ""
    serial = f"QH-{unit:06d}"
    return Entry(
        identity=f"{number:064x}",
        digest=f"{number:064x}",
        events=142,
        size=130_000,
        name=f"{began:%Y-%m-%d}-{board.lower()}-{number:06d}",
        unit=board,
        serial=serial,
        episode=f"Season {unit // 1000}",
        procedure="first-look",
        revision=1,
        title="Two-channel power amplifier, first look",
        bench="Hall workshop",
        operator="QH",
        began=began.isoformat().replace("+00:00", "Z"),
        ended=(began + timedelta(hours=1)).isoformat().replace("+00:00", "Z"),
        verdict=chance.choices(("in spec", "out of spec", "too close to call"), (6, 3, 1))[0],
        complete=True,
        answered=140,
        price=round(chance.uniform(20.0, 90.0), 2),
        currency="EUR",
        transformer=160.0,
        mark=Mark(chance.uniform(3.0, 9.0), 0.4),
        subject=f"{board} | {serial}".lower(),
        results=tuple(results(BOARDS[board], chance)),
        flags=flags,
        words=f"{board} {serial} season {unit // 1000} first-look hall workshop qh "
        f"{' '.join(flag.name for flag in flags)} {remark}{rare}".lower(),
    )


def results(watts: float, chance: random.Random) -> Iterator[EntryResult]:
    """Twenty results, as many as a short procedure has."""
    for channel in ("left", "right"):
        for load, factor in (("8 ohm", 1.0), ("4 ohm", 1.7)):
            power = watts * factor * chance.gauss(1.0, 0.1)
            yield made("clip", channel, load, "power", power, 0.09 * power, "W")
            yield made("clip", channel, load, "sag", chance.uniform(4.0, 14.0), 0.5, "%")
        yield made("sweep", channel, "", "corner_low", chance.uniform(4.0, 30.0), 1.0, "Hz")
        yield made("sweep", channel, "", "corner_high", chance.uniform(4e4, 9e4), 5e3, "Hz")
        yield made("sweep", channel, "", "flatness", chance.uniform(0.1, 2.0), 0.3, "dB")
        yield made("idle", channel, "", "offset", chance.gauss(0.0, 0.01), 1e-4, "V")
        yield made("out", channel, "", "source_impedance", chance.uniform(0.02, 0.2), 0.03, "ohm")
    yield made("heat", "", "", "temperature", chance.uniform(30.0, 70.0), 1.5, "C")
    yield made("marks", "", "", "build", float(chance.randint(3, 9)), None, "")


def made(
    step: str, channel: str, load: str, name: str, value: float, spread: float | None, unit: str
) -> EntryResult:
    return EntryResult(
        step, channel, load, "", name, name.replace("_", " ").capitalize(), value, spread, unit,
        "in spec", 0.99,
    )  # fmt: skip


def fill(engine: Engine, count: int) -> float:
    """Put the logs in by the bulk; gives the seconds."""
    start = time.perf_counter()
    chance = random.Random(1)
    for first in range(0, count, 5000):
        rows: dict[str, list[dict[str, Any]]] = {name: [] for name in PARTS}
        for number in range(first, min(first + 5000, count)):
            entry = synthetic(number, chance)
            is_latest = number % RUNS_OF_A_UNIT == RUNS_OF_A_UNIT - 1 or number == count - 1
            rows["log"].append(log_row(entry) | {"id": number + 1})
            rows["result"] += result_rows(entry, number + 1)
            rows["flag"] += flag_rows(entry, number + 1)
            figures = figure_rows(entry, number + 1)
            rows["figure"] += figures
            if is_latest:
                rows["standing"] += standing_rows(figures, number + 1, POOL)
        with engine.begin() as connection:
            for name, held in rows.items():
                bulk(connection, getattr(tables, name), held)
    with engine.begin() as connection:
        if engine.dialect.name == "postgresql":
            # The ids were given by hand, which its counter does not see.
            connection.execute(
                text("SELECT setval(pg_get_serial_sequence('stepwise_log', 'id'), :n)"),
                {"n": count},
            )
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.execute(text("ANALYZE" if engine.dialect.name == "sqlite" else "VACUUM ANALYZE"))
    return time.perf_counter() - start


def bulk(connection: Connection, table: Table, rows: list[dict[str, Any]]) -> None:
    """Rows past the library, as each database takes them quickest."""
    if not rows:
        return
    names = list(rows[0])
    values = [tuple(row[name] for name in names) for row in rows]
    columns = ", ".join(f'"{name}"' for name in names)
    cursor: Any = connection.connection.cursor()
    if connection.dialect.name == "sqlite":
        marks = ", ".join("?" for _ in names)
        cursor.executemany(f"INSERT INTO {table.name} ({columns}) VALUES ({marks})", values)
    else:
        with cursor.copy(f"COPY {table.name} ({columns}) FROM STDIN") as copy:
            for value in values:
                copy.write_row(value)
    cursor.close()


def milliseconds(act: Callable[[], object], times: int = 7) -> tuple[float, float, float]:
    """Median and worst by the clock, and the median of this process's own work."""
    taken, own = [], []
    for _ in range(times):
        start, work = time.perf_counter(), time.process_time()
        act()
        taken.append(1000.0 * (time.perf_counter() - start))
        own.append(1000.0 * (time.process_time() - work))
    return median(taken), max(taken), median(own)


def show(what: str, taken: tuple[float, float, float]) -> None:
    middle, worst, own = taken
    print(f"  {what:<42} median {middle:7.1f} ms  worst {worst:7.1f} ms  own work {own:6.1f} ms")


QUERIES = {
    "latest 50": Query(),
    "text, a common word": Query(text="relay"),
    "text, two words, part of one": Query(text="lcony foyer"),
    "text, a rare word": Query(text="needle"),
    "text that is nowhere": Query(text="quicksand"),
    "text of two letters": Query(text="qh"),
    "unit": Query(unit="amber"),
    "unit and episode": Query(unit="slate", episode="season 7"),
    "flag": Query(flag="early-roll-off"),
    "verdict and dates": Query(
        verdict="out of spec", since=date(2017, 1, 1), until=date(2017, 3, 31)
    ),
    "sorted by power into 8 ohm": Query(sort="power@8 ohm"),
    "sorted by corner, of one unit": Query(unit="teal", sort="corner_low"),
    "sorted by mark, a common word": Query(text="balcony", sort="mark"),
    "sorted by mark, a rare word": Query(text="needle", sort="mark"),
    "sorted by heat, flag, verdict and dates": Query(
        flag="claim-missed", verdict="in spec", since=date(2018, 1, 1), sort="temperature"
    ),
}


def measure(archive: Archive, journal: Path) -> None:
    for what, query in QUERIES.items():
        show(what, milliseconds(lambda query=query: archive.find(query)))
    middle = archive.find(Query(sort="power@8 ohm", limit=1000)).rows[-1]
    standings = len(archive.rank(middle.identity).standings)
    show(f"rank by {standings} figures", milliseconds(lambda: archive.rank(middle.identity)))
    copies = iter(copies_of(journal, 12))
    show("read one log and add it", milliseconds(lambda: archive.add(next(copies)), 12))


def copies_of(folder: Path, count: int) -> Iterator[Path]:
    """Logs that differ in their first line, so that each is another."""
    content = (folder / "journal.jsonl").read_bytes()
    for number in range(count):
        copy = folder.parent / f"copy-{number:06d}"
        copy.mkdir(exist_ok=True)
        (copy / "journal.jsonl").write_bytes(content)
        _begin_anew(copy, number)
        yield copy


def _begin_anew(folder: Path, number: int) -> None:
    """Write the journal again with another beginning, whole and chained."""
    from stepwise.journal import read_journal
    from stepwise.journal.event import NO_LINE, encode

    events = read_journal(folder).events
    first = msgspec.structs.replace(events[0], data={**events[0].data, "episode": f"Copy {number}"})
    lines, previous = [], NO_LINE
    for event in (first, *events[1:]):
        line, previous, _ = encode(event, previous)
        lines.append(line)
    (folder / "journal.jsonl").write_bytes(b"".join(lines))


def rehearse(folder: Path) -> Path:
    plan = rehearsal_plan("first-look")
    bench = RehearsalBench(1, plan.unit, plan.bench, [])
    with Run.start(plan, folder, now, rehearsal={"seed": 1, "faults": []}) as run:
        answer_all(run, bench)
        return run.folder


def scan(journal: Path, count: int) -> None:
    """What it would cost to read every journal each time, without an index."""
    start = time.perf_counter()
    for _ in range(SAMPLE):
        read_entry(journal)
    each = (time.perf_counter() - start) / SAMPLE
    print(
        f"  a scan of plain journals, without an index: {1000.0 * each:.1f} ms a log, so "
        f"{each * count:.0f} s for {count} (scaled from {SAMPLE} readings of one rehearsal, "
        "from memory)"
    )


def look_for_changes(folder: Path, count: int) -> None:
    """What a look at every folder costs when nothing has changed."""
    logs, folders = folder / "many", min(count, FOLDERS)
    for number in range(folders):
        (logs / f"log-{number:06d}").mkdir(parents=True)
        (logs / f"log-{number:06d}" / "journal.jsonl").write_bytes(b"no journal\n")
    engine = file_engine(folder / "many.sqlite")
    refresh(engine, logs)
    taken = milliseconds(lambda: refresh(engine, logs), 3)[0]
    engine.dispose()
    print(
        f"  a look for changed journals: {taken:.0f} ms for {folders} folders, so "
        f"{taken * count / folders:.0f} ms for {count} (scaled)"
    )
    shutil.rmtree(logs)


def on_sqlite(folder: Path, journal: Path, count: int) -> None:
    path = folder / "archive.sqlite"
    engine = file_engine(path)
    seconds = fill(engine, count)
    engine.dispose()
    print(f"SQLite, {count} logs, {path.stat().st_size / 2**20:.0f} MiB, built in {seconds:.0f} s")

    def open_it() -> None:
        opened = Archive(file_engine(path), "here")
        opened.find(Query())
        opened.close()

    show("open, and list the latest 50", milliseconds(open_it))
    with Archive(file_engine(path), "here") as archive:
        measure(archive, journal)


def on_postgresql(journal: Path, count: int) -> None:
    with ExitStack() as stack:
        url = stack.enter_context(server())
        engine = server_engine(url)
        seconds = fill(engine, count)
        with engine.connect() as connection:
            version = connection.execute(text("SHOW server_version")).scalar()
            has = connection.execute(
                text("SELECT count(*) FROM pg_extension WHERE extname = 'pg_trgm'")
            ).scalar()
        engine.dispose()
        words = "with" if has else "without"
        print(f"PostgreSQL {version}, {words} pg_trgm, {count} logs, built in {seconds:.0f} s")

        def open_it() -> None:
            opened = Archive(server_engine(url), "there")
            opened.find(Query())
            opened.close()

        show("open, and list the latest 50", milliseconds(open_it))
        with Archive(server_engine(url), "there") as archive:
            measure(archive, journal)


def main() -> None:
    words = sys.argv[1:]
    count = next((int(word) for word in words if word.isdigit()), COUNT)
    with tempfile.TemporaryDirectory() as made_here:
        folder = Path(made_here)
        journal = rehearse(folder / "logs")
        if "postgresql" not in words:
            on_sqlite(folder, journal, count)
            scan(journal, count)
            look_for_changes(folder, count)
        if "sqlite" not in words:
            on_postgresql(journal, count)


if __name__ == "__main__":
    main()
