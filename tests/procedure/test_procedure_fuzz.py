"""No text whatever brings anything but a checked value or a list of problems."""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stepwise.errors import FileProblems, Problem
from stepwise.procedure import (
    procedures_folder,
    read_bench_text,
    read_procedure_text,
    read_unit_text,
)

UNIT = """\
[unit]
name = "Teal"
[ratings]
reservoir_rating = "50 V"
minimum_load = "4 ohm"
[[claim]]
power = "60 W"
load = "4 ohm"
"""
BENCH = """\
[bench]
name = "Hall workshop"
[[meter]]
id = "ac"
type = "analogue"
reads = "V rms"
ranges = ["1 V", "3 V"]
accuracy = "3 % of full scale + 1 digit"
resolves = "1/4 division of 30"
[[load]]
nominal = "8 ohm"
uncertainty = "0.5 %"
[supply]
windings = 2
[oscillator]
source_resistance = "600 ohm"
"""
PIECES = (
    '"', "'", "[", "]", "{", "}", "=", ",", ".", "#", "\n", "\\", "\0", "\r", "-", "1e999", "0",
    "true", "inf", "nan", '"1"', '""', "[]", "{}", "1979-05-27", "[[step]]", "step = 3", " % of ",
    "log10(", "**", "é", "\u2028", "\U0001f50a", '"/"', "9" * 5000, '"9 V"', "\ufeff",
    "hold = true\n", "_", "A", "id",
)  # fmt: skip
FILES: tuple[tuple[str, Callable[[str, str], object], str], ...] = (
    ("unit", read_unit_text, UNIT),
    ("bench", read_bench_text, BENCH),
    *(
        (path.stem, read_procedure_text, path.read_text(encoding="utf-8"))
        for path in sorted(procedures_folder().glob("*.toml"))
    ),
)


def problems_of(read: Callable[[str, str], object], text: str) -> tuple[Problem, ...]:
    """What is told of a text; nothing where it is read."""
    try:
        read(text, "x.toml")
    except FileProblems as error:
        return error.problems
    return ()


def mutated(text: str, source: random.Random) -> str:
    for _ in range(source.randint(1, 4)):
        at = source.randrange(len(text) + 1)
        length = source.choice((0, 0, 1, 1, 3, 30))
        text = text[:at] + source.choice((*PIECES, "")) + text[at + length :]
    return text


def value_mutated(text: str, source: random.Random) -> str:
    """Swap values between lines, so that the text stays TOML and only its sense is broken."""
    lines = text.splitlines()
    places = [n for n, line in enumerate(lines) if " = " in line and not line.startswith("  ")]
    for _ in range(source.randint(1, 3)):
        one, other = source.choice(places), source.choice(places)
        name, value = lines[one].split(" = ", 1)[0], lines[other].split(" = ", 1)[1]
        lines[one] = f"{name} = {source.choice((value, *PIECES))}"
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize(("name", "read", "text"), FILES, ids=[name for name, *_ in FILES])
@pytest.mark.parametrize("mutate", [mutated, value_mutated])
def test_a_mutated_file_is_read_or_refused_with_sentences(
    name: str,
    read: Callable[[str, str], object],
    text: str,
    mutate: Callable[[str, random.Random], str],
) -> None:
    source = random.Random(f"{name} {mutate.__name__}")
    refused = 0
    for _ in range(60):
        problems = problems_of(read, mutate(text, source))
        refused += bool(problems)
        for problem in problems:
            assert str(problem).isprintable()
            assert len(str(problem)) < 1500
    assert refused


_VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**70), 2**70)
    | st.floats()
    | st.text(max_size=8)
    | st.sampled_from(["channel", "clip", "1 kHz", "8 ohm", "V", "a", "reservoir_rating"]),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from(["name", "ask", "unit", "limit", "max", "x"]), inner)
    ),
    max_leaves=8,
)


def toml_value(value: object) -> str:
    if value is None or isinstance(value, str):
        escaped = "".join(f"\\U{ord(each):08x}" for each in value or "")
        return f'"{escaped}"'
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return f"[{', '.join(map(toml_value, value))}]"
    if isinstance(value, dict):
        return f"{{{', '.join(f'{key} = {toml_value(each)}' for key, each in value.items())}}}"
    return str(value)


@settings(
    max_examples=150, deadline=None, derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)  # fmt: skip
@given(
    st.sampled_from(["confirm", "readings", "clip", "sweep", "square", "thermal", "note"]),
    st.dictionaries(
        st.sampled_from(
            [
                "id",
                "title",
                "why",
                "caution",
                "repeat",
                "hold",
                "optional",
                "on_time",
                "rest",
                "items",
                "readings",
                "derive",
                "tone",
                "also",
                "limits",
                "points",
                "band",
                "load",
                "looks",
                "level",
                "places",
                "at",
                "meter",
                "notes",
                "reference",
            ]
        ),
        _VALUES,
        max_size=8,
    ),
)
def test_a_step_of_any_values_is_read_or_refused(kind: str, fields: dict[str, object]) -> None:
    lines = [f"{key} = {toml_value(value)}" for key, value in fields.items()]
    head = '[procedure]\ntitle = "T"\nrevision = 1\nsummary = "S"\n[[step]]'
    text = "\n".join([head, f'kind = "{kind}"', *lines])
    problems = problems_of(read_procedure_text, text)
    assert all(problem.line is not None for problem in problems)
