from __future__ import annotations

import os
import random
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stepwise.errors import JournalError
from stepwise.journal import Event, Record, read_journal
from stepwise.journal.event import decode, encode
from stepwise.journal.reader import examine

Fill = Callable[[int], tuple[Event, ...]]
Lines = list[bytes]
NOWHERE = Path("journal.jsonl")


def lines_of(folder: Path) -> Lines:
    return (folder / "journal.jsonl").read_bytes().splitlines(keepends=True)


def first_difference(before: Lines, after: Lines) -> int:
    """The line, from 1, up to which two files are equal."""
    same = 0
    for old, new in zip(before, after, strict=False):
        if old != new:
            break
        same += 1
    return same + 1


def assert_found(record: Record, line: int, events: tuple[Event, ...]) -> None:
    assert record.damages, "the damage was not found"
    assert record.damages[0].line == line
    assert record.events == events[: line - 1]
    assert not record.is_whole


def test_every_flip_of_every_bit_is_found_at_its_line(folder: Path, fill: Fill) -> None:
    events = fill(3)
    lines = lines_of(folder)
    whole = b"".join(lines)
    position = 0
    for number, line in enumerate(lines, start=1):
        for offset in range(position, position + len(line)):
            for bit in range(8):
                damaged = bytearray(whole)
                damaged[offset] ^= 1 << bit
                assert_found(examine(NOWHERE, bytes(damaged)), number, events)
        position += len(line)


def test_every_other_byte_in_place_of_the_last_newline_is_damage_not_a_torn_line(
    folder: Path, fill: Fill
) -> None:
    events = fill(2)
    whole = b"".join(lines_of(folder))
    for value in range(256):
        if value != ord("\n"):
            record = examine(NOWHERE, whole[:-1] + bytes([value]))
            assert_found(record, 2, events)
            assert record.torn is None


def test_every_removed_and_every_inserted_byte_is_found(folder: Path, fill: Fill) -> None:
    events = fill(3)
    whole = b"".join(lines_of(folder))
    for offset in range(len(whole) - 1):
        number = whole.count(b"\n", 0, offset) + 1
        assert_found(examine(NOWHERE, whole[:offset] + whole[offset + 1 :]), number, events)
        for extra in (b"0", b"\n", b"\0"):
            longer = whole[:offset] + extra + whole[offset:]
            expected = first_difference(lines_of(folder), longer.splitlines(keepends=True))
            assert_found(examine(NOWHERE, longer), expected, events)


def remove(lines: Lines, dice: random.Random) -> Lines:
    # Not from the end: what is left is then a sound, shorter journal (see the next test).
    start = dice.randrange(len(lines) - 1)
    return lines[:start] + lines[dice.randint(start + 1, len(lines) - 1) :]


def double(lines: Lines, dice: random.Random) -> Lines:
    here = dice.randrange(len(lines))
    there = dice.randint(0, len(lines))
    return [*lines[:there], lines[here], *lines[there:]]


def swap(lines: Lines, dice: random.Random) -> Lines:
    here, there = dice.sample(range(len(lines)), 2)
    changed = list(lines)
    changed[here], changed[there] = changed[there], changed[here]
    return changed


def shorten(lines: Lines, dice: random.Random) -> Lines:
    here = dice.randrange(len(lines))
    line = lines[here]
    return [*lines[:here], line[: dice.randrange(len(line) - 1)] + b"\n", *lines[here + 1 :]]


def move(lines: Lines, dice: random.Random) -> Lines:
    changed = list(lines)
    line = changed.pop(dice.randrange(len(lines)))
    changed.insert(dice.randint(0, len(changed)), line)
    return changed


def blank(lines: Lines, dice: random.Random) -> Lines:
    there = dice.randint(0, len(lines))
    return [*lines[:there], dice.choice([b"\n", b" \n", b"\r\n"]), *lines[there:]]


def save_with_cr_lf(lines: Lines, dice: random.Random) -> Lines:
    return [line[:-1] + b"\r\n" for line in lines]


def join(lines: Lines, dice: random.Random) -> Lines:
    here = dice.randrange(len(lines) - 1)
    return [*lines[:here], lines[here][:-1] + lines[here + 1], *lines[here + 2 :]]


@pytest.mark.parametrize(
    "mutate", [remove, double, swap, shorten, move, blank, save_with_cr_lf, join]
)
def test_lines_that_were_meddled_with_are_found(
    folder: Path, fill: Fill, mutate: Callable[[Lines, random.Random], Lines]
) -> None:
    events = fill(12)
    lines = lines_of(folder)
    dice = random.Random(mutate.__name__)
    meddled = 0
    for _ in range(500):
        changed = mutate(lines, dice)
        if changed == lines:
            continue  # `move` may put a line back where it was
        meddled += 1
        line = first_difference(lines, changed)
        assert_found(examine(NOWHERE, b"".join(changed)), line, events)
    assert meddled > 400


def test_lines_cut_off_the_end_leave_a_sound_journal_of_the_events_before(
    folder: Path, fill: Fill
) -> None:
    events = fill(6)
    lines = lines_of(folder)
    for kept in range(6):
        record = examine(NOWHERE, b"".join(lines[:kept]))
        assert record.is_whole
        assert record.events == events[:kept]


def test_a_cut_at_every_byte_keeps_every_whole_line_before_it(folder: Path, fill: Fill) -> None:
    events = fill(4)
    whole = b"".join(lines_of(folder))
    for cut in range(len(whole) + 1):
        record = examine(NOWHERE, whole[:cut])
        kept = whole.count(b"\n", 0, cut)
        assert record.events == events[:kept]
        assert record.damages == ()
        assert (record.torn or b"") == whole[:cut].rpartition(b"\n")[2]


def test_a_sound_line_in_the_place_of_another_is_found_at_the_line_after_it(
    folder: Path, fill: Fill
) -> None:
    fill(3)
    lines = lines_of(folder)
    event, before = decode(lines[0])
    lines[0] = encode(Event(1, event.at, "begin", {"unit": "Slate"}), before).line
    record = examine(NOWHERE, b"".join(lines))
    assert [damage.line for damage in record.damages] == [2]
    assert "in place of another" in record.damages[0].reason


@pytest.mark.parametrize(
    ("turn", "line", "reason"),
    [
        ([0, 1, 1, 2, 3], 3, "has number 2 but stands after 2: it was moved or doubled"),
        ([0, 2, 1, 3], 2, "has number 3: 1 before it is missing"),
        ([2, 3], 1, "has number 3: 2 before it are missing"),
        ([0, 1, 2, 3, 0], 5, "has number 1 but stands after 4: it was moved or doubled"),
    ],
)
def test_a_line_out_of_its_turn_is_described(
    folder: Path, fill: Fill, turn: list[int], line: int, reason: str
) -> None:
    fill(4)
    lines = lines_of(folder)
    damage = examine(NOWHERE, b"".join(lines[number] for number in turn)).damages[0]
    assert (damage.line, damage.reason) == (line, reason)


def test_every_damage_is_listed_once(folder: Path, fill: Fill) -> None:
    events = fill(10)
    lines = lines_of(folder)
    lines[2] = lines[2].replace(b"2.0 on 3", b"2.1 on 3")
    lines[5] = b"\xff\xfe what is this\n"
    del lines[8]
    record = examine(NOWHERE, b"".join(lines) + b"half")
    assert [damage.line for damage in record.damages] == [3, 6, 9]
    assert [damage.reason for damage in record.damages] == [
        "was changed after it was written: its hash does not fit",
        "is not a line of a journal, or was changed beyond recognition",
        "has number 10: 1 before it is missing",
    ]
    assert record.torn == b"half"
    assert record.events == events[:2]


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"[" * 3_000_000 + b"\n", "beyond recognition"),
        (b'{"seq":1,"data":' + b'{"a":' * 100_000 + b"\n", "beyond recognition"),
        (b"9" * 5_000_000 + b"\n", "beyond recognition"),
        (b"\xef\xbb\xbf{}\n", "beyond recognition"),
        (b"\r\n", "is empty"),
        (b"\0" * 4096 + b"\n", "beyond recognition"),
    ],
    ids=["nesting", "nested objects", "huge line", "byte order mark", "blank", "zeros"],
)
def test_a_file_of_anything_is_damaged_at_line_1(content: bytes, reason: str) -> None:
    record = examine(NOWHERE, content)
    assert record.damages[0].line == 1
    assert reason in record.damages[0].reason
    assert record.events == ()


@given(st.binary(max_size=300))
def test_no_bytes_make_the_reader_raise(content: bytes) -> None:
    record = examine(NOWHERE, content)
    assert record.events == ()
    assert record.is_whole == (content == b"")


def test_a_journal_is_read_by_its_folder_or_by_its_file(folder: Path, fill: Fill) -> None:
    events = fill(3)
    by_folder, by_file = read_journal(folder), read_journal(folder / "journal.jsonl")
    assert by_folder == by_file
    assert by_folder.events == events
    assert by_folder.path == folder / "journal.jsonl"


def test_a_file_that_cannot_be_read_at_all_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(JournalError, match="no journal here"):
        read_journal(tmp_path)
    (tmp_path / "journal.jsonl").mkdir()
    with pytest.raises(JournalError, match="not a file that can hold"):
        read_journal(tmp_path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no named pipes here")
def test_a_pipe_in_the_place_of_a_journal_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "journal.jsonl")
    with pytest.raises(JournalError, match="not a file that can hold"):
        read_journal(tmp_path)
