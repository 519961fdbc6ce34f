"""The record as plain text: a block for each entry, a line for each thing that it says.

A person can read it, a version control system compares it line by line, and what is taken in from
it is exactly what was written out: each value is JSON (RFC 8259), each entry has its mark.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from drybuild.journal.chain import START, Row, body_text, mark_of
from drybuild.journal.entries import body_fault

FORM = 1
"""Number of the text's form."""
_HEAD = f"""\
# The record of a car, written out by drybuild: a block for each entry, oldest first.
# The mark of an entry is drawn from what it says and from the mark before it: where a line is
# changed by hand, no mark from there on fits, and the text is not taken in again.
form {FORM}
"""
_TITLE = re.compile(r"entry (\d{1,9})  ([a-z]+)  (\"[^\"]*\")  (\".*\")")
_LINE = re.compile(r"  ([A-Za-z_][A-Za-z0-9_]*|\"(?:[^\"\\]|\\.)*\") =(?: (.*))?")
_BARE = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")
_MOST_SAID = 20


def as_text(rows: Iterable[Row]) -> str:
    """The entries as text, the same for the same entries, with newlines of one character."""
    blocks = [_block(row) for row in rows]
    return "\n".join((_HEAD, *blocks, f"end {len(blocks)}\n"))


def is_text(beginning: str) -> bool:
    """Whether a file that begins so is a record that was written out."""
    return beginning.startswith(_HEAD.split("\n", 1)[0])


def _block(row: Row) -> str:
    lines = [f"entry {row.id}  {row.kind}  {_json(row.at)}  {_json(row.who)}"]
    for key, value in json.loads(row.body).items():
        shown = key if _BARE.fullmatch(key) else _json(key)
        if isinstance(value, list) and value and all(isinstance(one, dict) for one in value):
            lines += [f"  {shown} =", *(f"    {_json(one)}" for one in value)]
        else:
            lines.append(f"  {shown} = {_json(value)}")
    lines.append(f"  mark {row.mark}")
    return "\n".join(lines) + "\n"


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, sort_keys=True)


@dataclass(frozen=True, slots=True)
class Told:
    """What a text says: its entries, and everything that is wrong with it, with line numbers."""

    rows: tuple[Row, ...]
    faults: tuple[str, ...]


def from_text(text: str) -> Told:
    """The entries of a text, each held against its mark and against the one before it."""
    reader = _Reader(text.removeprefix("\ufeff").split("\n"))
    reader.read()
    faults = reader.faults
    if len(faults) > _MOST_SAID:
        faults = [*faults[:_MOST_SAID], f"and {len(faults) - _MOST_SAID} more"]
    return Told(tuple(reader.rows), tuple(faults))


class _Reader:
    def __init__(self, lines: list[str]) -> None:
        # A version control system may have given each line the ending of its own system.
        self.lines = [line.removesuffix("\r") for line in lines]
        self.rows: list[Row] = []
        self.faults: list[str] = []
        self.fits = True

    def fault(self, number: int, words: str) -> None:
        self.faults.append(f"line {number}: {words}")

    def read(self) -> None:
        block: list[tuple[int, str]] = []
        form = end = False
        for number, line in enumerate(self.lines, 1):
            if block and not line.startswith("  "):
                self.entry(block)
                block = []
            if not line.strip() or line.startswith("#"):
                continue
            if end:
                self.fault(number, f"found {line[:40]!r} after the end")
            elif line.startswith("form ") and not form:
                form = self.form(number, line)
            elif form and (line.startswith("entry ") or block):
                block.append((number, line))
            elif form and line.startswith("end "):
                end = self.end(number, line)
            elif form:
                self.fault(number, f"found {line[:40]!r}, expected an entry")
        if not form:
            self.fault(1, f"no record of ours: the line 'form {FORM}' is not there")
        elif not end:
            self.fault(len(self.lines), "the text is cut short: its last line is not there")

    def end(self, number: int, line: str) -> bool:
        if line != f"end {len(self.rows)}" and not self.faults:
            self.fault(number, f"found {line!r}, with {len(self.rows)} entries above it")
        return True

    def form(self, number: int, line: str) -> bool:
        if line != f"form {FORM}":
            self.fault(number, f"found {line!r}; this tool reads 'form {FORM}'")
        return True

    def entry(self, block: list[tuple[int, str]]) -> None:
        number, title = block[0]
        found = _TITLE.fullmatch(title)
        marked = re.fullmatch(r"  mark ([0-9a-f]{64})", block[-1][1])
        if found is None:
            wanted = 'entry NUMBER  KIND  "DATE"  "NAME"'
            self.fault(number, f"found {title[:60]!r}, expected: {wanted}")
        if marked is None:
            self.fault(block[-1][0], "the entry does not end in its mark, 64 signs of hex")
        if found is None or marked is None:
            return
        try:
            body = self.body(block[1:-1])
            at, who = json.loads(found[3]), json.loads(found[4])
            row = Row(int(found[1]), at, who, found[2], body_text(body), marked[1])
            datetime.fromisoformat(at)
            row.body.encode()
        except (ValueError, TypeError, RecursionError) as error:
            self.fault(number, f"entry {found[1]} cannot be read: {error}")
            return
        wrong = body_fault(row.kind, body)
        if wrong:
            self.fault(number, f"entry {row.id}: it {wrong}")
        self.take(number, row)

    def body(self, lines: list[tuple[int, str]]) -> dict[str, object]:
        body: dict[str, object] = {}
        listed: list[object] | None = None
        for number, line in lines:
            if listed is not None and line.startswith("    "):
                listed.append(_value(number, line.strip()))
                continue
            found = _LINE.fullmatch(line)
            if found is None:
                raise ValueError(f"line {number}: found {line[:60]!r}, expected: KEY = VALUE")
            key = json.loads(found[1]) if found[1].startswith('"') else found[1]
            if key in body:
                raise ValueError(f"line {number}: {key} stands there twice")
            listed = [] if found[2] is None else None
            body[key] = _value(number, found[2]) if listed is None else listed
        return body

    def take(self, number: int, row: Row) -> None:
        expected = len(self.rows) + 1
        before = self.rows[-1].mark if self.rows else START
        if row.id != expected:
            self.fault(number, f"found entry {row.id}, expected entry {expected}")
        elif self.fits and row.mark != mark_of(before, row):
            # Those after it cannot fit either, and saying so of each helps nobody.
            self.fits = False
            self.fault(number, f"entry {row.id} does not fit its mark")
        self.rows.append(row)


def _value(number: int, text: str) -> object:
    try:
        return json.loads(text)
    except ValueError:
        raise ValueError(f"line {number}: found {text[:60]!r}, expected a value in JSON") from None
