"""The unit under test and the bench, as frozen values in SI units.

`procedure` reads them from TOML; `steps` asks them what a reading is worth. This room knows no
files and no screens, and never judges.
"""

from stepwise.bench.accuracy import Accuracy, ScaleResolution, parse_accuracy, parse_resolution
from stepwise.bench.bench import (
    Bench,
    Detector,
    Load,
    Meter,
    MeterType,
    Oscillator,
    Supply,
    load_label,
)
from stepwise.bench.mains import MAINS_WANDER, carried_over, follows_mains
from stepwise.bench.measure import measure, measure_volts
from stepwise.bench.trace import from_capture, oscilloscope, stated_scales
from stepwise.bench.unit import RATINGS, Claim, Unit
from stepwise.bench.unnamed import REACTION

__all__ = [
    "MAINS_WANDER",
    "RATINGS",
    "REACTION",
    "Accuracy",
    "Bench",
    "Claim",
    "Detector",
    "Load",
    "Meter",
    "MeterType",
    "Oscillator",
    "ScaleResolution",
    "Supply",
    "Unit",
    "carried_over",
    "follows_mains",
    "from_capture",
    "load_label",
    "measure",
    "measure_volts",
    "oscilloscope",
    "parse_accuracy",
    "parse_resolution",
    "stated_scales",
]
