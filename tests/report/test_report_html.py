"""The page: valid, self-contained, readable without colour, and harmless whatever is in it."""

from __future__ import annotations

import re
import sys
from itertools import pairwise
from xml.etree.ElementTree import Element

import html5lib
import pytest

from stepwise.judge import Verdict
from stepwise.report import build_report, html_page
from stepwise.report.content import VERDICT_GLYPHS
from stepwise.run import RunView
from stepwise.safe_text import plain
from tests.report.logs import EVIL

BOTH = ("rehearsal", "traps")


@pytest.fixture(scope="module")
def pages(rehearsal: RunView, traps: RunView) -> dict[str, str]:
    views = {"rehearsal": rehearsal, "traps": traps}
    return {name: html_page(build_report(view)) for name, view in views.items()}


def tree(page: str) -> Element:
    return html5lib.HTMLParser(namespaceHTMLElements=False).parse(page)


def text_of(element: Element) -> str:
    return " ".join("".join(element.itertext()).split())


@pytest.mark.parametrize("name", BOTH)
def test_a_strict_parser_has_nothing_to_say(pages: dict[str, str], name: str) -> None:
    parser = html5lib.HTMLParser(strict=False)
    parser.parse(pages[name])
    assert parser.errors == []


@pytest.mark.skipif(
    sys.platform != "linux" or sys.version_info >= (3, 14),
    reason="the second checker has no wheel for this system",
)
@pytest.mark.parametrize("name", BOTH)
def test_a_checker_of_what_may_stand_where_has_nothing_to_say(
    pages: dict[str, str], name: str
) -> None:
    from pytidyhtml5 import tidy_document

    _, said = tidy_document(pages[name])
    assert said == ""


def test_both_checkers_would_speak_of_a_fault(pages: dict[str, str]) -> None:
    broken = pages["rehearsal"].replace("</thead>", "<div>x</div></thead>", 1)
    parser = html5lib.HTMLParser()
    parser.parse(broken)
    assert parser.errors


@pytest.mark.parametrize("name", BOTH)
def test_ids_are_unique_and_every_reference_is_met(pages: dict[str, str], name: str) -> None:
    elements = list(tree(pages[name]).iter())
    ids = [each.get("id") for each in elements if each.get("id")]
    assert len(ids) == len(set(ids))
    wanted = set(re.findall(r"url\(#([^)]+)\)", pages[name]))
    for each in elements:
        for attribute in ("aria-labelledby", "aria-describedby"):
            wanted |= set((each.get(attribute) or "").split())
        for attribute in ("href", "{http://www.w3.org/1999/xlink}href"):
            target = each.get(attribute)
            if target is not None:
                assert target.startswith("#"), target
                wanted.add(target[1:])
    assert wanted <= set(ids)


@pytest.mark.parametrize("name", BOTH)
def test_nothing_is_run_and_nothing_is_fetched(pages: dict[str, str], name: str) -> None:
    page = pages[name]
    elements = list(tree(page).iter())
    active = {"script", "iframe", "object", "embed", "link", "base", "form", "img", "meta-refresh"}
    assert not {each.tag for each in elements if isinstance(each.tag, str)} & active
    assert not [key for each in elements for key in each.attrib if key.lower().startswith("on")]
    assert not [each for each in elements if "src" in each.attrib]
    assert "@import" not in page
    assert not re.search(r"url\((?!#)", page)
    assert "default-src 'none'" in page


@pytest.mark.parametrize("evil", EVIL)
def test_hostile_text_is_shown_as_text(pages: dict[str, str], evil: str) -> None:
    shown = " ".join(re.sub("(?<![\\w.)/-])-(?=[0-9])", "\u2212", plain(evil)).split())
    assert shown in text_of(tree(pages["traps"]))
    bare = set(pages["traps"]) - {"\n", "\u00a0"}
    assert all(character.isprintable() for character in bare)


def test_a_table_says_what_its_rows_and_columns_are(pages: dict[str, str]) -> None:
    tables = list(tree(pages["rehearsal"]).iter("table"))
    assert len(tables) > 12
    for table in tables:
        caption = table.find("caption")
        assert caption is not None
        assert text_of(caption)
        heads = list(table.iter("th"))
        assert {head.get("scope") for head in heads} == {"col", "row"}
        columns = len([head for head in heads if head.get("scope") == "col"])
        body = table.find("tbody")
        assert body is not None
        assert all(len(list(row)) == columns for row in body)


def test_headings_step_down_one_at_a_time(pages: dict[str, str]) -> None:
    levels = [
        int(each.tag[1])
        for each in tree(pages["rehearsal"]).iter()
        if isinstance(each.tag, str) and re.fullmatch("h[1-6]", each.tag)
    ]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(below - above <= 1 for above, below in pairwise(levels))


def test_a_plot_has_a_caption_and_words(pages: dict[str, str]) -> None:
    figures = list(tree(pages["rehearsal"]).iter("figure"))
    assert len(figures) == 2
    for figure in figures:
        plot = next(each for each in figure.iter() if str(each.tag).endswith("svg"))
        assert plot.get("role") == "img"
        assert plot.get("aria-label")
        described = next(each for each in plot.iter() if str(each.tag).endswith("desc"))
        assert "left" in text_of(described)
        caption = figure.find("figcaption")
        assert caption is not None
        assert "uncertainty" in text_of(caption)


def test_no_verdict_hangs_on_colour(pages: dict[str, str]) -> None:
    verdicts = [
        each
        for each in tree(pages["rehearsal"]).iter("span")
        if (each.get("class") or "").startswith("verdict")
    ]
    signs = {f"{VERDICT_GLYPHS[verdict]} {verdict.value}" for verdict in Verdict}
    assert len(verdicts) > 50
    assert all(text_of(each).partition(",")[0] in signs for each in verdicts)


def test_every_colour_has_a_value_in_light_dark_and_print(pages: dict[str, str]) -> None:
    page = pages["rehearsal"]
    used = set(re.findall(r"var\(--([a-z]+)\)", page))
    schemes = re.findall(r":root \{(.*?)\}", page, re.DOTALL)
    assert len(schemes) == 3
    colours = used - {"serif", "sans", "mono"}
    for scheme in schemes:
        assert colours <= set(re.findall(r"--([a-z]+):", scheme))


def luminance(colour: str) -> float:
    """Relative luminance [1]. Source: WCAG 2.2, definition of relative luminance."""
    digits = colour.removeprefix("#")
    whole = digits if len(digits) == 6 else "".join(digit * 2 for digit in digits)
    shares = [int(whole[place : place + 2], 16) / 255.0 for place in (0, 2, 4)]
    linear = [
        share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4 for share in shares
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_words_stand_out_from_their_ground(pages: dict[str, str]) -> None:
    # Source: WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1.
    for scheme in re.findall(r":root \{(.*?)\}", pages["rehearsal"], re.DOTALL):
        colours = dict(re.findall(r"--([a-z]+): (#[0-9a-f]+)", scheme))
        for words in ("ink", "faint", "in", "out", "close", "noted", "model", "limit"):
            for ground in ("paper", "card"):
                light, dark = sorted(
                    (luminance(colours[words]), luminance(colours[ground])), reverse=True
                )
                ratio = (light + 0.05) / (dark + 0.05)
                assert ratio >= 4.5, (words, ground, colours[words], ratio)


def test_the_same_log_gives_the_same_bytes(rehearsal: RunView, pages: dict[str, str]) -> None:
    assert html_page(build_report(rehearsal)) == pages["rehearsal"]
    assert "<metadata" not in pages["rehearsal"]


def test_the_page_leads_with_the_verdict_and_what_matters(pages: dict[str, str]) -> None:
    body = tree(pages["rehearsal"]).find("body")
    assert body is not None
    words = text_of(body)
    order = (
        "Teal", "Out of spec", "A rehearsal: nothing", "miss their limits",
        "The low end falls away early", "What was tested, and how", "Not in spec", "Flags",
        "Frequency response", "The bench and its accuracy", "Cautions", "The record",
    )  # fmt: skip
    places = [words.index(part) for part in order]
    assert places == sorted(places)
