"""The append-only record of readings and deeds of one build (SQLite).

Entries are never changed or removed (the database itself refuses); a mistake is undone by a
compensating entry that names it. Each write is one transaction, synced before it returns.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any, Literal

from drybuild.build import Change
from drybuild.journal.errors import EntryRefused, JournalUnreadable

NAME = "journal.db"
SCHEMA = 1
"""Version of the tables, kept in ``PRAGMA user_version``."""

_TABLES = """
CREATE TABLE entry (
    id      INTEGER PRIMARY KEY AUTOINCREMENT,
    at      TEXT NOT NULL,
    who     TEXT NOT NULL,
    kind    TEXT NOT NULL CHECK (kind IN ('reading', 'deed', 'undo')),
    body    TEXT NOT NULL
) STRICT;
CREATE TRIGGER entry_stays BEFORE UPDATE ON entry
    BEGIN SELECT RAISE(ABORT, 'entries of the journal are never changed'); END;
CREATE TRIGGER entry_is_kept BEFORE DELETE ON entry
    BEGIN SELECT RAISE(ABORT, 'entries of the journal are never removed'); END;
"""


@dataclass(frozen=True)
class Deed:
    """What was done, as Changes; ``job`` is the id of the job it finishes, if any."""

    id: int
    at: str
    who: str
    job: str
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class Reading:
    """A dated reading. ``after``: id of the last deed before it, 0 for the car as found.

    undone: deeds that stood when it was taken and have been undone since.
    """

    id: int
    at: str
    who: str
    address: str
    raw: Any
    instrument: str
    after: int
    undone: tuple[Deed, ...] = ()


@dataclass(frozen=True)
class Entry:
    """One line of the journal as kept."""

    id: int
    at: str
    who: str
    kind: Literal["reading", "deed", "undo"]
    body: dict[str, Any]


class Journal:
    """The journal of a build folder; a folder without one has an empty journal."""

    def __init__(self, folder: Path | str) -> None:
        self.path = Path(folder) / NAME

    def entries(self) -> tuple[Entry, ...]:
        """All entries, oldest first."""
        if not self.path.exists():
            if self.path.is_symlink():
                raise JournalUnreadable(f"{self.path.name} is a link to a file that is not there")
            return ()
        with self._open() as db:
            rows = db.execute("SELECT id, at, who, kind, body FROM entry ORDER BY id").fetchall()
        return tuple(_entry(*row) for row in rows)

    def standing(self) -> tuple[Entry, ...]:
        """Readings and deeds that have not been undone. An undone undo stands again."""
        entries = self.entries()
        undone: set[int] = set()
        for entry in reversed(entries):
            if entry.kind == "undo" and entry.id not in undone:
                undone.add(int(entry.body["entry"]))
        return tuple(e for e in entries if e.kind != "undo" and e.id not in undone)

    def deeds(self, upto: str = "") -> tuple[Deed, ...]:
        """The deeds that stand, oldest first; those of dates up to ``upto``, when it is given."""
        found = tuple(_deed(e) for e in self.standing() if e.kind == "deed")
        last = _date(upto) if upto else ""
        return tuple(d for d in found if not last or not _earlier(last, d.at))

    def readings(self) -> tuple[Reading, ...]:
        """The readings that stand, oldest first (see ``now`` for which of them still hold)."""
        entries, standing = self.entries(), self.standing()
        taken_back = _taken_back(entries)
        return tuple(
            Reading(
                e.id, e.at, e.who, e.body["address"], e.body["raw"],
                e.body.get("instrument", ""), int(e.body.get("after", 0)),
                tuple(d for d, undos in taken_back if d.id < e.id and _stood(undos, e.id)),
            )
            for e in standing
            if e.kind == "reading"
        )  # fmt: skip

    def note(
        self, address: str, raw: Any, *, who: str, instrument: str = "", at: str = ""
    ) -> Entry:
        """Write a reading. The caller has checked that the address takes the value.

        One with a date of its own is of the car as it stood then, though it is written down later.
        """
        if not who:
            raise EntryRefused("a reading needs the name of who took it")
        deeds = self.deeds(upto=at)
        body = {
            "address": address,
            "raw": raw,
            "instrument": instrument,
            "after": deeds[-1].id if deeds else 0,
        }
        return self._write("reading", body, who, at)

    def did(self, changes: Iterable[Change], *, who: str, job: str = "", at: str = "") -> Entry:
        """Write a deed. The caller has checked that the state takes the Changes."""
        if not who:
            raise EntryRefused("a deed needs the name of who did it")
        rows = [{"kind": c.kind, "target": c.target, "value": c.value} for c in changes]
        if not rows:
            raise EntryRefused("a deed without a Change")
        return self._write("deed", {"job": job, "changes": rows}, who, at)

    def undo(self, entry: int, *, who: str, why: str = "", at: str = "") -> Entry:
        """Write a compensating entry; the entry it names no longer counts, and stays readable."""
        known = {e.id for e in self.entries()}
        if entry not in known:
            raise EntryRefused(f"no entry {entry} in the journal")
        if any(e.kind == "undo" and e.body["entry"] == entry for e in self.entries()):
            raise EntryRefused(f"entry {entry} is undone already; undo that undo instead")
        if not who:
            raise EntryRefused("an undo needs the name of who undid it")
        return self._write("undo", {"entry": entry, "why": why}, who, at)

    def _write(self, kind: str, body: dict[str, Any], who: str, at: str) -> Entry:
        when = _date(at) if at else datetime.now().astimezone().isoformat(timespec="seconds")
        text = json.dumps(body, ensure_ascii=False, sort_keys=True, default=str)
        for given in (text, who):
            try:
                given.encode()
            except UnicodeEncodeError:
                shown = given.encode(errors="replace").decode()
                raise EntryRefused(f"{shown[:80]!r} holds bytes that are not UTF-8 text") from None
        with self._open() as db:
            cursor = db.execute(
                "INSERT INTO entry (at, who, kind, body) VALUES (?, ?, ?, ?)",
                (when, who, kind, text),
            )
            number = int(cursor.lastrowid or 0)
        return Entry(number, when, who, kind, json.loads(text))  # type: ignore[arg-type]

    @contextmanager
    def _open(self) -> Iterator[sqlite3.Connection]:
        try:
            db = sqlite3.connect(self.path, timeout=20)
        except sqlite3.Error as error:
            raise JournalUnreadable(f"{self.path.name}: {error}") from None
        try:
            db.execute("PRAGMA synchronous = FULL")
            version = int(db.execute("PRAGMA user_version").fetchone()[0])
            if version == 0:
                if db.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]:
                    raise JournalUnreadable(f"{self.path.name} is a database of something else")
                _create(db)
            elif version > SCHEMA:
                raise JournalUnreadable(
                    f"{self.path.name} is of version {version}; this tool reads up to {SCHEMA}"
                )
            with db:
                yield db
        except sqlite3.DatabaseError as error:
            if "journal are never" in str(error):
                raise
            if "locked" in str(error):
                raise JournalUnreadable(
                    f"{self.path.name} is held by another program: close it, or try again"
                ) from None
            raise JournalUnreadable(f"{self.path.name}: {error}") from None
        finally:
            db.close()


def _create(db: sqlite3.Connection) -> None:
    """Make the tables once, also when two open a new journal at the same moment."""
    db.execute("BEGIN IMMEDIATE")
    try:
        if int(db.execute("PRAGMA user_version").fetchone()[0]) == 0:
            for statement in _statements(_TABLES):
                db.execute(statement)
            db.execute(f"PRAGMA user_version = {SCHEMA}")
        db.commit()
    except BaseException:
        db.rollback()
        raise


def _statements(script: str) -> list[str]:
    """The script's statements; a trigger's body holds a semicolon of its own."""
    statements, current = [], ""
    for line in script.strip().splitlines():
        current += line + "\n"
        if sqlite3.complete_statement(current):
            statements.append(current)
            current = ""
    return statements


def _entry(number: Any, at: Any, who: Any, kind: Any, body: Any) -> Entry:
    """One row as an entry. The tool writes no other; a hand that edits the file might."""
    wanted = {"reading": ("address", "raw"), "deed": ("changes",), "undo": ("entry",)}
    try:
        kept = json.loads(body)
        whole = isinstance(kept, dict) and all(key in kept for key in wanted[kind])
        if whole and kind == "deed":
            whole = all(isinstance(c["kind"] + c["target"], str) for c in kept["changes"])
        elif whole:
            int(kept.get("after", 0)), int(kept.get("entry", 0))
        datetime.fromisoformat(at)
    except (ValueError, TypeError, KeyError, RecursionError):
        whole = False
    if not whole:
        raise JournalUnreadable(f"{NAME}: entry {number} cannot be read")
    return Entry(int(number), at, str(who), kind, kept)


def _date(at: str) -> str:
    """The date as kept: yyyy-mm-dd, with a time where one was given."""
    try:
        return (date if len(at) <= 10 else datetime).fromisoformat(at).isoformat()
    except ValueError:
        raise EntryRefused(f"date {at!r}: expected yyyy-mm-dd or yyyy-mm-ddThh:mm") from None


def _earlier(one: str, other: str) -> bool:
    """Whether a kept date lies before another; by the day where either has no time."""
    if len(one) <= 10 or len(other) <= 10:
        return one[:10] < other[:10]
    return datetime.fromisoformat(one).astimezone() < datetime.fromisoformat(other).astimezone()


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
            found.append((_deed(entry), tuple(chain)))
    return found


def _stood(undos: tuple[int, ...], at: int) -> bool:
    """Whether a deed with this chain of undos stood when entry ``at`` was written."""
    return sum(undo < at for undo in undos) % 2 == 0


def _deed(entry: Entry) -> Deed:
    return Deed(entry.id, entry.at, entry.who, entry.body.get("job", ""), _changes(entry))


def _changes(entry: Entry) -> tuple[Change, ...]:
    job = entry.body.get("job", "")
    return tuple(
        Change(c["kind"], c["target"], c.get("value"), job=job, when=entry.at, who=entry.who)
        for c in entry.body["changes"]
    )
