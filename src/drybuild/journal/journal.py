"""The append-only record of one build: what was read, done, worked, tightened, filled, bagged,
hung up, and by whom (SQLite).

Entries are never changed or removed (the database itself refuses); a mistake is undone or corrected
by a further entry that names it. Each write is one transaction, synced before it returns.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from drybuild.build import Change
from drybuild.journal import bodies
from drybuild.journal.chain import (
    START,
    Chain,
    Head,
    Row,
    body_text,
    checked,
    head_of,
    mark_of,
    printed,
)
from drybuild.journal.entries import (
    NAME,
    Bag,
    Deed,
    Entry,
    EntryKind,
    Fill,
    Lift,
    Reading,
    Remark,
    Tag,
    Torque,
    WorkEntry,
    body_fault,
    dated,
    entry_from,
)
from drybuild.journal.errors import EntryRefused, TextRefused
from drybuild.journal.history import deeds_of, lifts_of, made_of, readings_of, standing_of, undone
from drybuild.journal.plain import as_text, from_text
from drybuild.journal.schema import add, last_given, rows
from drybuild.journal.store import Held, Store


class Journal:
    """The journal of a build folder; a folder without one has an empty journal.

    store: how the file is kept, where a trial wants it otherwise.
    """

    def __init__(self, folder: Path | str, store: Store | None = None) -> None:
        self.path = Path(folder) / NAME
        self._store = store or Store(self.path)

    # What is in it

    def entries(self) -> tuple[Entry, ...]:
        """All entries as they were written, oldest first."""
        return tuple(_entry(row) for row in self._rows())

    def standing(self) -> tuple[Entry, ...]:
        """Entries that have not been undone, as corrected. An undone undo stands again."""
        return standing_of(self.entries())

    def deeds(self, upto: str = "") -> tuple[Deed, ...]:
        """The deeds that stand, oldest first; those of dates up to ``upto``, when it is given."""
        return deeds_of(self.entries(), upto)

    def readings(self) -> tuple[Reading, ...]:
        """The readings that stand, oldest first (see ``now`` for which of them still hold)."""
        return readings_of(self.entries())

    def work(self) -> tuple[WorkEntry, ...]:
        """Work on tasks, and what happened to it, oldest first."""
        return made_of(self.entries(), "work", WorkEntry)

    def torques(self) -> tuple[Torque, ...]:
        """Joints that were tightened, oldest first."""
        return made_of(self.entries(), "torque", Torque)

    def fills(self) -> tuple[Fill, ...]:
        """Fluids that were filled in, oldest first."""
        return made_of(self.entries(), "fill", Fill)

    def bags(self) -> tuple[Bag, ...]:
        """What was bagged, oldest first."""
        return made_of(self.entries(), "bag", Bag)

    def tags(self) -> tuple[Tag, ...]:
        """Hold tags that were hung up or taken down, oldest first."""
        return made_of(self.entries(), "tag", Tag)

    def remarks(self) -> tuple[Remark, ...]:
        """Remarks, oldest first."""
        return made_of(self.entries(), "remark", Remark)

    def lifts(self) -> tuple[Lift, ...]:
        """Hand checks by which holds were lifted, oldest first."""
        return lifts_of(self.entries())

    # Whether it is as it was written

    def head(self) -> Head:
        """Number and mark of the last entry: the fingerprint of the whole record."""
        return head_of(self._rows())

    def verify(self) -> Chain:
        """Hold every entry against its mark, and name the first that does not fit."""
        with self._store.reading() as db:
            kept = () if db is None else tuple(rows(db, self.path.name))
            last = last_given(db) if kept else 0
        return Chain(head_of(kept), checked(kept, last=last))

    def holds(self, head: str) -> bool:
        """Whether the record still is, up to there, the one that had this head when it was printed.

        Raises EntryRefused for what is no head.
        """
        found = printed(head)
        if found is None:
            raise EntryRefused(
                f"found {head!r}, expected a head as printed, such as 41 · 3f9a 81c0 77de 02bb"
            )
        number, mark = found
        upto = self._rows()[:number]
        fits = len(upto) == number > 0 and upto[-1].mark.startswith(mark)
        return fits and checked(upto) is None

    # As text

    def export(self) -> str:
        """The record as plain text; ``take_in`` makes the same record of it."""
        kept = self._rows()
        for row in kept:
            _entry(row)
        return as_text(kept)

    def take_in(self, text: str) -> int:
        """Take the entries that are not here yet from a text; returns how many. All or none.

        What is here must be the beginning of the text, or the text the beginning of what is here.
        Raises TextRefused.
        """
        told = from_text(text)
        if told.faults:
            raise TextRefused(told.faults)
        with self._store.writing() as db:
            here = tuple(rows(db, self.path.name))
            fault = checked(here, last=last_given(db))
            if fault is not None:
                raise TextRefused((f"the journal that is here is not as it was written: {fault}",))
            for ours, theirs in zip(here, told.rows, strict=False):
                if ours != theirs:
                    raise TextRefused(
                        (
                            f"entry {ours.id} of the text is another than entry {ours.id} of the "
                            "journal that is here: they are not of one record, or were both "
                            "written on after they parted",
                        )
                    )
            new = told.rows[len(here) :]
            for row in new:
                add(db, row)
        return len(new)

    # Writing

    @contextmanager
    def together(self) -> Iterator[Journal]:
        """A journal whose entries are kept all or none: they are on disk when the block ends.

        What is raised inside takes all of them back, so that none of them was written.
        """
        with self._store.writing() as db:
            yield Journal(self.path.parent, Held(self.path, db=db))

    def note(
        self, address: str, raw: Any, *, who: str, instrument: str = "", at: str = ""
    ) -> Entry:
        """Write a reading. The caller has checked that the address takes the value.

        One with a date of its own is of the car as it stood then, though it is written down later.
        """
        _named(who, "a reading needs the name of who took it")
        upto = dated(at) if at else ""

        def body(db: Any) -> dict[str, Any]:
            after = self._last_deed(db, upto)
            return {"address": address, "raw": raw, "instrument": instrument, "after": after}

        return self._write("reading", body, who, at)

    def did(self, changes: Iterable[Change], *, who: str, job: str = "", at: str = "") -> Entry:
        """Write a deed. The caller has checked that the state takes the Changes."""
        _named(who, "a deed needs the name of who did it")
        return self._write("deed", bodies.deed(changes, job), who, at)

    def undo(self, entry: int, *, who: str, why: str = "", at: str = "") -> Entry:
        """Write a compensating entry; the entry it names no longer counts, and stays readable."""
        _named(who, "an undo needs the name of who undid it")
        self._has(entry)

        def body(db: Any) -> dict[str, Any]:
            if any(undo.body["entry"] == entry for undo in self._undos(db)):
                raise EntryRefused(f"entry {entry} is undone already; undo that undo instead")
            return {"entry": entry, "why": why}

        return self._write("undo", body, who, at)

    def undo_each(self, entries: Iterable[int], *, who: str, why: str = "") -> tuple[Entry, ...]:
        """Undo several, all of them or none: what was written together is taken back together.

        The later ones first, for they may rest on the earlier; returned in the order asked.
        """
        asked = tuple(dict.fromkeys(entries))
        with self.together() as journal:
            undone = {e: journal.undo(e, who=who, why=why) for e in sorted(asked, reverse=True)}
        return tuple(undone[entry] for entry in asked)

    def correct(
        self,
        entry: int,
        body: Mapping[str, Any] | None = None,
        *,
        who: str,
        why: str = "",
        dated: str = "",
        by: str = "",
        at: str = "",
    ) -> Entry:
        """Write what an entry should have said. It stays readable, and counts as corrected.

        body: only the fields that were wrong, by the names that the entry's kind gives them.
        dated, by: the date and the name that the entry should have. at: when it was corrected.
        """
        _named(who, "a correction needs the name of who corrects")
        self._has(entry)

        def made(db: Any) -> dict[str, Any]:
            entries = tuple(_entry(row) for row in rows(db, self.path.name))
            return bodies.correction(entries, entry, body or {}, why=why, at=dated, by=by)

        return self._write("correction", made, who, at)

    def worked(
        self,
        task: str,
        *,
        who: str,
        people: Iterable[str] = (),
        started: str = "",
        ended: str = "",
        hours: float | None = None,
        what: str = "done",
        left: float | None = None,
        words: str = "",
        at: str = "",
    ) -> Entry:
        """Write work on a task of the plan (``take:turbo``, ``job:springs``).

        what: started, done or stopped. people: who worked, else who writes. hours: of the clock,
        without waiting; else from started to ended, where both are given. left: hours still wanted.
        """
        _named(who, "work needs the name of who writes it down")
        body = bodies.worked(
            task, people=tuple(people) or (who,), started=started, ended=ended, hours=hours,
            what=what, left=left, words=words,
        )  # fmt: skip
        return self._write("work", body, who, at)

    def happened(
        self,
        what: str,
        body: Mapping[str, Any] | None = None,
        *,
        who: str,
        words: str = "",
        at: str = "",
    ) -> Entry:
        """Write something that happened to the work: what, and a table of what there is to it.

        The journal keeps the table as it is; what plans by it judges it.
        """
        _named(who, "what happened needs the name of who writes it down")
        return self._write("work", bodies.happened(what, body or {}, words=words), who, at)

    def tightened(
        self,
        joint: str,
        *,
        figure: str,
        tool: str,
        who: str,
        second: str = "",
        task: str = "",
        document: str = "",
        condition: str = "",
        fastener: str = "",
        words: str = "",
        at: str = "",
    ) -> Entry:
        """Write a joint that was tightened, with the figure that was set and with what.

        document, condition, fastener: where the maker says it, for which thread and fastener.
        """
        _named(who, "a tightening needs the name of who did it")
        body = bodies.said(
            joint=joint, figure=figure, tool=tool, second=second, task=task, document=document,
            condition=condition, fastener=fastener, words=words,
        )  # fmt: skip
        return self._write("torque", bodies.torque(body, who), who, at)

    def filled(
        self,
        where: str,
        *,
        quantity: str,
        product: str,
        who: str,
        task: str = "",
        words: str = "",
        at: str = "",
    ) -> Entry:
        """Write a fluid that was filled in. quantity: a volume or mass, or to which mark."""
        _named(who, "a filling needs the name of who did it")
        body = bodies.said(where=where, quantity=quantity, product=product, task=task, words=words)
        return self._write("fill", bodies.fill(body), who, at)

    def bagged(
        self,
        what: str,
        *,
        label: str,
        place: str,
        who: str,
        task: str = "",
        words: str = "",
        at: str = "",
    ) -> Entry:
        """Write what was put into a bag, what stands on it and where it lies."""
        _named(who, "a bag needs the name of who packed it")
        body = bodies.said(what=what, label=label, place=place, task=task, words=words)
        return self._write("bag", bodies.complete("bag", body), who, at)

    def tagged(
        self,
        words: str,
        *,
        who: str,
        where: str = "",
        hung: bool = True,
        task: str = "",
        at: str = "",
    ) -> Entry:
        """Write a hold tag that was hung in the car, or taken down. It lifts no hold."""
        _named(who, "a tag needs the name of who hung it up or took it down")
        body = {**bodies.said(words=words, where=where, task=task), "hung": hung}
        return self._write("tag", bodies.complete("tag", body), who, at)

    def remark(
        self,
        words: str,
        *,
        who: str,
        task: str = "",
        at: str = "",
        photograph: str = "",
        digest: str = "",
    ) -> Entry:
        """Write something worth remembering; of a photograph that was kept, its file and digest."""
        _named(who, "a remark needs the name of who makes it")
        said = bodies.said(words=words, task=task, photograph=photograph, digest=digest)
        body = bodies.complete("remark", said)
        fault = body_fault("remark", body)
        if fault:
            raise EntryRefused(f"remark: it {fault}")
        return self._write("remark", body, who, at)

    def _write(
        self,
        kind: EntryKind,
        body: dict[str, Any] | Callable[[Any], dict[str, Any]],
        who: str,
        at: str,
    ) -> Entry:
        """One entry, on disk when this returns. body: or what makes it, alone with the file."""
        when = dated(at) if at else datetime.now().astimezone().isoformat(timespec="seconds")
        if not callable(body):
            _written(body, who)
        with self._store.writing() as db:
            text = _written(body(db) if callable(body) else body, who)
            last = db.execute("SELECT mark FROM entry ORDER BY id DESC LIMIT 1").fetchone()
            row = Row(last_given(db) + 1, when, who, kind, text)
            row = replace(row, mark=mark_of(last[0] if last else START, row))
            add(db, row)
        return Entry(row.id, when, who, kind, json.loads(text))

    def _last_deed(self, db: Any, upto: str) -> int:
        """The last deed that stands, of those of dates up to one; 0 when there is none."""
        if upto:
            deeds = deeds_of(tuple(_entry(row) for row in rows(db, self.path.name)), upto)
            return deeds[-1].id if deeds else 0
        gone = undone(self._undos(db))
        deeds_back = db.execute("SELECT id FROM entry WHERE kind = 'deed' ORDER BY id DESC")
        return next((int(number) for (number,) in deeds_back if number not in gone), 0)

    def _has(self, entry: int) -> None:
        """Entries stay, so that one that is there will be there when it is named."""
        if entry not in {row.id for row in self._rows()}:
            raise EntryRefused(f"no entry {entry} in the journal")

    def _undos(self, db: Any) -> tuple[Entry, ...]:
        kept = db.execute(
            "SELECT id, at, who, kind, body FROM entry WHERE kind = 'undo' ORDER BY id"
        )
        return tuple(entry_from(*row) for row in kept.fetchall())

    def _rows(self) -> tuple[Row, ...]:
        with self._store.reading() as db:
            return () if db is None else tuple(rows(db, self.path.name))


def _entry(row: Row) -> Entry:
    return entry_from(row.id, row.at, row.who, row.kind, row.body)


def _named(who: str, otherwise: str) -> None:
    if not who.strip():
        raise EntryRefused(otherwise)


def _written(body: dict[str, Any], who: str) -> str:
    """The body as text. Raises EntryRefused for what is no text."""
    text = body_text(body)
    for given in (text, who):
        try:
            given.encode()
        except UnicodeEncodeError:
            shown = given.encode(errors="replace").decode()
            raise EntryRefused(f"{shown[:80]!r} holds bytes that are not UTF-8 text") from None
    return text
