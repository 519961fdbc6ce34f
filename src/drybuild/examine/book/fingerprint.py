"""What every page names: build, state, date, revision, and a fingerprint of folder and journal.

The fingerprint is a hash. It shows that a print and a folder belong together; it is no signature
and says nothing of who made either. Source of the hash: FIPS 180-4, SHA-256.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from importlib.metadata import version

from drybuild.examine.opened import OpenBuild
from drybuild.journal import Entry

SHOWN = 16
"""Figures of the fingerprint that are printed: 64 bits, in groups of four."""


@dataclass(frozen=True, slots=True)
class Imprint:
    """files: hash of the build's files; journal: its head as printed; fingerprint: of both."""

    build: str
    scenario: str
    state: str
    made: datetime
    revision: str
    files: str
    journal: str
    fingerprint: str
    tool: str


def fingerprint(opened: OpenBuild) -> str:
    """SHA-256 over the hash of the files and the number and mark of the journal's last entry."""
    head = opened.journal.head()
    said = f"{opened.build.inputs_hash}\n{head.entries}\n{head.mark}"
    return hashlib.sha256(said.encode()).hexdigest()


def imprint(opened: OpenBuild, made: datetime, revision: str = "") -> Imprint:
    """What stands on every page. revision: in place of what the folder or the journal says."""
    head = opened.journal.head()
    build = opened.build
    return Imprint(
        build.head.name, build.head.scenario, state_text(opened, made), made,
        revision or build.book.revision or _counted(opened),
        build.inputs_hash, str(head), fingerprint(opened), version("drybuild"),
    )  # fmt: skip


def state_text(opened: OpenBuild, made: datetime) -> str:
    """The state that the book is of, never a planned one. What the record holds of days to come is
    in it too: that it was written ahead of them is said."""
    entries = opened.journal.entries()
    if not entries:
        return "as found: nothing is recorded yet"
    last = _last_day(entries)
    ahead = ", part of it written ahead of its day" if last > f"{made:%Y-%m-%d}" else ""
    return f"as built, by the record up to {last}{ahead}"


def _counted(opened: OpenBuild) -> str:
    """Of a revision that nobody named: how far the record goes. No number: it counts no prints."""
    entries = opened.journal.entries()
    return f"not named, entry {len(entries)}" if entries else "not named"


def _last_day(entries: Sequence[Entry]) -> str:
    return max(e.at[:10] for e in entries)


def names_folder(opened: OpenBuild, printed: str) -> bool | None:
    """Whether a fingerprint as printed is this folder's; None when the text holds none."""
    plain = re.sub(r"[\s·:,.-]", "", printed).lower()
    if not re.fullmatch(rf"[0-9a-f]{{{SHOWN},64}}", plain):
        return None
    return fingerprint(opened).startswith(plain)
