"""Captures of an oscilloscope: from a CSV file to samples, and to figures with uncertainty.

What is not recognised is refused with its line and a sentence; memory and time are bounded
whatever the file holds. Importing this room brings in no numpy; reading a file does.
"""

from stepwise.captures.fast_edges import edge_notes
from stepwise.captures.figure import Figure
from stepwise.captures.figures import (
    harmonic_share,
    sine_analysis,
    sine_figures,
    sine_notes,
    square_analysis,
    square_figures,
    visible_cycles,
)
from stepwise.captures.limited import limit_notes
from stepwise.captures.picture import picture_sine, picture_square
from stepwise.captures.read import Capture, read_capture
from stepwise.captures.record import FORMAT, capture_record

__all__ = [
    "FORMAT",
    "Capture",
    "Figure",
    "capture_record",
    "edge_notes",
    "harmonic_share",
    "limit_notes",
    "picture_sine",
    "picture_square",
    "read_capture",
    "sine_analysis",
    "sine_figures",
    "sine_notes",
    "square_analysis",
    "square_figures",
    "visible_cycles",
]
