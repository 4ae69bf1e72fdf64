"""Whatever stands in a table is read or refused, never an error of another kind."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stepwise.errors import FileProblems
from stepwise.run import Row, read_notes
from stepwise.run.row_match import Mismatch, match_row
from stepwise.steps import KINDS, Prompt, Workings
from tests.run.plans import plan

ANY = settings(max_examples=150, deadline=None)
CELLS = st.sampled_from(
    ["", "clip", "sweep", "left", "8 ohm", "20 Hz", "0 Hz", "-5", "nan", "1e999"]
)
CELL = CELLS | st.text(max_size=12)


@pytest.fixture(scope="module")
def prompts() -> tuple[Prompt, ...]:
    made = plan()
    return Workings(made.procedure.steps, KINDS, made.scene).prompts


@ANY
@given(content=st.binary(max_size=120), heading=st.booleans())
def test_any_bytes_are_a_table_or_are_refused(
    tmp_path_factory: pytest.TempPathFactory, content: bytes, heading: bool
) -> None:
    path = tmp_path_factory.mktemp("any") / "readings.csv"
    path.write_bytes((b"step,point,reading\n" if heading else b"") + content)
    try:
        notes = read_notes(path)
    except FileProblems as error:
        assert all(str(problem).startswith(str(path)) for problem in error.problems)
    else:
        assert all(any((row.step, row.point, row.reading)) for row in notes.rows)


@ANY
@given(step=CELL, channel=CELL, load=CELL, point=CELL)
def test_any_place_is_a_prompt_or_a_reason(
    prompts: tuple[Prompt, ...], step: str, channel: str, load: str, point: str
) -> None:
    found = match_row(Row(2, 2, step, channel, load, point, "1", ""), prompts)
    if isinstance(found, Mismatch):
        assert found.what
        assert found.remedy
        assert found.cell in ("step", "channel", "load", "point")
    else:
        assert found.step == step.casefold()
        assert (found.of.channel or "") == channel.casefold()
