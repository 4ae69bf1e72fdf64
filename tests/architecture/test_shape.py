"""Files stay small, docstrings complete, and nothing of a private machine slips in."""

from __future__ import annotations

import ast
import inspect
import re
from pathlib import Path
from types import FunctionType

import pytest

import stepwise.judge
import stepwise.quantities
import stepwise.science

ROOT = Path(__file__).parents[2]
SOURCES = sorted((ROOT / "stepwise").rglob("*.py"))
TESTS = sorted((ROOT / "tests").rglob("*.py"))


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_source_file_has_one_subject(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 400


@pytest.mark.parametrize("path", TESTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_test_file_has_one_subject(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 600


def test_a_conftest_is_imported_by_its_whole_name() -> None:
    # Several rooms have one, and “conftest” alone is the one that was loaded last.
    bare = re.compile(r"^\s*(?:from|import) conftest\b", re.MULTILINE)
    assert [path for path in TESTS if bare.search(path.read_text(encoding="utf-8"))] == []


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_module_says_what_it_is(path: Path) -> None:
    assert ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))


def _functions(room: object) -> list[FunctionType]:
    public = (getattr(room, name) for name in room.__all__)
    return [each for each in public if inspect.isfunction(each)]


@pytest.mark.parametrize(
    "function", _functions(stepwise.science), ids=lambda function: function.__name__
)
def test_a_formula_names_units_and_source(function: FunctionType) -> None:
    text = inspect.getdoc(function) or ""
    assert "Source:" in text, "where can a reader check it?"
    for name in inspect.signature(function).parameters:
        line = re.search(rf"^\s+{name}(?: \(.*?\))?: (.*)$", text, re.MULTILINE)
        assert line, f"{name} is not described"


@pytest.mark.parametrize(
    "function",
    [*_functions(stepwise.quantities), *_functions(stepwise.judge)],
    ids=lambda function: function.__name__,
)
def test_a_public_function_says_what_it_does(function: FunctionType) -> None:
    assert inspect.getdoc(function)
