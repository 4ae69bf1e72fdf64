"""The append-only record of one run: on disk before anybody is told "kept".

One JSON object a line, fsynced, chained by SHA-256, one writer at a time. A line that was
changed, removed, doubled or moved is found and located; a torn last line is set aside, never
deleted. What this cannot see by itself: whole lines cut off the *end*, which leave a shorter
journal that is sound (a finished run shows it, because its "end" event is gone), and a forger
who computes every hash anew.

The room knows nothing of audio: the data of an event is a plain JSON object. It imports
nothing of ours but the errors. Not for it: deciding which prompt is next, or what a reading
is worth.
"""

from stepwise.journal.attach import Attached, attach_file
from stepwise.journal.event import SCHEMA, Event, instant_text, shown_instant
from stepwise.journal.folder import find_log_folders, last_log_folder, new_log_folder
from stepwise.journal.reader import Damage, Record, read_journal
from stepwise.journal.state import (
    Attachment,
    Doubt,
    Note,
    Recorded,
    RecordState,
    StateBuilder,
    Tone,
    extend,
    fold,
)
from stepwise.journal.writer import Journal

__all__ = [
    "SCHEMA",
    "Attached",
    "Attachment",
    "Damage",
    "Doubt",
    "Event",
    "Journal",
    "Note",
    "Record",
    "RecordState",
    "Recorded",
    "StateBuilder",
    "Tone",
    "attach_file",
    "extend",
    "find_log_folders",
    "fold",
    "instant_text",
    "last_log_folder",
    "new_log_folder",
    "read_journal",
    "shown_instant",
]
