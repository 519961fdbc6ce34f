"""The tables of the journal, numbered, and the way from each number to the next.

The number is kept in ``PRAGMA user_version``. A new kind of entry is a new number, so that a tool
that does not know it says so instead of passing it over.

1   readings, deeds, undos
2   a mark on every entry; corrections, work, torques, fills, bags, tags, remarks
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from types import MappingProxyType
from typing import Any

from drybuild.journal.chain import START, Row, body_text, mark_of
from drybuild.journal.entries import KINDS
from drybuild.journal.errors import JournalUnreadable

SCHEMA = 2
"""The number of the tables that this tool writes."""
NEVER = "entries of the journal are never"

_KINDS = ", ".join(f"'{kind}'" for kind in KINDS)
# An entry that another program adds carries no mark, which the look at the chain names.
_TABLES = (
    f"""CREATE TABLE entry (
    id      INTEGER PRIMARY KEY AUTOINCREMENT,
    at      TEXT NOT NULL,
    who     TEXT NOT NULL,
    kind    TEXT NOT NULL CHECK (kind IN ({_KINDS})),
    body    TEXT NOT NULL,
    mark    TEXT NOT NULL DEFAULT ''
) STRICT""",
    "CREATE INDEX entry_deed ON entry (id) WHERE kind = 'deed'",
    "CREATE INDEX entry_undo ON entry (id) WHERE kind = 'undo'",
    f"""CREATE TRIGGER entry_stays BEFORE UPDATE ON entry
    BEGIN SELECT RAISE(ABORT, '{NEVER} changed'); END""",
    f"""CREATE TRIGGER entry_is_kept BEFORE DELETE ON entry
    BEGIN SELECT RAISE(ABORT, '{NEVER} removed'); END""",
    f"""CREATE TRIGGER entry_is_new BEFORE INSERT ON entry
    WHEN EXISTS (SELECT 1 FROM entry WHERE id = NEW.id)
    BEGIN SELECT RAISE(ABORT, '{NEVER} replaced'); END""",
)


def version_of(db: Any, name: str) -> int:
    """The number of the tables; 0 for a file in which nothing is kept yet.

    Raises JournalUnreadable for what is no journal, or one of a later version.
    """
    version = int(db.execute("PRAGMA user_version").fetchone()[0])
    if version > SCHEMA:
        raise JournalUnreadable(f"{name} is of version {version}; this tool reads up to {SCHEMA}")
    if version == 0 and db.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]:
        raise JournalUnreadable(f"{name} is a database of something else")
    return version


def bring_up(db: Any, name: str) -> None:
    """Make the tables, or carry what is kept to the newest, inside the transaction that is open."""
    version = version_of(db, name)
    if version == 0:
        _make(db)
    for old in range(version or SCHEMA, SCHEMA):
        MIGRATIONS[old](db, name)
    if version != SCHEMA:
        db.execute(f"PRAGMA user_version = {SCHEMA}")


def rows(db: Any, name: str) -> Iterator[Row]:
    """Every entry as kept, oldest first, of tables of any number.

    Entries of tables that kept no marks come with those that they will be given.
    """
    version = version_of(db, name)
    if version == 0:
        return
    if version == 1:
        yield from _marked(db, name)
        return
    for number, *texts in _kept(db, "at", "who", "kind", "body", "mark"):
        yield Row(number, *texts)


def _kept(db: Any, *columns: str) -> Iterator[tuple[Any, ...]]:
    """Number and texts of every entry; what is not UTF-8 can be told from all that is."""
    texts = ", ".join(f"CAST({column} AS BLOB)" for column in columns)
    for number, *found in db.execute(f"SELECT id, {texts} FROM entry ORDER BY id").fetchall():
        yield number, *(text.decode(errors="surrogateescape") for text in found)


def _make(db: Any) -> None:
    for statement in _TABLES:
        db.execute(statement)


def _marked(db: Any, name: str) -> Iterator[Row]:
    before = START
    for number, at, who, kind, body in _kept(db, "at", "who", "kind", "body"):
        try:
            text = body_text(json.loads(body))
            f"{at}{who}{text}".encode()
        except (ValueError, RecursionError):
            raise JournalUnreadable(f"{name}: entry {number} cannot be read") from None
        row = Row(number, at, who, kind, text)
        before = mark_of(before, row)
        yield Row(number, at, who, kind, text, before)


def _from_1(db: Any, name: str) -> None:
    """Marks for every entry, and room for the new kinds."""
    kept = tuple(_marked(db, name))
    given = db.execute("SELECT seq FROM sqlite_sequence WHERE name = 'entry'").fetchone()
    for statement in (
        "DROP TRIGGER entry_stays",
        "DROP TRIGGER entry_is_kept",
        "ALTER TABLE entry RENAME TO entry_of_1",
    ):
        db.execute(statement)
    _make(db)
    for row in kept:
        add(db, row)
    db.execute("DROP TABLE entry_of_1")
    if given is not None:
        db.execute("UPDATE sqlite_sequence SET seq = ? WHERE name = 'entry'", (given[0],))


def add(db: Any, row: Row) -> None:
    """One entry, with its number and mark."""
    db.execute(
        "INSERT INTO entry (id, at, who, kind, body, mark) VALUES (?, ?, ?, ?, ?, ?)",
        (row.id, row.at, row.who, row.kind, row.body, row.mark),
    )


def last_given(db: Any) -> int:
    """The highest number that was ever given to an entry, 0 before the first."""
    found = db.execute("SELECT seq FROM sqlite_sequence WHERE name = 'entry'").fetchone()
    return int(found[0]) if found is not None else 0


MIGRATIONS = MappingProxyType[int, Callable[[Any, str], None]]({1: _from_1})
"""From tables of this number to the next."""
