"""What the figures do not say, and what was said about safety."""

from __future__ import annotations

from collections.abc import Iterator

from stepwise.report.content import Block, Listing, Section
from stepwise.report.words import REHEARSAL, sentence
from stepwise.run import Review, RunView


def cautions(view: RunView, review: Review) -> Section:
    """What the figures do not say, and what was said about safety at the bench."""
    blocks: list[Block] = [
        Listing(tuple(_limits_of_this(view, review)), "For whoever uses the figures")
    ]
    safety = tuple(
        sentence(each)
        for each in dict.fromkeys(
            caution for step in view.run.plan.procedure.steps for caution in step.caution
        )
    )
    if safety:
        blocks.append(Listing(safety, "Said at the bench"))
    return Section("cautions", "Cautions", tuple(blocks))


def _limits_of_this(view: RunView, review: Review) -> Iterator[str]:
    run = view.run
    if run.state.begin.get("rehearsal"):
        yield REHEARSAL
    if run.transcribed:
        yield "Entered from notes afterwards: nobody was led through the steps."
    if not review.complete:
        yield "The run is not finished."
    yield "One unit of its kind was tested; another may differ by more than the ± given here."
    yield (
        "The ± comes from the instruments as stated in “The bench and its accuracy”. A fault of "
        "an instrument that its owner does not know of is not in it."
    )
    kinds = {prompt.kind for prompt in run.prompts}
    if "clip" in kinds:
        yield (
            "Clean power was judged by eye on an oscilloscope, one channel driven, for seconds: "
            "it is neither continuous power nor power at a stated distortion."
        )
    if "sweep" in kinds:
        yield "The response holds for the one level and load of the sweep."
    yield "Only what the procedure asks for was looked at."
