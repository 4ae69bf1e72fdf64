"""Captures of an oscilloscope: from a CSV file to samples, and to figures with uncertainty.

What is not recognised is refused with its line and a sentence; memory and time are bounded
whatever the file holds. Importing this room brings in no numpy; reading a file does.
"""

from stepwise.captures.read import Capture, read_capture

__all__ = ["Capture", "read_capture"]
