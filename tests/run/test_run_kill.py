"""A real process is killed in the middle of a run, and nothing that it told is lost."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from stepwise.journal import read_journal
from stepwise.run import Run
from tests.run.plans import Clock, answer_for, play

ROOT = Path(__file__).parents[2]

_WRITER = """
import sys, time
from pathlib import Path
from stepwise.run import Run
from tests.run.plans import Clock, answer_for, plan
folder, logs = sys.argv[1], Path(sys.argv[2])
clock = Clock()
run = Run.resume(Path(folder), clock) if folder else Run.start(plan(), logs, clock)
print("folder", run.folder, flush=True)
while (prompt := run.next_prompt()) is not None:
    outcome = run.take(prompt.key, answer_for(prompt.point))
    assert outcome.line is not None, outcome
    print("kept", outcome.key, flush=True)
    time.sleep(0.02)
print("done", flush=True)
"""


class Writer:
    """A process that plays a run, says what was kept, and may be killed at it."""

    def __init__(self, folder: str, logs: Path) -> None:
        self.folder = folder
        self.told: list[str] = []
        self.done = False
        self._process = subprocess.Popen(
            [sys.executable, "-c", _WRITER, folder, str(logs)],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            text=True,
        )

    def play(self, kill_after: int | None, delay: float) -> bool:
        """Listen to the end, or kill once `kill_after` answers were heard; was it killed?"""
        stream = self._process.stdout
        assert stream is not None
        killed = False
        for line in stream:  # after the kill: what was told before it arrived
            word, _, rest = line.strip().partition(" ")
            if word == "folder":
                self.folder = rest
            elif word == "kept":
                self.told.append(rest)
            self.done = self.done or word == "done"
            if kill_after is not None and not killed and len(self.told) >= kill_after:
                time.sleep(delay)
                os.kill(self._process.pid, signal.SIGKILL)
                killed = True
        self._process.wait()
        stream.close()
        return killed


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs SIGKILL")
def test_killed_at_twenty_points_it_carries_on_with_nothing_lost(tmp_path: Path) -> None:
    chance = random.Random(20260314)
    told: list[str] = []
    folder, kills = "", 0
    while kills < 20 or folder:
        writer = Writer(folder, tmp_path)
        kill_after = chance.choice((0, 1, 1, 2)) if kills < 20 else None
        kills += writer.play(kill_after, chance.uniform(0.0, 0.03))
        folder = writer.folder
        told += writer.told
        kept = [e.data["key"] for e in read_journal(Path(folder)).events if "key" in e.data]
        assert set(told) <= set(kept), "something that was told as kept is gone"
        if writer.done:
            with Run.resume(Path(folder), Clock()) as run:
                assert run.is_complete()
                for prompt in run.prompts:
                    assert run.state.answers[prompt.key].typed == answer_for(prompt.point)
            folder, told = "", []
    assert kills >= 20


def test_the_same_answers_give_the_same_results_killed_or_not(tmp_path: Path) -> None:
    from tests.run.plans import plan

    with Run.start(plan(), tmp_path, Clock()) as whole:
        play(whole)
        expected = whole.results()
    with Run.start(plan(), tmp_path, Clock()) as broken:
        play(broken, until="clip/right/8 ohm/level")
        folder = broken.folder
    with Run.resume(folder, Clock()) as carried:
        play(carried)
        assert carried.results() == expected
