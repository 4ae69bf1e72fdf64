"""A log as plain JSON values: the stable form that other programs read.

Keys are only ever added within one `FORMAT`. Numbers that are not finite have no form in JSON
and stand as null.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from stepwise.journal import Record
from stepwise.judge import Flag, Result
from stepwise.report.marks import marks_record
from stepwise.run import Run, RunView, SheetLine, run_marks

FORMAT = 1


def run_record(view: RunView) -> dict[str, object]:
    """Everything that a log shows.

    Values are in the unit given; `uncertainty` is expanded with k = `coverage`. It is null, and
    `uncertainty_known` false, where no instrument was named and only the last digit is known.
    """
    run, review = view.run, view.run.review()
    return {
        "format": FORMAT,
        "log": _log(view, complete=review.complete),
        "results": [_result(result) for result in review.results],
        "flags": [_flag(flag) for flag in review.flags],
        "verdict": review.verdict.value,
        "conclusion": review.conclusion.words,
        "confirmations": [
            {**_place(run, line), "confirmed": line.as_read == "confirmed"}
            for line in review.lines
            if line.as_read in ("confirmed", "not so")
        ],
        "skipped": [{**_place(run, line), "reason": line.remark} for line in review.skipped],
        "closed": [
            {"step": step, "hold_point": asked} for step, asked in review.closed_steps.items()
        ],
        "doubts": [
            {
                "key": each.key,
                "at": each.at,
                "typed": each.typed,
                "slip": each.slip,
                "meant": each.meant,
            }
            for each in run.state.doubts
        ],
        "marks": marks_record(run_marks(view)),
        "remarks": [{"key": note.key, "at": note.at, "text": note.text} for note in review.notes],
    }


def _log(view: RunView, *, complete: bool) -> dict[str, object]:
    run, begin = view.run, view.run.state.begin
    return {
        "folder": run.folder.name,
        "unit": run.plan.unit.name,
        "procedure": run.plan.procedure.name,
        "revision": run.plan.procedure.revision,
        "title": run.plan.procedure.title,
        "bench": run.plan.bench.name,
        "operator": begin.get("operator", ""),
        "episode": begin.get("episode", ""),
        "began": run.state.began_at,
        "ended": view.ended_at,
        "complete": complete,
        "version": begin.get("version", ""),
        "rehearsal": _plain(begin.get("rehearsal")),
        "transcribed": run.transcribed,
        "integrity": _integrity(view.record),
    }


def _integrity(record: Record) -> dict[str, object]:
    return {
        "whole": record.is_whole,
        "damages": [{"line": each.line, "reason": each.reason} for each in record.damages],
        "torn": record.torn is not None,
    }


def _place(run: Run, line: SheetLine) -> dict[str, object]:
    prompt = run.prompt(line.key)
    at = prompt.of
    return {
        "step": at.step,
        "channel": at.channel,
        "load": at.load,
        "point": prompt.point,
        "asked": prompt.ask,
    }


def _result(result: Result) -> dict[str, object]:
    judgement = result.judgement
    return {
        "step": result.step,
        "channel": result.channel,
        "load": result.load,
        "point": result.point,
        "name": result.name,
        "typed": result.typed,
        "value": _number(result.value),
        "unit": result.unit,
        "uncertainty": _number(result.measure.stated_uncertainty),
        "coverage": _number(result.measure.coverage_factor),
        "uncertainty_known": not result.measure.is_least,
        "verdict": judgement.verdict.value,
        "probability": _number(judgement.probability),
        "limit": judgement.limit.text if judgement.limit is not None else None,
        "label": result.label,
        "remark": result.trust,
    }


def _flag(flag: Flag) -> dict[str, object]:
    return {
        "flag": flag.name,
        "severity": flag.severity.value,
        "step": flag.step,
        "channel": flag.channel,
        "load": flag.load,
        "says": flag.says,
        "evidence": [{"name": each.name, "value": each.value} for each in flag.evidence],
        "likely": list(flag.likely),
        "try": flag.next_try,
        "closes": list(flag.closes),
        "reopens": flag.reopens,
    }


def _number(value: float | None) -> float | None:
    return value if value is not None and math.isfinite(value) else None


def _plain(value: object) -> object:
    """A copy of what the journal holds, in dicts and lists."""
    if isinstance(value, Mapping):
        return {str(key): _plain(held) for key, held in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(held) for held in value]
    return value
