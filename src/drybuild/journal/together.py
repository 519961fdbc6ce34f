"""Work that was written down, with the deed that was written with it: one thing, said once."""

from __future__ import annotations

from collections.abc import Iterable

from drybuild.journal.entries import Entry

_MADE = {"take": "open", "refit": "close"}
"""What a task of taking off or refitting makes of its component."""


def with_deeds(entries: Iterable[Entry]) -> list[tuple[Entry, Entry | None]]:
    """Every entry in order, finished work with the deed that came right after it, if one did."""
    waiting = list(entries)
    found: list[tuple[Entry, Entry | None]] = []
    while waiting:
        one = waiting.pop(0)
        mate = waiting.pop(0) if waiting and _mates(one, waiting[0]) else None
        found.append((one, mate))
    return found


def _mates(work: Entry, deed: Entry) -> bool:
    same = (work.who, work.at[:10], work.id + 1) == (deed.who, deed.at[:10], deed.id)
    if not same or (work.kind, deed.kind) != ("work", "deed") or work.body.get("what") != "done":
        return False
    kind, _, name = str(work.body.get("task", "")).partition(":")
    if kind == "job":
        return bool(name) and deed.body.get("job") == name
    return all(
        (change["kind"], change["target"]) == (_MADE.get(kind), name)
        for change in deed.body["changes"]
    )
