"""`python -m stepwise.procedure`: write the shipped schemas anew, after a model has changed."""

from __future__ import annotations

from stepwise.procedure.schema import schemas_folder, write_schemas

if __name__ == "__main__":
    write_schemas(schemas_folder())
