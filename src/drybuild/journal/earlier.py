"""The record as it was when it had fewer entries: what a plan made then was made from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from drybuild.journal.chain import Row
from drybuild.journal.errors import EntryRefused
from drybuild.journal.journal import Journal
from drybuild.journal.store import Store


@dataclass(frozen=True)
class _ToRead(Store):
    def writing(self) -> Any:
        raise EntryRefused("the record as it was once takes no further entry")


class Earlier(Journal):
    """The first entries of a journal, as if no other had followed; nothing is written to it."""

    def __init__(self, journal: Journal, entries: int) -> None:
        super().__init__(journal.path.parent, _ToRead(journal.path))
        self._upto = entries

    def _rows(self) -> tuple[Row, ...]:
        return super()._rows()[: self._upto]
