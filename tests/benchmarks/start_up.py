"""How soon the program is there: first paint and `--help`, each beside what cannot be undercut.

    python -m tests.benchmarks.start_up [--times 9]

First paint is from the start of the process to the first words on a pseudo-terminal, beside a
Textual program that shows one label. `--help` is a whole process, beside one that parses the
same with the same library and prints a line. Taken in turns, medians, after one turn that is
not counted: compiled modules are kept, as they are where a program is installed. Prints, asserts
nothing.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median

from tests.trust.terminal import ROOT, Terminal

BARE = """
from textual.app import App
from textual.widgets import Label

class Bare(App):
    def compose(self):
        yield Label("one label, and nothing else")

Bare().run(mouse=False)
"""
HELLO = """
import argparse
parser = argparse.ArgumentParser(description="says hello")
parser.add_argument("name", nargs="?")
parser.parse_args(["--help"])
"""


@contextmanager
def compiled_kept() -> Iterator[None]:
    """Programs started meanwhile keep what they compile, in a folder that goes afterwards."""
    before = dict(os.environ)
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"PYTHONPYCACHEPREFIX": folder, "PYTHONDONTWRITEBYTECODE": ""}
        try:
            yield
        finally:
            os.environ.clear()
            os.environ.update(before)


def first_paint(arguments: list[str], marker: bytes) -> float:
    """Milliseconds from the start of a program to its first words."""
    began = time.perf_counter()
    terminal = Terminal(arguments)
    try:
        assert terminal.read_until(marker, 60.0), bytes(terminal.seen[-300:])
        return 1e3 * (time.perf_counter() - began)
    finally:
        terminal.close()


def process(arguments: list[str]) -> float:
    """Milliseconds of a whole process."""
    began = time.perf_counter()
    subprocess.run([sys.executable, *arguments], check=True, capture_output=True, cwd=ROOT)
    return 1e3 * (time.perf_counter() - began)


def in_turns(times: int, *acts: Callable[[], float]) -> list[float]:
    """Medians of acts that take turns, since a machine's speed changes from moment to moment."""
    taken = [[act() for act in acts] for _ in range(times + 1)]
    return [median(each) for each in zip(*taken[1:], strict=True)]


def paints(times: int, folder: Path) -> list[float]:
    """First paint of the program, and of the bare one [ms]."""
    bare = folder / "bare.py"
    bare.write_text(BARE, encoding="utf-8")
    screens = ["-m", "stepwise", "--logs", str(folder)]
    return in_turns(
        times,
        lambda: first_paint(screens, b"Start a run"),
        lambda: first_paint([str(bare)], b"one label"),
    )


def commands(times: int, *words: str) -> list[float]:
    """A whole process with these words, and one that says hello [ms]."""
    return in_turns(
        times,
        lambda: process(["-m", "stepwise", *words]),
        lambda: process(["-c", HELLO]),
    )


def tell(what: str, taken: float, floor: float, wanted: float) -> None:
    """One line of the table."""
    print(
        f"{what:<26} {taken:8.0f} ms   floor {floor:7.0f} ms   {taken / floor:5.2f} times "
        f"(wanted: at most {wanted:g})"
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=9)
    times = parser.parse_args().times
    with tempfile.TemporaryDirectory() as folder, compiled_kept():
        tell("first paint", *paints(times, Path(folder)), 1.3)
        for word in ("--help", "--version"):
            tell(word, *commands(times, word), 1.5)
        rehearsed = ["-m", "stepwise", "rehearse", "quick-check", "--unattended", "--logs", folder]
        subprocess.run([sys.executable, *rehearsed], check=True, capture_output=True, cwd=ROOT)
        for words in (("logs",), ("show", "last"), ("check", "last")):
            own, floor = commands(times, *words, "--logs", folder)
            print(
                f"{words[0]:<26} {own:8.0f} ms   floor {floor:7.0f} ms   {own / floor:5.2f} times"
            )


if __name__ == "__main__":
    main()
