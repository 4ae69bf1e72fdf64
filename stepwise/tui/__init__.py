"""The screens: a thin shell of Textual over `stepwise.run`.

A screen never computes: it shows what the run hands over. Everything it needs beside the run
comes in as `Services`; the command line builds them and says where to `Start`. This room
imports neither `rehearsal` nor `report`, and nothing outside it knows Textual.
"""

from stepwise.tui.app import StepwiseApp
from stepwise.tui.services import Choice, FileKind, LogEntry, RunChoice, Services, Start

__all__ = [
    "Choice",
    "FileKind",
    "LogEntry",
    "RunChoice",
    "Services",
    "Start",
    "StepwiseApp",
]
