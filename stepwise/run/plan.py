"""What a run is about, self-contained: a log can be read again when the files have changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType

from stepwise import __version__
from stepwise.bench import Bench, Unit
from stepwise.errors import JournalError
from stepwise.procedure import Procedure, read_bench_text, read_procedure_text, read_unit_text
from stepwise.steps import Scene

PROCEDURE, UNIT, BENCH = "procedure", "unit", "bench"


@dataclass(frozen=True, slots=True)
class Plan:
    """One procedure, for one unit, on one bench."""

    procedure: Procedure
    unit: Unit
    bench: Bench
    sources: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    """The TOML texts: "procedure", "unit", "bench"."""

    @property
    def scene(self) -> Scene:
        """Unit and bench, for the steps."""
        return Scene(self.unit, self.bench)


def plan_from_texts(procedure: str, unit: str, bench: str, name: str = "procedure") -> Plan:
    """Read the three texts into a plan.

    Args:
        procedure: TOML text of the procedure.
        unit: TOML text of the unit.
        bench: TOML text of the bench.
        name: Name of the procedure: the stem of its file.

    Raises:
        FileProblems: A text has something wrong with it.
    """
    return Plan(
        read_procedure_text(procedure, name),
        read_unit_text(unit, "unit"),
        read_bench_text(bench, "bench"),
        MappingProxyType({PROCEDURE: procedure, UNIT: unit, BENCH: bench}),
    )


def begin_data(
    plan: Plan, *, operator: str, episode: str, rehearsal: Mapping[str, object] | None
) -> dict[str, object]:
    """What the first line of a journal holds."""
    return {
        "version": __version__,
        "procedure_name": plan.procedure.name,
        "revision": plan.procedure.revision,
        "title": plan.procedure.title,
        "unit_name": plan.unit.name,
        "bench_name": plan.bench.name,
        "operator": operator,
        "episode": episode,
        "rehearsal": dict(rehearsal) if rehearsal is not None else None,
        "sources": dict(plan.sources),
    }


def plan_from_begin(begin: Mapping[str, object], folder: Path) -> Plan:
    """The plan that a journal's first line holds.

    Raises:
        JournalError: The line lacks it.
        FileProblems: A text that was sound then is not understood by this version.
    """
    sources = begin.get("sources")
    if not isinstance(sources, Mapping):
        raise JournalError(folder, "the log does not say what it is a run of", 1)
    texts = [sources.get(name) for name in (PROCEDURE, UNIT, BENCH)]
    procedure, unit, bench = (text if isinstance(text, str) else "" for text in texts)
    return plan_from_texts(procedure, unit, bench, str(begin.get("procedure_name", "procedure")))
