"""The file that keeps the entries: opened for each look and each write, and synced before a write
returns.

The rollback journal is deleted at each commit, and ``synchronous = EXTRA`` syncs the folder after
that: with FULL the deletion may be lost with the power, and the file that comes back takes an
acknowledged entry away. See docs/decisions/journal.md.
"""

from __future__ import annotations

import os
import random
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any, Literal
from urllib.parse import quote

from drybuild.journal.errors import EntryRefused, JournalMisplaced, JournalUnreadable
from drybuild.journal.place import why_not
from drybuild.journal.schema import NEVER, SCHEMA, bring_up, version_of

PATIENCE = 20.0
"""How long a look or a write waits for its turn, s."""

Mode = Literal["ro", "rw", "rwc"]


def connect(path: Path, mode: Mode, patience: float) -> Any:
    """A connection to the file, mode as in SQLite's addresses; we begin every transaction."""
    named = quote(os.fsencode(path.absolute().as_posix()))
    address = f"file://{'' if named.startswith('/') else '/'}{named}?mode={mode}"
    return sqlite3.connect(address, uri=True, timeout=patience, isolation_level=None)


def sync_folder(folder: Path) -> None:
    """Bring a folder's list of files to the disk, where the system lets a folder be synced."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@dataclass(frozen=True)
class Store:
    """One journal file. connect, sync_folder: replaced where a trial watches every write.

    synchronous: other than EXTRA only to show what is lost without it.
    """

    path: Path
    synchronous: Literal["OFF", "NORMAL", "FULL", "EXTRA"] = "EXTRA"
    patience: float = field(default_factory=lambda: PATIENCE)
    connect: Callable[[Path, Mode, float], Any] = connect
    sync_folder: Callable[[Path], None] = sync_folder

    @contextmanager
    def reading(self) -> Iterator[Any | None]:
        """A connection inside one view of the file; None where nothing was ever written."""
        if not self.path.exists():
            if self.path.is_symlink():
                raise JournalUnreadable(f"{self.path.name} is a link to a file that is not there")
            yield None
            return
        # What the last writer could not finish is taken back by the next who may write.
        mode: Mode = "ro" if self.misplaced else "rw"
        with self._told(writing=False), self._open(mode) as db:
            db.execute("BEGIN")
            self._patiently(db, "SELECT 1 FROM sqlite_schema LIMIT 1")
            version_of(db, self.path.name)
            yield db
            db.execute("ROLLBACK")

    @contextmanager
    def writing(self) -> Iterator[Any]:
        """A connection inside a write of its own, on disk when the block ends without an error.

        Makes the file, or carries it to the newest tables, where that is wanted.
        """
        if self.misplaced:
            raise JournalMisplaced(f"{self.path.name}: {self.misplaced}")
        new = not self.path.exists()
        with self._told(writing=True), self._open("rwc") as db:
            # The only right to write: what follows is read and written as one.
            self._patiently(db, "BEGIN IMMEDIATE")
            try:
                if version_of(db, self.path.name) != SCHEMA:
                    bring_up(db, self.path.name)
                yield db
                db.execute("COMMIT")
            except BaseException:
                if db.in_transaction:
                    db.execute("ROLLBACK")
                raise
            if new:
                self.sync_folder(self._folder)

    @cached_property
    def misplaced(self) -> str:
        """Why nothing may be written here; empty where it may."""
        return why_not(self._folder)

    @property
    def _folder(self) -> Path:
        return self.path.resolve().parent

    @contextmanager
    def _open(self, mode: Mode) -> Iterator[Any]:
        db = self.connect(self.path, mode, self.patience)
        try:
            self._patiently(db, f"PRAGMA synchronous = {self.synchronous}")
            # Elsewhere than on macOS this asks for nothing more than was asked for already.
            db.execute("PRAGMA fullfsync = ON")
            yield db
        finally:
            db.close()

    def _patiently(self, db: Any, statement: str) -> None:
        """Do what takes a lock as soon as it can be had.

        SQLite's own waits grow to a tenth of a second; who writes without a pause would then
        hardly ever leave a gap in which another one looks.
        """
        until = time.monotonic() + self.patience
        db.execute("PRAGMA busy_timeout = 0")
        while True:
            try:
                db.execute(statement).fetchall()
                break
            except sqlite3.OperationalError as error:
                if not _busy(error) or time.monotonic() > until:
                    raise
                time.sleep(random.uniform(0.0005, 0.004))
        db.execute(f"PRAGMA busy_timeout = {round(self.patience * 1000)}")

    @contextmanager
    def _told(self, *, writing: bool) -> Iterator[None]:
        """Errors of the database in words."""
        name = self.path.name
        try:
            yield
        except sqlite3.DatabaseError as error:
            if NEVER in str(error):
                raise
            if _busy(error):
                raise JournalUnreadable(
                    f"{name} is held by another program: close it, or try again"
                ) from None
            code = getattr(error, "sqlite_errorcode", 0) & 0xFF
            if writing and code == sqlite3.SQLITE_FULL:
                raise EntryRefused(f"{name}: the disk is full; nothing was written") from None
            if writing and code == sqlite3.SQLITE_IOERR:
                raise EntryRefused(
                    f"{name}: the disk did not take it ({error}): see whether there is room, and "
                    "what the journal holds, before you write it again"
                ) from None
            broken_off = self.path.with_name(f"{name}-journal")
            if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN) and broken_off.exists():
                raise JournalUnreadable(
                    f"{name}: a write was broken off, and cannot be taken back where nothing may "
                    f"be written: bring {name} and {broken_off.name} to a disk of this machine, "
                    "both together"
                ) from None
            raise JournalUnreadable(f"{name}: {error}") from None


@dataclass(frozen=True)
class Held(Store):
    """A store inside a write that is open already, and that ends with it."""

    db: Any = None

    @contextmanager
    def reading(self) -> Iterator[Any | None]:
        yield self.db

    @contextmanager
    def writing(self) -> Iterator[Any]:
        yield self.db


def _busy(error: sqlite3.Error) -> bool:
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    return code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)
