"""What was just written, so that the page after it can show before and after, and take it back.

Kept in memory for a while: after a restart the page shows what stands, and the journal has it all.
"""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from dataclasses import dataclass, field

from fastapi import Request

from drybuild.examine import Examination, OpenBuild
from drybuild.examine.noting import Noted
from drybuild.findings import Finding
from drybuild.show.doubt_band import Spread
from drybuild.web.edits import FactAt

KEPT = 200

Findings = dict[tuple[str, str], Finding]


@dataclass(frozen=True)
class Receipt:
    """Readings that were written. spreads: by address, what stood before.

    findings: of the finished car, before; opened: where there were none yet, the build of before,
    to be examined when there is time. was: of a part's file, what stood there; mark: of what
    stands there since; taken_back: it was written as before again.
    """

    address: str
    said: str
    who: str
    noted: tuple[Noted, ...]
    spreads: dict[str, Spread | None] = field(default_factory=dict)
    findings: Findings = field(default_factory=dict)
    was: FactAt | None = None
    mark: str = ""
    taken_back: bool = False
    opened: OpenBuild | None = None


class Receipts:
    """The last receipts of the running app."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: OrderedDict[str, Receipt] = OrderedDict()

    def keep(self, receipt: Receipt) -> str:
        """Its mark, by which the next page asks for it."""
        mark = secrets.token_hex(8)
        with self._lock:
            self._kept[mark] = receipt
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)
        return mark

    def found(self, mark: str) -> Receipt | None:
        """The receipt of a mark, while it is kept."""
        return self._kept.get(mark)


def receipts(request: Request) -> Receipts:
    """The receipts of the app that a request came to."""
    state = request.app.state
    if not hasattr(state, "receipts"):
        state.receipts = Receipts()
    kept: Receipts = state.receipts
    return kept


def findings_of(examination: Examination) -> Findings:
    """What each check says of each place."""
    return {(f.check, f.subject): f for f in examination.findings}
