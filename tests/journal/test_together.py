"""Entries that belong together: all of them are kept, or none."""

from __future__ import annotations

from pathlib import Path

import pytest

from drybuild.build import Change
from drybuild.journal import EntryRefused, Journal
from journal_shim import Op, Watch, images, watched

WIDE = Change("fit", "wheel.front", "wide")


def _done(journal: Journal) -> None:
    with journal.together() as one:
        one.did([WIDE], who="Ilse", job="wheels")
        one.worked("job:wheels", who="Ilse", hours=1.5)
        one.note("wheel.front.left.offset", "32 mm", who="Ilse")


def test_all_are_kept_in_order(tmp_path: Path) -> None:
    journal = Journal(tmp_path)
    journal.remark("before", who="Ilse")
    _done(journal)
    assert [e.kind for e in journal.entries()] == ["remark", "deed", "work", "reading"]
    assert journal.readings()[0].after == 2
    assert journal.verify().fault is None


def test_none_is_kept_when_one_is_refused(tmp_path: Path) -> None:
    journal = Journal(tmp_path)
    journal.remark("before", who="Ilse")

    def write() -> None:
        with journal.together() as one:
            one.did([WIDE], who="Ilse", job="wheels")
            one.worked("job:wheels", who="Ilse", hours=-1)

    with pytest.raises(EntryRefused, match="hours"):
        write()
    assert len(journal.entries()) == 1
    assert journal.remark("after", who="Ilse").id == 2


def test_a_power_cut_leaves_all_or_none(tmp_path: Path) -> None:
    folder, room = tmp_path / "folder", tmp_path / "room"
    folder.mkdir()
    room.mkdir()
    watch = Watch()
    _done(watched(folder, watch))
    watch.ops.append(Op("told", told=3))
    found = set()
    for _, _, told, files in images({}, watch.ops):
        for old in room.iterdir():
            old.unlink()
        for name, data in files.items():
            (room / name).write_bytes(data)
        left = len(Journal(room).entries())
        found.add(left)
        assert left >= told
    assert found == {0, 3}
