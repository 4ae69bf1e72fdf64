"""From names on the command line to a plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stepwise.errors import FileProblems

if TYPE_CHECKING:
    from stepwise.run import Plan


def plan_from_names(procedure: str, unit: str, bench: str) -> Plan:
    """Read the three files and see that they go together.

    Raises:
        FileProblems: Everything that is wrong with them.
    """
    from stepwise.procedure import find_bench, find_procedure, find_unit, read_source
    from stepwise.run import plan_from_texts

    files = (find_procedure(procedure), find_unit(unit), find_bench(bench))
    procedure_text, unit_text, bench_text = (read_source(path).text for path in files)
    return checked(plan_from_texts(procedure_text, unit_text, bench_text, str(files[0])))


def rehearsal_plan(procedure: str) -> Plan:
    """A procedure with the simulated unit and bench."""
    from stepwise.procedure import find_procedure, read_source
    from stepwise.rehearsal import bench_text, unit_text
    from stepwise.run import plan_from_texts

    path = find_procedure(procedure)
    text = read_source(path).text
    return checked(plan_from_texts(text, unit_text(), bench_text(), str(path)))


def checked(plan: Plan) -> Plan:
    """The plan, if its bench has what its procedure needs."""
    from stepwise.procedure import check_scene

    problems = check_scene(plan.procedure, plan.unit, plan.bench)
    if problems:
        raise FileProblems(tuple(problems))
    return plan
