"""The themes: every word can be told from what it stands on."""

from __future__ import annotations

from itertools import product

import pytest
from textual.theme import Theme

from stepwise.tui.theme import CONTRAST, themes

GROUNDS = ("paper", "card", "field", "picked")
WORDS = (
    "ink", "faint", "live", "in-spec", "out-of-spec", "close-call", "noted", "caution", "model",
    "limit",
)  # fmt: skip


def luminance(colour: str) -> float:
    """Relative luminance [1] of an sRGB colour; Source: W3C, WCAG 2.2, relative luminance."""
    parts = [int(colour[place : place + 2], 16) / 255.0 for place in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio [1] of two colours; Source: W3C, WCAG 2.2, contrast ratio."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_black_on_white_has_the_greatest_contrast() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


@pytest.mark.parametrize("theme", themes(), ids=lambda theme: theme.name)
def test_words_can_be_read_on_every_ground(theme: Theme) -> None:
    found = theme.variables
    for word, ground in [*product(WORDS, GROUNDS), ("stop", "stop-ground"), ("field", "live")]:
        ratio = contrast(found[word], found[ground])
        # A picked row must stand out from the others too, so that its ground is less dark.
        is_enhanced = theme.name == CONTRAST and ground != "picked"
        # Source: W3C, WCAG 2.2, success criteria 1.4.6 (enhanced) and 1.4.3 (minimum).
        assert ratio >= (7.0 if is_enhanced else 4.5), (word, ground, round(ratio, 2))
