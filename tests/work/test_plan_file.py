"""The kept plan comes back as it was, notices what changed, and refuses what it cannot read."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest
import small

import drybuild
from drybuild.work import plan_file
from drybuild.work.model import Condition

DEMO = Path(__file__).parents[2] / "examples" / "plover"


@pytest.fixture
def folder(tmp_path):
    shutil.copytree(DEMO, tmp_path / "car")
    return tmp_path / "car"


@pytest.fixture
def opened(folder):
    return drybuild.open_build(folder)


def test_a_plan_comes_back_as_it_was(opened):
    plan = small.together()
    first = replace(plan.steps[0], ways=((Condition("tool", "lift"), Condition("on", "guard")),))
    plan = replace(plan, steps=(first, *plan.steps[1:]))
    path = plan_file.keep(opened, small.problem(), plan)
    assert path.parent == opened.build.root
    kept = plan_file.read(opened, small.problem())
    assert kept.plan == plan
    assert plan_file.stale(opened, kept) == ()


def test_its_times_are_those_of_the_clock_whatever_the_problem_counts_from(opened):
    problem = small.problem()
    plan_file.keep(opened, problem, small.together())
    data = json.loads((opened.build.root / plan_file.NAME).read_text(encoding="utf-8"))
    assert data["plan"]["steps"][0]["start"] == "2026-12-05T09:00"
    later = replace(problem, zero=problem.zero + timedelta(days=7))
    moved = plan_file.read(opened, later).plan
    assert [s.start + 7 * 96 for s in moved.steps] == [s.start for s in small.together().steps]


def test_without_one_there_is_none(opened):
    assert plan_file.read(opened, small.problem()) is None


def test_it_says_that_files_or_journal_have_changed(opened, folder):
    plan_file.keep(opened, small.problem(), small.together())
    opened.journal.note("wheel.front.left.spoke_depth", "51 mm", who="Ilse")
    with (folder / "car.toml").open("a", encoding="utf-8") as file:
        file.write("\n# a remark\n")
    again = drybuild.open_build(folder)
    said = plan_file.stale(again, plan_file.read(again, small.problem()))
    assert len(said) == 2
    assert "files" in said[0]
    assert "journal" in said[1]


def test_nothing_is_left_lying_about(opened):
    before = {p.name for p in opened.build.root.iterdir()}
    plan_file.keep(opened, small.problem(), small.together())
    plan_file.keep(opened, small.problem(), small.apart())
    left = {p.name for p in opened.build.root.iterdir()} - before
    assert left == {plan_file.NAME, plan_file.FORMER}
    assert plan_file.read(opened, small.problem()).plan == small.apart()


def test_the_plan_before_is_one_step_away_and_so_is_the_way_forth(opened):
    problem, when = small.problem(), datetime(2026, 11, 29, 22, 33)
    with pytest.raises(plan_file.PlanProblem, match="no plan before"):
        plan_file.take_former(opened)
    plan_file.keep(opened, problem, small.together(), numbers={"job:hose": 7}, now=when)
    assert plan_file.former(opened) is None
    plan_file.keep(opened, problem, small.apart())
    assert plan_file.former(opened) == when
    plan_file.take_former(opened)
    kept = plan_file.read(opened, problem)
    assert (kept.plan, kept.made, kept.numbers) == (small.together(), when, {"job:hose": 7})
    plan_file.take_former(opened)
    assert plan_file.read(opened, problem).plan == small.apart()


def test_a_plan_before_that_cannot_be_read_is_named_and_nothing_is_lost(opened):
    plan_file.keep(opened, small.problem(), small.together())
    path = opened.build.root / plan_file.FORMER
    path.write_text("{", encoding="utf-8")
    with pytest.raises(plan_file.PlanProblem, match=r"plan\.before\.json cannot be read"):
        plan_file.take_former(opened)
    assert plan_file.read(opened, small.problem()).plan == small.together()


def test_a_plan_that_only_has_less_left_is_no_other_plan(opened):
    """Cards that are ticked as planned do not push the plan before out."""
    problem, whole = small.problem(), small.together()
    plan_file.keep(opened, problem, small.apart())
    plan_file.keep(opened, problem, whole)
    plan_file.keep(opened, problem, replace(whole, steps=whole.steps[1:]))
    plan_file.take_former(opened)
    assert plan_file.read(opened, problem).plan == small.apart()


def _spoil(data, spoil):
    spoil(data)
    return data


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda d: d.update(format=99), "format 99"),
        (lambda d: d.pop("format"), "format"),
        (lambda d: d.update(made="yesterday"), "yesterday"),
        (lambda d: d["plan"]["steps"][0].update(kind="guess"), "steps.0.kind"),
        (lambda d: d["plan"]["steps"][0].update(start="soon"), "soon"),
        (lambda d: d["plan"].pop("aims"), "aims"),
        (lambda d: d.update(plan=3), "steps"),
        (lambda d: d.update(files=None), "files"),
    ],
)
def test_what_cannot_be_read_is_said(opened, spoil, said):
    path = plan_file.keep(opened, small.problem(), small.together())
    data = json.loads(path.read_text(encoding="utf-8"))
    path.write_text(json.dumps(_spoil(data, spoil)), encoding="utf-8")
    with pytest.raises(plan_file.PlanProblem, match=said) as caught:
        plan_file.read(opened, small.problem())
    assert "drybuild plan" in str(caught.value)


@pytest.mark.parametrize("text", ["", "[]", "{", "[" * 100_000])
def test_what_is_no_plan_is_said(opened, text):
    (opened.build.root / plan_file.NAME).write_text(text, encoding="utf-8")
    with pytest.raises(plan_file.PlanProblem):
        plan_file.read(opened, small.problem())
