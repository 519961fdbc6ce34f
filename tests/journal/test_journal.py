"""The journal: append-only, undone by compensating entries, and the present state from it."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from drybuild.build import Change, read_build
from drybuild.journal import (
    EntryRefused,
    Journal,
    JournalUnreadable,
    finished,
    present,
)

BUILD = """\
format = 1
[build]
name = "toy"
[[session]]
id = "one"
[[session]]
id = "two"
[[job]]
id = "wheels"
session = "one"
fit = { "wheel.front" = "wide" }
[[job]]
id = "springs"
session = "two"
fit = { "spring.rear" = "short" }
"""
CAR = """\
format = 1
name = "toy car"
[fitted]
wheel = "std"
spring = "soft"
[car]
wheelbase = { is = "2330 mm", by = "tape" }
"""
PARTS = """\
format = 1
[part.std]
kind = "wheel"
offset = "45 mm"
[part.wide]
kind = "wheel"
offset = "32 mm"
[part.soft]
kind = "spring"
[part.short]
kind = "spring"
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "parts").mkdir()
    (tmp_path / "build.toml").write_text(BUILD, encoding="utf-8")
    (tmp_path / "car.toml").write_text(CAR, encoding="utf-8")
    (tmp_path / "parts" / "all.toml").write_text(PARTS, encoding="utf-8")
    return tmp_path


def now(folder):
    return present(read_build(folder), Journal(folder))


def test_a_folder_without_a_journal_is_as_found(folder):
    assert now(folder).state.changes == ()
    assert not (folder / "journal.db").exists()  # reading makes no file


def test_deeds_make_the_present_state(folder):
    Journal(folder).did([Change("fit", "wheel.front", "wide")], who="Ilse", job="wheels")
    there = now(folder)
    assert there.state.fitted["wheel.front.left"] == "wide"
    assert there.done == {"wheels"}
    done = finished(read_build(folder), there)
    assert done.fitted["spring.rear.left"] == "short"
    assert len([c for c in done.changes if c.target == "wheel.front"]) == 1


def test_undo_is_a_compensating_entry(folder):
    journal = Journal(folder)
    deed = journal.did([Change("fit", "wheel.front", "wide")], who="Ilse")
    undo = journal.undo(deed.id, who="Ilse", why="wrong axle")
    assert now(folder).state.fitted["wheel.front.left"] == "std"
    assert len(journal.entries()) == 2  # nothing is gone
    journal.undo(undo.id, who="Ilse")  # and an undo can be undone
    assert now(folder).state.fitted["wheel.front.left"] == "wide"
    with pytest.raises(EntryRefused, match="undone already"):
        journal.undo(deed.id, who="Ilse")


@pytest.mark.parametrize("statement", ["UPDATE entry SET who = 'x'", "DELETE FROM entry"])
def test_entries_are_never_changed_or_removed(folder, statement):
    journal = Journal(folder)
    journal.note("car.wheelbase", "2331 mm", who="Ilse")
    with sqlite3.connect(journal.path) as db, pytest.raises(sqlite3.IntegrityError, match="never"):
        db.execute(statement)
    db.close()


def test_a_reading_stands_in_for_what_the_file_states(folder):
    Journal(folder).note("wheel.front.left.offset", "46 ± 0.5 mm", who="Ilse", instrument="rule")
    state = now(folder).state
    assert state.readings["wheel.front.left.offset"].median == pytest.approx(0.046)


def test_a_reading_goes_stale_when_its_part_is_changed(folder):
    journal = Journal(folder)
    journal.note("wheel.front.left.offset", "46 ± 0.5 mm", who="Ilse")
    journal.did([Change("fit", "wheel.front", "wide")], who="Ilse")
    there = now(folder)
    assert "wheel.front.left.offset" not in there.state.readings
    assert there.stale[0].change.target == "wheel.front"
    journal.note("wheel.front.left.offset", "31.6 ± 0.5 mm", who="Ilse")
    assert "wheel.front.left.offset" in now(folder).state.readings


def test_a_reading_of_something_else_stays(folder):
    journal = Journal(folder)
    journal.note("wheel.rear.left.offset", "46 ± 0.5 mm", who="Ilse")
    journal.did([Change("fit", "wheel.front", "wide")], who="Ilse")
    assert "wheel.rear.left.offset" in now(folder).state.readings


def test_two_measurements_that_disagree_are_a_clash_not_a_choice(folder):
    Journal(folder).note("car.wheelbase", {"is": "2400 mm", "by": "tape"}, who="Ilse")
    (clash,) = now(folder).clashes
    assert (clash.file, clash.reading.address) == ("car.toml", "car.wheelbase")
    assert clash.value.centre == 2.4
    assert now(folder).state.readings["car.wheelbase"] == clash.value  # until one is corrected


def test_entries_need_a_name_and_a_date(folder):
    journal = Journal(folder)
    with pytest.raises(EntryRefused, match="name"):
        journal.note("car.wheelbase", "2331 mm", who="")
    with pytest.raises(EntryRefused, match="yyyy-mm-dd"):
        journal.note("car.wheelbase", "2331 mm", who="Ilse", at="last week")
    with pytest.raises(EntryRefused, match="without a Change"):
        journal.did([], who="Ilse")


def test_a_journal_of_a_later_version_is_refused(folder):
    journal = Journal(folder)
    journal.note("car.wheelbase", "2331 mm", who="Ilse")
    with sqlite3.connect(journal.path) as db:
        db.execute("PRAGMA user_version = 99")
    db.close()
    with pytest.raises(JournalUnreadable, match="version 99"):
        journal.entries()


def test_a_file_that_is_no_journal_is_refused(folder):
    (folder / "journal.db").write_bytes(b"not a database, just some text" * 50)
    with pytest.raises(JournalUnreadable):
        Journal(folder).entries()


def test_a_reading_of_todays_part_does_not_speak_for_the_planned_one(folder):
    Journal(folder).note("wheel.front.left.offset", "46 ± 0.5 mm", who="Ilse")
    build = read_build(folder)
    there = present(build, Journal(folder))
    assert "wheel.front.left.offset" in there.state.readings
    assert "wheel.front.left.offset" not in finished(build, there).readings


def test_a_reading_of_the_new_part_does_not_speak_for_the_car_as_found(folder):
    journal = Journal(folder)
    journal.note("wheel.front.left.offset", "46 ± 0.5 mm", who="Ilse")
    journal.did([Change("fit", "wheel.front", "wide")], who="Ilse", job="wheels")
    journal.note("wheel.front.left.offset", "31.6 ± 0.5 mm", who="Ilse")
    state = now(folder).state
    assert state.readings["wheel.front.left.offset"].median == pytest.approx(0.0316)
    assert state.base.readings["wheel.front.left.offset"].median == pytest.approx(0.046)
