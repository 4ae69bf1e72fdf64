"""Every fault of a procedure is told, with its line, and in words that say what is right."""

from __future__ import annotations

from pathlib import Path

import pytest

from stepwise.errors import FileProblems
from stepwise.procedure import read_procedure, read_procedure_text

HEAD = '[procedure]\ntitle = "T"\nrevision = 1\nsummary = "S"\n'
STEP = '[[step]]\nid = "a"\nkind = "confirm"\ntitle = "A"\nitems = ["x"]\n'
READ = '[[step]]\nid = "r"\nkind = "readings"\ntitle = "R"\n'


def told(text: str) -> list[str]:
    with pytest.raises(FileProblems) as caught:
        read_procedure_text(text, "p.toml")
    return str(caught.value).splitlines()


def test_a_sound_procedure_is_read_with_its_text() -> None:
    procedure = read_procedure_text(HEAD + STEP, Path("folder/first.toml"))
    assert procedure.name == "first"
    assert procedure.revision == 1
    assert [step.id for step in procedure.steps] == ["a"]
    assert procedure.text == HEAD + STEP
    assert procedure.step("a") is procedure.steps[0]
    assert procedure.step("b") is None


CASES = {
    "misspelt key": (
        HEAD.replace("title", "titel") + STEP,
        "p.toml:2: procedure.titel: is not a known key; did you mean “title”?",
    ),
    "unknown kind": (
        HEAD + STEP.replace('"confirm"', '"confrim"'),
        'p.toml:7: step "a", kind: there is no kind “confrim”; did you mean “confirm”?',
    ),
    "no kind": (
        HEAD + STEP.replace('kind = "confirm"\n', ""),
        'p.toml:5: step "a": “kind” is missing; write kind = one of confirm, readings, clip, '
        "sweep, square, thermal, note, in quotes",
    ),
    "wrong type": (
        HEAD.replace("revision = 1", 'revision = "1"') + STEP,
        "p.toml:3: procedure.revision: is the text “1” where a whole number is expected; "
        "write it without quotes and without a point",
    ),
    "truth is no number": (
        HEAD.replace("revision = 1", "revision = true") + STEP,
        "p.toml:3: procedure.revision: is true where a whole number is expected; "
        "write it without quotes and without a point",
    ),
    "text for a list": (
        HEAD + STEP.replace('["x"]', '"x"'),
        'p.toml:9: step "a", items: is the text “x” where a list is expected; write ["x"]',
    ),
    "number for a quantity": (
        HEAD + STEP + "on_time = 15\n",
        'p.toml:10: step "a", on_time: is the number 15 where text is expected; '
        'write in quotes, for instance "15 s"',
    ),
    "volts for seconds": (
        HEAD + STEP + 'rest = "3"\n',
        'p.toml:10: step "a", rest: “3” is a plain number; give s (time)',
    ),
    "no time at all": (
        HEAD + STEP + 'on_time = "0 s"\n',
        'p.toml:10: step "a", on_time: “0 s” is not above zero; give more than nothing',
    ),
    **{
        f"{field} that is nothing": (
            HEAD
            + STEP.replace("confirm", "sweep").replace('items = ["x"]', 'points = ["20 Hz"]')
            + f"{field} = {given}\n",
            f'p.toml:10: step "a", {where}: “0 Hz” is not above zero; give more than nothing',
        )
        for field, where, given in (
            ("reference", "reference", '"0 Hz"'),
            ("band", "band 1", '["0 Hz", "20 kHz"]'),
        )
    },
    "a level below clipping that is above it": (
        HEAD
        + STEP.replace("confirm", "sweep").replace('items = ["x"]', 'points = ["20 Hz"]')
        + 'below_clip = "-10 dB"\n',
        'p.toml:10: step "a", below_clip: “-10 dB” below clipping is above it; '
        "give it without the sign",
    ),
    "a time before the start": (
        HEAD
        + STEP.replace("confirm", "thermal").replace('items = ["x"]', 'places = ["heatsink"]')
        + 'at = ["-5 min", "5 min"]\n',
        'p.toml:10: step "a", at 1: “-5 min” is before the start; give 0 s or more',
    ),
    "load beside loads": (
        HEAD
        + STEP.replace("confirm", "sweep").replace('items = ["x"]', 'points = ["20 Hz"]')
        + 'repeat = ["load"]\nload = "8 ohm"\n',
        'p.toml:11: step "a", load: stands beside repeat over the loads; leave one out',
    ),
    "empty title": (
        HEAD + STEP.replace('"A"', '" "'),
        'p.toml:8: step "a", title: is empty; write a word or more',
    ),
    "choice": (
        HEAD + STEP + 'repeat = ["chanel"]\n',
        'p.toml:10: step "a", repeat 1: “chanel” is not known here; did you mean “channel”?',
    ),
    "same id": (
        HEAD + STEP + STEP,
        'p.toml:11: step "a", id: “a” is the id of step 1 too; give each step its own',
    ),
    "hold of an unknown step": (
        HEAD + STEP + 'hold = ["clap"]\n' + STEP.replace('"a"', '"clip"'),
        'p.toml:10: step "a", hold 1: there is no step “clap”; did you mean “clip”?',
    ),
    "hold of an earlier step": (
        HEAD + STEP + STEP.replace('"a"', '"b"') + 'hold = ["a"]\n',
        'p.toml:15: step "b", hold 1: “a” comes before this step and cannot wait for it; '
        "name a later step",
    ),
    "hold of itself": (
        HEAD + STEP + 'hold = ["a"]\n',
        'p.toml:10: step "a", hold 1: a step cannot hold itself; name a later step',
    ),
    "hold of a reading": (
        HEAD + READ + 'readings = [\n{ name = "v", ask = "V", unit = "V", hold = ["x"] },\n]\n',
        'p.toml:10: step "r", readings "v", hold 1: there is no step “x”; known here: r',
    ),
    "hold that leaves an unknown step open": (
        HEAD + STEP + 'hold = { except = ["clap"] }\n' + STEP.replace('"a"', '"clip"'),
        'p.toml:10: step "a", hold.except 1: there is no step “clap”; did you mean “clip”?',
    ),
    "hold that leaves an earlier step open": (
        HEAD + STEP + STEP.replace('"a"', '"b"') + 'hold = { except = ["a"] }\n',
        'p.toml:15: step "b", hold.except 1: “a” comes before this step and is not held by it; '
        "name a later step",
    ),
    "hold that leaves itself open": (
        HEAD + STEP + 'hold = { except = ["a"] }\n',
        'p.toml:10: step "a", hold.except 1: a step cannot be left open by its own hold; '
        "name a later step",
    ),
    "hold that leaves nothing open": (
        HEAD + STEP + "hold = { except = [] }\n",
        'p.toml:10: step "a", hold.except: is empty; give at least one',
    ),
    "hold with a misspelt key": (
        HEAD + STEP + 'hold = { exept = ["a"] }\n',
        'p.toml:10: step "a", hold.exept: is not a known key; did you mean “except”?',
    ),
    "hold of a reading that leaves an unknown step open": (
        HEAD
        + READ
        + 'readings = [\n{ name = "v", ask = "V", unit = "V", hold = { except = ["x"] } },\n]\n',
        'p.toml:10: step "r", readings "v", hold.except 1: there is no step “x”; known here: r',
    ),
    "same reading twice": (
        HEAD
        + READ
        + 'readings = [\n{ name = "v", ask = "V", unit = "V" },\n'
        + '{ name = "v", ask = "W", unit = "V" },\n]\n',
        'p.toml:11: step "r", readings "v", name: “v” stands twice; rename one',
    ),
    "limit of another kind": (
        HEAD
        + READ
        + 'readings = [\n{ name = "v", ask = "V", unit = "V", limit = { max = "3 A" } },\n]\n',
        'p.toml:10: step "r", readings "v", limit.max: “3 A” is in A; write a quantity in V',
    ),
    "limit by an unknown name": (
        HEAD
        + READ
        + 'readings = [\n{ name = "v", ask = "V", unit = "V", '
        + 'limit = { max = "90 % of reservoir_ratin" } },\n]\n',
        'p.toml:10: step "r", readings "v", limit.max: nothing is called “reservoir_ratin”; '
        "did you mean “reservoir_rating”?",
    ),
    "name of a rating": (
        HEAD + READ + 'readings = [{ name = "minimum_load", ask = "V", unit = "ohm" }]\n',
        'p.toml:9: step "r", readings "minimum_load", name: “minimum_load” is the name of a '
        "rating or claim; choose another name",
    ),
    "name with two kinds": (
        HEAD
        + READ
        + 'readings = [{ name = "v", ask = "V", unit = "V" }]\n'
        + READ.replace('"r"', '"s"')
        + 'readings = [{ name = "v", ask = "V", unit = "A" }]\n',
        'p.toml:14: step "s", readings "v", name: “v” was in V in an earlier step; '
        "choose another name, or a unit like V",
    ),
    "no step": (
        HEAD,
        "p.toml: there is no step in it; begin a step with [[step]], then "
        'id = "…", kind = "…", title = "…"',
    ),
    "single brackets": (
        HEAD + STEP.replace("[[step]]", "[step]"),
        "p.toml:5: step: is not a list of steps; write [[step]] in double brackets",
    ),
    "no head": (
        STEP,
        "p.toml: [procedure] is missing; begin with [procedure], title, revision and summary",
    ),
    "control character": (
        HEAD.replace('"T"', '"T\\u001b[2J"') + STEP,
        "p.toml:2: procedure.title: has a character that cannot be shown; write plain text",
    ),
    "syntax": (
        HEAD + "title = \n",
        "p.toml:5: is not valid TOML: invalid value; put text in quotes; "
        "numbers, true and false stand without",
    ),
    "key twice": (
        HEAD + 'title = "again"\n',
        "p.toml:5: is not valid TOML: cannot overwrite a value; "
        "this key stands twice in its table; remove one",
    ),
    "nul": (
        HEAD + "# \0\n",
        "p.toml:5: is not valid TOML: there is a NUL character in it; save the file as plain text",
    ),
    "deep": (
        HEAD + "x = " + "[" * 20_000,
        "p.toml: lists or tables are nested too deeply; three levels are enough for every field",
    ),
    "long key": (
        HEAD + "x" + ".x" * 200_000 + " = 1\n",
        "p.toml:5: a key has more than 32 parts joined by dots; write it as tables",
    ),
    "large": ("#" * 1_000_001, "p.toml: is larger than 1 MB; choose a TOML file of stepwise"),
}


@pytest.mark.parametrize(("text", "sentence"), CASES.values(), ids=CASES.keys())
def test_one_fault_is_told_in_one_sentence(text: str, sentence: str) -> None:
    assert told(text) == [sentence]


def test_a_formula_of_another_kind_names_its_line() -> None:
    lines = told(
        HEAD
        + READ
        + 'readings = [{ name = "v", ask = "V", unit = "V" }]\n'
        + 'derive = [\n{ name = "p", unit = "W", from = "v * v" },\n]\n'
    )
    assert len(lines) == 1
    assert lines[0].startswith('p.toml:11: step "r", derive "p", from: “v * v” is V²')
    assert lines[0].endswith("; it should be W (power)")


def test_names_are_handed_on_from_step_to_step_and_not_back() -> None:
    early = READ + 'readings = [{ name = "v", ask = "V", unit = "V" }]\n'
    late = (
        READ.replace('"r"', '"s"')
        + 'readings = [{ name = "w", ask = "W", unit = "V", limit = { max = "v" } }]\n'
    )
    assert len(read_procedure_text(HEAD + early + late, "p.toml").steps) == 2
    (line,) = told(HEAD + late + early)
    assert "nothing is called “v”" in line


def test_everything_wrong_is_told_at_once_in_the_order_of_the_lines() -> None:
    text = (
        HEAD.replace("revision = 1", "revison = 1")
        + STEP.replace("items", "itmes")
        + 'on_time = "fast"\n'
        + READ
        + 'readings = [\n  { nme = "u", ask = "U", unit = "V" },\n'
        + '  { name = "v", ask = "V", unit = "V", limit = { max = "3 A" } },\n]\n'
        + '[[step]]\nid = "c"\nkind = "clip"\ntitle = "C"\nrepeat = ["load"]\n'
        + '[step.limits]\npower = { min = "80 % of v" }\nsgag = {}\n'
    )
    lines = [line.split(": ", 1)[0] for line in told(text)]
    assert lines == [f"p.toml:{line}" for line in (3, 9, 10, 16, 17, 25, 26)]


def test_a_faulty_reading_does_not_put_later_steps_in_the_wrong() -> None:
    text = (
        HEAD
        + READ
        + 'readings = [{ name = "v", ask = "V", unit = "V", metre = "dc" }]\n'
        + READ.replace('"r"', '"s"')
        + 'readings = [{ name = "w", ask = "W", unit = "V", limit = { max = "v" } }]\n'
    )
    (line,) = told(text)
    assert 'readings "v", metre: is not a known key; did you mean “meter”?' in line


def test_line_ends_of_another_system_and_a_byte_order_mark_are_taken(tmp_path: Path) -> None:
    path = tmp_path / "dos.toml"
    path.write_bytes(b"\xef\xbb\xbf" + (HEAD + STEP).replace("\n", "\r\n").encode())
    assert read_procedure(path).name == "dos"


@pytest.mark.parametrize(
    ("content", "what"),
    [
        (None, "there is no such file"),
        (b"\xff\xfe\x00", "byte 0xff is not UTF-8 text"),
        (b"a = 1\nb = '\xe4'\n", "byte 0xe4 is not UTF-8 text"),
        (b" " * 1_000_001, "is larger than 1 MB"),
    ],
    ids=["missing", "UTF-16", "Latin-1", "large"],
)
def test_a_file_that_is_no_text_is_a_sentence(
    tmp_path: Path, content: bytes | None, what: str
) -> None:
    path = tmp_path / "x.toml"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(FileProblems, match=what):
        read_procedure(path)


def test_a_folder_and_a_name_with_nul_are_sentences(tmp_path: Path) -> None:
    with pytest.raises(FileProblems, match="is a folder"):
        read_procedure(tmp_path)
    with pytest.raises(FileProblems, match="cannot be read"):
        read_procedure("a\0b.toml")


def test_a_file_with_faults_without_end_is_not_read_to_its_end() -> None:
    lines = told(HEAD + STEP + "".join(f"k{number} = 1\n" for number in range(50_000)))
    assert len(lines) == 201
    assert lines[0] == (
        "p.toml: more than 200 things are wrong with it; "
        "mend these first, or see whether it is the right file"
    )
