"""What a run is about, self-contained: a log can be read again when the files have changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType

from stepwise import __version__
from stepwise.bench import Bench, Unit
from stepwise.errors import JournalError
from stepwise.procedure import Procedure, read_bench_text, read_procedure_text, read_unit_text
from stepwise.steps import BenchResponse, Scene, read_bench_response

PROCEDURE, UNIT, BENCH = "procedure", "unit", "bench"


@dataclass(frozen=True, slots=True)
class Plan:
    """One procedure, for one unit, on one bench."""

    procedure: Procedure
    unit: Unit
    bench: Bench
    sources: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    """The TOML texts: "procedure", "unit", "bench"."""
    bench_response: BenchResponse | None = None
    """What the bench itself adds to a sweep, where it was read in another log."""

    @property
    def scene(self) -> Scene:
        """Unit and bench, for the steps."""
        return Scene(self.unit, self.bench, self.bench_response)


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
        read_bench_text(bench, "bench", is_recorded=True),
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
        "bench_response": plan.bench_response.recorded() if plan.bench_response else None,
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
    name = str(begin.get("procedure_name", "procedure"))
    try:
        response = read_bench_response(begin.get("bench_response"))
    except ValueError as error:
        raise JournalError(folder, str(error), 1) from None
    return replace(plan_from_texts(procedure, unit, bench, name), bench_response=response)
