"""Whatever a file holds, reading it as a capture gives a trace or a sentence, nothing else."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stepwise.captures import Capture, read_capture
from stepwise.errors import CaptureError

FEW = settings(max_examples=150, deadline=None)

numbers = st.one_of(
    st.floats(-100, 100).map(lambda value: f"{value:.4g}"),
    st.integers(-10, 10_000).map(str),
    st.sampled_from(["", "nan", "inf", "OL", "1e999", "-", "1e", ".", "0,5", '"1"', "٣", "1-2"]),
)
delimiters = st.sampled_from([",", ";", "\t", " ", ", ", "  ", ",,", "|"])
headers = st.lists(
    st.sampled_from(
        [
            "Time,CH1",
            "s,V",
            "(ms);(mV)",
            "sample interval: 1e-6",
            "sample rate,1 MSa/s",
            "dt=0",
            "Increment,x",
            "1e-9,1",
            "t [s] v [V]",
            "# c",
            "",
            '"',
            "interval -1 s",
            "µs,V",
        ]
    ),
    max_size=5,
)


@st.composite
def tables(draw: st.DrawFn) -> str:
    """Something like a capture, with a few things wrong."""
    mark = draw(delimiters)
    columns = draw(st.integers(1, 4))
    step = draw(st.floats(1e-9, 1.0))
    rows = []
    for place in range(draw(st.integers(0, 40))):
        cells = [f"{place * step:.6g}"] + [draw(numbers) for _ in range(columns - 1)]
        if draw(st.integers(0, 30)) == 0:
            cells.append("7")
        rows.append(mark.join(cells))
    text = "\n".join([*draw(headers), *rows])
    return text.replace(".", ",") if draw(st.booleans()) else text


def _answer(folder: Path, content: bytes, channel: str = "") -> None:
    path = folder / "any.csv"
    path.write_bytes(content)
    try:
        capture = read_capture(path, channel)
    except CaptureError as refused:
        assert str(refused).startswith(str(path))
        assert refused.line is None or 1 <= refused.line <= len(content) + 1
    else:
        assert isinstance(capture, Capture)
        assert np.isfinite(capture.volts).all()
        assert 0.0 < capture.sample_hertz < np.inf
        assert capture.channel in capture.channels


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("captures")


@FEW
@given(table=tables(), channel=st.sampled_from(["", "1", "2", "CH1", "x"]))
def test_any_table_is_read_or_refused(folder: Path, table: str, channel: str) -> None:
    _answer(folder, table.encode(), channel)


@FEW
@given(content=st.binary(max_size=400))
def test_any_bytes_are_read_or_refused(folder: Path, content: bytes) -> None:
    _answer(folder, content)


@FEW
@given(table=tables(), cut=st.integers(0, 400), stray=st.binary(min_size=1, max_size=4))
def test_a_table_with_stray_bytes_is_read_or_refused(folder, table, cut, stray) -> None:
    content = table.encode()
    _answer(folder, content[:cut] + stray + content[cut:])


@FEW
@given(
    volts=st.lists(st.floats(-1e3, 1e3), min_size=8, max_size=60),
    mark=st.sampled_from([",", ";", "\t", " "]),
    comma=st.booleans(),
    exponent=st.integers(-8, -1),
)
def test_what_is_written_plainly_comes_back(folder, volts, mark, comma, exponent) -> None:
    rows = [f"{place}e{exponent}{mark}{volt!r}\n" for place, volt in enumerate(volts)]
    text = "".join(["time (s)", mark if mark != " " else "  ", "out (V)\n", *rows])
    if comma and mark != ",":
        text = text.replace(".", ",")
    path = folder / "plain.csv"
    path.write_text(text)

    capture = read_capture(path)
    assert capture.volts.tolist() == volts
    assert capture.sample_hertz == pytest.approx(10.0**-exponent)
