"""The power fails at every moment of a recording: what was acknowledged is there, and it fits.

The recording is of the journal's own writes (tools/journal_shim.py says what the disk is held to).
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from drybuild.build import Change
from drybuild.journal import Entry, Journal
from journal_shim import Loss, Op, Synchronous, Watch, losses, watched

KEPT = Path(__file__).parent / "kept"
WRITES = 10


def _record(
    folder: Path, synchronous: Synchronous, first: dict[str, bytes]
) -> tuple[list[Op], tuple[Entry, ...]]:
    """Write, and record every write and sync and what was acknowledged between them."""
    for name, data in first.items():
        (folder / name).write_bytes(data)
    watch = Watch()
    journal = watched(folder, watch, synchronous)
    before = len(Journal(folder).entries())
    watch.ops.append(Op("told", told=before))
    for number in range(WRITES):
        entry = _write(journal, number)
        assert entry.id == before + number + 1
        watch.ops.append(Op("told", told=entry.id))
    return watch.ops, Journal(folder).entries()


def _write(journal: Journal, number: int) -> Entry:
    # Some entries are longer than a page, so that one write is several.
    if number % 3 == 1:
        return journal.did([Change("set", "car.wheelbase", f"{2330 + number} mm")], who="Ilse")
    if number % 3 == 2:
        return journal.worked("take:turbo", who="Marten", hours=1.5, words="nut " * 400 * number)
    return journal.note("car.wheelbase", f"{2330 + number} mm", who="Ilse", instrument="tape")


def _losses(tmp_path: Path, synchronous: Synchronous, first: dict[str, bytes]) -> list[Loss]:
    folder, room = tmp_path / "folder", tmp_path / "room"
    folder.mkdir()
    room.mkdir()
    ops, kept = _record(folder, synchronous, first)
    found, tried = losses(room, first, ops, kept)
    assert found or tried > 300
    return found


def test_nothing_acknowledged_is_lost(tmp_path: Path) -> None:
    assert _losses(tmp_path, "EXTRA", {}) == []


def test_nor_while_the_tables_are_carried_to_the_newest(tmp_path: Path) -> None:
    first = {"journal.db": (KEPT / "schema_1.db").read_bytes()}
    assert _losses(tmp_path, "EXTRA", first) == []


def test_without_syncs_the_replay_finds_what_is_lost(tmp_path: Path) -> None:
    """The trial can fail: it does when the very same writes are not synced."""
    assert _losses(tmp_path, "OFF", {})


def test_without_the_sync_of_the_folder_an_acknowledged_entry_comes_undone(tmp_path: Path) -> None:
    """Why FULL is not enough: the deleted rollback journal comes back, and takes the entry away."""
    found = _losses(tmp_path, "FULL", {})
    assert {loss.way for loss in found} <= {"only what was synced", "some of it"}
    assert all("were acknowledged" in loss.why for loss in found)


@pytest.mark.parametrize("synchronous", ["OFF", "FULL"])
def test_nor_is_the_loss_one_of_carrying_over_only(
    tmp_path: Path, synchronous: Synchronous
) -> None:
    first = {"journal.db": (KEPT / "schema_1.db").read_bytes()}
    assert _losses(tmp_path, synchronous, first)


def test_the_recording_is_of_what_the_disk_was_asked(tmp_path: Path) -> None:
    """Replayed to its end, the recording gives the file that lies there, byte for byte."""
    from journal_shim import images

    ops, _ = _record(tmp_path, "EXTRA", {})
    *_, (_, way, told, files) = (i for i in images({}, ops) if i[1] == "only what was synced")
    assert way == "only what was synced"
    assert told == WRITES
    assert files == {"journal.db": (tmp_path / "journal.db").read_bytes()}


def test_a_watched_journal_is_the_same_as_any(tmp_path: Path) -> None:
    plain, seen = tmp_path / "plain", tmp_path / "seen"
    for folder in (plain, seen):
        folder.mkdir()
        shutil.copy(KEPT / "schema_1.db", folder / "journal.db")
    Journal(plain).remark("the same", who="Ilse", at="2026-12-12")
    watched(seen, Watch()).remark("the same", who="Ilse", at="2026-12-12")
    assert Journal(plain).export() == Journal(seen).export()
