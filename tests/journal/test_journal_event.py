from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from enum import IntEnum, StrEnum
from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stepwise.journal.event import (
    DEEPEST,
    NO_LINE,
    BrokenLineError,
    Event,
    decode,
    encode,
    instant_text,
    line_hash,
    shown_instant,
)

AT = "2026-05-01T09:00:00.000Z"

plain_values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=12,
)
values_of_a_caller = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(st.characters())
    | st.sampled_from(["\ud83d\ude00", "\x7f\x85\u2028"])
    | st.deferred(lambda: st.sampled_from([*Meter, *Turn])),
    lambda inner: st.lists(inner, max_size=4) | st.tuples(inner, inner),
    max_leaves=8,
)
instants = st.datetimes(timezones=st.just(UTC)).map(instant_text)
events = st.builds(
    Event,
    st.integers(min_value=1),
    instants,
    st.text(),
    st.dictionaries(st.text(), plain_values, max_size=5),
)
hashes = st.binary(max_size=8).map(lambda seed: sha256(seed).hexdigest())


def sealed(body: bytes) -> bytes:
    """A line with a right hash around content that `encode` would not write."""
    return body + b',"self":"' + sha256(body).hexdigest().encode() + b'"}\n'


@given(events, hashes)
def test_what_is_encoded_reads_back_the_same(event: Event, previous: str) -> None:
    written = encode(event, previous)
    assert decode(written.line) == (event, previous)
    assert written.hash == line_hash(written.line)


@given(events, hashes)
def test_a_line_is_utf8_with_one_newline_at_its_end_and_no_control_character(
    event: Event, previous: str
) -> None:
    line = encode(event, previous).line
    assert line.endswith(b"\n")
    text = line[:-1].decode("utf-8")
    assert text.splitlines() == [text]
    assert not any(letter < " " or "\x7f" <= letter <= "\x9f" for letter in text)


def test_the_form_of_a_line_is_this_one() -> None:
    line = encode(Event(1, AT, "note", {"text": "8 Ω\n"}), NO_LINE).line
    body = (
        '{"seq":1,"at":"2026-05-01T09:00:00.000Z","schema":1,"kind":"note",'
        '"data":{"text":"8 Ω\\n"},"prev":"' + "0" * 64 + '"'
    )
    own_hash = sha256(body.encode()).hexdigest()
    assert line.decode() == f'{body},"self":"{own_hash}"}}\n'


@pytest.mark.parametrize(
    ("number", "text"),
    [(float("nan"), "nan"), (float("inf"), "inf"), (float("-inf"), "-inf")],
)
def test_a_float_that_is_not_finite_is_kept_as_text(number: float, text: str) -> None:
    event, _ = decode(encode(Event(1, AT, "reading", {"value": [number, 1.5]}), NO_LINE).line)
    assert event.data == {"value": [text, 1.5]}


def test_half_a_surrogate_pair_from_a_terminal_reads_back() -> None:
    data = {"typed": "2\udc80", "\udcff": "x"}
    line = encode(Event(1, AT, "reading", data), NO_LINE).line
    line.decode("utf-8")
    assert decode(line)[0].data == data


class Meter(StrEnum):
    POINTER = "pointer"


class Turn(IntEnum):
    SECOND = 2


@given(st.dictionaries(st.text(st.characters()), values_of_a_caller, max_size=5))
def test_what_encode_gives_back_is_what_a_reader_finds(data: dict[str, object]) -> None:
    written = encode(Event(1, AT, "reading", data), NO_LINE)
    found = decode(written.line)[0]
    assert written.event == found
    assert repr(written.event) == repr(found)  # 1 is not 1.0, a name is not its text


def test_nested_lists_are_copied_so_that_the_caller_cannot_change_an_event() -> None:
    points = [1, 2]
    event, _ = decode(encode(Event(1, AT, "reading", {"points": points}), NO_LINE).line)
    points.append(3)
    assert event.data == {"points": [1, 2]}
    with pytest.raises(TypeError):
        event.data["points"] = []  # type: ignore[index]


@pytest.mark.parametrize(
    ("data", "says"),
    [
        ({"x": object()}, "data.x is a object"),
        ({"x": [{"y": b"1"}]}, r"data.x\[0\].y is a bytes"),
        ({"x": {1: 2}}, "data.x has the key 1"),
        ({"x": {1, 2}}, "data.x is a set"),
    ],
)
def test_data_that_json_has_no_form_for_is_named(data: dict[str, object], says: str) -> None:
    with pytest.raises(TypeError, match=says):
        encode(Event(1, AT, "reading", data), NO_LINE)


def test_data_that_contains_itself_is_refused() -> None:
    data: dict[str, object] = {}
    data["again"] = data
    with pytest.raises(ValueError, match="nested deeper than 64"):
        encode(Event(1, AT, "reading", data), NO_LINE)


def test_the_deepest_data_that_can_be_written_can_be_read() -> None:
    value: object = 1
    for _ in range(DEEPEST - 1):
        value = [value]
    event, _ = decode(encode(Event(1, AT, "reading", {"x": value}), NO_LINE).line)
    assert event.data == {"x": value}
    with pytest.raises(ValueError, match="nested deeper"):
        encode(Event(1, AT, "reading", {"x": [value]}), NO_LINE)


def test_an_instant_is_written_in_utc_with_milliseconds() -> None:
    summer = timezone(timedelta(hours=2))
    assert instant_text(datetime(2026, 5, 1, 11, 0, 0, 987_654, summer)) == (
        "2026-05-01T09:00:00.987Z"
    )


def test_an_instant_without_time_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="no time zone"):
        instant_text(datetime(2026, 5, 1))  # noqa: DTZ001 - that is the point


HEAD = b'{"seq":1,"at":"2026-05-01T09:00:00.000Z","schema":1,"kind":"note",'


@pytest.mark.parametrize(
    ("line", "says"),
    [
        (b"", "is empty"),
        (b"\n", "is empty"),
        (b"\xff\xfe\x00\n", "beyond recognition"),
        (sealed(b"[" * 1_000_000), "not a JSON object"),
        (sealed(b'{"a":"\xff"'), "not a JSON object"),
        (sealed(b'{"seq":' + b"1" * 10_000), "not a JSON object"),
        (sealed(b'{"seq":1'), "lacks what every line"),
        (sealed(HEAD + b'"data":[],"prev":""'), "lacks what every line"),
        (sealed(HEAD.replace(b"05-01T", b"02-30T") + b'"data":{},"prev":""'), "is no instant"),
        (sealed(HEAD.replace(b"05-01T", b"05-01 ") + b'"data":{},"prev":""'), "lacks what"),
        (sealed(HEAD.replace(b'a":1', b'a":2') + b'"data":{},"prev":""'), "is of form 2"),
    ],
    ids=[
        "nothing", "newline", "binary", "nested", "not utf-8", "endless number",
        "fields missing", "data is a list", "no such day", "time of another form", "newer schema",
    ],
)  # fmt: skip
def test_a_line_that_cannot_be_read_says_why(line: bytes, says: str) -> None:
    with pytest.raises(BrokenLineError, match=says):
        decode(line)


@given(st.binary())
def test_no_bytes_do_more_than_break_a_line(line: bytes) -> None:
    with pytest.raises(BrokenLineError):
        decode(line)


def test_an_instant_is_shown_to_the_minute() -> None:
    assert shown_instant(AT) == f"{AT[:10]} {AT[11:16]} UTC"
    assert shown_instant("2026-03-14T10:05:59.000Z") == "2026-03-14 10:05 UTC"
    assert shown_instant("") == shown_instant(None) == ""
