"""Hostile text, form by form: it comes out as text, and numbers stay numbers."""

from __future__ import annotations

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt
from markdown_it.token import Token

from stepwise.report import markdown_text
from stepwise.safe_text import csv_cell, plain
from tests.report.logs import EVIL

READERS = {
    "CommonMark": MarkdownIt("commonmark", {"html": True}),
    "with tables": MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"]),
}
PLAIN_TOKENS = {"text", "softbreak", "text_special"}
ANY_TEXT = st.text(
    alphabet=st.one_of(
        st.sampled_from("\\`*_{}[]<>()#+-.!|~&$=:;@/'\"01 9x\n\tw"),
        st.characters(codec="utf-8", categories=("L", "N", "P", "S", "Z", "Cc", "Cf")),
    ),
    max_size=40,
)


def leaves(tokens: list[Token]) -> list[Token]:
    return [leaf for token in tokens for leaf in (token.children or [])]


@pytest.mark.parametrize("reader", READERS.values(), ids=READERS.keys())
@settings(deadline=None, derandomize=True)  # a slow machine is no fault of the text
@given(text=ANY_TEXT)
@example(text="1. one")
@example(text="--- ")
@example(text="===")
@example(text="# head &amp; <b>")
@example(text="www.example.org https://x me@example.org")
@example(text="a | b \\| c \\")
def test_every_text_comes_out_of_markdown_as_it_went_in(reader: MarkdownIt, text: str) -> None:
    for opening in ("", "- ", "## "):
        tokens = reader.parse(f"{opening}{markdown_text(text)}\n")
        assert {token.type for token in leaves(tokens)} <= PLAIN_TOKENS
        assert not [
            token for token in tokens if token.type in ("html_block", "code_block", "hr", "fence")
        ]
        # Readers of Markdown strip blanks at the ends and show a row of blanks as one.
        shown = "".join(leaf.content for leaf in leaves(tokens))
        assert shown.split() == plain(text).split()


@settings(deadline=None, derandomize=True)  # a slow machine is no fault of the text
@given(text=ANY_TEXT)
def test_a_cell_of_a_markdown_table_stays_one_cell(text: str) -> None:
    page = f"| a | b |\n| --- | --- |\n| {markdown_text(text)} | end |\n"
    cells = [token for token in READERS["with tables"].parse(page) if token.type == "inline"]
    assert len(cells) == 4
    assert cells[3].content == "end"
    shown = "".join(leaf.content for leaf in cells[2].children or [])
    assert shown.split() == plain(text).split()


@pytest.mark.parametrize("text", EVIL)
def test_hostile_text_cannot_steer_a_terminal(text: str) -> None:
    for safe in (plain(text), markdown_text(text), csv_cell(text)):
        assert safe.isprintable()
