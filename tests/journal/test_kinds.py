"""Work, torques, fills, bags, tags, remarks: written, read back, and refused when they lack."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from drybuild.build import Change
from drybuild.journal import (
    Bag,
    EntryRefused,
    Fill,
    Journal,
    Lift,
    Remark,
    Tag,
    Torque,
    WorkEntry,
)

AT = "2026-12-05"


@pytest.fixture
def journal(tmp_path: Path) -> Journal:
    return Journal(tmp_path)


def test_work_on_a_task(journal: Journal) -> None:
    journal.worked("take:turbo", who="Ilse", what="started", started="2026-12-05T09:00", at=AT)
    journal.worked(
        "take:turbo", who="Ilse", people=["Ilse", "Marten"], started="2026-12-05T09:00",
        ended="2026-12-05T11:30", words="nut rounded", at=AT,
    )  # fmt: skip
    journal.worked("job:springs", who="Marten", what="stopped", hours=1.25, left=2, at=AT)
    begun, done, stopped = journal.work()
    assert begun == WorkEntry(
        1, AT, "Ilse", "started", "take:turbo", ("Ilse",), "2026-12-05T09:00:00"
    )
    assert done == WorkEntry(
        2, AT, "Ilse", "done", "take:turbo", ("Ilse", "Marten"), "2026-12-05T09:00:00",
        "2026-12-05T11:30:00", 2.5, None, "nut rounded",
    )  # fmt: skip
    assert done.person_hours == 5.0
    assert begun.person_hours is None
    assert (stopped.what, stopped.hours, stopped.left) == ("stopped", 1.25, 2)
    assert all(w.of_task for w in journal.work())


def test_hours_that_were_said_beat_those_of_the_clock(journal: Journal) -> None:
    journal.worked(
        "job:springs", who="Ilse", started="2026-12-05T09:00", ended="2026-12-05T15:00", hours=4.5
    )
    assert journal.work()[0].hours == 4.5


def test_of_two_days_no_hours_are_made_up(journal: Journal) -> None:
    journal.worked("job:springs", who="Ilse", started="2026-12-05", ended="2026-12-12")
    assert journal.work()[0].hours is None


def test_what_happened_is_kept_with_its_table_as_it_is(journal: Journal) -> None:
    body = {"task": "take:turbo", "id": "stud", "hours": [0.5, 1.0, 2.0], "until": "2026-12-12"}
    journal.happened("extra", body, who="Ilse", words="third stud of the flange", at=AT)
    (found,) = journal.work()
    assert (found.what, found.task, found.more) == ("extra", "take:turbo", body)
    assert not found.of_task


def test_the_other_kinds(journal: Journal) -> None:
    journal.tightened(
        "hub.front.left", figure="90 N·m + 60°", tool="wrench 3", who="Ilse", second="Marten",
        document="invented book 31-2", condition="dry", fastener="M12, new", at=AT,
    )  # fmt: skip
    journal.filled("cooling", quantity="5.4 L", product="pink, mixed", who="Marten", at=AT)
    journal.filled("gearbox", quantity="to the edge of the hole", product="x", who="Marten", at=AT)
    journal.bagged("nuts, 4", label="T1", place="shelf 2", who="Odile", task="take:turbo", at=AT)
    journal.tagged("DO NOT CRANK", where="key", who="Ilse", at=AT)
    journal.tagged("DO NOT CRANK", hung=False, who="Ilse", at=AT)
    journal.remark("a stud is stretched", who="Ilse", at=AT)
    assert journal.torques() == (
        Torque(
            1, AT, "Ilse", "hub.front.left", "90 N·m + 60°", "wrench 3", "Marten", "",
            "invented book 31-2", "dry", "M12, new",
        ),
    )  # fmt: skip
    assert journal.fills() == (
        Fill(2, AT, "Marten", "cooling", "5.4 L", "pink, mixed"),
        Fill(3, AT, "Marten", "gearbox", "to the edge of the hole", "x"),
    )
    assert journal.bags() == (Bag(4, AT, "Odile", "nuts, 4", "T1", "shelf 2", "take:turbo"),)
    assert journal.tags() == (
        Tag(5, AT, "Ilse", "DO NOT CRANK", "key"),
        Tag(6, AT, "Ilse", "DO NOT CRANK", hung=False),
    )
    assert journal.remarks() == (Remark(7, AT, "Ilse", "a stud is stretched"),)
    assert journal.readings() == ()
    assert journal.deeds() == ()


def test_a_hold_is_lifted_by_a_hand_check_and_by_nothing_else(journal: Journal) -> None:
    evidence = {"value": "firm", "tool": "eye", "name": "Ilse", "second": "Marten"}
    deed = journal.did([Change("verify", "brakes.bled", evidence)], who="Ilse", at=AT)
    journal.tagged("brakes open", hung=False, who="Ilse", at=AT)
    assert journal.lifts() == (Lift(1, AT, "Ilse", "brakes.bled", evidence),)
    journal.undo(deed.id, who="Ilse")
    assert journal.lifts() == ()


def test_any_kind_can_be_undone(journal: Journal) -> None:
    entry = journal.filled("cooling", quantity="5 L", product="pink", who="Ilse")
    undo = journal.undo(entry.id, who="Ilse")
    assert journal.fills() == ()
    journal.undo(undo.id, who="Ilse")
    assert len(journal.fills()) == 1


TORQUE: dict[str, Any] = {"figure": "90 N·m", "tool": "wrench", "who": "Ilse"}
FILL: dict[str, Any] = {"quantity": "5 L", "product": "pink", "who": "Ilse"}


@pytest.mark.parametrize(
    ("write", "says"),
    [
        (lambda j: j.worked("", who="Ilse"), "which task"),
        (lambda j: j.worked("job:x", who=""), "name of who"),
        (lambda j: j.worked("job:x", who="Ilse", what="nearly"), "started, done, stopped"),
        (lambda j: j.worked("job:x", who="Ilse", people=["Bo", "Bo"]), "each once"),
        (lambda j: j.worked("job:x", who="Ilse", people=["Bo", " "]), "each once"),
        (lambda j: j.worked("job:x", who="Ilse", hours=-1), "hours -1"),
        (lambda j: j.worked("job:x", who="Ilse", hours=float("nan")), "hours nan"),
        (lambda j: j.worked("job:x", who="Ilse", left=float("inf")), "left inf"),
        (lambda j: j.worked("job:x", who="Ilse", left=1.0), "which"),
        (lambda j: j.worked("job:x", who="Ilse", started="soon"), "yyyy-mm-dd"),
        (
            lambda j: j.worked("job:x", who="Ilse", started="2026-12-05", ended="2026-12-04"),
            "before it started",
        ),
        (lambda j: j.happened("done", who="Ilse"), "what happened"),
        (lambda j: j.happened(" ", who="Ilse"), "what happened"),
        (lambda j: j.happened("late", {1: 2}, who="Ilse"), "expected a word"),
        (lambda j: j.tightened("", **TORQUE), "joint"),
        (lambda j: j.tightened("hub", **TORQUE | {"tool": " "}), "tool"),
        (lambda j: j.tightened("hub", **TORQUE | {"figure": "done"}), "a tick is no figure"),
        (lambda j: j.tightened("hub", **TORQUE, second="Ilse"), "another one than Ilse"),
        (lambda j: j.filled("", **FILL), "where"),
        (lambda j: j.filled("cooling", **FILL | {"quantity": "5"}), "with its unit"),
        (lambda j: j.filled("cooling", **FILL | {"quantity": "5 mm"}), "with its unit"),
        (lambda j: j.filled("cooling", **FILL | {"product": ""}), "product"),
        (lambda j: j.bagged("nuts", label="", place="shelf", who="Ilse"), "label"),
        (lambda j: j.tagged("", who="Ilse"), "words"),
        (lambda j: j.remark("  ", who="Ilse"), "words"),
        (lambda j: j.remark("x", who=" "), "name of who"),
        (lambda j: j.remark("x", who="Ilse", at="soon"), "yyyy-mm-dd"),
        (lambda j: j.remark("\ud800", who="Ilse"), "UTF-8"),
    ],
)
def test_what_lacks_something_is_refused_and_nothing_is_written(
    journal: Journal, write: Callable[[Journal], Any], says: str
) -> None:
    with pytest.raises(EntryRefused, match=says):
        write(journal)
    assert journal.entries() == ()
    assert not journal.path.exists()
