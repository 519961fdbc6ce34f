"""Corrections: a new entry that names the one it replaces, which keeps its place."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from drybuild.build import Change, read_build
from drybuild.journal import EntryRefused, Journal, as_corrected, present

BUILD = 'format = 1\n[build]\nname = "toy"\n'
CAR = 'format = 1\nname = "invented"\n[fitted]\nwheel = "std"\n[car]\nwheelbase = "2330 mm"\n'
PARTS = """\
format = 1
[part.std]
kind = "wheel"
offset = "45 mm"
[part.wide]
kind = "wheel"
offset = "32 mm"
"""
OFFSET = "wheel.front.left.offset"
WIDE = Change("fit", "wheel.front", "wide")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "parts").mkdir()
    (tmp_path / "build.toml").write_text(BUILD, encoding="utf-8")
    (tmp_path / "car.toml").write_text(CAR, encoding="utf-8")
    (tmp_path / "parts" / "all.toml").write_text(PARTS, encoding="utf-8")
    return tmp_path


def test_a_reading_is_corrected_where_it_stands(folder: Path) -> None:
    journal = Journal(folder)
    wrong = journal.note(OFFSET, "64 ± 0.5 mm", who="Ilse", instrument="rule")
    journal.did([WIDE], who="Ilse")
    fix = journal.correct(wrong.id, {"raw": "46 ± 0.5 mm"}, who="Marten", why="figures turned")
    (reading,) = journal.readings()
    assert (reading.id, reading.raw, reading.after, reading.who) == (1, "46 ± 0.5 mm", 0, "Ilse")
    # it is of the wheel that was on the car then, so that it speaks for the car as found
    state = present(read_build(folder), journal).state
    assert state.base.readings[OFFSET].median == pytest.approx(0.046)
    assert OFFSET not in state.readings
    assert journal.entries()[0] == wrong
    assert journal.entries()[2] == fix
    assert as_corrected(journal.entries())[0].corrected == (fix.id,)


def test_a_deed_is_corrected_where_it_stands(folder: Path) -> None:
    journal = Journal(folder)
    deed = journal.did([WIDE], who="Ilse", at="2026-12-05")
    journal.note("wheel.front.left.offset", "45 ± 0.5 mm", who="Ilse", at="2026-12-05")
    journal.correct(deed.id, {"changes": [Change("fit", "wheel.rear", "wide")]}, who="Ilse")
    state = present(read_build(folder), journal).state
    assert state.fitted["wheel.front.left"] == "std"
    assert state.fitted["wheel.rear.left"] == "wide"
    assert OFFSET in state.readings


def test_a_later_correction_adds_to_an_earlier_one_and_each_can_be_undone(tmp_path: Path) -> None:
    journal = Journal(tmp_path)
    entry = journal.filled("cooling", quantity="5.4 L", product="pink", who="Ilse")
    amount = journal.correct(entry.id, {"quantity": "4.4 L"}, who="Ilse")
    product = journal.correct(entry.id, {"product": "green"}, who="Ilse")
    again = journal.correct(entry.id, {"quantity": "4.5 L"}, who="Ilse")

    def now() -> tuple[str, str]:
        (fill,) = journal.fills()
        return fill.quantity, fill.product

    assert now() == ("4.5 L", "green")
    journal.undo(again.id, who="Ilse")
    assert now() == ("4.4 L", "green")
    undo = journal.undo(amount.id, who="Ilse")
    assert now() == ("5.4 L", "green")
    journal.undo(undo.id, who="Ilse")
    assert now() == ("4.4 L", "green")
    journal.undo(product.id, who="Ilse")
    journal.undo(entry.id, who="Ilse")
    assert journal.fills() == ()


def test_date_and_name_can_be_wrong_too(tmp_path: Path) -> None:
    journal = Journal(tmp_path)
    deed = journal.did([WIDE], who="Ilse", at="2026-12-05")
    reading = journal.note(OFFSET, "46 mm", who="Ilse", at="2026-12-06")
    assert journal.readings()[0].after == deed.id
    journal.correct(reading.id, who="Ilse", dated="2026-12-04", by="Marten", at="2026-12-07")
    (found,) = journal.readings()
    assert (found.at, found.who, found.after) == ("2026-12-04", "Marten", 0)
    journal.correct(deed.id, who="Ilse", dated="2026-12-03")
    (made,) = journal.deeds()
    assert (made.at, made.changes[0].when) == ("2026-12-03", "2026-12-03")


def _written(journal: Journal) -> Journal:
    journal.note(OFFSET, "46 mm", who="Ilse")  # 1
    journal.did([WIDE], who="Ilse")  # 2
    journal.tightened("hub", figure="90 N·m", tool="wrench", who="Ilse")  # 3
    journal.worked("job:springs", who="Ilse", hours=2)  # 4
    journal.remark("x", who="Ilse")  # 5
    journal.undo(5, who="Ilse")  # 6
    journal.correct(3, {"tool": "wrench 3"}, who="Ilse")  # 7
    return journal


@pytest.mark.parametrize(
    ("correct", "says"),
    [
        (lambda j: j.correct(99, {"raw": "1 mm"}, who="Ilse"), "no entry 99"),
        (lambda j: j.correct(1, {"raw": "1 mm"}, who=""), "name of who"),
        (lambda j: j.correct(1, {}, who="Ilse"), "what it should have been"),
        (lambda j: j.correct(1, {"after": 7}, who="Ilse"), "expected of address, raw"),
        (lambda j: j.correct(1, {"address": 7}, who="Ilse"), "holds address"),
        (lambda j: j.correct(2, {"changes": []}, who="Ilse"), "without a Change"),
        (lambda j: j.correct(3, {"figure": "tight"}, who="Ilse"), "a tick is no figure"),
        (lambda j: j.correct(3, {"torque": "90"}, who="Ilse"), "found torque, expected of joint"),
        (lambda j: j.correct(4, {"hours": -2.0}, who="Ilse"), "hours -2"),
        (lambda j: j.correct(4, {"hours": "two"}, who="Ilse"), "holds hours"),
        (lambda j: j.correct(5, {"words": "y"}, who="Ilse"), "undone"),
        (lambda j: j.correct(6, {"why": "y"}, who="Ilse"), "is an undo"),
        (lambda j: j.correct(7, {"now": {}}, who="Ilse"), "corrects entry 3"),
        (lambda j: j.correct(1, {"raw": "1 mm"}, who="Ilse", dated="soon"), "yyyy-mm-dd"),
    ],
)
def test_what_cannot_be_corrected_so_is_refused(
    tmp_path: Path, correct: Callable[[Journal], Any], says: str
) -> None:
    journal = _written(Journal(tmp_path))
    before = journal.entries()
    with pytest.raises(EntryRefused, match=says):
        correct(journal)
    assert journal.entries() == before


def test_nothing_is_made_for_a_correction_of_nothing(tmp_path: Path) -> None:
    with pytest.raises(EntryRefused, match="no entry 1"):
        Journal(tmp_path).correct(1, {"raw": "1 mm"}, who="Ilse")
    with pytest.raises(EntryRefused, match="no entry 1"):
        Journal(tmp_path).undo(1, who="Ilse")
    assert list(tmp_path.iterdir()) == []
