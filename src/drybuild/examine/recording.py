"""A hand check as the Change that lifts what waits for it: a tick is not enough (DESIGN §8)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fnmatch import fnmatchcase

from drybuild.build import Change
from drybuild.build.state import touched_by
from drybuild.findings import RecordSpec
from drybuild.journal import Deed


class RecordIncomplete(Exception):
    """What a hand check asks for was not given. lacking: names of the evidence; second: somebody
    else must have seen it."""

    def __init__(self, record: str, lacking: tuple[str, ...], second: bool) -> None:
        asked = [*lacking, *(["somebody else who saw it"] if second else [])]
        super().__init__(f"a tick does not lift this; it wants {', '.join(asked)}")
        self.record, self.lacking, self.second = record, lacking, second
        self.field = lacking[0] if lacking else "second"


def verification(
    record: RecordSpec, *, name: str, value: str = "", tool: str = "", second: str = ""
) -> Change:
    """The Change of a hand check. Raises RecordIncomplete."""
    given: Mapping[str, str] = {"value": value.strip(), "tool": tool.strip(), "name": name.strip()}
    seen_by = second.strip()
    lacking = tuple(e for e in record.evidence if not given.get(e, ""))
    alone = record.second_person and (not seen_by or seen_by == given["name"])
    if lacking or alone:
        raise RecordIncomplete(record.id, lacking, alone)
    return Change("verify", record.id, {k: v for k, v in {**given, "second": seen_by}.items() if v})


def undone_by(
    deeds: Iterable[Deed], records: Mapping[str, RecordSpec]
) -> dict[tuple[int, str], Deed]:
    """Hand checks that no longer hold, by the entry and the record: each with the first deed after
    it that changed what it looked at. Whether it was made again since is another question."""
    standing: dict[tuple[int, str], RecordSpec] = {}
    found: dict[tuple[int, str], Deed] = {}
    for deed in deeds:
        for change in deed.changes:
            if change.kind == "verify":
                if change.target in records:
                    standing[deed.id, change.target] = records[change.target]
                continue
            touched = touched_by(change)
            for key, spec in standing.items():
                if any(fnmatchcase(place, p) for place in touched for p in spec.changed):
                    found.setdefault(key, deed)
    return found
