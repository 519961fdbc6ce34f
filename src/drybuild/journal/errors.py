"""Errors of the journal.

JournalProblem
├── JournalUnreadable   not a journal, or one of a later version
└── EntryRefused        an entry that cannot be taken as it is
"""


class JournalProblem(Exception):
    """Root of the journal's errors."""


class JournalUnreadable(JournalProblem):
    """The file is no journal of ours, or was written by a later version."""


class EntryRefused(JournalProblem):
    """The entry cannot be written; nothing was written."""
