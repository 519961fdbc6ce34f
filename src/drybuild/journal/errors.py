"""Errors of the journal.

JournalProblem
├── JournalUnreadable   not a journal, damaged, of a later version, or held by another program
├── EntryRefused        an entry that cannot be taken as it is, or that the disk did not take
├── JournalMisplaced    the folder lies where a live journal would be damaged
└── TextRefused         a text that is no whole record, or one of another journal
"""


class JournalProblem(Exception):
    """Root of the journal's errors."""


class JournalUnreadable(JournalProblem):
    """The file is no journal of ours, or was written by a later version."""


class EntryRefused(JournalProblem):
    """The entry cannot be written; nothing was written. field: of its body, which one is amiss, or
    empty where it is none of them."""

    def __init__(self, said: str, *, field: str = "") -> None:
        super().__init__(said)
        self.field = field


class JournalMisplaced(JournalProblem):
    """The folder is on a network drive or kept in step with a remote copy; nothing was written."""


class TextRefused(JournalProblem):
    """A text that cannot be taken in; nothing of it was. ``faults``: all that is amiss."""

    def __init__(self, faults: tuple[str, ...]) -> None:
        self.faults = faults
        super().__init__("\n".join((*faults, "nothing was taken in")))
