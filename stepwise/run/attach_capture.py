"""A capture that is attached to a pass: kept beside the journal, and read into proposals.

Nothing is entered by attaching. A proposal is a text that can be typed; when the person takes
it as it stands, the reading carries the capture's uncertainty in place of its last digit's,
and names the file. The proposals stand in the journal, so that a run that is carried on
another day still knows them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from stepwise.bench import Bench, oscilloscope, stated_scales
from stepwise.captures import (
    Capture,
    Figure,
    edge_notes,
    limit_notes,
    read_capture,
    sine_analysis,
    sine_figures,
    square_analysis,
    square_figures,
    visible_cycles,
)
from stepwise.errors import CaptureError, RunError
from stepwise.journal import RecordState, attach_file
from stepwise.quantities import (
    Expected,
    Refusal,
    format_uncertain,
    format_value,
    parse_entry,
    require,
)
from stepwise.steps import ClipFields, Prompt, StepFields

if TYPE_CHECKING:
    from stepwise.science import OffScreen

_ALIKE = 0.1
"""Share by which a captured frequency may be off the tone of the prompt: a dial's error is
less, another tone of the procedure is farther."""
_LEVELS = ("level", "level_at_ten_percent")
_LARGEST = 1 << 30
"""[bytes] of a capture; what is larger was chosen by mistake."""


@dataclass(frozen=True, slots=True)
class ProposedAnswer:
    """One answer that a capture offers."""

    key: str
    """Of the prompt."""
    text: str
    """What to take: the very text, as it could be typed."""
    echo: str
    """What it is understood as."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """What a capture offers to the prompts of its picture."""

    lines: tuple[ProposedAnswer, ...]
    """In the order in which they are asked."""
    says: str
    """One sentence: what the capture shows."""


@dataclass(frozen=True, slots=True)
class _Read:
    """A capture as read for one picture."""

    says: str
    by_point: Mapping[str, Figure]
    """Last part of a prompt's point -> the figure that answers it, with the error of scales."""
    standards: Mapping[str, float]
    """The same -> standard uncertainty without it: a reading that is taken over adds its own."""
    hertz: float | None


@dataclass(frozen=True, slots=True)
class _Scales:
    """What the scales of the oscilloscope may be off by, as the recorded reading has it too."""

    limit: float
    """Share of a reading [1]."""
    unstated: str
    """What to say where the bench leaves the oscilloscope out; empty where it does not."""

    @classmethod
    def of(cls, bench: Bench) -> _Scales:
        stated = stated_scales(bench)
        if stated is not None:
            return cls(stated, "")
        accuracy = oscilloscope(bench).accuracy
        common = accuracy.of_reading + accuracy.of_scale
        share = format_value(100.0 * common, "%")
        return cls(common, f"; ± with {share} for the scales of an oscilloscope that the bench "
                   "does not state")  # fmt: skip


def attach_capture(
    folder: Path,
    path: Path,
    channel: str,
    step: StepFields,
    asked: Sequence[tuple[Prompt, Expected]],
    bench: Bench,
) -> tuple[dict[str, object], Proposal]:
    """Copy a capture into a log's folder and read it.

    Args:
        folder: The log's folder.
        path: The capture; it stays as it is.
        channel: Which of its channels; the first without.
        step: The step of the prompts.
        asked: The prompts of one picture or pass with what they expect; the first is the one
            that the capture is attached to.
        bench: The bench, for the scales of its oscilloscope.

    Returns:
        What the journal is to keep of it, and the proposal; the copy is on disk.

    Raises:
        RunError: The prompts are of no kind that a capture answers.
        CaptureError: It cannot be read, or shows another tone; no copy is left.
        JournalError: The copy cannot be written.
    """
    prompt = asked[0][0]
    if prompt.kind not in ("square", "clip"):
        raise RunError("a capture answers prompts of square waves and of clean power only")
    _refuse_large(path)
    kept = attach_file(folder, path)
    copy = folder / kept.name
    try:
        capture = read_capture(copy, channel)
        scales = _Scales.of(bench)
        is_square = prompt.kind == "square"
        read = _square(capture, scales) if is_square else _sine(capture, scales, prompt)
        _refuse_other_tone(read, _tone(prompt, step), copy)
    except CaptureError as error:
        copy.unlink(missing_ok=True)
        raise CaptureError(path, error.reason, error.line) from None
    except BaseException:
        copy.unlink(missing_ok=True)
        raise
    offered = list(_offered(read, asked))
    data: dict[str, object] = {
        "key": prompt.key,
        "name": kept.name,
        "sha256": kept.sha256,
        "from": path.name,
        "capture": _told(capture.channel, read.says, offered),
    }
    return data, Proposal(tuple(line for line, _ in offered), read.says)


def _told(
    channel: str, says: str, offered: Sequence[tuple[ProposedAnswer, float]]
) -> dict[str, object]:
    """What the journal keeps of the trace, and of the answers that it offers."""
    return {
        "channel": channel,
        "says": says,
        "proposed": [
            {
                "key": line.key,
                "text": line.text,
                "standard": standard,
            }
            for line, standard in offered
        ],
    }


def captured(state: RecordState, key: str, typed: str) -> dict[str, object] | None:
    """What is kept with an answer that is a capture's proposal; None for any other answer.

    Args:
        state: The recorded facts.
        key: Of the prompt.
        typed: The answer's text.
    """
    for attachment in reversed(state.attachments):
        capture = attachment.data.get("capture")
        proposed = capture.get("proposed") if isinstance(capture, Mapping) else None
        for each in proposed if isinstance(proposed, list | tuple) else ():
            if isinstance(each, Mapping) and each.get("key") == key:
                if each.get("text") != typed.strip():
                    return None  # a newer capture, or a hand, has the last word
                return {"file": attachment.name, "standard": each.get("standard")}
    return None


def same_picture(prompt: Prompt, prompts: Sequence[Prompt]) -> tuple[Prompt, ...]:
    """The prompts that one capture may answer, the one it is attached to first.

    Args:
        prompt: The prompt that it is attached to.
        prompts: Every prompt of the run.
    """
    picture = prompt.point.rsplit("/", 1)[0] if prompt.kind == "square" else ""
    others = (
        each
        for each in prompts
        if each.of == prompt.of
        and each.key != prompt.key
        and (not picture or each.point.rsplit("/", 1)[0] == picture)
    )
    return (prompt, *others)


def _refuse_large(path: Path) -> None:
    try:
        size = path.stat().st_size
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise CaptureError(path, f"cannot be read ({reason})") from None
    if size > _LARGEST:
        raise CaptureError(path, "is larger than 1 GB; export a shorter trace")


def _square(capture: Capture, scales: _Scales) -> _Read:
    found = square_analysis(capture)
    by_name = {figure.name: figure for figure in square_figures(found, scales.limit)}
    cycles = Figure("ringing_cycles", "Cycles of ringing", visible_cycles(found), "")
    shown = (name for name in ("overshoot", "tilt", "rise_time") if name in by_name)
    figures = ", ".join(f"{name.replace('_', ' ')} {_figure(by_name[name])}" for name in shown)
    ringing = by_name.get("ringing_frequency")
    # of edges that lie between samples a ringing may lie there too
    is_told = not found.off_screen and (found.fast_edges is None or ringing is not None)
    rings = "" if found.fast_edges is not None else ", no ringing"
    rings = f", ringing at {_figure(ringing)}" if ringing is not None else rings
    hertz = format_value(found.square_hertz, "Hz", digits=3) if found.square_hertz else "one edge"
    notes = _limits(found.off_screen) + "".join(f"; {note}" for note in edge_notes(found))
    says = f"Square wave, {hertz}: {figures}{rings}{scales.unstated}{notes}"
    by_point = {"ringing_cycles": cycles, **by_name} if is_told else by_name
    standards = _standards((cycles, *square_figures(found)))
    return _Read(says, by_point, standards, found.square_hertz)


def _sine(capture: Capture, scales: _Scales, prompt: Prompt) -> _Read:
    found = sine_analysis(capture)
    by_name = {figure.name: figure for figure in sine_figures(found, scales.limit)}
    level = by_name["level"]
    tops = "tops not flattened"
    if "overdrive" in by_name:
        onset = by_name.get("clip_onset", by_name.get("negative_clip_onset"))
        tops = f"tops flatten from {_figure(onset)}" if onset is not None else "tops flattened"
    hertz = format_value(found.hertz, "Hz", digits=3)
    shown = f"{_figure(level)} RMS"
    if "thd" in by_name:
        shown += f", distortion {_figure(by_name['thd'])}, {tops}"
    says = f"Sine, {hertz}: {shown}{scales.unstated}{_limits(found.off_screen)}"
    point = prompt.point if prompt.point in _LEVELS else _LEVELS[0]
    standards = {point: _standards(sine_figures(found))["level"]}
    return _Read(says, {point: level}, standards, found.hertz)


def _standards(figures: Iterable[Figure]) -> dict[str, float]:
    return {figure.name: figure.measure.standard_uncertainty for figure in figures}


def _figure(figure: Figure) -> str:
    least = "at least " if figure.is_at_least else ""
    return least + format_uncertain(figure.measure, figure.unit)


def _limits(off: OffScreen) -> str:
    return "".join(f"; {note}" for note in limit_notes(off))


def _tone(prompt: Prompt, step: StepFields) -> float:
    """Frequency at which the prompt is read [Hz]."""
    if isinstance(step, ClipFields):
        return require(step.tone, "Hz")
    return require(prompt.point.split("/", 1)[0], "Hz")


def _refuse_other_tone(read: _Read, tone: float, path: Path) -> None:
    if read.hertz is not None and abs(read.hertz - tone) > _ALIKE * tone:
        shown, wanted = (format_value(hertz, "Hz", digits=3) for hertz in (read.hertz, tone))
        raise CaptureError(path, f"shows {shown} where {wanted} is asked for")


def _offered(
    read: _Read, asked: Sequence[tuple[Prompt, Expected]]
) -> Iterator[tuple[ProposedAnswer, float]]:
    """What can be answered, with the standard uncertainty that the journal keeps."""
    for prompt, expected in asked:
        point = prompt.point.rsplit("/", 1)[-1]
        figure = read.by_point.get(point)
        if figure is None or figure.is_at_least:
            continue
        text = _text(figure, expected)
        entry = parse_entry(text, expected)
        if not isinstance(entry, Refusal):
            yield ProposedAnswer(prompt.key, text, entry.echo), read.standards[point]


def _text(figure: Figure, expected: Expected) -> str:
    """The value in bench notation, one digit finer than its uncertainty."""
    value, standard = figure.measure.value, figure.measure.standard_uncertainty
    if figure.name == "ringing_cycles":
        return f"{value:.0f}"
    step = 10.0 ** (math.floor(math.log10(standard)) - 1) if standard > 0.0 else None
    number = format_value(value, figure.unit, step=step, digits=None if step else 6)
    form = f" {expected.form}" if expected.form else ""
    return (number + form).replace("µ", "u")
