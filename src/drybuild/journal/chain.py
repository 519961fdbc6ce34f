"""The chain of marks: each is drawn from its entry and from the mark before it.

An entry that is altered, taken out or slipped in later no longer fits its mark, and neither does
any after it. Who recomputes every mark is found out by a mark that was printed before.

Source of the hash: FIPS 180-4, SHA-256.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable
from dataclasses import dataclass

START = ""
"""What stands before the first entry's mark."""
SHOWN = 16
"""How much of a mark is printed: 64 bits, in groups of four signs."""


@dataclass(frozen=True, slots=True)
class Row:
    """One entry as kept: ``body`` is its text, ``mark`` its place in the chain."""

    id: int
    at: str
    who: str
    kind: str
    body: str
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Head:
    """The last entry's number and mark: it stands for the whole record up to there."""

    entries: int
    mark: str

    def __str__(self) -> str:
        if not self.entries:
            return "0 · empty"
        shown = self.mark[:SHOWN]
        groups = " ".join(shown[i : i + 4] for i in range(0, SHOWN, 4))
        return f"{self.entries} · {groups}"


@dataclass(frozen=True, slots=True)
class ChainFault:
    """The first entry that does not fit, and in what way."""

    entry: int
    why: str

    def __str__(self) -> str:
        return f"entry {self.entry} {self.why}"


@dataclass(frozen=True, slots=True)
class Chain:
    """What a look at every mark found. head: as the last entry says it."""

    head: Head
    fault: ChainFault | None


def body_text(body: object) -> str:
    """A body as it is kept: keys in order, so that the same body is the same text."""
    return json.dumps(body, ensure_ascii=False, sort_keys=True, default=str)


def mark_of(before: str, row: Row) -> str:
    """The mark of an entry, 64 signs of hex, from the mark before it."""
    said = json.dumps([row.id, row.at, row.who, row.kind, row.body], ensure_ascii=False)
    # What is not UTF-8 was not written by this tool, and must not stop the look at the chain.
    return hashlib.sha256(f"{before}\n{said}".encode(errors="surrogatepass")).hexdigest()


def head_of(rows: tuple[Row, ...]) -> Head:
    """The head of these rows."""
    return Head(rows[-1].id, rows[-1].mark) if rows else Head(0, START)


def checked(rows: Iterable[Row], *, last: int | None = None) -> ChainFault | None:
    """The first entry that does not fit. last: the highest number ever given, where it is known."""
    before, expected = START, 1
    for row in rows:
        if row.id != expected:
            return ChainFault(expected, f"is missing: {row.id} follows {expected - 1}")
        if row.mark != mark_of(before, row):
            why = "does not fit its mark: it, or one before it, is not as it was written"
            return ChainFault(row.id, why if row.mark else "carries no mark: another hand wrote it")
        before, expected = row.mark, expected + 1
    if last is not None and last >= expected:
        return ChainFault(expected, f"is missing: numbers up to {last} were given")
    return None


def printed(text: str) -> tuple[int, str] | None:
    """The number and the beginning of the mark in a head as printed; None when it holds none."""
    found = re.fullmatch(r"\s*(\d{1,9})\s*[·:,.\-\s]\s*([0-9a-fA-F][0-9a-fA-F\s-]*)", text)
    if found is None:
        return None
    mark = re.sub(r"[\s-]", "", found[2]).lower()
    return (int(found[1]), mark) if SHOWN <= len(mark) <= 64 else None
