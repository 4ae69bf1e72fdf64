"""Slips of reading: caught before a reading is kept, with the value that was probably meant.

Pure: what was typed is held against what is plausible from other readings, from physics and
from what the bench says of itself. It is a question to the person, never a correction, and it
is conservative: honest meters and honest faulty boards are hardly ever asked.
"""

from stepwise.judge.slips.asked import Asked
from stepwise.judge.slips.find import find_slip
from stepwise.judge.slips.slip import Slip

__all__ = ["Asked", "Slip", "find_slip"]
