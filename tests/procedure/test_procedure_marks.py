"""The marking scheme of a procedure: read whole, every fault told at once with its line."""

from __future__ import annotations

import pytest

from stepwise.errors import FileProblems
from stepwise.judge import Where
from stepwise.procedure import read_procedure_text

STEPS = """\
[procedure]
title = "T"
revision = 1
summary = "S"
[[step]]
id = "clip"
kind = "clip"
title = "C"
repeat = ["channel", "load"]
[[step]]
id = "marks"
kind = "note"
title = "M"
notes = [
 { name = "build", ask = "Build", mark = true },
 { name = "remark", ask = "Remark" },
]
"""
SOUND = '[[mark]]\nname = "Power"\nweight = 3\nfrom = "power"\nzero = "20 W"\nten = "0.08 kW"\n'
BUILD = '[[mark]]\nname = "Build"\nweight = 1\nfrom = "build"\njudged = true\n'


def told(marks: str, steps: str = STEPS) -> list[str]:
    with pytest.raises(FileProblems) as caught:
        read_procedure_text(steps + marks, "p.toml")
    return str(caught.value).splitlines()


def test_a_scheme_is_read_into_si_units() -> None:
    more = SOUND + 'load = "8R"\nwhere = "mean"\nstep = "clip"\n' + BUILD
    power, build = read_procedure_text(STEPS + more, "p.toml").marks
    assert (power.zero, power.ten, power.unit, power.weight) == (20.0, 80.0, "W", 3)
    assert (power.load, power.where, power.step) == ("8 ohm", Where.MEAN, "clip")
    assert build.judged


def test_a_procedure_needs_no_scheme() -> None:
    assert read_procedure_text(STEPS, "p.toml").marks == ()


CASES = {
    "wrong dimension": (
        SOUND.replace("20 W", "20 V"),
        'p.toml:22: mark "Power", zero: “20 V” is V (voltage); give W (power)',
    ),
    "unknown result": (
        SOUND.replace('"power"', '"powr"'),
        'p.toml:21: mark "Power", from: no step finds anything called “powr”; '
        "did you mean “power”?",
    ),
    "unknown step": (
        SOUND + 'step = "clp"\n',
        'p.toml:24: mark "Power", step: there is no step “clp”; did you mean “clip”?',
    ),
    "result of another step": (
        SOUND.replace('"power"', '"sag"') + 'step = "marks"\n',
        'p.toml:21: mark "Power", from: step “marks” does not find anything called “sag”; '
        "known here: ",
    ),
    "a mark that is not said to be judged": (
        BUILD.replace("judged = true", 'zero = "0"\nten = "10"'),
        'p.toml:21: mark "Build", from: “build” is a mark; write judged = true',
    ),
    "a remark is no mark": (
        BUILD.replace('"build"', '"remark"'),
        'p.toml:21: mark "Build", from: no note asks for a mark called “remark”; known here: build',
    ),
    "anchors for the person": (
        BUILD + 'ten = "10"\n',
        'p.toml:23: mark "Build", ten: belongs to a computed criterion; leave it out, or judged',
    ),
    "no anchor": (
        SOUND.replace('ten = "0.08 kW"\n', ""),
        'p.toml:18: mark "Power": “ten” is missing; say what earns ten, or judged = true',
    ),
    "anchors that are one": (
        SOUND.replace("0.08 kW", "20 W"),
        'p.toml:23: mark "Power", ten: is the same as zero; give another number of W',
    ),
    "twice": (
        SOUND + SOUND,
        'p.toml:25: mark "Power", name: “Power” stands twice; rename one',
    ),
    "weight of nothing": (
        SOUND.replace("weight = 3", "weight = 0"),
        'p.toml:20: mark "Power", weight: is 0; give 1 or more',
    ),
    "misspelt key": (
        SOUND.replace("weight", "wieght"),
        'p.toml:20: mark "Power", wieght: is not a known key; did you mean “weight”?',
    ),
    "single brackets": (
        SOUND.replace("[[mark]]", "[mark]"),
        "p.toml:18: mark: is not a list of criteria; write [[mark]] in double brackets",
    ),
    "no load": (
        SOUND + 'load = "8 V"\n',
        'p.toml:24: mark "Power", load: “8 V” is V (voltage); give Ω (resistance)',
    ),
}


@pytest.mark.parametrize(("marks", "sentence"), CASES.values(), ids=list(CASES))
def test_each_fault_is_told(marks: str, sentence: str) -> None:
    assert sentence in told(marks)


def test_all_faults_are_told_at_once() -> None:
    marks = SOUND.replace("20 W", "20 V").replace("weight = 3", "weight = 0") + BUILD.replace(
        '"build"', '"bild"'
    )
    steps = STEPS.replace('title = "C"', "title = 3")
    lines = told(marks, steps)
    for field in ("title", "zero", "weight", "from"):
        assert any(f", {field}:" in line for line in lines), (field, lines)
    assert len(lines) == 4
