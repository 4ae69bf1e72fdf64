"""A log as JSON: the stable form that other programs read."""

from __future__ import annotations

from stepwise.journal import Record
from stepwise.judge import Flag, Result
from stepwise.quantities import COVERAGE_FACTOR
from stepwise.run import Run

FORMAT = 1


def run_record(run: Run, record: Record) -> dict[str, object]:
    """Everything that a log shows, as plain JSON values.

    Values are in the unit given; `uncertainty` is expanded with k = `coverage`.
    """
    review, begin = run.review(), run.state.begin
    return {
        "format": FORMAT,
        "log": {
            "folder": run.folder.name,
            "unit": run.plan.unit.name,
            "procedure": run.plan.procedure.name,
            "title": run.plan.procedure.title,
            "revision": run.plan.procedure.revision,
            "bench": run.plan.bench.name,
            "operator": begin.get("operator", ""),
            "episode": begin.get("episode", ""),
            "rehearsal": begin.get("rehearsal"),
            "transcribed": bool(begin.get("transcribed", False)),
            "version": begin.get("version", ""),
            "began": run.state.began_at,
            "last": run.state.last_at,
            "ended": run.ended,
            "complete": review.complete,
            "whole": record.is_whole,
        },
        "results": [_result(result) for result in run.results()],
        "confirmations": [
            {"key": line.key, "asked": line.what, "answer": line.as_read}
            for line in review.lines
            if line.as_read in ("confirmed", "not so")
        ],
        "skipped": [{"key": line.key, "reason": line.remark} for line in review.skipped],
        "remarks": [{"key": note.key, "text": note.text} for note in review.notes],
        "flags": [_flag(flag) for flag in review.flags],
        "verdict": review.verdict.value,
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
        "value": result.value,
        "unit": result.unit,
        "uncertainty": COVERAGE_FACTOR * result.measure.standard_uncertainty,
        "coverage": COVERAGE_FACTOR,
        "verdict": judgement.verdict.value,
        "probability": judgement.probability,
        "limit": judgement.limit.text if judgement.limit is not None else None,
    }


def _flag(flag: Flag) -> dict[str, object]:
    return {
        "flag": flag.name,
        "severity": flag.severity.value,
        "step": flag.step,
        "channel": flag.channel,
        "load": flag.load,
        "says": flag.says,
        "evidence": {each.name: each.value for each in flag.evidence},
        "likely": list(flag.likely),
        "try": flag.next_try,
    }
