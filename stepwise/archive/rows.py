"""From an entry to rows of the index."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from stepwise.archive.entry import Entry, fold_words
from stepwise.archive.figures import entry_figures, is_ranked, worse_end

Row = dict[str, Any]

_LOG_FIELDS = (
    "identity", "digest", "events", "name", "unit", "serial", "episode", "procedure", "revision",
    "title", "bench", "operator", "began", "ended", "verdict", "complete", "answered",
    "rehearsal", "transcribed", "problem", "price", "currency", "transformer", "subject", "words",
)  # fmt: skip
_RESULT_FIELDS = (
    "step", "channel", "load", "point", "name", "label", "value", "uncertainty", "unit",
    "verdict", "probability",
)  # fmt: skip
_FLAG_FIELDS = ("name", "severity", "step", "channel", "load", "says")
_FIGURE_FIELDS = (
    "name", "load", "label", "unit", "low", "low_uncertainty", "high", "high_uncertainty",
)  # fmt: skip


def log_row(entry: Entry) -> Row:
    """The row of the log itself."""
    row = {name: getattr(entry, name) for name in _LOG_FIELDS}
    names = dict.fromkeys(flag.name for flag in entry.flags)
    return row | {
        "flag_words": f" {' '.join(names)} " if names else "",
        "unit_words": fold_words(entry.unit),
        "episode_words": fold_words(entry.episode),
    }


def result_rows(entry: Entry, log_id: int) -> list[Row]:
    """One row a result, in the order in which they were shown."""
    return [
        {"log_id": log_id, "place": place} | {name: getattr(each, name) for name in _RESULT_FIELDS}
        for place, each in enumerate(entry.results)
    ]


def flag_rows(entry: Entry, log_id: int) -> list[Row]:
    """One row a flag, worst first."""
    return [
        {"log_id": log_id, "place": place} | {name: getattr(each, name) for name in _FLAG_FIELDS}
        for place, each in enumerate(entry.flags)
    ]


def figure_rows(entry: Entry, log_id: int) -> list[Row]:
    """One row for each figure and load."""
    return [
        {"log_id": log_id} | {name: getattr(each, name) for name in _FIGURE_FIELDS}
        for each in entry_figures(entry)
    ]


def standing_rows(figures: Iterable[Mapping[str, Any]], log_id: int, pool: str) -> list[Row]:
    """One row for each figure that units are ranked by.

    Args:
        figures: Rows of figures.
        log_id: The log that they belong to.
        pool: The units it is ranked among.
    """
    rows = []
    for figure in figures:
        if not is_ranked(figure["name"], figure["load"]):
            continue
        end = worse_end(figure["name"])
        rows.append(
            {
                "pool": pool,
                "name": figure["name"],
                "load": figure["load"],
                "unit": figure["unit"],
                "value": figure[end],
                "uncertainty": figure[f"{end}_uncertainty"] or 0.0,
                "log_id": log_id,
            }
        )
    return rows


def pool_of(*, rehearsal: bool, procedure: str) -> str:
    """The units that a log's is ranked among: those of one procedure, real or rehearsed."""
    return f"{'rehearsal' if rehearsal else 'real'} {procedure}"
