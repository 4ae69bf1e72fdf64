"""One reading of a file tells all that is wrong with it: a fault hides no other."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from stepwise.errors import FileProblems
from stepwise.procedure import read_bench_text, read_procedure_text, read_unit_text

HEAD = '[procedure]\ntitle = "Try"\nrevision = 1\nsummary = "try"\n[[step]]\n'
GOOD_STEP = 'id = "idle"\nkind = "readings"\ntitle = "Idle"\n'
READINGS = """readings = [
  { name = "a", ask = "One", unit = "furlong", limit = { max = "3 V" } },
  { name = "b", ask = "Two", unit = "V", limit = { max = "3 mA" } },
  { name = "b", ask = "Three", unit = "V" },
  { name = "minimum_load", ask = "Four", unit = "V" },
]
"""
IN_READINGS = {
    'readings "a", unit': "“furlong” is not a unit",
    'readings "b", limit.max': "“3 mA” is in A",
    'readings "b", name': "“b” stands twice",
    'readings "minimum_load", name': "“minimum_load” is the name of a rating or claim",
}


def told(read: Callable[[str, str], object], text: str) -> dict[str, str]:
    """Place -> what is said of it."""
    with pytest.raises(FileProblems) as caught:
        read(text, "try.toml")
    return {each.where: each.what for each in caught.value.problems}


def meter(**instead: str) -> str:
    fields = {
        "id": '"ac"',
        "type": '"analogue"',
        "reads": '"V rms"',
        "ranges": '["2 A"]',
        "accuracy": '"2 % of full"',
        "resolves": '"quarter division"',
    } | instead
    lines = [f"{name} = {value}" for name, value in fields.items() if value]
    return '[bench]\nname = "Hall workshop"\n[[meter]]\n' + "\n".join(lines)


@pytest.mark.parametrize("value", ["", "3", '"analog"'])
@pytest.mark.parametrize("field", ["id", "type"])
def test_a_meter_with_a_wrong_id_or_type_is_still_judged(field: str, value: str) -> None:
    if field == "id" and value:
        value = '"Not an id!"'
    found = told(read_bench_text, meter(**{field: value}))
    for place, said in {
        "ranges 1": "“2 A” is A (current)",
        "accuracy": "“2 % of full” is not a statement of accuracy",
        "resolves": "“quarter division” is not a share",
    }.items():
        (what,) = [what for where, what in found.items() if where.endswith(place)]
        assert said in what
    assert len(found) == 4


def test_a_meter_whose_unit_is_wrong_is_judged_by_what_does_not_hang_on_it() -> None:
    found = told(read_bench_text, meter(reads="3"))
    assert {where.split(", ")[1] for where in found} == {"reads", "accuracy", "resolves"}


@pytest.mark.parametrize("nominal", ["", "nominal = 8\n"])
def test_a_load_without_a_nominal_value_is_still_judged(nominal: str) -> None:
    text = (
        f'[bench]\nname = "x"\n[[load]]\n{nominal}measured = "3 V"\nuncertainty = "5 %%"\n'
        'rating = "3 ohm"\n'
    )
    found = told(read_bench_text, text)
    assert {each.split(", ")[-1] for each in found} >= {"measured", "uncertainty", "rating"}
    sound = '[bench]\nname = "x"\n[[load]]\nmeasured = "8.06 ohm"\nuncertainty = "2 ohm"\n'
    assert list(told(read_bench_text, sound)) == ["load 1"]


def test_a_unit_without_a_name_and_a_claim_without_a_power_are_still_judged() -> None:
    text = '[unit]\nchannels = ["a", "a"]\n[[claim]]\nload = "4 V"\ndistortion = "3 W"\n'
    found = told(read_unit_text, text)
    assert set(found) == {
        "unit", "unit.channels 2", "claim 1", "claim 1, load", "claim 1, distortion",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("step", "fault"),
    [
        (GOOD_STEP, None),
        (GOOD_STEP.replace('"readings"', '"readngs"'), "kind"),
        (GOOD_STEP.replace('id = "idle"\n', ""), ""),
        (GOOD_STEP.replace('"idle"', '"Not an id!"'), "id"),
        (GOOD_STEP.replace("title", "titel"), "titel"),
        (GOOD_STEP.replace('"Idle"', "3"), "title"),
        (GOOD_STEP + "hold = 3\n", "hold"),
    ],
)
def test_a_step_with_a_fault_of_its_own_is_still_judged(step: str, fault: str | None) -> None:
    found = told(read_procedure_text, HEAD + step + READINGS)
    for place, said in IN_READINGS.items():
        (what,) = [what for where, what in found.items() if where.endswith(place)]
        assert said in what
    assert len(found) == len(IN_READINGS) + (fault is not None)


def test_a_reading_that_lacks_a_word_or_has_one_too_many_hides_nothing() -> None:
    lacking = READINGS.replace('ask = "Two", ', "").replace('ask = "One"', 'ask = "One", foo = 1')
    found = told(read_procedure_text, HEAD + GOOD_STEP + lacking)
    for place, said in IN_READINGS.items():
        (what,) = [what for where, what in found.items() if where.endswith(place)]
        assert said in what
    assert len(found) == len(IN_READINGS) + 2


def test_an_unknown_unit_is_told_alone() -> None:
    only = 'readings = [{ name = "a", ask = "One", unit = "furlong", limit = { max = "3 V" } }]'
    assert [*told(read_procedure_text, HEAD + GOOD_STEP + only)] == [
        'step "idle", readings "a", unit'
    ]
