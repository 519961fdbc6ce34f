"""The marks: later tampering is shown, the first entry that does not fit is named, heads hold."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from drybuild.journal import EntryRefused, Journal

COUNT = 8


@pytest.fixture
def journal(tmp_path: Path) -> Journal:
    journal = Journal(tmp_path)
    for number in range(1, COUNT + 1):
        journal.note("car.wheelbase", f"{2330 + number} mm", who="Ilse", at="2026-12-01")
    return journal


def _tamper(journal: Journal, *statements: str) -> None:
    """As somebody would who wants it to look as if nothing had happened."""
    db = sqlite3.connect(journal.path)
    with db:
        for trigger in ("entry_stays", "entry_is_kept", "entry_is_new"):
            db.execute(f"DROP TRIGGER {trigger}")
        for statement in statements:
            db.execute(statement)
    db.close()


def test_what_was_written_fits(journal: Journal) -> None:
    chain = journal.verify()
    assert chain.fault is None
    assert chain.head == journal.head()
    assert chain.head.entries == COUNT


def test_an_empty_journal_has_a_head_too(tmp_path: Path) -> None:
    assert str(Journal(tmp_path).head()) == "0 · empty"
    assert Journal(tmp_path).verify().fault is None
    assert not (tmp_path / "journal.db").exists()


def test_the_marks_can_be_checked_without_the_tool(journal: Journal) -> None:
    """As docs/decisions/journal.md says it: SHA-256 over the mark before, a newline, the entry."""
    before = ""
    db = sqlite3.connect(journal.path)
    for row in db.execute("SELECT id, at, who, kind, body, mark FROM entry ORDER BY id"):
        said = json.dumps(list(row[:5]), ensure_ascii=False)
        before = hashlib.sha256(f"{before}\n{said}".encode()).hexdigest()
        assert row[5] == before
    db.close()
    head = journal.head()
    assert head.mark == before
    assert str(head) == f"{COUNT} · {' '.join(before[i : i + 4] for i in (0, 4, 8, 12))}"


@pytest.mark.parametrize("entry", [1, 4, COUNT])
@pytest.mark.parametrize(
    "change",
    [
        "at = '2026-12-02'", "who = 'Ilze'", "kind = 'remark'",
        "body = replace(body, '233', '234')",
        "body = body || ' '", "mark = replace(mark, substr(mark, 1, 1), 'x')", "mark = ''",
        "who = CAST(x'ff' AS TEXT)",
    ],
)  # fmt: skip
def test_an_altered_entry_is_named(journal: Journal, entry: int, change: str) -> None:
    _tamper(journal, f"UPDATE entry SET {change} WHERE id = {entry}")
    fault = journal.verify().fault
    assert fault is not None
    assert fault.entry == entry


@pytest.mark.parametrize(
    ("statements", "named"),
    [
        (("DELETE FROM entry WHERE id = 3",), 3),
        (("DELETE FROM entry WHERE id = 1",), 1),
        # the last ones, which no later mark speaks of
        (("DELETE FROM entry WHERE id = 8",), 8),
        (("DELETE FROM entry WHERE id > 5",), 6),
        # taken out, and the gap closed
        (("DELETE FROM entry WHERE id = 3", "UPDATE entry SET id = id - 1 WHERE id > 3"), 3),
        # two that changed places
        (
            (
                "UPDATE entry SET id = 99 WHERE id = 4", "UPDATE entry SET id = 4 WHERE id = 5",
                "UPDATE entry SET id = 5 WHERE id = 99",
            ),
            4,
        ),
        # one that was slipped in with another's mark
        (
            (
                "INSERT INTO entry (at, who, kind, body, mark) "
                "SELECT at, who, kind, body, mark FROM entry WHERE id = 8",
            ),
            9,
        ),
        (("INSERT INTO entry (at, who, kind, body) SELECT at, who, kind, body FROM entry",), 9),
    ],
)  # fmt: skip
def test_what_was_taken_out_or_slipped_in_is_named(
    journal: Journal, statements: tuple[str, ...], named: int
) -> None:
    _tamper(journal, *statements)
    fault = journal.verify().fault
    assert fault is not None
    assert fault.entry == named


def test_what_is_written_afterwards_does_not_heal_it(journal: Journal) -> None:
    _tamper(journal, "UPDATE entry SET who = 'Bo' WHERE id = 2")
    journal.remark("later", who="Ilse")
    fault = journal.verify().fault
    assert fault is not None
    assert fault.entry == 2


def _forge(journal: Journal, change: Callable[[str], str]) -> None:
    """Somebody who knows the rule, and draws every mark anew."""
    from drybuild.journal.chain import Row, mark_of

    db = sqlite3.connect(journal.path)
    before, made = "", []
    for number, at, who, kind, body in db.execute(
        "SELECT id, at, who, kind, body FROM entry ORDER BY id"
    ).fetchall():
        row = Row(number, at, who, kind, change(body))
        before = mark_of(before, row)
        made.append((row.body, before, number))
    db.close()
    _tamper(journal)
    db = sqlite3.connect(journal.path)
    with db:
        db.executemany("UPDATE entry SET body = ?, mark = ? WHERE id = ?", made)
    db.close()


def test_who_draws_every_mark_anew_is_found_out_by_a_head_on_paper(journal: Journal) -> None:
    on_paper = str(journal.head())
    journal.remark("later", who="Ilse")
    assert journal.holds(on_paper)
    _forge(journal, lambda body: body.replace("2334 mm", "2434 mm"))
    assert journal.verify().fault is None
    assert not journal.holds(on_paper)


def test_a_head_holds_for_what_came_before_it_only(journal: Journal) -> None:
    on_paper = str(journal.head())
    for number in range(3):
        journal.remark(f"{number}", who="Ilse")
    _tamper(journal, "UPDATE entry SET who = 'Bo' WHERE id = 10")
    assert journal.holds(on_paper)
    _tamper_again = sqlite3.connect(journal.path)
    with _tamper_again as db:
        db.execute("UPDATE entry SET who = 'Bo' WHERE id = 2")
    _tamper_again.close()
    assert not journal.holds(on_paper)


@pytest.mark.parametrize("way", [str.upper, lambda h: h.replace(" · ", " "), lambda h: f" {h} "])
def test_a_head_may_be_typed_as_one_reads_it(journal: Journal, way: Callable[[str], str]) -> None:
    assert journal.holds(way(str(journal.head())))


@pytest.mark.parametrize("head", ["", "8", "8 · 12ab", "8 · wxyz wxyz wxyz wxyz", "x · abcd"])
def test_what_is_no_head_is_refused(journal: Journal, head: str) -> None:
    with pytest.raises(EntryRefused, match="expected a head"):
        journal.holds(head)


def test_a_head_of_another_car_does_not_hold(journal: Journal) -> None:
    assert not journal.holds(f"{COUNT} · {'ab12 ' * 4}".strip())
    assert not journal.holds(f"99 · {journal.head().mark[:16]}")
    assert not journal.holds(f"0 · {journal.head().mark[:16]}")
