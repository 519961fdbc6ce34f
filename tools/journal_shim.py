"""A disk that is watched: every write, truncation, sync and deletion of the journal is recorded,
and what a power cut may leave of it is made again, for every moment.

The journal's own code runs; only the connection comes from apsw, whose file layer can be written in
Python. What POSIX promises, and no more, is what the replay holds the disk to: what was written to
a file is there after a sync of that file; a file that was made or deleted is so after a sync of its
folder. Anything else may be there or not, in any order, and the last write may be torn.

The file layer under SQLite syncs the folder of a rollback journal with the first sync of that
journal (``UNIXFILE_DIRSYNC`` in os_unix.c), and after its deletion when it is asked to
(``syncDir`` of xDelete: https://www.sqlite.org/c3ref/vfs.html).
"""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path
from typing import Any, Literal

import apsw

from drybuild.journal import Entry, Journal, JournalProblem
from drybuild.journal.store import Mode, Store

Synchronous = Literal["OFF", "NORMAL", "FULL", "EXTRA"]
SECTOR = 512
_numbers = count()


@dataclass(frozen=True)
class Op:
    """One thing that was asked of the disk. ``told``: so many entries are acknowledged by now."""

    kind: Literal["make", "write", "truncate", "sync", "delete", "folder", "told"]
    name: str = ""
    offset: int = 0
    data: bytes = b""
    told: int = 0


@dataclass
class Watch:
    """What was recorded. room: writes that the disk still takes, None for a disk that never fills.

    syncs: syncs that it still carries out before it reports a fault; None for a sound disk.
    """

    ops: list[Op] = field(default_factory=list)
    room: int | None = None
    syncs: int | None = None

    def write(self) -> None:
        if self.room is not None:
            if self.room <= 0:
                raise _refusal(apsw.FullError("database or disk is full"), apsw.SQLITE_FULL)
            self.room -= 1

    def sync(self) -> None:
        if self.syncs is not None:
            if self.syncs <= 0:
                raise _refusal(apsw.IOError("disk I/O error"), apsw.SQLITE_IOERR)
            self.syncs -= 1


def _refusal(error: apsw.Error, code: int) -> apsw.Error:
    """An error as SQLite itself would give it, with its number."""
    error.result = error.extendedresult = code  # type: ignore[attr-defined]
    return error


class _Layer(apsw.VFS):
    def __init__(self, watch: Watch) -> None:
        self.name = f"watched-{next(_numbers)}"
        self.watch = watch
        super().__init__(self.name, "")

    def xOpen(self, name: Any, flags: list[int]) -> _File:
        path = Path(name.filename() if isinstance(name, apsw.URIFilename) else name)
        if not path.exists():
            if self.watch.room is not None and self.watch.room <= 0:
                raise _refusal(apsw.CantOpenError("no room"), apsw.SQLITE_CANTOPEN)
            self.watch.ops.append(Op("make", path.name))
        return _File(name, flags, path.name, self.watch)

    def xDelete(self, filename: str, syncdir: bool) -> None:
        super().xDelete(filename, syncdir)
        self.watch.ops.append(Op("delete", Path(filename).name))
        if syncdir:
            self.watch.ops.append(Op("folder"))


class _File(apsw.VFSFile):
    def __init__(self, name: Any, flags: list[int], short: str, watch: Watch) -> None:
        super().__init__("", name, flags)
        self.short, self.watch = short, watch
        self.new_journal = short.endswith("-journal")

    def xWrite(self, data: bytes, offset: int) -> None:
        self.watch.write()
        super().xWrite(data, offset)
        self.watch.ops.append(Op("write", self.short, offset, bytes(data)))

    def xTruncate(self, newsize: int) -> None:
        super().xTruncate(newsize)
        self.watch.ops.append(Op("truncate", self.short, newsize))

    def xSync(self, flags: int) -> None:
        self.watch.sync()
        super().xSync(flags)
        self.watch.ops.append(Op("sync", self.short))
        if self.new_journal:
            self.watch.ops.append(Op("folder"))
            self.new_journal = False


@contextmanager
def _as_python_says_it() -> Iterator[None]:
    """Errors as the library that comes with Python raises them."""
    try:
        yield
    except apsw.Error as error:
        told = sqlite3.OperationalError(str(error))
        told.sqlite_errorcode = getattr(error, "extendedresult", getattr(error, "result", 0))
        raise told from None


class _Watched:
    """As much of a connection as the journal asks of one, over a watched disk."""

    def __init__(self, path: Path, mode: Mode, patience: float, layer: _Layer) -> None:
        flags = apsw.SQLITE_OPEN_READWRITE | (apsw.SQLITE_OPEN_CREATE if mode == "rwc" else 0)
        if mode == "ro":
            flags = apsw.SQLITE_OPEN_READONLY
        with _as_python_says_it():
            self.db = apsw.Connection(str(path), flags=flags, vfs=layer.name)
        self.db.set_busy_timeout(int(patience * 1000))

    @property
    def in_transaction(self) -> bool:
        return self.db.in_transaction

    def execute(self, statement: str, values: tuple[Any, ...] = ()) -> Any:
        with _as_python_says_it():
            return self.db.execute(statement, values)

    def close(self) -> None:
        self.db.close()


def watched(folder: Path, watch: Watch, synchronous: Synchronous = "EXTRA") -> Journal:
    """A journal of this folder over a watched disk."""
    layer = _Layer(watch)

    def connect(path: Path, mode: Mode, patience: float) -> _Watched:
        return _Watched(path, mode, patience, layer)

    def sync_folder(folder: Path) -> None:
        watch.ops.append(Op("folder"))

    path = Journal(folder).path
    return Journal(folder, Store(path, synchronous, 5.0, connect, sync_folder))


@dataclass
class _Contents:
    """A file: what is surely on the disk, and what may be."""

    sure: bytes = b""
    maybe: list[Op] = field(default_factory=list)


class Disk:
    """What may be on the disk after some of the recorded things were done."""

    def __init__(self, first: dict[str, bytes]) -> None:
        self.now = {name: _Contents(data) for name, data in first.items()}
        self.sure = dict(self.now)
        self.names: list[tuple[str, _Contents | None]] = []

    def do(self, op: Op) -> None:
        """Do one recorded thing."""
        if op.kind == "make":
            self.now[op.name] = _Contents()
            self.names.append((op.name, self.now[op.name]))
        elif op.kind == "delete":
            self.now.pop(op.name, None)
            self.names.append((op.name, None))
        elif op.kind in ("write", "truncate"):
            self.now[op.name].maybe.append(op)
        elif op.kind == "sync":
            file = self.now[op.name]
            file.sure, file.maybe = _after(file.sure, file.maybe), []
        elif op.kind == "folder":
            for name, contents in self.names:
                _name(self.sure, name, contents)
            self.names = []

    def image(self, stays: Callable[[], bool], torn: int = 0) -> dict[str, bytes]:
        """The files after a power cut. stays: asked of each thing that was not synced.

        torn: of the very last write only so many bytes.
        """
        names = dict(self.sure)
        for name, contents in self.names:
            if stays():
                _name(names, name, contents)
        found = {}
        for name, contents in names.items():
            left = [op for op in contents.maybe if stays()]
            if torn and contents.maybe and contents.maybe[-1].kind == "write":
                last = contents.maybe[-1]
                left = [op for op in left if op is not last]
                left.append(Op("write", last.name, last.offset, last.data[:torn]))
            found[name] = _after(contents.sure, left)
        return found


def _name(names: dict[str, _Contents], name: str, contents: _Contents | None) -> None:
    if contents is None:
        names.pop(name, None)
    else:
        names[name] = contents


def _after(data: bytes, ops: list[Op]) -> bytes:
    now = bytearray(data)
    for op in ops:
        if op.kind == "truncate":
            del now[op.offset :]
            continue
        now.extend(bytes(max(op.offset - len(now), 0)))
        now[op.offset : op.offset + len(op.data)] = op.data
    return bytes(now)


@dataclass(frozen=True)
class Loss:
    """A moment of the recording after which something acknowledged is gone, or nothing opens."""

    after: int
    way: str
    why: str


def images(
    first: dict[str, bytes], ops: list[Op], seed: int = 0, draws: int = 2
) -> Iterator[tuple[int, str, int, dict[str, bytes]]]:
    """For every moment of a recording, what a power cut then may leave.

    Yields the moment, the way it was left, how many entries were acknowledged, and the files.
    """
    chance = random.Random(seed)
    disk, told = Disk(first), 0
    for moment, op in enumerate(ops, 1):
        disk.do(op)
        told = op.told if op.kind == "told" else told
        yield moment, "all that was asked", told, disk.image(lambda: True)
        yield moment, "only what was synced", told, disk.image(lambda: False)
        for _ in range(draws):
            yield moment, "some of it", told, disk.image(lambda: chance.random() < 0.5)
        if op.kind == "write":
            for torn in sorted({SECTOR, len(op.data) // 2} & set(range(1, len(op.data)))):
                yield moment, f"torn after {torn} B", told, disk.image(lambda: True, torn)
                yield moment, f"torn after {torn} B alone", told, disk.image(lambda: False, torn)


def losses(
    room: Path, first: dict[str, bytes], ops: list[Op], kept: tuple[Entry, ...], most: int = 5
) -> tuple[list[Loss], int]:
    """Replay a recording. Returns the first losses, and how many different images were tried.

    room: a folder to put the files in. kept: the entries that were written, in order.
    """
    found: list[Loss] = []
    tried: set[tuple[int, int]] = set()
    journal = Journal(room)
    for moment, way, told, files in images(first, ops):
        key = (told, hash(frozenset(files.items())))
        if key in tried:
            continue
        tried.add(key)
        for old in room.iterdir():
            old.unlink()
        for name, data in files.items():
            (room / name).write_bytes(data)
        why = _lost(journal, kept, told)
        if why:
            found.append(Loss(moment, way, why))
            if len(found) >= most:
                break
    return found, len(tried)


def _lost(journal: Journal, kept: tuple[Entry, ...], told: int) -> str:
    try:
        entries = journal.entries()
        chain = journal.verify()
    except JournalProblem as error:
        return str(error)
    if chain.fault is not None:
        return str(chain.fault)
    if len(entries) < told:
        return f"{told} entries were acknowledged, {len(entries)} are there"
    if entries != kept[: len(entries)]:
        return "an entry is not as it was written"
    return ""
