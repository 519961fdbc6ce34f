"""The pages that are one step from everywhere: few in sight, the others behind one word."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Entry:
    """where: the page; begins: how addresses begin that belong to it."""

    where: str
    words: str
    begins: str


@dataclass(frozen=True, slots=True)
class Link:
    """An entry as a page shows it. current: for ``aria-current``, empty where it is elsewhere."""

    where: str
    words: str
    current: Literal["", "page", "true"]


IN_SIGHT = (
    Entry("/", "The car", ""), Entry("/corner/front/left", "Corners", "/corner/"),
    Entry("/engine", "Engine", "/engine"), Entry("/work", "Work", "/work"),
    Entry("/measure", "Measure", "/measure"), Entry("/records", "Records", "/records"),
    Entry("/parts", "Parts", "/part"),
)  # fmt: skip
MORE = (
    Entry("/book", "Book and sheets", "/book"), Entry("/findings", "Findings", "/findings"),
    Entry("/drafts", "Drafts", "/draft"), Entry("/devices", "Devices", "/devices"),
)  # fmt: skip


def links(entries: tuple[Entry, ...], path: str) -> tuple[Link, ...]:
    """Entries seen from a page."""
    return tuple(Link(e.where, e.words, _current(e, path)) for e in entries)


def _current(entry: Entry, path: str) -> Literal["", "page", "true"]:
    if path == entry.where:
        return "page"
    rest = path.removeprefix(entry.begins) if entry.begins else path
    inside = bool(entry.begins) and path.startswith(entry.begins)
    ends = entry.begins.endswith("/") or not rest or rest[0] in "/s"
    return "true" if inside and ends else ""
