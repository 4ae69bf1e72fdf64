"""Whatever is done to a run, in whatever order: it stays the fold of its journal.

A simple model says which answers are in force; the journal that is read back says the same as
the run in memory. `STEPWISE_LONG_WALK=1` walks far longer.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
)

from stepwise.errors import RunError
from stepwise.journal import read_journal
from stepwise.judge import Severity
from stepwise.run import Outcome, Run, Status, plan_from_texts, read_run
from stepwise.run.view import ReadOnlyJournal
from tests.run.plans import BENCH, UNIT, Clock

PROCEDURE = """\
[procedure]
title = "Walk"
revision = 1
summary = "every turn in few prompts"
[[step]]
id = "safe"
kind = "confirm"
title = "Safe"
hold = true
items = ["a", "b", "c"]
[[step]]
id = "idle"
kind = "readings"
title = "Idle"
repeat = ["channel"]
readings = [
 { name = "rail_plus", ask = "Positive rail", unit = "V", meter = "dc" },
 { name = "offset", ask = "Offset", unit = "mV", meter = "dc", limit = { target = "0 mV", within = "50 mV" }, hold = ["listen"] },
]
[[step]]
id = "clip"
kind = "clip"
title = "Clip"
repeat = ["channel", "load"]
on_time = "15 s"
[[step]]
id = "listen"
kind = "confirm"
title = "Listen"
optional = true
items = ["sounds fine"]
"""
PLAN = plan_from_texts(PROCEDURE, UNIT, BENCH, "walk")
TEXTS = st.sampled_from(
    ["y", "n", "35", "34.6", "350", "12", "-3", "1500", "19", "1.9 on 3", "1.9 on 3 x10", "54",
     "27 Vpk", "=", "flat", "1000", "", "nonsense", "19 V"]
)  # fmt: skip
IS_LONG = os.environ.get("STEPWISE_LONG_WALK") == "1"


class Walk(RuleBasedStateMachine):
    """One run under every kind of hand."""

    @initialize()
    def begin(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="walk-"))
        self.clock = Clock()
        self.run = Run.start(PLAN, self.folder, self.clock)
        self.answers: dict[str, str] = {}
        self.notes = 0
        self.doubts = 0
        self.is_ended = False
        self.doubted: Outcome | None = None

    def teardown(self) -> None:
        if hasattr(self, "run"):
            assert read_run(self.run.folder).run.state == self.run.state
            self.run.close()
            shutil.rmtree(self.folder)

    # What is done

    @rule(raw=TEXTS, sure=st.booleans(), ahead=st.booleans())
    def enter(self, raw: str, sure: bool, ahead: bool) -> None:
        prompt = self.run.next_prompt()
        if prompt is not None:
            if ahead:
                self.run.foresee(prompt.key, raw)
            self._take(prompt.key, raw, sure=sure)

    @rule(number=st.integers(0, 30), raw=TEXTS)
    def foresee(self, number: int, raw: str) -> None:
        self.run.foresee(self.run.prompts[number % len(self.run.prompts)].key, raw)

    @rule(number=st.integers(0, 30), raw=TEXTS)
    def correct(self, number: int, raw: str) -> None:
        prompt = self.run.prompts[number % len(self.run.prompts)]
        self._take(prompt.key, raw, sure=False)

    @rule(times=st.integers(1, 6))
    def go_on_well(self, times: int) -> None:
        good = {"rail_plus": "35", "offset": "12", "level": "19"}
        for _ in range(times):
            prompt = self.run.next_prompt()
            if prompt is not None:
                self._take(prompt.key, good.get(prompt.point, "y"), sure=True)

    @rule(answer=st.sampled_from(["+", "*", "-"]))
    @precondition(lambda self: getattr(self, "doubted", None) is not None)
    def settle(self, answer: str) -> None:
        outcome = self.doubted
        assert outcome is not None
        assert outcome.doubt is not None
        self.doubted = None
        typed = self.run.state.doubts[-1].typed if answer == "+" else outcome.doubt.meant
        if answer != "-" and typed:
            told = self._take(outcome.key, typed, sure=True)
            assert told.status in (Status.KEPT, Status.REFUSED)

    @rule(number=st.integers(0, 30), reason=st.sampled_from(["", "no probe"]))
    def skip(self, number: int, reason: str) -> None:
        prompt = self.run.prompts[number % len(self.run.prompts)]
        was_open = self._is_open(prompt.key)
        outcome = self.run.skip(prompt.key, reason)
        may = was_open and not prompt.hold and bool(reason or prompt.optional)
        assert (outcome.status is Status.SKIPPED) == may
        if may:
            self.answers[prompt.key] = ""

    @rule()
    def note(self) -> None:
        self.run.note("hums")
        self.notes += 1

    @rule(on=st.booleans(), seconds=st.integers(0, 60))
    def tone(self, on: bool, seconds: int) -> None:
        self.clock.advance(seconds)
        prompt = self.run.next_prompt()
        try:
            clock = self.run.tone(on)
        except RunError:
            assert prompt is None or not prompt.tone
        else:
            assert (clock is not None and clock.on) == on

    @rule()
    def end(self) -> None:
        self.run.end("enough")
        self.is_ended = True

    @rule()
    def resume(self) -> None:
        self.run.close()
        self.run = Run.resume(self.run.folder, self.clock)
        self.is_ended = False
        self.doubted = None

    def _take(self, key: str, raw: str, *, sure: bool) -> Outcome:
        was_open = self._is_open(key)
        before = self.run.next_prompt()
        outcome = self.run.take(key, raw, sure=sure)
        assert outcome.key == key
        if not was_open:
            assert outcome.status is Status.REFUSED
            assert outcome.message
        if outcome.status is Status.DOUBTED:
            assert not sure
            assert outcome.doubt is not None
            assert self.run.next_prompt() == before, "the prompt stays"
            self.doubts += 1
            self.doubted = outcome
        elif outcome.status is not Status.REFUSED:
            self.answers[key] = raw
            assert outcome.line is not None
            assert outcome.line.typed == raw
        return outcome

    def _is_open(self, key: str) -> bool:
        return not self.is_ended and key not in self.run.closed_prompts()

    # What always holds

    @invariant()
    def the_model_and_the_run_agree(self) -> None:
        if not hasattr(self, "run"):
            return
        state = self.run.state
        assert {key: each.typed for key, each in state.answers.items()} == self.answers
        assert [line.key for line in self.run.sheet()] == [
            prompt.key for prompt in self.run.prompts if prompt.key in self.answers
        ]
        assert len(state.notes) == self.notes
        assert len(state.doubts) == self.doubts
        assert self.run.ended == self.is_ended

    @invariant()
    def what_is_shut_is_shut_for_a_reason(self) -> None:
        if not hasattr(self, "run"):
            return
        stops = [flag for flag in self.run.flags() if flag.severity is Severity.STOP]
        for key, why in self.run.closed_prompts().items():
            assert "hold point" in why or any(flag.name in why for flag in stops)
            assert not any(key in flag.keys for flag in stops if flag.closes) or "hold" in why
        asked = self.run.next_prompt()
        if asked is not None and self.run.blocked() is None:
            assert asked.key not in self.answers
            assert asked.key not in self.run.closed_prompts()

    @invariant()
    def a_list_that_holds_is_answered_from_its_top(self) -> None:
        """By the model alone: what is not confirmed shuts all behind it, its own list too."""
        if not hasattr(self, "run"):
            return
        keys = [prompt.key for prompt in self.run.prompts]
        for place, key in enumerate(keys[:3]):
            if self.answers.get(key) == "y":
                continue
            assert set(keys[place + 1 :]) <= set(self.run.closed_prompts())
            asked = self.run.next_prompt()
            assert asked is None or asked.key == key
            blocked = self.run.blocked()
            assert (blocked is not None) == (key in self.answers)
            break

    @invariant()
    def the_journal_says_the_same(self) -> None:
        if not hasattr(self, "run"):
            return
        record = read_journal(self.run.folder)
        assert not record.damages
        # By the plan at hand: reading its texts anew each time would take most of the walk.
        again = Run(PLAN, ReadOnlyJournal(record.path, record.events), self.clock)
        assert again.state == self.run.state
        assert again.results() == self.run.results()
        assert again.sheet() == self.run.sheet()
        assert again.closed_prompts() == self.run.closed_prompts()
        assert again.next_prompt() == self.run.next_prompt()
        timeless = [flag for flag in self.run.flags() if not flag.name.startswith("tone")]
        assert [flag for flag in again.flags() if not flag.name.startswith("tone")] == timeless


Walk.TestCase.settings = settings(
    max_examples=300 if IS_LONG else 10,
    stateful_step_count=60 if IS_LONG else 20,
    deadline=None,
    derandomize=not IS_LONG,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
TestWalk = Walk.TestCase
