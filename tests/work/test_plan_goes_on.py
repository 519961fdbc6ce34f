"""A plan is not older than what moves none of its tasks: hand checks, figures, remarks."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
import small

import drybuild
from drybuild.build import Change
from drybuild.work import plan_file

DEMO = Path(__file__).parents[2] / "examples" / "plover"
SEEN = Change(
    "verify", "brakes.bled", {"value": "clear", "tool": "hose and jar", "second person": "Marten"}
)


@pytest.fixture
def folder(tmp_path):
    shutil.copytree(DEMO, tmp_path / "car")
    return tmp_path / "car"


@pytest.mark.parametrize("begun", [False, True])
def test_a_hand_check_makes_no_plan_old(folder, begun):
    opened = drybuild.open_build(folder)
    if begun:
        opened.journal.note("wheel.front.left.spoke_depth", "51 mm", who="Ilse")
    plan_file.keep(opened, small.problem(), small.together())

    def said():
        again = drybuild.open_build(folder)
        return plan_file.stale(again, plan_file.read(again, small.problem()))

    opened.journal.did([SEEN], who="Ilse")
    opened.journal.tightened("wheel nuts", figure="110 N m", tool="torque wrench", who="Ilse")
    assert said() == ()
    opened.journal.did([Change("open", "brake_hose.front.left")], who="Ilse")
    (journal,) = said()
    assert "journal" in journal


def test_of_another_journal_nothing_is_known(folder):
    opened = drybuild.open_build(folder)
    opened.journal.note("wheel.front.left.spoke_depth", "51 mm", who="Ilse")
    plan_file.keep(opened, small.problem(), small.together())
    (folder / "journal.db").unlink()
    other = drybuild.open_build(folder)
    other.journal.did([SEEN], who="Ilse")
    other.journal.did([SEEN], who="Ilse")
    again = drybuild.open_build(folder)
    (said,) = plan_file.stale(again, plan_file.read(again, small.problem()))
    assert "journal" in said
