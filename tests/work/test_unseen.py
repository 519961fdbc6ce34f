"""An engine that is started before its fuel was looked at: the tick asks, and says which check."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from small_demo import copy_with

import drybuild
from drybuild.cli import main
from drybuild.show.cards_words import unseen_text
from drybuild.work import plan_file
from drybuild.work.as_planned import as_planned
from drybuild.work.at_hand import at_hand
from drybuild.work.doing import Told, write_done
from drybuild.work.evidence import unseen
from drybuild.work.model import Plan
from drybuild.work.planned import plan_telling


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """All of a regulator's work is done but its first start; no hand check is written down."""
    made = copy_with(tmp_path_factory.mktemp("unseen"), ("regulator",), ("sat-1",))
    opened = drybuild.open_build(made)
    hand = at_hand(opened)
    plan = plan_telling(hand, lambda stage: None, seconds=2)
    assert isinstance(plan, Plan)
    plan_file.keep(opened, hand.todo.problem, plan)
    problem = hand.todo.problem
    told = [
        Told(step.key, "", problem.at(step.end).isoformat(), step.who or ("Ilse",))
        for step in plan.steps if step.key != "clear:first_start"
    ]  # fmt: skip
    write_done(opened, problem, told, who="Ilse")
    return made


def test_a_first_start_asks_for_the_hand_checks_that_stop_it(folder: Path) -> None:
    opened = drybuild.open_build(folder)
    planned = as_planned(opened)
    assert planned is not None
    problem, steps = planned.hand.todo.problem, {s.key: s for s in planned.plan.steps}
    found = unseen(opened, problem, [steps["clear:first_start"]])
    assert "fuel.leak_checked" in [o.record for o in found]
    assert all(problem.stopping("run") & set(o.stops) for o in found)
    # what a task makes itself is asked for on its own card, and what runs nothing asks for none
    leak = [o.record for o in unseen(opened, problem, [steps["clear:fuel_leak"]])]
    assert "fuel.leak_checked" not in leak
    assert unseen(opened, problem, [steps["take:battery_earth"]]) == ()
    said = unseen_text(unseen(opened, problem, [steps["clear:first_start"]]))
    assert "not written down: " in said


def test_the_command_says_so_too(folder: Path, tmp_path: Path, capsys) -> None:  # type: ignore[no-untyped-def]
    copy = shutil.copytree(folder, tmp_path / "car")
    words = ["done", str(copy), "clear:first_start", "--who", "Ilse", "--seconds", "2"]
    assert main(words) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "not written down: " in said
    assert "fuel system under pressure" in said.partition("that stop")[2]
