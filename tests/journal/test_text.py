"""The record as text: what is taken in is what was written out, whole or not at all."""

from __future__ import annotations

import difflib
import json
import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drybuild.build import Change
from drybuild.journal import Journal, TextRefused

KEPT = Path(__file__).parent / "kept"


@pytest.fixture
def journal(tmp_path: Path) -> Journal:
    (tmp_path / "one").mkdir()
    (tmp_path / "two").mkdir()
    journal = Journal(tmp_path / "one")
    journal.note("car.wheelbase", "2331 mm", who="Ilse", instrument="tape", at="2026-12-01")
    journal.did(
        [Change("fit", "wheel.front", "wide"), Change("remove", "spacer.rear")], who="Ilse", job="w"
    )
    journal.worked("take:turbo", who="Ilse", people=["Ilse", "Marten"], hours=2.5)
    journal.undo(1, who="Marten", why='the "tape" sagged')
    return journal


@pytest.fixture
def other(journal: Journal) -> Journal:
    return Journal(journal.path.parent.parent / "two")


def test_what_is_taken_in_is_what_was_written_out(journal: Journal, other: Journal) -> None:
    assert other.take_in(journal.export()) == 4
    assert other.entries() == journal.entries()
    assert other.head() == journal.head()
    assert other.export() == journal.export()
    assert other.verify().fault is None


def test_only_what_is_new_is_taken_in(journal: Journal, other: Journal) -> None:
    other.take_in(journal.export())
    assert other.take_in(journal.export()) == 0
    earlier = journal.export()
    journal.remark("one more", who="Ilse")
    assert other.take_in(journal.export()) == 1
    assert other.export() == journal.export()
    assert other.take_in(earlier) == 0
    assert other.remark("and on", who="Ilse").id == 6


def test_an_empty_record_goes_through_as_well(tmp_path: Path) -> None:
    text = Journal(tmp_path).export()
    assert text.endswith("end 0\n")
    assert Journal(tmp_path).take_in(text) == 0


def test_one_more_entry_is_one_more_block(journal: Journal) -> None:
    before = journal.export()
    journal.remark("one more", who="Ilse", at="2026-12-05")
    changed = [
        line
        for line in difflib.unified_diff(before.split("\n"), journal.export().split("\n"), n=0)
        if line[0] in "+-" and line[:3] not in ("+++", "---") and line != "+"
    ]
    assert changed == [
        "-end 4",
        '+entry 5  remark  "2026-12-05"  "Ilse"',
        '+  words = "one more"',
        f"+  mark {journal.head().mark}",
        "+end 5",
    ]


def test_a_person_can_read_it(journal: Journal) -> None:
    block = journal.export().split("\n\n")[2].split("\n")
    assert block[0].startswith('entry 2  deed  "2')
    assert block[1:5] == [
        "  changes =",
        '    {"kind": "fit", "target": "wheel.front", "value": "wide"}',
        '    {"kind": "remove", "target": "spacer.rear", "value": null}',
        '  job = "w"',
    ]


def test_the_text_of_a_day_is_taken_in_for_ever(tmp_path: Path) -> None:
    text = (KEPT / "schema_2.txt").read_text(encoding="utf-8")
    journal = Journal(tmp_path)
    assert journal.take_in(text) == 19
    assert journal.export() == text
    then = json.loads((KEPT / "schema_2.json").read_text(encoding="utf-8"))
    assert [e.body for e in journal.entries()] == [row["body"] for row in then]


@pytest.mark.parametrize("ending", ["\r\n", "\n"])
def test_line_endings_of_another_system_do_no_harm(
    journal: Journal, other: Journal, ending: str
) -> None:
    assert other.take_in("\ufeff" + journal.export().replace("\n", ending)) == 4
    assert other.export() == journal.export()


WORDS = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | WORDS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(WORDS, inner, max_size=3),
    max_leaves=8,
)


@given(entries=st.lists(st.tuples(WORDS, PLAIN, st.dictionaries(WORDS, PLAIN)), max_size=5))
@settings(max_examples=25, deadline=None)
def test_whatever_was_written_goes_through(
    entries: list[tuple[str, Any, dict[str, Any]]],
) -> None:
    with tempfile.TemporaryDirectory() as first, tempfile.TemporaryDirectory() as second:
        journal, other = Journal(first), Journal(second)
        for words, raw, more in entries:
            journal.note(words, raw, who=f"x{words}", instrument=words)
            journal.happened("other", more, who=f"x{words}", words=words)
        assert other.take_in(journal.export()) == len(journal.entries())
        assert other.entries() == journal.entries()
        assert other.export() == journal.export()
        assert other.verify().fault is None


def _refused(other: Journal, text: str) -> tuple[str, ...]:
    there = other.path.read_bytes() if other.path.exists() else None
    with pytest.raises(TextRefused, match="nothing was taken in") as refused:
        other.take_in(text)
    assert (other.path.read_bytes() if other.path.exists() else None) == there
    return refused.value.faults


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("2331 mm", "2332 mm", "line 6: entry 1 does not fit its mark"),
        ('"Ilse", "Marten"', '"Ilse"', "entry 3 does not fit its mark"),
        ("entry 1  reading", "entry 1  weighing", "'weighing' is no kind of entry"),
        ("entry 2  deed", "entry 7  deed", "found entry 7, expected entry 2"),
        ('"2026-12-01"', '"last week"', "entry 1 cannot be read"),
        ("  after = 0", "  after = nought", "found 'nought', expected a value in JSON"),
        ("  after = 0", "  after", "expected: KEY = VALUE"),
        ("  after = 0", "  after = 0\n  after = 0", "after stands there twice"),
        ("  address = ", "  addres = ", "it lacks address"),
        ("form 1", "form 2", "this tool reads 'form 1'"),
        ("form 1\n", "", "no record of ours"),
        ("end 4\n", "", "cut short"),
        ("end 4\n", "end 5\n", "found 'end 5', with 4 entries above it"),
        ("end 4\n", "end 4\nmore\n", "found 'more' after the end"),
        ("entry 3  work", "<<<<<<< ours\nentry 3  work", "found '<<<<<<< ours', expected an entry"),
    ],
)
def test_what_was_changed_by_hand_is_refused(
    journal: Journal, other: Journal, old: str, new: str, says: str
) -> None:
    text = journal.export()
    assert text.count(old) == 1
    faults = _refused(other, text.replace(old, new))
    assert says in "\n".join(faults)


def test_every_line_that_is_left_out_is_noticed(journal: Journal, other: Journal) -> None:
    lines = journal.export().split("\n")
    said = [n for n, line in enumerate(lines) if line and not line.startswith("#")]
    assert len(said) > 20
    for number in said:
        _refused(other, "\n".join(lines[:number] + lines[number + 1 :]))


def test_cut_anywhere_it_is_refused(journal: Journal, other: Journal) -> None:
    text = journal.export()
    for length in range(0, len(text) - 2, 7):
        _refused(other, text[:length])


def test_all_faults_are_told_together(journal: Journal, other: Journal) -> None:
    text = journal.export().replace("2331 mm", "2332 mm").replace("entry 3  work", "entry 3  toil")
    text = text.replace('entry 4  undo  "', 'entry 4  undo  "x')
    assert len(_refused(other, text)) == 3


def test_a_record_that_parted_is_refused_and_the_first_entry_named(
    journal: Journal, other: Journal
) -> None:
    other.take_in(journal.export())
    journal.remark("here", who="Ilse", at="2026-12-05")
    other.remark("there", who="Ilse", at="2026-12-05")
    (fault,) = _refused(other, journal.export())
    assert fault.startswith("entry 5 of the text is another than entry 5")


def test_nothing_is_added_to_a_record_that_was_tampered_with(
    journal: Journal, other: Journal
) -> None:
    import sqlite3

    other.take_in(journal.export())
    db = sqlite3.connect(other.path)
    with db:
        db.execute("DROP TRIGGER entry_stays")
        db.execute("UPDATE entry SET who = 'Bo' WHERE id = 2")
    db.close()
    journal.remark("here", who="Ilse")
    (fault,) = _refused(other, journal.export())
    assert "entry 2 does not fit" in fault
    # what was tampered with can still be written out, and is refused everywhere
    fresh = Journal(other.path.parent.parent / "three")
    fresh.path.parent.mkdir()
    assert "entry 2 does not fit its mark" in _refused(fresh, other.export())[0]
