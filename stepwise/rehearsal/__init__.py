"""The rehearsal bench: a simulated board, supply and set of instruments that answers prompts.

Everything read follows from one physics and one seed: rails that sag under the load they feed,
clipping at the sagged rail, one network for sweep and square wave, heat from the watts spent,
instruments that misread within their own limits. Faults change the board, the bench or what the
person writes down; what they show follows.
"""

from stepwise.rehearsal.bench import RehearsalBench
from stepwise.rehearsal.board import Board, good_board
from stepwise.rehearsal.clock import AttendedClock
from stepwise.rehearsal.faults import (
    FAULTS,
    SEVERITIES,
    Fault,
    UnknownFault,
    Whose,
    find_fault,
    with_faults,
)
from stepwise.rehearsal.reveal import Revealed, noticed_in, reveal
from stepwise.rehearsal.rig import Rig
from stepwise.rehearsal.shipped import BENCH_FILE, UNIT_FILE, bench_text, unit_text

__all__ = [
    "BENCH_FILE",
    "FAULTS",
    "SEVERITIES",
    "UNIT_FILE",
    "AttendedClock",
    "Board",
    "Fault",
    "RehearsalBench",
    "Revealed",
    "Rig",
    "UnknownFault",
    "Whose",
    "bench_text",
    "find_fault",
    "good_board",
    "noticed_in",
    "reveal",
    "unit_text",
    "with_faults",
]
