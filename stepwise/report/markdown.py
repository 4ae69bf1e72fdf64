"""A report as Markdown: the same blocks as the page, with tables for its plots."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.judge import Conclusion
from stepwise.quantities import dotted
from stepwise.report.content import (
    SEVERITY_GLYPHS,
    VERDICT_GLYPHS,
    Block,
    Cell,
    Facts,
    Figure,
    FlagNote,
    Listing,
    Prose,
    Report,
    Section,
    Table,
    done_words,
    grade_glyph,
)
from stepwise.report.escape import markdown_text


def markdown_page(report: Report) -> str:
    """The report as Markdown with tables, as most readers of it know them.

    Args:
        report: What it says. Text from people in it becomes text, whatever it holds.
    """
    return "\n".join(_page(report)).rstrip() + "\n"


def _page(report: Report) -> Iterator[str]:
    yield f"# {markdown_text(report.unit)}: {_whole(report.conclusion)}"
    yield ""
    log = f"log {report.log}"
    slug = dotted(report.title, report.began, log)
    yield markdown_text(slug)
    yield ""
    for warning in report.warnings:
        yield f"> **{markdown_text(warning)}**"
        yield ""
    yield f"**{markdown_text(report.sentence)}**"
    yield ""
    for number, point in enumerate(report.points, start=1):
        yield f"{number}. {markdown_text(point)}"
    yield ""
    for key in report.keys:
        words = [key.figure]
        if key.judgement is not None and key.judgement.limit is not None:
            words.append(f"{VERDICT_GLYPHS[key.judgement.verdict]} {key.judgement.words}")
        words += [key.note] if key.note else []
        yield f"- {markdown_text(key.label)}: {markdown_text(' · '.join(words))}"
    for number, section in enumerate(report.sections, start=1):
        yield from _section(number, section)
    yield ""
    yield "---"
    yield ""
    made = f"Made by stepwise {report.version} from the log {report.log}."
    yield markdown_text(f"{made} It can be made again from it at any time; the log is the record.")


def _whole(conclusion: Conclusion) -> str:
    return f"{grade_glyph(conclusion.grade)} {conclusion.words}"


def _section(number: int, section: Section) -> Iterator[str]:
    yield ""
    yield f"## {number}. {markdown_text(section.title)}"
    for block in section.blocks:
        yield ""
        yield from _block(block)


def _block(block: Block) -> Iterator[str]:
    match block:
        case Table():
            yield from _table(block)
        case Facts():
            for term, text in block.pairs:
                yield f"- {markdown_text(term)}: {markdown_text(text)}"
        case Listing():
            if block.heading:
                yield f"### {markdown_text(block.heading)}"
                yield ""
            for item in block.items:
                yield f"- {markdown_text(item)}"
        case FlagNote():
            yield from _flag(block)
        case Figure():
            # The picture has no place in plain text; its words say what it shows.
            yield markdown_text(block.described)
        case Prose():
            yield markdown_text(block.text)


def _table(table: Table) -> Iterator[str]:
    yield f"**{markdown_text(table.caption)}**"
    yield ""
    yield _row([markdown_text(head) for head in table.heads])
    yield _row(["---:" if place in table.figures else "---" for place in range(len(table.heads))])
    for row in table.rows:
        yield _row([_cell(cell) for cell in row])


def _row(cells: list[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _cell(cell: Cell) -> str:
    if cell.judgement is None:
        return markdown_text(cell.text)
    words = f"{VERDICT_GLYPHS[cell.judgement.verdict]} {cell.judgement.words}"
    return markdown_text(f"{cell.text} {words}" if cell.is_figure else words)


def _flag(flag: FlagNote) -> Iterator[str]:
    grade = f"{SEVERITY_GLYPHS[flag.severity]} {flag.severity.value}"
    yield f"### {markdown_text(f'{grade}: {flag.name}')}"
    yield ""
    for sight in flag.sights:
        evidence = "; ".join(f"{name} {value}" for name, value in sight.evidence)
        yield f"- **{markdown_text(sight.says)}** {markdown_text(evidence)}".rstrip()
    yield f"- Step: {markdown_text(flag.step)}"
    yield f"- Likely: {markdown_text('; '.join(flag.likely))}"
    yield f"- Next: {markdown_text(' '.join(flag.next_tries))}"
    if flag.closed:
        yield f"- Closed: {markdown_text(flag.closed)}"
    yield f"- Done: {markdown_text(' '.join(done_words(flag)))}"
