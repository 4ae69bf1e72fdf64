"""Markdown, CSV, talk and notes: their bytes are the contract, and their content the page's.

After a change that is meant, `python -m tests.report.write_golden` writes the files anew; read
the difference before it is kept.
"""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

import pytest

from stepwise import __version__
from stepwise.report import (
    COLUMNS,
    build_report,
    html_page,
    markdown_page,
    notes_text,
    readings_csv,
    talk_text,
)
from stepwise.run import RunView
from tests.report.logs import EVIL_REMARK

GOLDEN = Path(__file__).parent / "golden"


def forms(view: RunView) -> dict[str, str]:
    """Every form whose bytes are the contract, the program's version taken out."""
    made = {
        "report.md": markdown_page(build_report(view)),
        "readings.csv": readings_csv(view),
        "talk.txt": talk_text(view),
        "notes.txt": notes_text(view),
    }
    return {
        name: text.replace(f"stepwise {__version__}", "stepwise VERSION")
        for name, text in made.items()
    }


@pytest.mark.parametrize("name", ["report.md", "readings.csv", "talk.txt", "notes.txt"])
def test_the_bytes_are_the_agreed_ones(rehearsal: RunView, name: str) -> None:
    assert forms(rehearsal)[name].encode() == (GOLDEN / name).read_bytes()


def test_markdown_says_what_the_page_says(rehearsal: RunView) -> None:
    report = build_report(rehearsal)
    # The page keeps a number and its unit on one line with another kind of blank.
    page, text = html_page(report).replace("\u00a0", " "), markdown_page(report)
    for section in report.sections:
        assert section.title in page
        assert section.title in text
    for figure in re.findall(r"\d[\d.]* ± [\d.]+ [A-Za-zµΩ°%]+", text):
        value, _, rest = figure.partition(" ")
        assert value in page
        assert rest in page


def rows(view: RunView) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(readings_csv(view))))


def test_the_table_has_a_row_for_every_result_and_every_other_answer(rehearsal: RunView) -> None:
    run = rehearsal.run
    table = rows(rehearsal)
    assert tuple(table[0]) == COLUMNS
    results = [row for row in table if row["row"] in ("reading", "result")]
    assert len(results) == len(run.results())
    read = {result.key for result in run.results() if result.key}
    others = [row for row in table if row["row"] in ("confirmation", "note", "skip")]
    assert len(others) == len([line for line in run.sheet() if line.key not in read])


def test_numbers_in_the_table_are_numbers(rehearsal: RunView) -> None:
    by_place = {
        (row["step"], row["channel"], row["load"], row["point"], row["name"]): row
        for row in rows(rehearsal)
    }
    for result in rehearsal.run.results():
        place = (
            result.step,
            result.channel or "",
            result.load or "",
            result.point or "",
            result.name,
        )
        row = by_place[place]
        assert float(row["value"]) == pytest.approx(result.value, rel=1e-7)
        assert float(row["uncertainty"]) == pytest.approx(
            result.measure.expanded_uncertainty, rel=1e-7, abs=1e-300
        )
        assert row["unit"] == result.unit


def test_every_bare_cell_of_the_table_is_a_number(rehearsal: RunView) -> None:
    # With this setting the reader takes whatever has no quotes for a number, or raises.
    table = io.StringIO(readings_csv(rehearsal))
    cells = [cell for row in csv.reader(table, quoting=csv.QUOTE_NONNUMERIC) for cell in row]
    assert len([cell for cell in cells if isinstance(cell, float)]) > 800


def test_hostile_text_computes_nothing_in_the_table(traps: RunView) -> None:
    table = readings_csv(traps)
    assert EVIL_REMARK in table
    for row in csv.reader(io.StringIO(table)):
        for cell in row:
            is_number = re.fullmatch(r"[+-]?[0-9.]+(e[+-]?\d+)?", cell)
            assert is_number or not cell.startswith(("=", "+", "-", "@"))


def test_talk_is_short_sentences_without_signs(rehearsal: RunView) -> None:
    lines = talk_text(rehearsal).splitlines()
    assert len(lines) > 12
    for line in lines:
        assert line.endswith(".")
        assert len(line) <= 120
        assert not re.search(r"[±%Ω°µ]", line), line
        assert not re.search(r"\d\.\d\d|\d{3}\.\d", line), line
    joined = " ".join(lines)
    assert joined.index("Into 8 ohms") < joined.index("The bass") < joined.index("The hottest")
    assert lines[-2] == "The verdict: out of spec."


def test_notes_are_plain_text_with_uncertainty(rehearsal: RunView) -> None:
    text = notes_text(rehearsal)
    assert not re.search(r"[*_#<>|`]", text)
    assert re.search(r"Clean power into 8 Ω: [\d.]+ ± [\d.]+ W left", text)
    assert "Verdict: out of spec." in text
