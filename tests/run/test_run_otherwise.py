"""What is worked out otherwise than it was shown is told, with both figures."""

from __future__ import annotations

from pathlib import Path

import pytest

from stepwise.cli import main as command
from stepwise.run import Run, read_run
from tests.run.plans import Clock, answer_for, plan


@pytest.fixture
def log(tmp_path: Path) -> Path:
    with Run.start(plan(), tmp_path, Clock()) as run:
        while (prompt := run.next_prompt()) is not None:
            run.take(prompt.key, answer_for(prompt.point), sure=True)
        # A correction takes results away and brings others.
        run.take("sweep/left//10 Hz", "flat", sure=True)
        run.skip("clip/left/8 ohm/level", "not today")
        run.end()
        return run.folder


def test_a_log_read_by_the_version_that_wrote_it_is_as_it_was_shown(log: Path) -> None:
    assert read_run(log).otherwise == ()


def test_another_value_verdict_or_result_is_told(
    log: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import stepwise.science as science

    real = science.load_power
    monkeypatch.setattr(science, "load_power", lambda volts, ohms: 1.01 * real(volts, ohms))
    found = read_run(log).otherwise
    assert {each.where.rpartition(" · ")[2] for each in found} >= {"power", "claim_ratio"}
    assert all(each.shown != each.now for each in found)
    assert command(["check", str(log)]) == 0
    assert "worked out otherwise than shown at the bench" in capsys.readouterr().out
