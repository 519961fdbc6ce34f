"""A hand check as the Change that lifts what waits for it: a tick is not enough (DESIGN §8)."""

from __future__ import annotations

from collections.abc import Mapping

from drybuild.build import Change
from drybuild.findings import RecordSpec


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
