"""Every flag: seen in a worked example, quiet in its like, listed, ordered, said once."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import stepwise.judge.flags as room
from stepwise.judge import CLOSABLE, SEVERITY_ORDER, Findings, Flag, Severity
from stepwise.judge.flags import FAMILIES, FLAGS, find_flags
from stepwise.judge.flags.absorb import EXPLAINS
from tests.judge.flag_case import Case
from tests.judge.flag_cases_board import CASES as BOARD
from tests.judge.flag_cases_physics import CASES as PHYSICS
from tests.judge.flag_cases_response import CASES as RESPONSE

CASES: dict[str, Case] = {**PHYSICS, **BOARD, **RESPONSE}
EACH = pytest.mark.parametrize(("name", "case"), list(CASES.items()), ids=list(CASES))


def names(found: Findings) -> list[str]:
    return [flag.name for flag in find_flags(found)]


def the_flag(name: str, found: Findings) -> Flag:
    (flag,) = [flag for flag in find_flags(found) if flag.name == name]
    return flag


@EACH
def test_it_is_seen_in_its_example(name: str, case: Case) -> None:
    assert case.source
    assert name in names(case.seen)


@EACH
def test_it_is_not_seen_in_a_sound_one(name: str, case: Case) -> None:
    assert name not in names(case.quiet)


@EACH
def test_it_says_all_that_a_lone_person_needs(name: str, case: Case) -> None:
    flag = the_flag(name, case.seen)
    assert re.fullmatch(r"[A-ZΩ0-9\-].*[.?]", flag.says), flag.says
    assert "\n" not in flag.says
    assert flag.evidence
    assert all(each.name and each.value for each in flag.evidence)
    assert flag.likely
    assert flag.next_try.endswith((".", "?"))
    assert flag.keys or name in ("tone-too-long", "rest-not-kept")


@EACH
def test_it_is_no_graver_than_the_catalogue_says(name: str, case: Case) -> None:
    grave = SEVERITY_ORDER.index(FLAGS[name].severity)
    assert SEVERITY_ORDER.index(the_flag(name, case.seen).severity) >= grave


@pytest.mark.parametrize(
    ("name", "case"),
    [(name, case) for name, case in CASES.items() if case.first_key],
    ids=[name for name, case in CASES.items() if case.first_key],
)
def test_the_reading_to_take_again_stands_first(name: str, case: Case) -> None:
    assert case.first_key is not None
    assert the_flag(name, case.seen).keys[0].endswith(case.first_key)


@EACH
def test_only_a_stop_closes_and_says_what_reopens(name: str, case: Case) -> None:
    flag = the_flag(name, case.seen)
    assert set(flag.closes) <= set(CLOSABLE)
    assert bool(flag.closes) == bool(flag.reopens)
    if flag.closes:
        assert flag.severity is Severity.STOP


def test_the_catalogue_and_the_examples_are_complete() -> None:
    assert set(CASES) == set(FLAGS) == _raised()


def _raised() -> set[str]:
    """Every name that a family can give a flag, from its source."""
    found: set[str] = set()
    for path in Path(str(room.__file__)).parent.glob("*.py"):
        if path.stem in ("catalogue", "absorb"):
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Flag":
                (name,) = [word.value for word in node.keywords if word.arg == "name"]
                found |= _texts(name)
    named_by_part = {"supply-sag", "transformer-limit", "reservoir-weak"}
    steep = {"roll-off-steep-low", "roll-off-steep-high"}
    return found | named_by_part | steep


def _texts(name: ast.expr) -> set[str]:
    if isinstance(name, ast.JoinedStr | ast.Name):
        return set()
    return {
        str(node.value)
        for node in ast.walk(name)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }


def test_every_file_of_the_room_that_finds_is_registered() -> None:
    here = Path(str(room.__file__)).parent
    finding = {
        path.stem
        for path in here.glob("*.py")
        if any(
            isinstance(node, ast.FunctionDef) and node.name == "find"
            for node in ast.parse(path.read_text(encoding="utf-8")).body
        )
    }
    assert finding == {family.__module__.rpartition(".")[2] for family in FAMILIES}


def test_what_explains_and_what_is_explained_are_flags() -> None:
    assert set(EXPLAINS) <= set(FLAGS)
    for cause, symptoms in EXPLAINS.items():
        assert symptoms <= set(FLAGS)
        assert cause not in symptoms


def test_nothing_found_is_no_flag() -> None:
    assert find_flags(Findings()) == ()


def everything() -> Findings:
    """All examples in one run: far more than any board ever had."""
    seen = [case.seen for case in CASES.values()]
    facts = {name: value for each in seen for name, value in each.facts.items()}
    return Findings(
        tuple(result for each in seen for result in each.results),
        facts,
        tuple(span for each in seen for span in each.tones),
    )


def test_no_flag_is_said_twice_and_the_order_is_by_harm() -> None:
    flags = find_flags(everything())
    assert len({flag.identity for flag in flags}) == len(flags)
    ranks = [(SEVERITY_ORDER.index(flag.severity), list(FLAGS).index(flag.name)) for flag in flags]
    assert ranks == sorted(ranks)


def test_none_stands_beside_the_one_that_explains_it() -> None:
    flags = find_flags(everything())
    for cause in flags:
        for symptom in flags:
            meet = all(
                a is None or b is None or a == b
                for a, b in ((cause.channel, symptom.channel), (cause.load, symptom.load))
            )
            assert not (meet and symptom.name in EXPLAINS.get(cause.name, ()))


@EACH
def test_the_order_of_the_results_does_not_matter(name: str, case: Case) -> None:
    if name == "cooler-while-driven":
        return  # a row of temperatures has an order in time
    found = case.seen
    turned = Findings(tuple(reversed(found.results)), found.facts, found.tones)
    assert set(names(found)) == set(names(turned))
