"""Marks and words of verdicts and severities: the signs that stay when there is no colour."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from stepwise.judge import Flag, Grade, Severity, Verdict
from stepwise.quantities import dotted, with_signs

VERDICT_MARKS: Mapping[Verdict, str] = MappingProxyType(
    {
        Verdict.IN_SPEC: "✓",
        Verdict.OUT_OF_SPEC: "✗",
        Verdict.TOO_CLOSE: "≈",
        Verdict.NOTED: "·",
        Verdict.SKIPPED: "–",
    }
)
VERDICT_STYLES: Mapping[Verdict, str] = MappingProxyType(
    {
        Verdict.IN_SPEC: "in-spec",
        Verdict.OUT_OF_SPEC: "out-of-spec",
        Verdict.TOO_CLOSE: "close-call",
        Verdict.NOTED: "noted",
        Verdict.SKIPPED: "noted",
    }
)
"""Name of the theme's variable for each verdict; also the class of a widget that shows it."""

SEVERITY_MARKS: Mapping[Severity, str] = MappingProxyType(
    {Severity.STOP: "■", Severity.WRONG: "▲", Severity.LOOK: "◆", Severity.NOTE: "•"}
)
SEVERITY_STYLES: Mapping[Severity, str] = MappingProxyType(
    {
        Severity.STOP: "out-of-spec",
        Severity.WRONG: "out-of-spec",
        Severity.LOOK: "close-call",
        Severity.NOTE: "noted",
    }
)
MARK_WORDS: Mapping[str, str] = MappingProxyType(
    {
        "minus_3db_low": "-3 dB",
        "minus_3db_high": "-3 dB",
        "minus_1db_low": "-1 dB",
        "minus_1db_high": "-1 dB",
        "corner_low": "corner",
        "corner_high": "corner",
    }
)
"""What the marks of a sweep are called in its picture."""


def verdict_text(verdict: Verdict) -> str:
    """Mark and word: "✓ in spec"."""
    return f"{VERDICT_MARKS[verdict]} {verdict.value}"


def grade_mark(grade: Grade) -> str:
    """The sign of what a whole run comes to."""
    return VERDICT_MARKS[grade] if isinstance(grade, Verdict) else SEVERITY_MARKS[grade]


def grade_style(grade: Grade) -> str:
    """Its name of the theme's variable."""
    return VERDICT_STYLES[grade] if isinstance(grade, Verdict) else SEVERITY_STYLES[grade]


def severity_text(severity: Severity) -> str:
    """Mark and word: "■ stop"."""
    return f"{SEVERITY_MARKS[severity]} {severity.value}"


def place_text(flag: Flag) -> str:
    """Where a flag was seen: "left · 8 Ω"."""
    return dotted(flag.channel, with_signs(flag.load))


def variable(style: str) -> str:
    """The style by which `Content` takes a colour of the theme."""
    return f"${style}"
