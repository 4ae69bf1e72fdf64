"""The rehearsal bench: a simulated board, supply and set of instruments that answers prompts.

Everything read follows from one physics and one seed: rails that sag under the load they feed,
clipping at the sagged rail, one network for sweep and square wave, heat from the watts spent,
instruments that misread within their own limits. Faults change the board, never a reading.
"""

from stepwise.rehearsal.bench import RehearsalBench
from stepwise.rehearsal.board import Board, good_board
from stepwise.rehearsal.faults import FAULTS, Fault, UnknownFault, with_faults
from stepwise.rehearsal.shipped import BENCH_FILE, UNIT_FILE, bench_text, unit_text

__all__ = [
    "BENCH_FILE",
    "FAULTS",
    "UNIT_FILE",
    "Board",
    "Fault",
    "RehearsalBench",
    "UnknownFault",
    "bench_text",
    "good_board",
    "unit_text",
    "with_faults",
]
