"""The bench's own response: what oscillator, leads and meter add to every sweep."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from stepwise.quantities import Source, Uncertain, rectangular, within_limits
from stepwise.steps.response import weighted, with_doubt


@dataclass(frozen=True, slots=True)
class BenchResponse:
    """Levels read with the oscillator straight into the meter."""

    log: str
    """Name of the log that they were taken from."""
    levels: tuple[tuple[float, Uncertain], ...]
    """Frequency [Hz], ascending, and level [dB]; the reference is among them with 0 dB."""
    reference: float = 1000.0
    """Frequency at which its levels are 0 dB [Hz]."""

    def at(self, hertz: float, reference: float) -> Uncertain | None:
        """The bench's own level at a frequency against that at a reference [dB].

        Between two frequencies it is interpolated as one pole would go; None beyond them.

        Args:
            hertz: Where it is wanted [Hz].
            reference: Where the level is 0 dB by definition [Hz].
        """
        here, there = self._level(hertz), self._level(reference)
        if here is None or there is None:
            return None
        return weighted(here.value - there.value, ((1.0, here), (-1.0, there)))

    def _level(self, hertz: float) -> Uncertain | None:
        for known, level in self.levels:
            if math.isclose(known, hertz, rel_tol=1e-9):
                return level
        for (low, below), (high, above) in pairwise(self.levels):
            if low < hertz < high:
                return self._between((low, below), (high, above), hertz)
        return None

    def _between(
        self, lower: tuple[float, Uncertain], upper: tuple[float, Uncertain], hertz: float
    ) -> Uncertain:
        """What begins to fall falls with the square of frequency, or of its inverse.

        How far that lies from a straight line on a decade axis says how much it may be off.
        """
        (low, below), (high, above) = lower, upper
        power = -2.0 if math.sqrt(low * high) < self.reference else 2.0
        share = (hertz**power - low**power) / (high**power - low**power)
        straight = math.log(hertz / low) / math.log(high / low)
        rise = above.value - below.value
        level = weighted(below.value + share * rise, ((1.0 - share, below), (share, above)))
        doubt = rectangular(0.5 * abs((share - straight) * rise))
        source = within_limits(f"bench between readings {hertz:g} Hz")
        return with_doubt(level, source, doubt)

    def recorded(self) -> dict[str, object]:
        """What a journal keeps of it: all of it."""
        return {
            "log": self.log,
            "reference": self.reference,
            "levels": [
                {
                    "hertz": hertz,
                    "level_db": level.value,
                    "terms": dict(level.terms),
                    "spread": _spread_recorded(level.terms),
                }
                for hertz, level in self.levels
            ],
        }


def bench_response(
    log: str, levels: Iterable[tuple[float, Uncertain]], keys: Iterable[str], reference: float
) -> BenchResponse:
    """Make the bench's response of the levels of a sweep of the bench itself.

    What only one of its readings was off by must not be taken for an error of this run's own
    prompts, so it gets a name of its own; a meter's class error is the same in both and keeps
    its name.

    Args:
        log: Name of the log.
        levels: Frequency [Hz] and level [dB].
        keys: Keys of the prompts of that sweep.
        reference: Frequency at which the level is 0 dB [Hz].
    """
    own = tuple(keys)

    def renamed(level: Uncertain) -> Uncertain:
        return Uncertain(
            level.value,
            {
                _of_bench_log(source) if source.startswith(own) else source: term
                for source, term in level.terms.items()
            },
        )

    found = {hertz: renamed(level) for hertz, level in levels}
    found.setdefault(reference, Uncertain(0.0))
    return BenchResponse(log, tuple(sorted(found.items(), key=lambda each: each[0])), reference)


def _of_bench_log(source: str) -> str:
    name = f"bench log {source}"
    return source.renamed(name) if isinstance(source, Source) else name


def _spread_recorded(terms: Iterable[str]) -> dict[str, dict[str, float | bool]]:
    """How the errors of sources are spread, where they are not normal and well known."""
    return {
        str(source): {
            "excess": source.excess,
            "is_least": source.is_least,
            # JSON has no infinity
            **({} if math.isinf(source.freedom) else {"freedom": source.freedom}),
        }
        for source in terms
        if isinstance(source, Source) and not source.is_plain
    }


def read_bench_response(recorded: object) -> BenchResponse | None:
    """Read back what `recorded` gave; None where the journal holds none.

    Raises:
        ValueError: It holds something else.
    """
    if recorded is None:
        return None
    try:
        if isinstance(recorded, Mapping):
            levels = tuple(_level_read_back(each) for each in recorded["levels"])
            return BenchResponse(str(recorded["log"]), levels, float(recorded["reference"]))
    except (AttributeError, KeyError, TypeError, ValueError):
        pass
    raise ValueError("the log does not say what the bench's own response was")


def _level_read_back(recorded: Mapping[str, Any]) -> tuple[float, Uncertain]:
    spread = recorded.get("spread", {})  # older logs took all errors for normal
    terms = {
        _source_read_back(str(source), spread.get(source)): float(term)
        for source, term in recorded["terms"].items()
    }
    return float(recorded["hertz"]), Uncertain(float(recorded["level_db"]), terms)


def _source_read_back(name: str, spread: Mapping[str, Any] | None) -> str:
    if spread is None:
        return name
    freedom = float(spread.get("freedom", math.inf))
    return Source(name, float(spread["excess"]), freedom, bool(spread["is_least"]))
