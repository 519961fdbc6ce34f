"""What a worker does with a file that somebody sent: judge it, and say what it would write.

Nothing here writes. Each answers with what JSON can carry, or raises ValueError in plain words.
"""

from __future__ import annotations

from typing import Any

from drybuild.examine import open_build
from drybuild.examine.sheets.form import FormRefused, read_form
from drybuild.examine.sheets.judging import judge
from drybuild.journal.plain import from_text


def sheet(data: bytes, *, folder: str, name: str, who: str, at: str) -> dict[str, Any]:
    """A calibrator's or measuring sheet: its readings, the map, and who says so."""
    try:
        judged = judge(open_build(folder), read_form(_text(data), name=name), who=who, at=at)
    except FormRefused as error:
        raise ValueError(str(error)) from None
    return {
        "kind": judged.kind,
        "who": judged.who,
        "at": judged.at,
        "readings": judged.readings,
        "facts": {f"part.{p}.{k}": raw for p, kept in judged.facts.items()
                  for k, raw in kept.items()},
        "part": judged.part if judged.map_values is not None else "",
        "part_is_new": judged.part_is_new,
        "map": judged.map_values or {},
        "words": str(judged.form.data.get("words", "")),
    }  # fmt: skip


def record(data: bytes) -> dict[str, Any]:
    """A journal that was written out as text: how many entries it has, and of what kinds."""
    told = from_text(_text(data))
    if told.faults:
        raise ValueError("\n".join(told.faults))
    first, last = (told.rows[0].at, told.rows[-1].at) if told.rows else ("", "")
    return {
        "kind": "journal", "who": "", "at": "", "entries": len(told.rows), "first": first,
        "last": last,
    }  # fmt: skip


def _text(data: bytes) -> str:
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise ValueError(f"no text in UTF-8: byte {error.start} is none") from None
