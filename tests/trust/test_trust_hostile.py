"""Names, remarks and procedures from strangers: shown as text everywhere, and never obeyed."""

from __future__ import annotations

import asyncio
import csv
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from stepwise.cli import main as command
from stepwise.cli.report import write_report
from stepwise.cli.services import services
from stepwise.errors import FileProblems
from stepwise.procedure import read_procedure_text
from stepwise.run import Run, plan_from_texts
from stepwise.tui import Start, StepwiseApp
from tests.run.plans import BENCH, PROCEDURE, UNIT, Clock, answer_for

SCRIPT = "<script>alert(1)</script>"
UNIT_NAME = f"../../{SCRIPT}"
REMARKS = (
    "=cmd|' /C calc'!A0",
    "+1+1",
    "@SUM(A1)",
    "[/red][bold]x",
    "\x1b[31mred\x1b]0;title\x07",
    "\u202egnp.exe",
    "| a | b |\n# head",
    f'"><img src=x onerror=alert(1)>{SCRIPT}',
)
_CONTROLS = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A run on a board with a hostile name, full of hostile remarks."""
    logs = tmp_path_factory.mktemp("logs")
    unit = UNIT.replace('name = "Teal"', f"name = '{UNIT_NAME}'")
    procedure = PROCEDURE.replace('title = "Idle"', f"title = '{SCRIPT}[/]'")
    plan = plan_from_texts(procedure, unit, BENCH, "try")
    with Run.start(plan, logs, Clock(), operator=SCRIPT, episode="=1+1") as run:
        skipped = False
        while (prompt := run.next_prompt()) is not None:
            if prompt.kind == "sweep" and not skipped:
                skipped = True
                run.skip(prompt.key, f"=HYPERLINK(1){SCRIPT}")
                continue
            run.take(prompt.key, answer_for(prompt.point), sure=True)
        for remark in REMARKS:
            run.note(remark)
        run.end(SCRIPT)
        return run.folder


def test_a_folder_stays_where_the_logs_are_and_has_a_plain_name(log: Path) -> None:
    assert re.fullmatch(r"[a-z0-9-]+", log.name)
    assert [each.name for each in log.parent.iterdir()] == [log.name]


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.handlers: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.handlers += [name for name, _ in attrs if name.startswith("on")]


def test_a_page_holds_no_script_of_a_stranger(log: Path) -> None:
    text = write_report(log, "html").read_text(encoding="utf-8")
    parser = _Tags()
    parser.feed(text)
    assert not parser.tags & {"script", "iframe", "object", "embed"}
    assert not parser.handlers
    assert "&lt;script&gt;alert(1)" in text
    assert not _CONTROLS.search(text)


def test_markdown_shows_it_as_text(log: Path) -> None:
    text = write_report(log, "markdown").read_text(encoding="utf-8")
    assert "<script" not in text
    assert "<img" not in text
    assert not _CONTROLS.search(text)
    assert not re.search(r"^# head", text, re.MULTILINE)


@pytest.mark.parametrize("kind", ["talk", "notes"])
def test_spoken_and_pasted_text_hold_no_control_characters(log: Path, kind: str) -> None:
    assert not _CONTROLS.search(write_report(log, kind).read_text(encoding="utf-8"))


def test_no_cell_of_a_table_is_a_formula(log: Path, tmp_path: Path) -> None:
    exported = tmp_path / "archive.csv"
    assert (
        command(["archive", "export", str(exported), "--as", "csv", "--logs", str(log.parent)]) == 0
    )
    for path in (write_report(log, "csv"), exported):
        with path.open(encoding="utf-8-sig", newline="") as file:
            cells = [cell for row in csv.reader(file) for cell in row]
        assert cells
        for cell in cells:
            is_number = re.fullmatch(r"[-+]?[0-9.]+(e[-+]?[0-9]+)?", cell)
            assert is_number or not cell.startswith(("=", "+", "-", "@", "\t", "\r")), cell


@pytest.mark.parametrize(
    "words", [["show"], ["check"], ["compare"], ["rank"], ["logs"], ["report"]], ids=lambda w: w[0]
)
def test_no_command_lets_a_terminal_be_spoken_to(
    log: Path, capsys: pytest.CaptureFixture[str], words: list[str]
) -> None:
    named = {"logs": [], "compare": [str(log), str(log)]}.get(words[0], [str(log)])
    assert command([*words, *named, "--logs", str(log.parent)]) in (0, 1)
    printed = capsys.readouterr()
    assert not _CONTROLS.search(printed.out.replace("\n", ""))
    assert not _CONTROLS.search(printed.err.replace("\n", ""))


def test_the_screens_show_markup_as_it_is_written_and_obey_nothing(log: Path) -> None:
    async def go() -> tuple[str, str]:
        app = StepwiseApp(services(log.parent), Start(log=log))
        async with app.run_test(size=(120, 300)) as pilot:
            await pilot.pause()
            strips = app.screen._compositor.render_strips()
            drawn = "".join(strip.render(app.console) for strip in strips)
            return "\n".join(strip.text for strip in strips), drawn

    text, drawn = asyncio.run(go())
    assert SCRIPT in text
    assert "[/red][bold]x" in text
    assert "red]0;title" in text
    assert not _CONTROLS.search(text.replace("\n", ""))
    assert "\x07" not in drawn
    assert "\x1b]" not in drawn


@pytest.mark.parametrize(
    "formula",
    [
        "__import__('os').system('touch here')",
        "(lambda: 1)()",
        "rail_plus.__class__",
        "open('/etc/passwd')",
        "[x for x in (1, 2)]",
        "10**10**10",
        "rail_plus if 1 else 2",
        "exec('1')",
        "f'{1}'",
        "9" * 5000,
        "(" * 300 + "1" + ")" * 300,
    ],
)
def test_no_code_in_a_procedure_runs(formula: str) -> None:
    text = PROCEDURE.replace(
        'repeat = ["channel"]\nreadings',
        f'repeat = ["channel"]\nderive = [{{ name = "x", unit = "V", from = {formula!r} }}]\nreadings',
        1,
    )
    assert "derive" in text
    with pytest.raises(FileProblems):
        read_procedure_text(text, "hostile.toml")
