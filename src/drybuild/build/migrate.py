"""The format number of build files and the way from older ones to today's.

Each step turns the tables of one format into those of the next, in memory; the file on disk
changes only when the tool next edits it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

FORMAT = 1
"""The format this version writes."""


def _to_1(data: dict[str, Any]) -> None:
    """Format 0 was the trial format: ``how`` for ``known``, ``type`` for a part's ``kind``."""
    if "how" in data:
        data.setdefault("known", data.pop("how"))
    parts = data.get("part")
    if isinstance(parts, dict):
        for table in parts.values():
            if isinstance(table, dict) and "type" in table:
                table.setdefault("kind", table.pop("type"))


STEPS: dict[int, Callable[[dict[str, Any]], None]] = {0: _to_1}


def migrate(data: dict[str, Any], found: int) -> None:
    """Bring tables of format ``found`` to FORMAT, in place."""
    for number in range(found, FORMAT):
        STEPS[number](data)
    data["format"] = FORMAT
