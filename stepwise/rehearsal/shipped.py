"""The unit and the bench that a rehearsal uses where none are given: shipped TOML files."""

from __future__ import annotations

from importlib.resources import files

UNIT_FILE = "teal.toml"
BENCH_FILE = "hall-workshop.toml"


def unit_text() -> str:
    """TOML text of board Teal."""
    return _text(UNIT_FILE)


def bench_text() -> str:
    """TOML text of the hall's workshop."""
    return _text(BENCH_FILE)


def _text(name: str) -> str:
    return (files("stepwise.rehearsal") / "scenario" / name).read_text(encoding="utf-8")
