"""`stepwise capture`: printed figures, JSON, pictures, refusals."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from stepwise.cli import main

BENCH = """\
[bench]
name = "Hall workshop"
[[meter]]
id = "scope"
type = "oscilloscope"
reads = "V"
accuracy = "3 %"
resolves = "1/10 division"
[[load]]
nominal = "8 ohm"
"""


@pytest.fixture
def square(tmp_path: Path) -> Path:
    wave = np.interp(np.arange(2000) % 400, [0, 50, 70, 250, 270, 400], [-5, -5, 5, 5, -5, -5])
    wave += 0.002 * np.sin(np.arange(2000) ** 1.5)  # or its few levels look like a converter's
    path = tmp_path / "square.csv"
    rows = [f"{n * 1e-6:.6f},{v:.5f},{0.5 * v:.5f}\n" for n, v in enumerate(wave)]
    path.write_text("t (s),left,right\n" + "".join(rows))
    return path


@pytest.fixture
def sine(tmp_path: Path) -> Path:
    wave = np.minimum(12.0 * np.sin(2 * np.pi * 1e3 * np.arange(5000) * 1e-6), 10.0)
    path = tmp_path / "sine.csv"
    path.write_text("sample interval,1e-6\n" + "".join(f"{v:.4f}\n" for v in wave))
    return path


def test_a_square_wave_is_told(square, capsys) -> None:
    assert main(["capture", str(square), "--as", "square"]) == 0

    out = capsys.readouterr().out
    assert "square.csv, channel left: 2000 samples at 1 MHz" in out
    assert "Other channels: right" in out
    rise = next(line for line in out.splitlines() if "Rise time, 10 % to 90 %" in line)
    assert rise.endswith("µs")
    assert float(rise.split("±")[0].split()[-1]) == pytest.approx(16.0, abs=0.1)
    assert "without the error of the oscilloscope's scales" in " ".join(out.split())
    assert max(len(line) for line in out.splitlines()) <= 80


def test_a_channel_and_a_bench_are_taken(square, tmp_path, capsys) -> None:
    bench = tmp_path / "bench.toml"
    bench.write_text(BENCH)
    line = ["capture", str(square), "--as", "square", "--channel", "2", "--bench", str(bench)]
    assert main([*line, "--json"]) == 0

    record = json.loads(capsys.readouterr().out)
    assert (record["format"], record["capture"]["channel"]) == (1, "right")
    height = next(each for each in record["results"] if each["name"] == "height")
    assert height["value"] == pytest.approx(5.0, abs=0.02)
    assert height["uncertainty"] == pytest.approx(1.7 * 0.15 / np.sqrt(3), rel=0.1)


def test_a_sine_is_told_with_its_harmonics_and_drawn(sine, tmp_path, capsys) -> None:
    picture = tmp_path / "sine.svg"
    assert main(["capture", str(sine), "--as", "sine", "--picture", str(picture)]) == 0

    out = capsys.readouterr().out
    assert "Harmonics" in out
    assert "Positive tops flatten from" in out
    assert "Negative tops" not in out
    assert out.splitlines()[-1] == f"Drawn in {picture}"
    assert picture.read_text(encoding="utf-8").startswith("<?xml")


def test_refusals_are_one_sentence_with_the_line(square, tmp_path, capsys) -> None:
    square.write_text(square.read_text().replace("0.000500,", "0.000500,x"))
    assert main(["capture", str(square), "--as", "square"]) == 2
    assert f"stepwise: {square}:502: this line “x" in capsys.readouterr().err

    bench = tmp_path / "bench.toml"
    bench.write_text(BENCH.replace("oscilloscope", "digital").replace("resolves", "# resolves"))
    assert main(["capture", str(square), "--as", "square", "--bench", str(bench)]) == 2
    assert "has no oscilloscope" in capsys.readouterr().err
    assert main(["capture", str(tmp_path / "absent.csv"), "--as", "sine"]) == 2
    assert "there is no file here" in capsys.readouterr().err


def test_a_wave_of_the_other_kind_is_refused_with_what_to_type(square, sine, capsys) -> None:
    tidy = sine.with_name("tidy.csv")
    wave = np.sin(2 * np.pi * 1e3 * np.arange(5000) * 1e-6)
    tidy.write_text("sample interval,1e-6\n" + "".join(f"{v:.4f}\n" for v in wave))
    assert main(["capture", str(tidy), "--as", "square"]) == 2
    said = capsys.readouterr().err
    assert "looks like a sine, not a square wave" in said
    assert "type “stepwise capture tidy.csv --as sine”" in said

    fast = np.where(np.arange(5000) % 1000 < 500, 1.0, -1.0)
    square.write_text("sample interval,1e-6\n" + "".join(f"{v:.4f}\n" for v in fast))
    assert main(["capture", str(square), "--as", "sine"]) == 2
    said = capsys.readouterr().err
    assert "looks like a square wave, not a sine" in said
    assert "type “stepwise capture square.csv --as square”" in said


@pytest.mark.parametrize(("digits", "sag", "is_told"), [(4, 0.0, False), (1, 1e-5, False),
                                                        (4, 1e-5, True)])  # fmt: skip
def test_a_tilt_that_the_digits_do_not_tell_is_not_printed(
    digits, sag, is_told, tmp_path, capsys
) -> None:
    at = np.arange(5000)
    wave = np.where(at % 1000 < 500, 5.0, -5.0) * np.exp(-sag * (at % 500))
    path = tmp_path / "tidy.csv"
    path.write_text("sample interval,1e-6\n" + "".join(f"{v:.{digits}f}\n" for v in wave))
    assert main(["capture", str(path), "--as", "square"]) == 0

    lines = capsys.readouterr().out.splitlines()
    told = [line for line in lines if "Tilt of the tops" in line or "tilt implies" in line]
    assert len(told) == (2 if is_told else 0)
    if is_told:
        # over the 500 samples of half a period
        assert float(told[0].split("±")[0].split()[-1]) == pytest.approx(0.4988, abs=0.01)


def test_noise_is_told_plain_and_weighted_with_what_the_record_cannot_show(
    tmp_path, capsys
) -> None:
    path = tmp_path / "slow.csv"
    noise = np.random.default_rng(2).normal(0.0, 0.05, 4000)
    wave = 10.0 * np.sin(2 * np.pi * 400.0 * np.arange(4000) / 20e3) + noise
    path.write_text("sample interval,5e-5\n" + "".join(f"{v:.4f}\n" for v in wave))
    assert main(["capture", str(path), "--as", "sine"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    for label in ("Noise, RMS", "Noise, A-weighted, RMS", "Signal to noise, A-weighted"):
        assert label in out
    assert "the A-weighting covers only up to 10.0 kHz, not 20 kHz" in out

    assert main(["capture", str(path), "--as", "sine", "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    found = {each["name"]: each for each in record["results"]}
    expected = 20.0 * np.log10(10.0 / np.sqrt(2.0) / 0.05)
    assert found["signal_to_noise"]["value"] == pytest.approx(expected, abs=0.2)
    assert found["signal_to_noise"]["unit"] == "dB"
    assert found["noise_a"]["value"] > 0.0
    assert any("10.0 kHz, not 20 kHz" in note for note in record["notes"])


@pytest.mark.parametrize("phase", [0.02, 0.2, 0.4, 0.6, 0.8, 0.95])
def test_an_edge_between_two_samples_has_no_rise_time_but_a_bound(phase, tmp_path, capsys) -> None:
    # 10 kHz, one pole of 1.1 us from 10 % to 90 %, sampled every 4 us
    after = (4.0 * (np.arange(1000) + phase)) % 100.0
    decay = 2.0 * np.exp(-(after % 50.0) / (1.1 / np.log(9.0)))
    wave = 5.0 * np.where(after < 50.0, 1.0 - decay, decay - 1.0)
    wave += np.random.default_rng(3).normal(0.0, 0.02, 1000)
    path = tmp_path / "fast.csv"
    path.write_text("sample interval,4e-6\n" + "".join(f"{v:.4f}\n" for v in wave))
    assert main(["capture", str(path), "--as", "square"]) == 0

    out = " ".join(capsys.readouterr().out.split())
    for label in ("Rise time, 10", "Fall time, 90", "Steepest slope", "Bandwidth"):
        assert label not in out
    assert "the edges lie within" in out
    within = "one sample: rise and fall time at most 4.00 µs; capture it at 2.50 MHz"
    if f"within {within} or faster" not in out:
        # one sample of each edge lies on it
        assert "within 2 samples: rise and fall time at most 8.00 µs; capture it at 1.25 MHz" in out
    assert "Overshoot at least" in out
    assert "Frequency" in out
