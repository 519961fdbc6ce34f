"""What the journal and the files hold, in words: values, changes, readings that contradict."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from drybuild.build import Change, Fault
from drybuild.examine.naming import plain_name
from drybuild.journal.now import Clash, Stale
from drybuild.systems import registry
from drybuild.values import Value, show
from drybuild.values.formatting import with_minus

FIGURE = re.compile(r"[<>]?\s*[+-]?\.?\d")
_DONE = {"remove": "taken off", "open": "opened", "close": "closed", "disturb": "disturbed"}


def written_text(raw: Any) -> str:
    """A value as a file or the journal holds it, on one line."""
    if isinstance(raw, Mapping):
        doubt = f" ± {raw['plus_minus']}" if "plus_minus" in raw else ""
        tool = f", {raw['by']}" if "by" in raw else ""
        if "is" in raw:
            return f"{written_text(raw.get('is', raw))}{doubt}{tool}"
        return ", ".join(f"{key} {written_text(one)}" for key, one in raw.items())
    if isinstance(raw, bool):
        return "yes" if raw else "no"
    if isinstance(raw, list | tuple):
        return ", ".join(written_text(one) for one in raw)
    text = str(raw)
    return with_minus(text) if FIGURE.match(text) else text


def change_text(change: Change, names: Mapping[str, str] | None = None) -> str:
    """A Change as one says it. names: of the parts, by their ids; else the id in plain words."""
    target = plain_name(change.target)
    if change.kind == "set":
        return f"{target} set to {written_text(change.value)}"
    if change.kind == "fit":
        part = str(change.value)
        return f"{target}: {(names or {}).get(part) or part.replace('_', ' ')} fitted"
    if change.kind == "verify":
        found = f": {evidence_text(change.value)}" if change.value else ""
        return f"{record_name(change.target)}{found}"
    return f"{target} {_DONE[change.kind]}"


def record_name(record: str) -> str:
    """A hand check by its name; by its id in plain words where no room knows it."""
    spec = registry().records.get(record)
    return spec.title if spec is not None else record.replace(".", " ").replace("_", " ")


def evidence_text(found: Any) -> str:
    """What a hand check found: the value, the tool, who else saw it. Who did it stands beside."""
    if not isinstance(found, Mapping):
        return written_text(found)
    said = [written_text(found[key]) for key in ("value", "tool") if found.get(key)]
    said += [f"seen by {found['second']}"] if found.get("second") else []
    named = {"value", "tool", "second", "name"}
    return ", ".join([*said, *(written_text(v) for k, v in found.items() if k not in named)])


def stale_text(stale: Stale, names: Mapping[str, str] | None = None) -> str:
    """Why a reading does not hold."""
    what = change_text(stale.change, names)
    why = {
        "after": f"after it: {what}",
        "before": f"it is the figure as found, and before it: {what}",
        "undone": f"taken back since: {what}",
    }[stale.how]
    return f"reading {stale.reading.id} of {plain_name(stale.reading.address)} does not hold; {why}"


def clash_text(clash: Clash | Fault) -> str:
    """Two measurements of one thing, and which of them counts; or a reading that cannot be."""
    if isinstance(clash, Fault):
        return f"entry {clash.line}, {plain_name(clash.where)}: {clash.found}; {clash.expected}"
    filed, read = _measured(clash.filed), _measured(clash.value)
    entry, day = clash.reading.id, clash.reading.at[:10]
    return (
        f"{plain_name(clash.reading.address)}: {clash.file} says {filed}; entry {entry} of {day} "
        f"says {read}. Both cannot be: measure again, then correct one of them. Until then entry "
        f"{entry} counts."
    )


def _measured(value: Value) -> str:
    low, high = value.interval
    said = show(value.kind, value.median, low, high)
    return f"{said}, {value.by}" if value.by else said
