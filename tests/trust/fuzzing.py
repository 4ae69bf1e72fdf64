"""Anything at all, given to every door that text comes in by.

    python -m tests.trust.fuzzing notation --inputs 1000000 [--seed 1]
    python -m tests.trust.fuzzing all --inputs 20000

What is shipped is mutated blindly; `tests.trust.fuzzing_led` lets coverage lead. A door may refuse with one of the project's own errors; any other exception, or
more than 100 ms for each 10 kB, is a find.
"""

from __future__ import annotations

import argparse
import json
import random
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

from stepwise.captures import read_capture
from stepwise.errors import StepwiseError
from stepwise.journal import read_journal
from stepwise.journal.event import NO_LINE, Event, encode, instant_text
from stepwise.procedure import (
    procedures_folder,
    read_bench_text,
    read_procedure_text,
    read_unit_text,
)
from stepwise.quantities import Answer, Expected, Form, Understood, parse_entry
from stepwise.rehearsal import bench_text, unit_text
from stepwise.run import Run, read_notes, read_run
from tests.run.plans import Clock, answer_for, plan

_SECONDS = 0.1
"""Longest for each 10 kB begun."""
_TRIES = 3
"""A slow input is tried so often. Processor time is told: what a busy machine adds says nothing."""
_EXPECTED = (
    Expected(Answer.QUANTITY, "V", Form.RMS, "ac", (0.3, 1.0, 3.0, 10.0)),
    Expected(Answer.QUANTITY, "mV", Form.DC),
    Expected(Answer.QUANTITY, "ohm"),
    Expected(Answer.QUANTITY, "Hz"),
    Expected(Answer.LEVEL, "dB", reference_volts=6.0, ranges=(1.0, 3.0, 10.0)),
    Expected(Answer.SHARE, "%"),
    Expected(Answer.HEAT, "C"),
    Expected(Answer.MARK),
    Expected(Answer.CONFIRM),
    Expected(Answer.TEXT),
)
_NOTATION = (
    "20", "20 V", "20,5", "17.0 Vrms", "48 Vpp", "24 Vpk", "2.0 on 3 x10", "2.0/3 x10",
    "4.2 div at 5", "4.2 div at 5 x10", "-4.5 dB", "flat", "=", "1k5", "4R7", "2u2", "25m",
    "61 C", "too hot to hold", "2 of 5 div", "10 %", "y", "7.5", "1e-3", "1.000",
)  # fmt: skip

_AT = instant_text(datetime(2026, 5, 2, tzinfo=UTC))

Door = Callable[[bytes], bool]
"""Gives whether it let the bytes in; may raise the project's own errors instead."""


def _text(data: bytes) -> str:
    # Half a surrogate pair is what a terminal makes of bytes that are no UTF-8.
    return data.decode("utf-8", "surrogateescape")


class Doors:
    """Every way in, each with what it starts from; files stand in one folder."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._file = folder / "fuzzed.csv"
        self._lines = self._journal_lines()
        self.doors: dict[str, tuple[Door, list[bytes]]] = {
            "notation": (self.notation, [b"\0" + each.encode() for each in _NOTATION]),
            "procedure": (self.procedure, [p.read_bytes() for p in _shipped()]),
            "unit": (self.unit, [unit_text().encode()]),
            "bench": (self.bench, [bench_text().encode()]),
            "readings": (self.readings, [_READINGS]),
            "capture": (self.capture, list(_CAPTURES)),
            "journal": (self.journal, [b"".join(self._lines)]),
            "events": (self.events, [b"\n".join(self._plain_events())]),
        }

    def notation(self, data: bytes) -> bool:
        """What is typed at any prompt."""
        expected = _EXPECTED[(data[0] if data else 0) % len(_EXPECTED)]
        return isinstance(parse_entry(_text(data[1:]), expected), Understood)

    def procedure(self, data: bytes) -> bool:
        """A procedure."""
        read_procedure_text(_text(data), "fuzzed.toml")
        return True

    def unit(self, data: bytes) -> bool:
        """A unit."""
        read_unit_text(_text(data), "fuzzed.toml")
        return True

    def bench(self, data: bytes) -> bool:
        """A bench."""
        read_bench_text(_text(data), "fuzzed.toml")
        return True

    def readings(self, data: bytes) -> bool:
        """A table of readings."""
        self._file.write_bytes(data)
        read_notes(self._file)
        return True

    def capture(self, data: bytes) -> bool:
        """A trace of an oscilloscope."""
        self._file.write_bytes(data)
        read_capture(self._file)
        return True

    def journal(self, data: bytes) -> bool:
        """A journal's bytes."""
        (self._folder / "journal.jsonl").write_bytes(data)
        record = read_journal(self._folder)
        read_run(self._folder)
        return not record.damages

    def events(self, data: bytes) -> bool:
        """Events that anybody may have chained properly: a line each, kind and data."""
        log = self._folder / "chained"
        log.mkdir(exist_ok=True)
        content, before = b"", NO_LINE
        for number, (kind, data_) in enumerate(_events(data), start=1):
            line, before, _ = encode(Event(number, _AT, kind, data_), before)
            content += line
        (log / "journal.jsonl").write_bytes(content)
        view = read_run(log)
        view.run.review()
        return True

    def _journal_lines(self) -> list[bytes]:
        with Run.start(plan(), self._folder, Clock()) as run:
            while (prompt := run.next_prompt()) is not None:
                run.take(prompt.key, answer_for(prompt.point), sure=True)
            run.note("a remark")
            run.end("done")
            return (run.folder / "journal.jsonl").read_bytes().splitlines(keepends=True)

    def _plain_events(self) -> Iterator[bytes]:
        for line in self._lines:
            event = json.loads(line)
            yield json.dumps([event["kind"], event["data"]]).encode()


def _events(data: bytes) -> Iterator[tuple[str, dict[str, object]]]:
    for line in data.splitlines():
        try:
            kind, content = json.loads(line)
        except (ValueError, TypeError, RecursionError):
            continue
        if isinstance(kind, str) and isinstance(content, dict) and line.isascii():
            yield kind, content


def _shipped() -> list[Path]:
    return sorted(procedures_folder().glob("*.toml"))


_READINGS = b"""\
step,channel,load,point,reading,note
clip,left,8 ohm,level,20 V,clean
clip,left,4 ohm,level,1.7 on 3 x10,
sweep,left,,20 Hz,-4.5,
square,left,,1 kHz/none/overshoot,8 %,"a remark, quoted"
"""
_CAPTURES = (
    b"time,volts\ns,V\n0,1\n1e-5,1\n2e-5,-1\n3e-5,-1\n4e-5,1\n5e-5,1\n",
    b"Zeit;Kanal 1\r\n0,000;1,5\r\n0,001;1,4\r\n0,002;-1,5\r\n0,003;-1,4\r\n",
    b"sample interval,1e-6\nindex\tCH1 (mV)\tCH2\n0\t5\t6\n1\t5\t6\n2\t-5\t-6\n",
)


def knock(door: Door, data: bytes) -> bool:
    """Give one input to a door; whether it was let in.

    Raises:
        AssertionError: It took too long.
        Exception: Whatever is not one of the project's own errors.
    """
    allowed = _SECONDS * (1 + len(data) // 10_000)
    for attempt in range(_TRIES):
        began = time.thread_time()
        try:
            is_in = door(data)
        except StepwiseError as error:
            assert str(error).strip()
            is_in = False
        taken = time.thread_time() - began
        if taken <= allowed:
            return is_in
        assert attempt < _TRIES - 1, f"{taken * 1000:.0f} ms for {len(data)} bytes: {data!r}"
    return is_in


def mutated(starts: list[bytes], chance: random.Random) -> bytes:
    """One of the starts, changed in a few places."""
    data = bytearray(chance.choice(starts))
    for _ in range(chance.randint(1, 6)):
        place = chance.randrange(len(data) + 1)
        match chance.randrange(6):
            case 0:
                data[place:place] = bytes(chance.choices(range(256), k=chance.randint(1, 4)))
            case 1:
                del data[place : place + chance.randint(1, 12)]
            case 2 if place < len(data):
                data[place] ^= 1 << chance.randrange(8)
            case 3:
                data[place:place] = chance.choice(_PIECES)
            case 4:
                stretch = data[place : place + chance.randint(1, 60)]
                data[place:place] = stretch * chance.randint(1, 3)
            case _:
                other = chance.choice(starts)
                start = chance.randrange(len(other) + 1)
                data[place:place] = other[start : start + chance.randint(1, 40)]
    return bytes(data)


_PIECES = (
    b"10**10**10", b"9" * 40, b"1e999", b"nan", b"inf", b"-0", b'"', b"'''", b"[[", b"]]", b"{",
    b"[" * 30, b"\n", b"\r\n", b"\x00", b"\xff", b"\xef\xbb\xbf", b"\xe2\x80\xae", b"\x1b[2J",
    b"= {", b" = ", b".", b",", b";", b"\t", b"null", b"true", b"[[step]]\n", b"kind = ",
    b"\xed\xa0\x80", b"<script>", b"=cmd", b"../..", b"90 % of ", b"sqrt(", b"(" * 50,
)  # fmt: skip


def blind(name: str, inputs: int, seed: int, folder: Path) -> tuple[int, int]:
    """Mutate without knowing the code; gives how many were let in and how many refused."""
    door, starts = Doors(folder).doors[name]
    chance = random.Random(seed)
    let_in = 0
    for data in starts:
        knock(door, data)
    for _ in range(inputs):
        let_in += knock(door, mutated(starts, chance))
    return let_in, inputs - let_in


def asked_for(purpose: str | None) -> argparse.Namespace:
    """What the command line asks for: a door, how many inputs, and a seed."""
    parser = argparse.ArgumentParser(description=purpose)
    parser.add_argument("door")
    parser.add_argument("--inputs", type=int, default=1_000_000)
    parser.add_argument("--seed", type=int, default=1)
    return parser.parse_args()


def main() -> None:
    """Fuzz one door, or all of them."""
    chosen = asked_for(__doc__)
    with tempfile.TemporaryDirectory() as folder:
        names = Doors(Path(folder)).doors if chosen.door == "all" else [chosen.door]
    for name in names:
        with tempfile.TemporaryDirectory() as folder:
            began = time.monotonic()
            let_in, refused = blind(name, chosen.inputs, chosen.seed, Path(folder))
            seconds = time.monotonic() - began
        print(
            f"{name:10} {chosen.inputs} inputs in {seconds:.0f} s, seed {chosen.seed}: "
            f"{let_in} let in, {refused} refused, nothing else",
            flush=True,
        )


if __name__ == "__main__":
    main()
