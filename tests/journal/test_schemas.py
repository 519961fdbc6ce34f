"""Journals of every number of the tables open, and are carried to the newest by the next write.

tests/journal/kept holds one file of each, written by the tool of its day, with what its entries
were then. A new number adds a file here; none is ever made again.
"""

from __future__ import annotations

import dataclasses
import json
import shutil
import sqlite3
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from drybuild.journal import Journal, JournalUnreadable
from drybuild.journal.schema import MIGRATIONS, SCHEMA

KEPT = Path(__file__).parent / "kept"
NUMBERS = range(1, SCHEMA + 1)
HEADS = {1: "10 · 3866 1591 6ef9 bee7", 2: "19 · e4e7 d02f da36 595c"}


@pytest.fixture(params=NUMBERS)
def number(request: pytest.FixtureRequest) -> int:
    return int(request.param)


@pytest.fixture
def folder(tmp_path: Path, number: int) -> Path:
    shutil.copy(KEPT / f"schema_{number}.db", tmp_path / "journal.db")
    return tmp_path


def _rows(journal: Journal) -> list[dict[str, object]]:
    rows = [dataclasses.asdict(e) for e in journal.entries()]
    assert all(row.pop("corrected") == () for row in rows)
    return rows


def _then(number: int) -> list[dict[str, object]]:
    found: list[dict[str, object]] = json.loads((KEPT / f"schema_{number}.json").read_text("utf-8"))
    return found


def _version(folder: Path) -> int:
    db = sqlite3.connect(folder / "journal.db")
    found = int(db.execute("PRAGMA user_version").fetchone()[0])
    db.close()
    return found


def test_there_is_a_way_from_every_number() -> None:
    assert set(MIGRATIONS) == set(NUMBERS) - {SCHEMA}


def test_the_file_is_of_its_number(folder: Path, number: int) -> None:
    assert _version(folder) == number


def test_it_is_read_as_it_was_written_and_left_as_it_is(folder: Path, number: int) -> None:
    before = (folder / "journal.db").read_bytes()
    journal = Journal(folder)
    assert _rows(journal) == _then(number)
    assert str(journal.head()) == HEADS[number]
    assert journal.verify().fault is None
    assert journal.export()
    assert (folder / "journal.db").read_bytes() == before


def test_the_next_write_carries_it_to_the_newest(folder: Path, number: int) -> None:
    journal = Journal(folder)
    readings, deeds, head = journal.readings(), journal.deeds(), str(journal.head())
    entry = journal.remark("written by the tool of today", who="Ilse")
    assert _version(folder) == SCHEMA
    assert entry.id == len(_then(number)) + 1
    assert _rows(journal)[:-1] == _then(number)
    assert journal.readings() == readings
    assert journal.deeds() == deeds
    assert journal.verify().fault is None
    assert journal.holds(head)
    assert [p.name for p in folder.iterdir()] == ["journal.db"]


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entry SET who = 'x'",
        "DELETE FROM entry",
        "INSERT OR REPLACE INTO entry (id, at, who, kind, body) VALUES (1, 'a', 'b', 'remark', '')",
    ],
)
def test_its_entries_are_never_changed_afterwards(folder: Path, statement: str) -> None:
    Journal(folder).remark("written by the tool of today", who="Ilse")
    db = sqlite3.connect(folder / "journal.db")
    with pytest.raises(sqlite3.IntegrityError, match="never"):
        db.execute(statement)
    db.close()


def test_it_has_the_tables_of_one_made_today(folder: Path) -> None:
    fresh = folder / "fresh"
    fresh.mkdir()
    for journal in (Journal(folder), Journal(fresh)):
        journal.remark("written by the tool of today", who="Ilse")
    assert _tables(folder) == _tables(fresh)


def _tables(folder: Path) -> set[tuple[str, str]]:
    db = sqlite3.connect(folder / "journal.db")
    found = db.execute("SELECT name, sql FROM sqlite_schema WHERE sql IS NOT NULL").fetchall()
    db.close()
    return {(name, sql) for name, sql in found}


def test_two_carry_it_over_at_the_same_moment(folder: Path, number: int) -> None:
    def write(name: int) -> int:
        return Journal(folder).remark(f"{name}", who="Ilse").id

    with ThreadPoolExecutor(8) as pool:
        given = sorted(pool.map(write, range(8)))
    first = len(_then(number)) + 1
    assert given == list(range(first, first + 8))
    assert _rows(Journal(folder))[: first - 1] == _then(number)
    assert Journal(folder).verify().fault is None


def test_an_old_one_that_cannot_be_read_is_left_as_it_is(tmp_path: Path) -> None:
    shutil.copy(KEPT / "schema_1.db", tmp_path / "journal.db")
    db = sqlite3.connect(tmp_path / "journal.db")
    with db:
        db.execute("INSERT INTO entry (at, who, kind, body) VALUES ('x', 'y', 'deed', 'no json')")
    db.close()
    before = (tmp_path / "journal.db").read_bytes()
    for attempt in (Journal(tmp_path).entries, Journal(tmp_path).head):
        with pytest.raises(JournalUnreadable, match="entry 11 cannot be read"):
            attempt()
    with pytest.raises(JournalUnreadable, match="entry 11 cannot be read"):
        Journal(tmp_path).remark("not kept", who="Ilse")
    assert (tmp_path / "journal.db").read_bytes() == before


def test_bodies_that_another_hand_spaced_out_are_carried_over_by_what_they_say(
    tmp_path: Path,
) -> None:
    shutil.copy(KEPT / "schema_1.db", tmp_path / "journal.db")
    db = sqlite3.connect(tmp_path / "journal.db")
    with db:
        db.execute(
            "INSERT INTO entry (at, who, kind, body) VALUES ('2026-12-10', 'Ilse', 'reading', ?)",
            ('{ "raw" :"1 mm",\n "address": "car.wheelbase" }',),
        )
    db.close()
    journal = Journal(tmp_path)
    head = str(journal.head())
    journal.remark("written by the tool of today", who="Ilse")
    assert journal.holds(head)
    assert journal.entries()[10].body == {"raw": "1 mm", "address": "car.wheelbase"}
    assert journal.verify().fault is None


def test_an_entry_that_a_later_tool_would_know_is_not_passed_over(tmp_path: Path) -> None:
    Journal(tmp_path).remark("today", who="Ilse")
    db = sqlite3.connect(tmp_path / "journal.db")
    with db, pytest.raises(sqlite3.IntegrityError, match="CHECK"):
        db.execute(
            "INSERT INTO entry (at, who, kind, body) VALUES ('2027-01-01', 'y', 'weighed', '{}')"
        )
    db.close()
