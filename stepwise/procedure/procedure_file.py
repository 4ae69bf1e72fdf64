"""Procedures from TOML: read whole, checked whole, refused with everything that is wrong."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import msgspec

from stepwise.errors import did_you_mean, nearest_name
from stepwise.procedure.mark_file import read_marks
from stepwise.procedure.models import ProcedureHead
from stepwise.procedure.problems import Problems
from stepwise.procedure.procedure import Procedure
from stepwise.procedure.shape import check_shape
from stepwise.procedure.source import Source, parse_source, read_source
from stepwise.procedure.step_checks import check_steps
from stepwise.procedure.step_salvage import meant_kind
from stepwise.steps import KINDS, StepFields

_TOP = ("procedure", "step", "mark")
_SAMPLE_STEP = 'begin a step with [[step]], then id = "…", kind = "…", title = "…"'


def read_procedure(path: Path | str) -> Procedure:
    """Read a procedure.

    Args:
        path: A TOML file.

    Raises:
        FileProblems: All that is wrong with it.
    """
    return _procedure(read_source(Path(path)))


def read_procedure_text(text: str, path: Path | str) -> Procedure:
    """Read a procedure from its text, such as a journal keeps.

    Args:
        text: The TOML text.
        path: Where it came from: its stem names the procedure; it need not exist.

    Raises:
        FileProblems: All that is wrong with it.
    """
    return _procedure(parse_source(text, Path(path)))


def _procedure(source: Source) -> Procedure:
    out = Problems(source)
    data = source.data
    for key in data:
        if key not in _TOP:
            out.add((key,), "is not a known key", did_you_mean(key, _TOP))
    if "procedure" in data:
        check_shape(ProcedureHead, data["procedure"], ("procedure",), out)
    elif not _is_misspelt(data, "procedure"):
        remedy = "begin with [procedure], title, revision and summary"
        out.add((), "[procedure] is missing", remedy)
    steps = _steps(data, out)
    check_steps(steps, data.get("step"), out)
    marks = read_marks(data, steps, out)
    out.raise_if_any()
    head = msgspec.convert(data["procedure"], ProcedureHead)
    return Procedure(
        name=source.path.stem,
        title=head.title,
        summary=head.summary,
        revision=head.revision,
        steps=tuple(step for step in steps if step is not None),
        text=source.text,
        minutes=head.minutes,
        path=source.path,
        marks=marks,
    )


def _is_misspelt(data: dict[str, Any], name: str) -> bool:
    return any(nearest_name(key, _TOP) == name for key in data if key not in _TOP)


def _steps(data: dict[str, Any], out: Problems) -> list[StepFields | None]:
    """Each step as its kind's fields; None where its shape is wrong, which is then reported."""
    raw = data.get("step")
    if not isinstance(raw, list):
        if raw is not None:
            out.add(("step",), "is not a list of steps", "write [[step]] in double brackets")
        elif not _is_misspelt(data, "step"):
            out.add((), "there is no step in it", _SAMPLE_STEP)
        return []
    if not raw:
        out.add(("step",), "there is no step in it", _SAMPLE_STEP)
    return [_step(entry, ("step", index), out) for index, entry in enumerate(raw)]


def _step(entry: object, at: tuple[str | int, ...], out: Problems) -> StepFields | None:
    if not isinstance(entry, dict):
        out.add(at, "is not a table", _SAMPLE_STEP)
        return None
    kind = entry.get("kind")
    kinds = ", ".join(KINDS)
    if not isinstance(kind, str):
        what = "is not text" if "kind" in entry else "“kind” is missing"
        out.add((*at, "kind"), what, f"write kind = one of {kinds}, in quotes")
        return None
    if kind not in KINDS:
        out.add((*at, "kind"), f"there is no kind “{kind}”", did_you_mean(kind, list(KINDS)))
        meant = meant_kind(entry)
        if meant is not None:
            check_shape(KINDS[meant].fields, entry, at, out)
        return None
    fields = KINDS[kind].fields
    before = len(out.found)
    check_shape(fields, entry, at, out)
    if len(out.found) > before:
        return None
    return msgspec.convert(entry, fields)
