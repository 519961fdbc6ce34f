"""The disk fills, or reports faults, at every write: nothing acknowledged is lost."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from drybuild.journal import EntryRefused, Journal, JournalProblem
from journal_shim import Watch, watched
from journal_trials import full


def _try(folder: Path, watch: Watch) -> list[str]:
    """Write until the disk does not take it; what was acknowledged."""
    kept: list[str] = []
    with pytest.raises(JournalProblem, match=r"^journal.db: "):
        _write(watched(folder, watch), kept)
    return kept


def _write(journal: Journal, kept: list[str]) -> None:
    for number in range(20):
        words = f"{number} {'long ' * 900}".strip()
        journal.remark(words, who="Ilse")
        kept.append(words)


def _holds(folder: Path, kept: list[str], beyond: int) -> None:
    journal = Journal(folder)
    words = [e.body["words"] for e in journal.entries()]
    assert words[: len(kept)] == kept
    assert len(words) <= len(kept) + beyond
    assert journal.verify().fault is None
    journal.remark("there is room again", who="Ilse")
    assert journal.remarks()[-1].words == "there is room again"
    assert journal.verify().fault is None


@pytest.mark.parametrize("room", range(90))
def test_the_disk_fills_at_any_write(tmp_path: Path, room: int) -> None:
    kept = _try(tmp_path, Watch(room=room))
    _holds(tmp_path, kept, beyond=0)


def test_it_is_said_in_words(tmp_path: Path) -> None:
    Journal(tmp_path).remark("before", who="Ilse")
    with pytest.raises(EntryRefused, match="the disk is full; nothing was written"):
        watched(tmp_path, Watch(room=2)).remark("after", who="Ilse")


@pytest.mark.parametrize("syncs", range(16))
def test_a_sync_that_the_disk_does_not_carry_out_is_not_acknowledged(
    tmp_path: Path, syncs: int
) -> None:
    watch = Watch(syncs=syncs)
    kept = _try(tmp_path, watch)
    _holds(tmp_path, kept, beyond=0)


@pytest.mark.skipif(os.name == "nt", reason="no limit on the size of files there")
@pytest.mark.parametrize("room", [0, 100, 9_000, 28_672, 40_964])
def test_no_file_may_grow_beyond_a_limit(tmp_path: Path, room: int) -> None:
    """With the system's own limit, and the library that comes with Python."""
    found = full(tmp_path, room, 5_000)
    assert found.entries == found.acknowledged
    journal = Journal(tmp_path)
    journal.remark("there is room again", who="Ilse")
    assert journal.head().entries == found.acknowledged + 1
    assert journal.verify().fault is None
