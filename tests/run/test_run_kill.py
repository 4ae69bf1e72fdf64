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
    print("kept", outcome.key, flush=True)
    time.sleep(0.02)
print("done", flush=True)
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs SIGKILL")
def test_killed_at_twenty_points_it_carries_on_with_nothing_lost(tmp_path: Path) -> None:
    chance = random.Random(20260314)
    told: list[str] = []
    folder, kills = "", 0
    while True:
        writer = subprocess.Popen(
            [sys.executable, "-c", _WRITER, folder, str(tmp_path)],
            cwd=ROOT, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        assert writer.stdout is not None
        done = False
        kill_after = chance.choice((0, 1, 1, 2)) if kills < 20 else None
        heard = 0
        for line in writer.stdout:
            word, _, rest = line.strip().partition(" ")
            if word == "folder":
                folder = rest
            elif word == "kept":
                told.append(rest)
                heard += 1
            done = word == "done"
            if kill_after is not None and heard >= kill_after:
                time.sleep(chance.uniform(0.0, 0.03))
                os.kill(writer.pid, signal.SIGKILL)
                kills += 1
                break
        for line in writer.stdout:  # what was told before the kill reached it
            word, _, rest = line.strip().partition(" ")
            if word == "kept":
                told.append(rest)
            done = done or word == "done"
        writer.wait()
        writer.stdout.close()
        kept = [e.data["key"] for e in read_journal(Path(folder)).events if "key" in e.data]
        assert set(told) <= set(kept), "something that was told as kept is gone"
        if done:
            break
        assert kills <= 40
    with Run.resume(Path(folder), Clock()) as run:
        assert run.is_complete()
        for prompt in run.prompts:
            assert run.state.answers[prompt.key].typed == answer_for(prompt.point)
    assert kills == 20


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
