"""Places in a TOML text are found by line, however the text is laid out."""

from __future__ import annotations

import pytest

from stepwise.procedure.locate import Lines, Path

TEXT = """\
[procedure]
title = "x"
"quoted key" = 1
[[step]]
id = "a"
readings = [
  { name = "a", limit = { max = "3" } },
  # between
  { name = "b" },
]
a.b.c = 3
[step.limits]
power = { min = "x" }
[[step]]
id = "b"
[[step.look]]
x = 1
[[step.look]]
x = 2
"""


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("procedure", "title"), 2),
        (("procedure", "quoted key"), 3),
        (("step", 0), 4),
        (("step", 0, "readings", 0, "limit", "max"), 7),
        (("step", 0, "readings", 1), 9),
        (("step", 0, "a", "b", "c"), 11),
        (("step", 0, "limits", "power", "min"), 13),
        (("step", 1, "id"), 15),
        (("step", 1, "look", 1, "x"), 19),
        (("step", 1, "absent"), 14),
        (("step", 0, "readings", 7, "name"), 6),
        (("absent",), None),
        ((), None),
    ],
)
def test_the_line_of_a_place_or_of_the_nearest_around_it(path: Path, line: int | None) -> None:
    assert Lines(TEXT).line(path) == line
