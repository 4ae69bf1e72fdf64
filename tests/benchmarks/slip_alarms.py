"""How often an honest answer is doubted, and how often a slip is caught with the right value.

    python -m tests.benchmarks.slip_alarms [--good N] [--faulty N] [--slips N] [--seed FIRST]

Boards go through `first-look` on the simulated bench. Good boards and boards with one fault show
the false alarms; then answers of good boards are spoilt one at a time, as a hand or an eye spoils
them. Nothing in the finder of slips was fitted to the seeds of the default run, 5000 and on.
Prints, asserts nothing.
"""

from __future__ import annotations

import argparse
import re
import tempfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from stepwise.procedure import find_procedure
from stepwise.quantities import Understood
from stepwise.rehearsal import FAULTS, RehearsalBench, Whose, bench_text, unit_text
from stepwise.run import Outcome, Plan, Run, Status, plan_from_texts
from tests.benchmarks.fast_clock import Clock, no_disk

Spoil = Callable[[str], str | None]
_NUMBER = re.compile(r"(?P<sign>-?)(?P<number>[0-9]+(?:\.[0-9]+)?)")


def begun(plan: Plan, folder: str) -> Run:
    return Run.start(plan, Path(folder), Clock())


def doubts_of(plan: Plan, seed: int, faults: list[tuple[str, float]]) -> list[str]:
    """Every doubt in one run whose answers are kept as they are."""
    bench = RehearsalBench(seed, plan.unit, plan.bench, faults)
    found = []
    with tempfile.TemporaryDirectory() as folder, no_disk(), begun(plan, folder) as run:
        while (prompt := run.next_prompt()) is not None and run.blocked() is None:
            text = bench.answer(prompt, run.card(prompt.key))
            if text is None and prompt.hold:
                break
            if text is None:
                run.skip(prompt.key, "not on this bench")
                continue
            outcome = run.take(prompt.key, text)
            if outcome.doubt is not None:
                found.append(
                    f"{outcome.doubt.name} at {prompt.point}: {text} ({outcome.doubt.says})"
                )
                run.take(prompt.key, text, sure=True)
    return found


def scaled(factor: float) -> Spoil:
    """The number typed times a factor, for texts without a range."""

    def spoil(text: str) -> str | None:
        if " on " in text or "x1" in text or "dB" in text:
            return None
        match = _NUMBER.match(text)
        if match is None or float(match["number"]) == 0.0:
            return None
        value = float(match["number"]) * factor
        return f"{match['sign']}{value:.4g}{text[match.end() :]}"

    return spoil


def no_multiplier(text: str) -> str | None:
    """The x10 left out."""
    spoilt = re.sub(r" x10+$", "", text)
    return spoilt if spoilt != text else None


def other_sign(least: float = 2.0, most: float = float("inf")) -> Spoil:
    """The sign of a number of such a size left out, or put where none is."""

    def spoil(text: str) -> str | None:
        match = _NUMBER.match(text)
        if match is None or not least <= float(match["number"]) < most:
            return None
        return text[1:] if match["sign"] else f"-{text}"

    return spoil


def as_rms(factor: float) -> Spoil:
    """What the eye read as peaks on a scope, typed as if it were RMS: the form left out."""

    def spoil(text: str) -> str | None:
        on_range = re.fullmatch(r"([0-9.]+) on [0-9.]+(?: x(10+))?", text)
        if on_range is None:
            return scaled(factor)(text)
        volts = float(on_range[1]) * float(on_range[2] or 1.0)
        return f"{volts * factor:.3g}" if volts else None

    return spoil


SLIPS: dict[str, tuple[Spoil, tuple[str, ...]]] = {
    "peak-to-peak": (as_rms(2.0 * 2.0**0.5), ("level", "level_8", "level_4", "reference_again")),
    "peak": (as_rms(2.0**0.5), ("level", "level_8", "level_4", "secondary_volts")),
    "multiplier left out": (no_multiplier, ("level", "level_at_ten_percent", "secondary_volts")),
    "ten times": (scaled(10.0), ("rail_plus", "rail_minus", "secondary_volts", "idle_current")),
    "a tenth": (scaled(0.1), ("rail_plus", "rail_minus", "secondary_volts")),
    "a thousand times": (scaled(1000.0), ("rail_plus", "rail_minus", "idle_current")),
    "sign of a rail": (other_sign(), ("rail_plus", "rail_minus")),
    "sign of a level": (other_sign(), ("10 Hz", "16 Hz", "80 kHz", "100 kHz")),
    "sign of a small one": (
        other_sign(0.5, 2.0),
        ("10 Hz", "16 Hz", "20 Hz", "31.5 Hz", "20 kHz", "31.5 kHz", "50 kHz"),
    ),
}


def caught(plan: Plan, seed: int, slip: str) -> tuple[int, int, int]:
    """Answers spoilt, doubted, and doubted with what was truly meant, in one run."""
    spoil, points = SLIPS[slip]
    bench = RehearsalBench(seed, plan.unit, plan.bench)
    spoilt_count = doubted = right = 0
    with tempfile.TemporaryDirectory() as folder, no_disk(), begun(plan, folder) as run:
        while (prompt := run.next_prompt()) is not None:
            text = bench.answer(prompt, run.card(prompt.key))
            if text is None:
                run.skip(prompt.key, "not on this bench")
                continue
            wrong = spoil(text) if prompt.point in points else None
            if wrong is not None and isinstance(run.preview(prompt.key, wrong), Understood):
                spoilt_count += 1
                outcome = run.take(prompt.key, wrong)
                doubted += outcome.status is Status.DOUBTED
                right += _is_right(run, outcome, text)
            run.take(prompt.key, text, sure=True)
    return spoilt_count, doubted, right


def _is_right(run: Run, outcome: Outcome, text: str) -> bool:
    if outcome.doubt is None or not outcome.doubt.meant:
        return False
    truth = run.preview(outcome.key, text)
    meant = run.preview(outcome.key, outcome.doubt.meant)
    assert isinstance(truth, Understood)
    assert isinstance(meant, Understood)
    return abs(meant.value - truth.value) <= 0.01 * abs(truth.value) + 1e-9


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--good", type=int, default=100)
    parser.add_argument("--faulty", type=int, default=5)
    parser.add_argument("--slips", type=int, default=10)
    parser.add_argument("--seed", type=int, default=5000)
    options = parser.parse_args()
    procedure = find_procedure("first-look").read_text(encoding="utf-8")
    plan = plan_from_texts(procedure, unit_text(), bench_text(), "first-look")
    seeds = range(options.seed, options.seed + options.good)
    alarms = [doubt for seed in seeds for doubt in doubts_of(plan, seed, [])]
    print(f"{options.good} good boards: {len(alarms)} honest answers doubted")
    for what, count in Counter(alarms).most_common(20):
        print(f"  {count} x {what}")
    for fault in FAULTS.values():
        if fault.whose is Whose.PERSON or not options.faulty:
            continue
        seeds = range(options.seed, options.seed + options.faulty)
        found = [doubt for seed in seeds for doubt in doubts_of(plan, seed, [(fault.name, 1.0)])]
        print(f"{options.faulty} boards with {fault.name}: {len(found)} doubted")
        for what, count in Counter(found).most_common(4):
            print(f"  {count} x {what}")
    for slip in SLIPS:
        seeds = range(options.seed, options.seed + options.slips)
        rows = [caught(plan, seed, slip) for seed in seeds]
        spoilt, doubted, right = (sum(column) for column in zip(*rows, strict=True))
        print(f"{slip:<22} {spoilt:4} spoilt, {doubted:4} doubted, {right:4} with what was meant")


if __name__ == "__main__":
    main()
