"""JSON Schemas of the three kinds of files, for editors that complete and check while typing.

`python -m stepwise.procedure` writes the shipped ones anew.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

import msgspec

from stepwise.procedure.models import BenchFile, ProcedureFile, UnitFile

_MODELS: Mapping[str, type[msgspec.Struct]] = MappingProxyType(
    {"procedure": ProcedureFile, "unit": UnitFile, "bench": BenchFile}
)


def schemas_folder() -> Path:
    """The folder of the shipped schemas."""
    return Path(__file__).resolve().parent / "schemas"


def schema_texts() -> Mapping[str, str]:
    """File name -> JSON Schema, made from the models."""
    return {
        f"{name}.schema.json": f"{json.dumps(_schema(name, model), indent=2)}\n"
        for name, model in _MODELS.items()
    }


def write_schemas(folder: Path) -> None:
    """Write the three schemas into a folder."""
    for name, text in schema_texts().items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")


def _schema(name: str, model: type[msgspec.Struct]) -> dict[str, Any]:
    made = msgspec.json.schema(model)
    # Through JSON, since tuples as defaults are lists in what a validator reads.
    plain: dict[str, Any] = json.loads(json.dumps(made))
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"stepwise {name}",
        **plain,
    }
