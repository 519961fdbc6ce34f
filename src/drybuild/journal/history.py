"""What follows from the entries: which of them stand, as corrected, and what they say."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from drybuild.journal.entries import (
    Deed,
    Entry,
    Lift,
    Made,
    Reading,
    dated,
    deed_from,
    earlier,
    entry_as,
)

_ABOUT_OTHERS = ("undo", "correction")


def undone(entries: Iterable[Entry]) -> frozenset[int]:
    """Entries that an undo names which stands itself. An undone undo stands again."""
    found: set[int] = set()
    for entry in reversed(tuple(entries)):
        if entry.kind == "undo" and entry.id not in found:
            found.add(int(entry.body["entry"]))
    return frozenset(found)


def as_corrected(entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
    """Every entry with what later corrections, as far as they stand, replaced of it.

    It keeps its number, and so its place among the others.
    """
    gone = undone(entries)
    by_entry: dict[int, list[Entry]] = {}
    for entry in entries:
        if entry.kind == "correction" and entry.id not in gone:
            by_entry.setdefault(int(entry.body["entry"]), []).append(entry)
    return tuple(_corrected(e, by_entry.get(e.id, [])) for e in entries)


def _corrected(entry: Entry, corrections: Iterable[Entry]) -> Entry:
    for one in corrections:
        said = one.body
        entry = replace(
            entry,
            at=said.get("dated") or entry.at,
            who=said.get("by") or entry.who,
            body={**entry.body, **said["now"]},
            corrected=(*entry.corrected, one.id),
        )
    return entry


def standing_of(entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
    """Entries that have not been undone, as corrected, without the undos and the corrections."""
    gone = undone(entries)
    return tuple(
        e for e in as_corrected(entries) if e.kind not in _ABOUT_OTHERS and e.id not in gone
    )


def deeds_of(entries: tuple[Entry, ...], upto: str = "") -> tuple[Deed, ...]:
    """The deeds that stand, oldest first; those of dates up to ``upto``, when it is given."""
    found = tuple(deed_from(e) for e in standing_of(entries) if e.kind == "deed")
    last = dated(upto) if upto else ""
    return tuple(d for d in found if not last or not earlier(last, d.at))


def readings_of(entries: tuple[Entry, ...]) -> tuple[Reading, ...]:
    """The readings that stand, oldest first."""
    taken_back = _taken_back(as_corrected(entries))
    return tuple(
        Reading(
            e.id, e.at, e.who, e.body["address"], e.body["raw"],
            str(e.body.get("instrument", "")), int(e.body.get("after", 0)),
            tuple(d for d, undos in taken_back if d.id < e.id and _stood(undos, e.id)),
        )
        for e in standing_of(entries)
        if e.kind == "reading"
    )  # fmt: skip


def made_of(entries: tuple[Entry, ...], kind: str, made: type[Made]) -> tuple[Made, ...]:
    """The entries of one kind that stand, oldest first."""
    return tuple(entry_as(made, e) for e in standing_of(entries) if e.kind == kind)


def lifts_of(entries: tuple[Entry, ...]) -> tuple[Lift, ...]:
    """The hand checks in the deeds that stand, oldest first."""
    return tuple(
        Lift(deed.id, deed.at, deed.who, change.target, _evidence(change.value))
        for deed in deeds_of(entries)
        for change in deed.changes
        if change.kind == "verify"
    )


def _evidence(value: Any) -> dict[str, Any]:
    return dict(value) if isinstance(value, dict) else {}


def _taken_back(entries: tuple[Entry, ...]) -> list[tuple[Deed, tuple[int, ...]]]:
    """Deeds that do not stand, each with its undo, the undo of that undo, and so on."""
    undo_of = {int(e.body["entry"]): e.id for e in entries if e.kind == "undo"}
    found = []
    for entry in entries:
        chain, at = [], entry.id
        while entry.kind == "deed" and at in undo_of:
            at = undo_of[at]
            chain.append(at)
        if len(chain) % 2:
            found.append((deed_from(entry), tuple(chain)))
    return found


def _stood(undos: tuple[int, ...], at: int) -> bool:
    """Whether a deed with this chain of undos stood when entry ``at`` was written."""
    return sum(undo < at for undo in undos) % 2 == 0
