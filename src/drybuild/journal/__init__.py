"""The append-only record of what was read and done, and the present state that follows from it."""

from drybuild.journal.chain import Chain, ChainFault, Head
from drybuild.journal.entries import (
    Bag,
    Deed,
    Entry,
    Fill,
    Lift,
    Reading,
    Remark,
    Tag,
    Torque,
    WorkEntry,
)
from drybuild.journal.errors import (
    EntryRefused,
    JournalMisplaced,
    JournalProblem,
    JournalUnreadable,
    TextRefused,
)
from drybuild.journal.history import as_corrected
from drybuild.journal.journal import Journal
from drybuild.journal.now import (
    Present,
    Stale,
    after_session,
    finished,
    not_as_found,
    planned_by_hand,
    present,
)

__all__ = [
    "Bag",
    "Chain",
    "ChainFault",
    "Deed",
    "Entry",
    "EntryRefused",
    "Fill",
    "Head",
    "Journal",
    "JournalMisplaced",
    "JournalProblem",
    "JournalUnreadable",
    "Lift",
    "Present",
    "Reading",
    "Remark",
    "Stale",
    "Tag",
    "TextRefused",
    "Torque",
    "WorkEntry",
    "after_session",
    "as_corrected",
    "finished",
    "not_as_found",
    "planned_by_hand",
    "present",
]
