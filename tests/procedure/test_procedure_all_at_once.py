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


def test_what_is_wrong_with_a_limit_is_told_beside_a_unit_that_is_not_known() -> None:
    def asked(limit: str) -> str:
        given = f'{{ name = "a", ask = "One", unit = "furlong", limit = {{ {limit} }} }}'
        return HEAD + GOOD_STEP + f"readings = [{given}]"

    for limit, where, said in (
        ('min = "5 V", max = "3 V"', "min", "is above max"),
        ('max = "no such"', "max", "does not begin with a number"),
        ('max = "claimed_powr"', "max", "nothing is called “claimed_powr”"),
        ('target = "0 V"', "target", "target and within belong together"),
    ):
        found = told(read_procedure_text, asked(limit))
        assert list(found) == [
            f'step "idle", readings "a", {each}' for each in ("unit", f"limit.{where}")
        ]
        assert said in found[f'step "idle", readings "a", limit.{where}']
    # Edges of two kinds cannot be told apart in size while nobody knows which is meant.
    assert list(told(read_procedure_text, asked('min = "5 V", max = "3 mA"'))) == [
        'step "idle", readings "a", unit'
    ]


def test_an_unknown_unit_is_told_alone() -> None:
    only = 'readings = [{ name = "a", ask = "One", unit = "furlong", limit = { max = "3 V" } }]'
    assert [*told(read_procedure_text, HEAD + GOOD_STEP + only)] == [
        'step "idle", readings "a", unit'
    ]


def test_a_channel_of_the_wrong_type_hides_none_of_the_others() -> None:
    text = '[unit]\nname = "Teal"\nchannels = [3, "left", ["x"], "left", "a/b"]\n'
    found = told(read_unit_text, text)
    assert list(found) == [f"unit.channels {place}" for place in (1, 3, 4, 5)]
    assert found["unit.channels 4"] == "“left” stands twice"
    assert list(told(read_unit_text, '[unit]\nname = "Teal"\nchannels = [3]\n')) == [
        "unit.channels 1"
    ]


def test_a_range_of_the_wrong_type_hides_none_of_the_others() -> None:
    text = meter(ranges='["1 V", 3, "3 ohm", "1 V"]', accuracy='"2 %"', resolves="")
    assert told(read_bench_text, text) == {
        'meter "ac", ranges 2': "is the number 3 where text is expected",
        'meter "ac", ranges 3': "“3 ohm” is Ω (resistance)",
        'meter "ac", ranges 4': "“1 V” stands twice",
    }


SWEEP = 'id = "s"\nkind = "sweep"\ntitle = "S"\npoints = ["20 Hz", {points}]\nband = [{band}]\n'


@pytest.mark.parametrize(
    ("step", "faults"),
    [
        (SWEEP.format(points='3, "0 Hz"', band='"20 Hz", "20 kHz"'), ("points 2", "points 3")),
        (SWEEP.format(points='"0 Hz"', band='"0 Hz", 3'), ("points 2", "band 1", "band 2")),
        (SWEEP.format(points='"0 Hz"', band='3, "0 Hz"'), ("points 2", "band 1", "band 2")),
        (SWEEP.format(points='"0 Hz"', band="3, 4"), ("points 2", "band 1", "band 2")),
        (SWEEP.format(points='"0 Hz"', band="3, 4, 5"), ("points 2", "band", "band 1", "band 2")),
        (
            'id = "c"\nkind = "confirm"\ntitle = "C"\nitems = [3, "", "Feed isolated"]\n',
            ("items 1", "items 2"),
        ),
    ],
)
def test_an_entry_of_the_wrong_type_hides_none_of_the_other_entries_of_a_step(
    step: str, faults: tuple[str, ...]
) -> None:
    found = told(read_procedure_text, HEAD + step)
    assert {where.split(", ")[1] for where in found} == set(faults)
    assert len(found) == len(faults)
