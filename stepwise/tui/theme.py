"""The themes, and the only colours of the program, named by what they mean."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from textual.theme import Theme

DARK = "stepwise-dark"
LIGHT = "stepwise-light"
CONTRAST = "stepwise-contrast"
THEMES = (DARK, LIGHT, CONTRAST)
"""In the order in which the key goes through them."""

_DARK: Mapping[str, str] = MappingProxyType(
    {
        "paper": "#14181c",
        "ink": "#e4e0d6",
        "faint": "#9aa3ab",
        "rule": "#39424a",
        "card": "#1e252b",
        "field": "#0c0f12",
        "picked": "#2d3943",
        "live": "#6fc3df",
        "in-spec": "#7fc97f",
        "out-of-spec": "#ff7a6b",
        "close-call": "#f2c14e",
        "noted": "#9fb1bd",
        "caution": "#f2a65a",
        "stop": "#ffffff",
        "stop-ground": "#b3261e",
        "curve": "#e4e0d6",
        "model": "#6fc3df",
        "limit": "#f2a65a",
        "grid": "#39424a",
    }
)
_LIGHT: Mapping[str, str] = MappingProxyType(
    {
        "paper": "#f7f5ef",
        "ink": "#1d2327",
        "faint": "#586168",
        "rule": "#c3c1b8",
        "card": "#ebe8de",
        "field": "#ffffff",
        "picked": "#d5dfe4",
        "live": "#005f87",
        "in-spec": "#1e6b2b",
        "out-of-spec": "#b3261e",
        "close-call": "#7d5700",
        "noted": "#4c5a64",
        "caution": "#96450a",
        "stop": "#ffffff",
        "stop-ground": "#b3261e",
        "curve": "#1d2327",
        "model": "#005f87",
        "limit": "#96450a",
        "grid": "#d2cfc5",
    }
)
_CONTRAST: Mapping[str, str] = MappingProxyType(
    {
        "paper": "#000000",
        "ink": "#ffffff",
        "faint": "#d0d0d0",
        "rule": "#a0a0a0",
        "card": "#000000",
        "field": "#2a2a2a",
        "picked": "#00406a",
        "live": "#5fd7ff",
        "in-spec": "#5fff5f",
        "out-of-spec": "#ff9c9c",
        "close-call": "#ffff5f",
        "noted": "#ffffff",
        "caution": "#ffaf5f",
        "stop": "#000000",
        "stop-ground": "#ff9c9c",
        "curve": "#ffffff",
        "model": "#5fd7ff",
        "limit": "#ffaf5f",
        "grid": "#6a6a6a",
    }
)


def defaults() -> dict[str, str]:
    """Our variables, for themes that are not ours and do not know them."""
    return dict(_DARK)


def themes() -> tuple[Theme, ...]:
    """Dark, light, and one of the greatest contrast."""
    return (
        _theme(DARK, _DARK, dark=True),
        _theme(LIGHT, _LIGHT, dark=False),
        _theme(CONTRAST, _CONTRAST, dark=True),
    )


def _theme(name: str, colours: Mapping[str, str], *, dark: bool) -> Theme:
    return Theme(
        name=name,
        primary=colours["live"],
        secondary=colours["noted"],
        accent=colours["live"],
        warning=colours["close-call"],
        error=colours["out-of-spec"],
        success=colours["in-spec"],
        foreground=colours["ink"],
        background=colours["paper"],
        surface=colours["card"],
        panel=colours["card"],
        dark=dark,
        variables=dict(colours)
        | {
            "input-cursor-background": colours["live"],
            "input-cursor-foreground": colours["field"],
            "border": colours["live"],
            "border-blurred": colours["rule"],
            "scrollbar": colours["rule"],
            "scrollbar-background": colours["paper"],
        },
    )
