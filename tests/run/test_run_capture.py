"""Captures in a run: copied, read, proposed, taken, and found again in the log."""

from __future__ import annotations

import io
import math
from pathlib import Path

import numpy as np
import pytest

from stepwise.cli import main
from stepwise.errors import CaptureError, RunError
from stepwise.journal import read_journal
from stepwise.run import Run, Status, plan_from_texts, read_run
from stepwise.science import thd_for_overdrive, tilt_percent
from tests.run.plans import Clock

PROCEDURE = """\
[procedure]
title = "Waves"
revision = 1
summary = "waves"
[[step]]
id = "clip"
kind = "clip"
title = "Clip"
repeat = ["load"]
also = ["level_at_ten_percent"]
[[step]]
id = "square"
kind = "square"
title = "Square"
level = "10 V"
looks = [
 { tone = "1 kHz", look_for = ["overshoot", "tilt", "rise_time", "ringing_cycles", "ringing_frequency"] },
 { tone = "10 kHz", look_for = ["overshoot"] },
]
[[step]]
id = "remarks"
kind = "note"
title = "Remarks"
notes = [{ name = "remarks", ask = "Remarks" }]
"""
UNIT = '[unit]\nname = "Teal"\nchannels = ["mono"]\n[ratings]\nminimum_load = "4 ohm"\n'
BENCH = """\
[bench]
name = "Hall workshop"
[[meter]]
id = "ac"
type = "analogue"
reads = "V rms"
ranges = ["10 V", "30 V"]
accuracy = "3 % of full scale"
resolves = "1/4 division of 30"
detector = "average"
[[meter]]
id = "scope"
type = "oscilloscope"
reads = "V"
accuracy = "2 %"
resolves = "1/10 division"
[[load]]
nominal = "8 ohm"
"""
LOOK = "square///1 kHz/none/"
RATE = 1e6


def _write(path: Path, volts: np.ndarray) -> Path:
    rows = (f"{n / RATE:.7f},{v:.4f}\n" for n, v in enumerate(volts))
    path.write_text("s,V\n" + "".join(rows))
    return path


@pytest.fixture
def square(tmp_path: Path) -> Path:
    """1 kHz; straight edges of 20 us, tops that sag by a corner of 30 Hz; no ringing."""
    turns = (np.arange(4200) / 1000 + 0.2) % 1.0
    wave = np.interp(turns, [0, 0.02, 0.5, 0.52, 1.0], [-5, 5, 5, -5, -5])
    decay, low = 2 * math.pi * 30.0 / RATE, 0.0
    out = np.empty(80_000 + wave.size)
    for place, volts in enumerate(np.concatenate((np.tile(wave[200:1200], 80), wave))):
        low += decay * (volts - low)
        out[place] = volts - low
    noise = np.random.default_rng(8).normal(0.0, 0.03, wave.size)
    return _write(tmp_path / "square trace.csv", out[-wave.size :] + noise)


@pytest.fixture
def sine(tmp_path: Path) -> Path:
    wave = np.clip(1.25 * np.sin(2 * np.pi * 1e3 * np.arange(6300) / RATE), -1.0, 1.0)
    noise = np.random.default_rng(9).normal(0.0, 0.01, wave.size)
    return _write(tmp_path / "sine.csv", 20.0 * (wave + noise))


@pytest.fixture
def run(tmp_path: Path):
    plan = plan_from_texts(PROCEDURE, UNIT, BENCH, "waves")
    with Run.start(plan, tmp_path / "logs", Clock()) as run:
        yield run


def _measure(run: Run, name: str, **where: str):
    found = [r for r in run.results() if r.name == name and r.key is not None]
    found = [r for r in found if all(getattr(r, place) == at for place, at in where.items())]
    assert len(found) == 1
    return found[0].measure


def test_a_square_capture_offers_what_its_picture_asks(run: Run, square: Path) -> None:
    proposal = run.attach_capture(f"{LOOK}overshoot", square)

    keys = [line.key for line in proposal.lines]
    assert keys == [
        f"{LOOK}{each}" for each in ("overshoot", "tilt", "rise_time", "ringing_cycles")
    ]
    assert proposal.says.startswith("Square wave, 1.00 kHz: overshoot")
    assert "no ringing" in proposal.says
    assert not run.results()  # nothing is entered
    assert all(line.echo.startswith("read as") for line in proposal.lines)
    (kept,) = run.state.attachments
    assert (run.folder / kept.name).read_bytes() == square.read_bytes()


def test_an_edge_between_two_samples_offers_no_answer_that_hangs_on_it(
    run: Run, tmp_path: Path
) -> None:
    turns = (np.arange(4200) / 1000 + 0.2003) % 1.0
    sag = 5.0 * np.exp(-0.1 * (turns % 0.5))
    noise = np.random.default_rng(8).normal(0.0, 0.03, 4200)
    proposal = run.attach_capture(
        f"{LOOK}overshoot", _write(tmp_path / "fast.csv", np.where(turns < 0.5, sag, -sag) + noise)
    )

    assert [line.key for line in proposal.lines] == [f"{LOOK}tilt"]
    assert "the edges lie within one sample: rise and fall time at most 1.00 µs" in proposal.says
    assert "no ringing" not in proposal.says


def test_a_proposal_taken_has_the_uncertainty_of_its_capture(run: Run, square: Path) -> None:
    proposal = run.attach_capture(f"{LOOK}tilt", square)
    texts = {line.key: line.text for line in proposal.lines}
    for key in (f"{LOOK}tilt", f"{LOOK}rise_time", f"{LOOK}overshoot"):
        assert run.take(key, texts[key], sure=True).status is Status.KEPT

    tilt = _measure(run, "tilt")
    assert tilt.value == pytest.approx(tilt_percent(30.0, 1e3), abs=3 * tilt.standard_uncertainty)
    assert 0.02 < tilt.standard_uncertainty < 0.5
    rise = _measure(run, "rise_time")
    assert rise.value == pytest.approx(16e-6, rel=0.02)
    scale = 0.02 * rise.value / math.sqrt(3.0)
    assert scale < rise.standard_uncertainty < 1.5 * scale
    assert rise.terms["scope time base"] == pytest.approx(scale)


def test_a_proposal_says_what_the_scales_may_be_off_and_keeps_it_out_of_the_journal(
    run: Run, square: Path, sine: Path
) -> None:
    says = run.attach_capture(f"{LOOK}rise_time", square).says
    told = says.split("rise time ")[1].split(" µs")[0]
    value, expanded = (float(part) for part in told.split(" ± "))
    scale = 2.0 * 0.02 * value / math.sqrt(3.0)  # limits of 2 %, twice the standard
    # the coverage factor of a rectangle alone is 1.65, with the scatter beside it more
    assert 0.8 * scale < expanded < 1.3 * scale
    assert "without" not in says
    (kept,) = run.state.attachments
    proposed = {each["key"]: each for each in kept.data["capture"]["proposed"]}
    assert proposed[f"{LOOK}rise_time"]["standard"] < 0.01 * value * 1e-6

    line = run.attach_capture("clip//8 ohm/level_at_ten_percent", sine).lines[0]
    # two digits of an uncertainty of 0.3 V, not the four that the samples alone would give
    assert len(line.text.split()[0].partition(".")[2]) == 2


def test_a_bench_without_an_oscilloscope_says_what_its_scales_are_taken_for_and_keeps_that(
    tmp_path: Path, square: Path
) -> None:
    before, _, rest = BENCH.partition('[[meter]]\nid = "scope"')
    bench = before + rest[rest.index("[[load]]") :]
    plan = plan_from_texts(PROCEDURE, UNIT, bench, "waves")
    with Run.start(plan, tmp_path / "others", Clock()) as run:
        proposal = run.attach_capture(f"{LOOK}rise_time", square)
        text = next(line.text for line in proposal.lines if line.key == f"{LOOK}rise_time")
        run.take(f"{LOOK}rise_time", text, sure=True)
        kept = _measure(run, "rise_time")

    assert proposal.says.endswith(
        "± with 3 % for the scales of an oscilloscope that the bench does not state"
    )
    told = proposal.says.split("rise time ")[1].split(" µs")[0].split(" ± ")[1]
    assert float(told) == pytest.approx(kept.expanded_uncertainty * 1e6, rel=0.06)
    assert kept.standard_uncertainty > 0.03 * kept.value / math.sqrt(3.0)


def test_a_reading_by_hand_keeps_the_hand_s_uncertainty(run: Run, square: Path) -> None:
    run.attach_capture(f"{LOOK}tilt", square)
    run.take(f"{LOOK}tilt", "9 %", sure=True)
    by_hand = _measure(run, "tilt").standard_uncertainty
    # three lines, each to the nearest tenth of a division out of five
    assert by_hand == pytest.approx(2.0 / math.sqrt(12.0) * math.hypot(1.0, 1.09, 0.09))

    proposal = run.attach_capture(f"{LOOK}tilt", square)
    text = next(line.text for line in proposal.lines if line.key.endswith("tilt"))
    run.take(f"{LOOK}tilt", text, sure=True)
    assert _measure(run, "tilt").standard_uncertainty < 0.5 * by_hand
    run.take(f"{LOOK}tilt", "9 %", sure=True)
    assert _measure(run, "tilt").standard_uncertainty == by_hand


def test_the_log_read_again_is_the_same(run: Run, square: Path, sine: Path) -> None:
    for key, path in ((f"{LOOK}tilt", square), ("clip//8 ohm/level_at_ten_percent", sine)):
        for line in run.attach_capture(key, path).lines:
            run.take(line.key, line.text, sure=True)
    live = [(r.name, r.value, r.measure.standard_uncertainty, r.judgement) for r in run.results()]
    run.close()

    again = read_run(run.folder).run
    assert [
        (r.name, r.value, r.measure.standard_uncertainty, r.judgement) for r in again.results()
    ] == live
    kinds = [event.kind for event in read_journal(run.folder).events]
    assert kinds.count("attach") == 2
    assert kinds.count("reading") == 5
    with Run.resume(run.folder, Clock()) as resumed:
        text = resumed.state.answers[f"{LOOK}tilt"].typed
        assert resumed.take(f"{LOOK}tilt", text, sure=True).status is Status.KEPT
        assert _measure(resumed, "tilt").standard_uncertainty == pytest.approx(
            next(each[2] for each in live if each[0] == "tilt")
        )


def test_a_clipped_sine_is_a_level_whatever_the_meter_makes_of_it(run: Run, sine: Path) -> None:
    proposal = run.attach_capture("clip//8 ohm/level_at_ten_percent", sine)
    (line,) = proposal.lines
    assert line.key == "clip//8 ohm/level_at_ten_percent"
    told = float(proposal.says.split("distortion ")[1].split(" ±")[0])
    assert told == pytest.approx(thd_for_overdrive(1.25), abs=0.1)
    assert "tops flatten from" in proposal.says

    run.take(line.key, line.text, sure=True)
    level = _measure(run, "level_at_ten_percent")
    power = next(each for each in run.results() if each.name == "power_at_ten_percent")
    # 0.795067 of the clip level: table of clipped sines, RMS; no correction for a detector
    assert level.value == pytest.approx(20.0 * 0.795067, rel=0.003)
    assert power.value == pytest.approx(level.value**2 / 8.0, rel=1e-6)
    assert "scope gain" in level.terms


def test_what_does_not_fit_is_refused_and_leaves_nothing(run: Run, square, sine, tmp_path) -> None:
    bad = tmp_path / "bad.csv"
    bad.write_text("hello\n")
    before = sorted(path.name for path in run.folder.iterdir())
    with pytest.raises(CaptureError, match=r"shows 1\.00 kHz where 10\.0 kHz is asked for"):
        run.attach_capture("square///10 kHz/none/overshoot", square)
    with pytest.raises(CaptureError, match=r"bad\.csv: holds no 8 rows"):
        run.attach_capture(f"{LOOK}tilt", bad)
    with pytest.raises(CaptureError, match=r"absent\.csv: cannot be read"):
        run.attach_capture(f"{LOOK}tilt", tmp_path / "absent.csv")
    with pytest.raises(RunError, match="square waves and of clean power only"):
        run.attach_capture("remarks///remarks", square)
    with pytest.raises(RunError, match="asks nothing called"):
        run.attach_capture("square///nothing", square)

    assert sorted(path.name for path in run.folder.iterdir()) == before
    assert not run.state.attachments
    run.end()
    with pytest.raises(RunError, match="ended"):
        run.attach_capture(f"{LOOK}tilt", square)


def test_the_plain_mode_attaches_and_takes(tmp_path, square, capsys, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    for name, text in {"waves": PROCEDURE, "teal": UNIT, "hall": BENCH}.items():
        Path(f"{name}.toml").write_text(text, encoding="utf-8")
    lines = [":capture", ":take", "20 V", "/", "", f":capture {square}", ":take", ":take", "9"]
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
    words = ["run", "./waves.toml", "--unit", "./teal.toml", "--bench", "./hall.toml", "--plain"]
    assert main([*words, "--logs", "logs"]) == 0

    told = " ".join(capsys.readouterr().out.split())
    assert "Name the file: :capture FILE.csv" in told
    assert "No capture offers an answer here" in told
    assert f"offered {LOOK}tilt" in told
    assert "The capture offers" in told
    (folder,) = Path("logs").iterdir()
    readings = [e for e in read_journal(folder).events if e.kind == "reading"]
    assert ["capture" in event.data for event in readings[-3:]][:2] == [True, True]


def test_a_capture_is_not_held_against_the_range_of_the_pointer_meter(
    run: Run, tmp_path: Path
) -> None:
    wave = 60.0 * np.sin(2 * np.pi * 1e3 * np.arange(6300) / RATE)
    loud = _write(tmp_path / "loud.csv", wave)
    key = next(each.key for each in run.prompts if each.point == "level")
    run.take(key, "42.4 V", sure=True)
    assert "meter-beyond-range" in {flag.name for flag in run.flags()}

    (line,) = run.attach_capture(key, loud).lines
    run.take(key, line.text, sure=True)
    assert "meter-beyond-range" not in {flag.name for flag in run.flags()}


def test_a_peak_off_the_screen_offers_no_answer(run: Run, tmp_path: Path) -> None:
    turns = (np.arange(6200) / 1000 + 0.2) % 1.0
    wave = np.interp(turns, [0, 0.02, 0.5, 0.52, 1.0], [-5, 5, 5, -5, -5])
    time = turns % 0.5
    wave += np.where(turns < 0.5, 3.0, -3.0) * np.exp(-time / 0.03) * np.sin(time / 0.015)
    noise = np.random.default_rng(3).normal(0.0, 0.05, wave.size)
    cut = _write(tmp_path / "cut.csv", np.clip(np.round((wave + noise) / 0.05) * 0.05, -5.5, 5.5))
    proposal = run.attach_capture(f"{LOOK}overshoot", cut)

    asked = {line.key.rsplit("/", 1)[1] for line in proposal.lines}
    assert "rise_time" in asked
    assert not {"overshoot", "ringing_cycles"} & asked
    assert "overshoot at least" in proposal.says
    assert "the trace is flat at its highest and lowest level: off the screen?" in proposal.says

    loud = np.clip(np.round(600.0 * np.sin(2 * np.pi * np.arange(6300) / 1000)
                   + np.random.default_rng(4).normal(0.0, 1.0, 6300)), -500, 500)  # fmt: skip
    sine = _write(tmp_path / "loud.csv", 0.05 * loud)
    proposal = run.attach_capture("clip//8 ohm/level_at_ten_percent", sine)
    assert not proposal.lines
    assert "at least" in proposal.says
    assert "distortion" not in proposal.says
