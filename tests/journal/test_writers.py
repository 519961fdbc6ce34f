"""Writers that are killed, and writers at the same moment: nothing acknowledged is lost.

On a larger scale: benchmarks/journal.py.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from drybuild.journal import Journal
from journal_trials import TrialFailed, check, kills, writers_at_once

KILLS = 50
EACH = 10_000


@pytest.fixture
def quick_folder(tmp_path: Path) -> Iterator[Path]:
    """A folder in memory, where the system has one: who loses an entry to another loses it there
    as well, and twenty thousand syncs of a disk take minutes."""
    memory = Path("/dev/shm")
    if not os.access(memory, os.W_OK):
        yield tmp_path
        return
    folder = Path(tempfile.mkdtemp(dir=memory, prefix="journal-"))
    yield folder
    shutil.rmtree(folder)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no cheap children there")
def test_fifty_kills(tmp_path: Path) -> None:
    found = kills(tmp_path, KILLS, seed=4)
    assert found.acknowledged > KILLS
    assert found.entries >= found.acknowledged


def test_two_writers_of_ten_thousand_entries_each(quick_folder: Path) -> None:
    found = writers_at_once(quick_folder, EACH)
    assert found.entries == found.acknowledged == 2 * EACH


def test_the_look_at_what_is_left_can_fail(tmp_path: Path) -> None:
    journal = Journal(tmp_path)
    journal.note("car.wheelbase", "a 0", who="a")
    check(tmp_path, {1: "a 0"})
    with pytest.raises(TrialFailed, match="acknowledged"):
        check(tmp_path, {1: "a 0", 2: "a 1"})
    with pytest.raises(TrialFailed, match="acknowledged"):
        check(tmp_path, {1: "b 0"})
