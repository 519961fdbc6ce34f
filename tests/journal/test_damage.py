"""A journal that is damaged, foreign or edited by hand is refused in words, and left as it was."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from drybuild.build import Change
from drybuild.cli import main
from drybuild.journal import Journal, JournalUnreadable

BUILD = 'format = 1\n[build]\nname = "x"\n'
CAR = 'format = 1\nname = "invented"\n[car]\nwheelbase = "2330 mm"\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "build.toml").write_text(BUILD, encoding="utf-8")
    (tmp_path / "car.toml").write_text(CAR, encoding="utf-8")
    journal = Journal(tmp_path)
    journal.note("car.wheelbase", "2331 mm", who="Ann", instrument="tape")
    journal.did([Change("set", "car.wheelbase", "2332 mm")], who="Ann")
    return tmp_path


def _refused(folder: Path, capsys: pytest.CaptureFixture[str]) -> str:
    with pytest.raises(JournalUnreadable):
        Journal(folder).entries()
    assert main(["check", str(folder), "--draws", "64"]) == 2
    said = capsys.readouterr()
    assert "journal.db" in said.err
    return said.err


def test_the_sound_journal_is_read(folder: Path) -> None:
    assert len(Journal(folder).entries()) == 2


@pytest.mark.parametrize("data", [b"garbage", b"SQLite format 3\x00" + b"\xff" * 4000])
def test_garbage(folder: Path, data: bytes, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "journal.db").write_bytes(data)
    _refused(folder, capsys)
    assert (folder / "journal.db").read_bytes() == data


def test_cut_short(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = folder / "journal.db"
    path.write_bytes(path.read_bytes()[:5000])
    _refused(folder, capsys)


def test_a_folder_of_that_name(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "journal.db").unlink()
    (folder / "journal.db").mkdir()
    _refused(folder, capsys)


def test_a_database_of_something_else_is_left_alone(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = folder / "journal.db"
    path.unlink()
    with sqlite3.connect(path) as db:
        db.execute("CREATE TABLE other (x)")
    db.close()
    before = path.read_bytes()
    assert "something else" in _refused(folder, capsys)
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("reading", "not json"),
        ("reading", "[1, 2]"),
        ("reading", "{}"),
        ("reading", '{"address": "car.wheelbase", "raw": "1 mm", "after": "x"}'),
        ("deed", '{"changes": [{}]}'),
        ("deed", '{"changes": 3}'),
        ("deed", '{"changes": [{"kind": 1, "target": 2}]}'),
        ("undo", '{"entry": "first"}'),
        ("reading", "[" * 100_000),
    ],
)
def test_an_entry_that_the_tool_did_not_write(
    folder: Path, kind: str, body: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with sqlite3.connect(folder / "journal.db") as db:
        db.execute(
            "INSERT INTO entry (at, who, kind, body) VALUES (?, ?, ?, ?)",
            ("2026-01-01", "Ann", kind, body),
        )
    db.close()
    assert "entry 3" in _refused(folder, capsys)


@pytest.mark.parametrize(
    ("address", "raw"),
    [("nowhere.at.all", "1 mm"), ("car.wheelbase", "1 kg"), ("car.wheelbase", {"x": 1})],
)
def test_a_reading_that_nothing_takes_is_said_not_raised(
    folder: Path, address: str, raw: object, capsys: pytest.CaptureFixture[str]
) -> None:
    Journal(folder).note(address, raw, who="Ann")
    assert main(["check", str(folder), "--draws", "64"]) in (0, 2)
    said = capsys.readouterr()
    assert address in said.out + said.err
