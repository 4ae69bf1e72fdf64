"""The room as a whole: its examples run, it stays plain, floats in give floats out."""

from __future__ import annotations

import doctest
import importlib
import inspect
import pkgutil
import subprocess
import sys

import numpy as np
import pytest

import stepwise.science as science

INNER = {
    "converter",
    "converter_limit",
    "domain",
    "pulse_edge",
    "pulse_settled",
    "pulse_shape",
    "pulse_steps",
    "pulse_tops",
    "sine_fit",
    "sine_lines",
    "sine_shape",
    "sine_steps",
    "square_capture_reading",
    "wave_kind",
}
"""Files that only other files of the room use: the steps of analysing a capture."""
MODULES = [
    importlib.import_module(f"stepwise.science.{each.name}")
    for each in pkgutil.iter_modules(science.__path__)
]
FUNCTIONS = [
    getattr(science, name) for name in science.__all__ if inspect.isfunction(getattr(science, name))
]


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_examples_in_docstrings_come_out_as_printed(module: object) -> None:
    outcome = doctest.testmod(module)

    assert outcome.failed == 0


def test_the_window_shows_every_public_name_of_its_files() -> None:
    public = {
        name
        for module in MODULES
        if module.__name__.rpartition(".")[2] not in INNER
        for name, thing in vars(module).items()
        if not name.startswith("_")
        and getattr(thing, "__module__", None) == module.__name__
        and (inspect.isfunction(thing) or inspect.isclass(thing))
    }

    assert public <= set(science.__all__)
    assert len(science.__all__) == len(set(science.__all__))


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.__name__)
def test_every_function_names_its_source_and_each_argument(function: object) -> None:
    text = inspect.getdoc(function) or ""

    assert "Source:" in text
    assert "Returns:" in text
    for name in inspect.signature(function).parameters:  # type: ignore[arg-type]
        assert f"{name}: " in text


def test_importing_it_brings_in_numpy_alone() -> None:
    program = (
        "import sys, stepwise.science;"
        "print([m for m in ('pint', 'scipy', 'textual', 'rich', 'msgspec') if m in sys.modules])"
    )
    printed = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    ).stdout

    assert printed.strip() == "[]"


@pytest.mark.parametrize(
    ("function", "arguments"),
    [
        (science.load_power, (20.0, 8.0)),
        (science.voltage_ratio_db, (20.0, 2.0)),
        (science.sag_percent, (45.0, 40.0)),
        (science.first_order_highpass_db, (20.0, 8.0)),
        (science.a_weighting_db, (100.0,)),
        (science.exponential_approach, (60.0, 20.0, 60.0, 300.0)),
        (science.rms_from_peak, (40.0,)),
    ],
    ids=lambda each: getattr(each, "__name__", ""),
)
def test_numpy_scalars_come_back_as_plain_floats(function, arguments) -> None:
    assert type(function(*map(np.float64, arguments))) is float
    assert type(function(*arguments)) is float


@pytest.mark.parametrize("bad", [0.0, -8.0, float("nan"), float("inf")])
def test_a_load_that_is_no_resistance_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="load_ohms"):
        science.load_power(20.0, bad)


def test_readings_near_zero_may_be_nudged_across_it() -> None:
    assert science.load_power(-0.05, 8.0) == pytest.approx(science.load_power(0.05, 8.0))
    assert science.sag_percent(45.0, 45.1) < 0.0
    assert science.source_impedance_open(9.99, 10.0, 8.0) < 0.0
    assert science.headroom_loss(20.0, 20.0) < 0.0
