"""The append-only record of readings and deeds, and the present state that follows from it."""

from drybuild.journal.errors import EntryRefused, JournalProblem, JournalUnreadable
from drybuild.journal.journal import Deed, Entry, Journal, Reading
from drybuild.journal.now import (
    Present,
    Stale,
    after_session,
    finished,
    not_as_found,
    present,
)

__all__ = [
    "Deed",
    "Entry",
    "EntryRefused",
    "Journal",
    "JournalProblem",
    "JournalUnreadable",
    "Present",
    "Reading",
    "Stale",
    "after_session",
    "finished",
    "not_as_found",
    "present",
]
