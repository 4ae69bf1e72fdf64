"""Procedures, units and benches: from TOML to checked values, and where their files lie.

Reading a file either gives a value in which nothing is left to be checked, or raises
`FileProblems` with everything that is wrong with it, each with its line and a remedy.
"""

from stepwise.procedure.bench_file import bench_to_toml, read_bench, read_bench_text
from stepwise.procedure.meter_doubts import questions_on
from stepwise.procedure.procedure import Procedure
from stepwise.procedure.procedure_file import read_procedure, read_procedure_text
from stepwise.procedure.scene_check import check_scene
from stepwise.procedure.schema import schema_texts, schemas_folder, write_schemas
from stepwise.procedure.shelf import (
    Shelved,
    find_bench,
    find_procedure,
    find_unit,
    list_benches,
    list_procedures,
    list_units,
    own_folder,
    procedures_folder,
)
from stepwise.procedure.source import read_source
from stepwise.procedure.unit_file import read_unit, read_unit_text, unit_to_toml

__all__ = [
    "Procedure",
    "Shelved",
    "bench_to_toml",
    "check_scene",
    "find_bench",
    "find_procedure",
    "find_unit",
    "list_benches",
    "list_procedures",
    "list_units",
    "own_folder",
    "procedures_folder",
    "questions_on",
    "read_bench",
    "read_bench_text",
    "read_procedure",
    "read_procedure_text",
    "read_source",
    "read_unit",
    "read_unit_text",
    "schema_texts",
    "schemas_folder",
    "unit_to_toml",
    "write_schemas",
]
