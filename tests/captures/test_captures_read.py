"""CSV captures of many shapes give the same trace; everything else is refused with its line."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from stepwise.captures import read_capture
from stepwise.errors import CaptureError

ROWS = [(n * 2e-6, 0.5 * (-1) ** (n // 4) + 0.001 * n) for n in range(24)]
VOLTS = [volts for _, volts in ROWS]


def _comma(text: str) -> str:
    return text.replace(".", ",")


SHAPES = {
    "plain": "".join(f"{t:.7f},{v:.4f}\n" for t, v in ROWS),
    "names": "Time,CH1\n" + "".join(f"{t:.3e},{v:.4f}\n" for t, v in ROWS),
    "names with units": "Time (us),CH1 (mV)\n"
    + "".join(f"{t * 1e6:.2f},{v * 1e3:.1f}\n" for t, v in ROWS),
    "units after a slash": "t/ms\tA/V\n" + "".join(f"{t * 1e3:.4f}\t{v:.4f}\n" for t, v in ROWS),
    "row of units": "Time,Channel A\n(ms),(V)\n\n"
    + "".join(f"{t * 1e3:.4f},{v:.4f}\n" for t, v in ROWS),
    "decimal commas, semicolons": "Zeit;Kanal A\n(ms);(V)\n"
    + "".join(_comma(f"{t * 1e3:.4f};{v:.4f}\n") for t, v in ROWS),
    "decimal commas, blanks": "".join(_comma(f"{t:.7f} {v:.4f}\n") for t, v in ROWS),
    "columns of blanks": "time [s]   v [V]\n"
    + "".join(f"  {t:.7f}   {v:7.4f} \n" for t, v in ROWS),
    "blank after comma": "time,v\n" + "".join(f"{t:.7f}, {v:.4f}\n" for t, v in ROWS),
    "quotes": '"time","v"\n' + "".join(f'"{t:.7f}","{v:.4f}"\n' for t, v in ROWS),
    "comments": "# made at the hall\n# sweep 1\n" + "".join(f"{t:.7f},{v:.4f}\n" for t, v in ROWS),
    "interval above": "Sample Interval,2e-6,s\nCH1\n" + "".join(f"{v:.4f}\n" for _, v in ROWS),
    "rate above": "# sample rate: 500 kSa/s\n" + "".join(f"{v:.4f}\n" for _, v in ROWS),
    "interval with unit": "dt = 2 µs\n" + "".join(f"{v:.4f}\n" for _, v in ROWS),
    "counted samples": "X,CH1,Start,Increment\nSequence,Volt,0.0,2e-6\n"
    + "".join(f"{n},{v:.4f},\n" for n, (_, v) in enumerate(ROWS)),
    "facts beside the numbers": "Record Length,24,,0,0.5\nSample Interval,2e-6,,2e-6,0.501\n"
    + "".join(f",,,{t:.7f},{v:.4f}\n" for t, v in ROWS[2:]),
    "empty last cell": "t,v,\n" + "".join(f"{t:.7f},{v:.4f},\n" for t, v in ROWS),
    "blank lines at the end": "".join(f"{t:.7f},{v:.4f}\n" for t, v in ROWS) + "\n\n",
    "no line feed at the end": "\n".join(f"{t:.7f},{v:.4f}" for t, v in ROWS),
    "times from before the trigger": "s,V\n"
    + "".join(f"{t - 1e-5:.7f},{v:.4f}\n" for t, v in ROWS),
}


def _written(folder: Path, text: str | bytes) -> Path:
    path = folder / "trace.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"], ids=["lf", "crlf", "cr"])
@pytest.mark.parametrize("mark", ["", "\ufeff"], ids=["", "bom"])
@pytest.mark.parametrize("shape", SHAPES)
def test_every_common_shape_is_the_same_trace(tmp_path, shape, mark, ends) -> None:
    capture = read_capture(_written(tmp_path, mark + SHAPES[shape].replace("\n", ends)))

    assert capture.volts == pytest.approx(VOLTS[: capture.volts.size], abs=2e-3)
    assert capture.volts.size == len(ROWS)
    assert capture.sample_hertz == pytest.approx(5e5, rel=1e-6)
    assert len(capture.channels) == 1


def test_a_channel_is_chosen_by_number_or_name(tmp_path) -> None:
    path = _written(
        tmp_path, "t (s),in (V),out (mV)\n" + "".join(f"{t},{v},{2e3 * v}\n" for t, v in ROWS)
    )

    assert read_capture(path).channel == "in"
    assert read_capture(path).channels == ("in", "out")
    for named in ("2", "out", "OUT "):
        assert read_capture(path, named).volts == pytest.approx(2.0 * np.array(VOLTS))
    with pytest.raises(CaptureError, match="no channel “3”; it has in, out"):
        read_capture(path, "3")


def test_bytes_of_an_older_alphabet_still_say_micro(tmp_path) -> None:
    text = "t (µs),v\n" + "".join(f"{t * 1e6:.1f},{v}\n" for t, v in ROWS)

    capture = read_capture(_written(tmp_path, text.encode("latin-1")))
    assert capture.sample_hertz == pytest.approx(5e5)


def test_times_printed_with_few_digits_are_still_even(tmp_path) -> None:
    text = "".join(f"{n * 2.5e-7:.6f},{n % 7}\n" for n in range(4000))

    assert read_capture(_written(tmp_path, text)).sample_hertz == pytest.approx(4e6, rel=1e-3)


def _plain(bad: str, at: int) -> str:
    lines = [f"{t:.7f},{v:.4f}" for t, v in ROWS]
    return "\n".join(["t,v", *lines[:at], *([bad] if bad else []), *lines[at + 1 :]]) + "\n"


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        (_plain("0.000040,OL", 20), 22, "“OL” is not a number"),
        (_plain("0.000040,inf", 20), 22, "“inf” is not a number"),
        (_plain("0.000040,nan", 20), 22, "“nan” is not a number"),
        (_plain("0.000040,1e300", 20), 22, "is not a number"),
        (_plain("0.000040,9e7", 20), 22, "beyond anything on a bench"),
        (_plain("0.000040,0x12", 20), 22, "“0x12” is not a number"),
        (_plain("0.000040,1_0", 20), 22, "“1_0” is not a number"),
        (_plain("0.000040", 20), 22, "has 1 cell where the rows before have 2"),
        (_plain("0.000040,1,2", 20), 22, "has 3 cells where the rows before have 2"),
        (_plain("0.000040,", 20), 22, "cell 2 is empty"),
        (_plain("0.000010,0.1", 20), 22, "the time goes back here"),
        (_plain("", 20), 22, "samples are missing before this one"),
        ("t,i (A)\n" + _plain("0,0", 0)[4:], None, "“i” is in A where volts are expected"),
        ("".join(f"{n},{v}\n" for n, v in enumerate(VOLTS)), None, "only counts the samples"),
        ("".join(f"{v}\n" for v in VOLTS), None, "neither a column of times"),
        ("0,5\n0,6\n" * 12, None, "decimal mark, part the columns by semicolons"),
        ("hello\n", None, "no 8 rows of numbers"),
        ("t,v\n1,2\n", 2, "no 8 rows of numbers"),
        ("", None, "is empty"),
        ("\n\n\n", None, "is empty"),
        ("a\0b", 1, "not a table in text"),
        ("\ufeff1,2\n".encode("utf-16"), None, "UTF-16"),
        ("dt = 0.0000000000001 s\n" + "".join(f"{v}\n" for v in VOLTS), None, "not of this bench"),
    ],
)
def test_what_is_not_recognised_is_refused_with_its_line(tmp_path, text, line, words) -> None:
    path = _written(tmp_path, text)
    with pytest.raises(CaptureError, match=words) as refused:
        read_capture(path)
    assert refused.value.line == line
    assert refused.value.path == path
    assert str(refused.value).startswith(f"{path}:")


def test_a_wrong_cell_far_down_is_found(tmp_path) -> None:
    rows = [f"{n * 1e-6:.6f},{n % 5}" for n in range(200_000)]
    rows[150_000] = "0.150000,?"

    with pytest.raises(CaptureError, match="“\\?” is not a number") as refused:
        read_capture(_written(tmp_path, "\n".join(rows)))
    assert refused.value.line == 150_001


def test_a_line_without_end_is_refused_before_it_is_read(tmp_path) -> None:
    path = tmp_path / "endless.csv"
    with path.open("wb") as file:
        file.write(b"t,v\n")
        file.truncate(2 << 30)  # a hole: two gigabytes that take no room

    with pytest.raises(CaptureError, match="not a table in text"):
        read_capture(path)
    with pytest.raises(CaptureError, match="longer than 65536 bytes") as refused:
        read_capture(_written(tmp_path, b"t,v\n0,1\n" + b"1" * 3_000_000))
    assert refused.value.line == 3


def test_folders_pipes_and_absent_files_are_refused(tmp_path) -> None:
    os.mkfifo(tmp_path / "pipe")
    for name in ("", "absent.csv", "pipe", "a\0b"):
        with pytest.raises(CaptureError):
            read_capture(tmp_path / name)


def test_quick_and_careful_reading_agree(tmp_path) -> None:
    random = np.random.default_rng(3)
    volts = random.normal(size=3000)
    quick = "".join(f"{n}e-6,{v:.5g}\n" for n, v in enumerate(volts))
    careful = "".join(f'{n}e-6,"{v:.5g}"\n' for n, v in enumerate(volts))

    one = read_capture(_written(tmp_path, quick)).volts
    other = read_capture(_written(tmp_path, careful)).volts
    assert (one == other).all()
    assert one == pytest.approx(volts, rel=1e-4)


def test_a_last_line_that_was_cut_off_within_its_row_is_told_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "cut.csv"
    rows = "".join(f"{n},{n % 7}\n" for n in range(400))
    for ends in ("2,", "2,\n"):
        path.write_text(f"time,volts\n{rows}{ends}", encoding="utf-8")
        with pytest.raises(CaptureError) as caught:
            read_capture(path)
        assert caught.value.line == 402
    path.write_bytes(b"time,volts\n1e-5,1\n2e5,1\n4,1\n2,")
    with pytest.raises(CaptureError):
        read_capture(path)
