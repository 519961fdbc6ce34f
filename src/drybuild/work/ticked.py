"""Hand checks whose task was written down as done, and that are owed all the same: a tick is none.

What is known of such a check, who did it and with what its joints were tightened, need not be typed
a second time.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase

from drybuild.build.state import touched_by
from drybuild.examine import OpenBuild, Owed
from drybuild.findings import RecordSpec
from drybuild.journal import WorkEntry
from drybuild.work.errors import WorkFaults
from drybuild.work.reading import library_of


@dataclass(frozen=True, slots=True)
class Ticked:
    """work: the entry of the task that makes the record. who, second: who did it; value, tool: as
    its joints were tightened, where that was written down."""

    work: WorkEntry
    who: str
    second: str
    value: str
    tool: str


def ticked(opened: OpenBuild, owed: Iterable[Owed]) -> dict[str, Ticked]:
    """By record, of those that are owed: the last task done that makes it, unless work since then
    has made it owed anew."""
    records = {one.record for one in owed} & opened.registry.records.keys()
    makes = _makes(opened)
    found: dict[str, Ticked] = {}
    for entry in opened.journal.work():
        if entry.what != "done":
            continue
        for record in makes.get(entry.task, ()):
            if record in records and not _since(opened, entry, opened.registry.records[record]):
                found[record] = _ticked(opened, entry)
    return found


def _makes(opened: OpenBuild) -> Mapping[str, tuple[str, ...]]:
    """Task → records that it makes, by the library. Of one with faults nothing."""
    try:
        library = library_of(opened.build)
    except WorkFaults:
        return {}
    found = {
        f"clear:{name}": tuple(table.clear.records)
        for name, table in library.effects.items() if table.clear is not None
    }  # fmt: skip
    return found | {
        f"refit:{name}": tuple(table.records)
        for name, table in library.components.items() if table.records
    }


def _since(opened: OpenBuild, entry: WorkEntry, spec: RecordSpec) -> bool:
    """Whether something that the record is about was changed after the task."""
    return any(
        fnmatchcase(place, pattern)
        for deed in opened.journal.deeds() if deed.id > entry.id
        for change in deed.changes if change.kind != "verify"
        for place in touched_by(change)
        for pattern in spec.changed
    )  # fmt: skip


def _ticked(opened: OpenBuild, entry: WorkEntry) -> Ticked:
    who, *others = entry.people or (entry.who,)
    tight = [t for t in opened.journal.torques() if t.task == entry.task]
    seen = [t.second for t in tight if t.second]
    return Ticked(
        entry, who, next(iter([*others, *seen]), ""),
        "; ".join(f"{t.joint} {t.figure}" for t in tight),
        tight[-1].tool if tight else "",
    )  # fmt: skip
