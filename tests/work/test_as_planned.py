"""A kept plan while the work goes on: what is done of it, what it does not know, what is first."""

from __future__ import annotations

import shutil
from datetime import timedelta
from pathlib import Path

import pytest
from small_demo import copy_with

import drybuild
from drybuild.build import Change, ChangeRefused
from drybuild.journal import EntryRefused, Journal
from drybuild.journal.earlier import Earlier
from drybuild.work import plan_file
from drybuild.work.as_planned import AsPlanned, as_planned, comes_first, so_far, staying, steps_done
from drybuild.work.at_hand import at_hand, planned_from, stands_now
from drybuild.work.doing import DoneRefused, Told, take_back, write_done
from drybuild.work.model import Plan, Step
from drybuild.work.planned import plan_telling


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = copy_with(tmp_path_factory.mktemp("as_planned"), ("intake", "bar-links"), ("sat-1",))
    opened = drybuild.open_build(folder)
    hand = at_hand(opened)
    found = plan_telling(hand, lambda stage: None, seconds=1)
    assert isinstance(found, Plan)
    plan_file.keep(opened, hand.todo.problem, found)
    return folder


@pytest.fixture
def folder(made: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(made, tmp_path / "car"))


def kept(folder: Path) -> AsPlanned:
    found = as_planned(drybuild.open_build(folder))
    assert found is not None
    return found


def told(planned: AsPlanned, step: Step) -> Told:
    end = planned.hand.todo.problem.at(step.end)
    return Told(step.key, "", end.isoformat(), step.who or ("Ilse",))


def write(folder: Path, planned: AsPlanned, *steps: Step) -> int:
    opened, problem = drybuild.open_build(folder), planned.hand.todo.problem
    entries = write_done(opened, problem, [told(planned, s) for s in steps], who="Ilse")
    return entries[0].id


def test_the_plan_keeps_its_problem_while_its_tasks_are_done(folder: Path) -> None:
    before = kept(folder)
    for step in before.plan.steps:
        write(folder, before, step)
    after = kept(folder)
    assert after.plan == before.plan
    assert after.hand.todo.problem == before.hand.todo.problem
    found = so_far(after, drybuild.open_build(folder))
    assert set(found.done) == set(before.plan.steps)
    assert found.changed == ()
    assert found.last is not None
    assert found.last[0] == before.plan.steps[-1]


def test_numbers_stay_though_what_was_opened_is_in_no_way_any_more(folder: Path) -> None:
    """All of a day is done: the work that is left does not know its covers."""
    before = kept(folder)
    write(folder, before, *before.plan.steps)
    opened = drybuild.open_build(folder)
    known = at_hand(opened).todo.problem.components
    assert any(s.what not in known for s in before.plan.steps if s.kind == "take")
    numbers = staying(opened, before.kept)
    assert {name.partition(" ")[2] for name in numbers} == {s.key for s in before.plan.steps}


def test_a_task_that_comes_up_twice_is_done_turn_by_turn(folder: Path) -> None:
    planned = kept(folder)
    first = next(s for s in planned.plan.steps if s.kind == "take")
    later = Step(first.kind, first.what, first.session, first.start + 400, first.end + 400, ("x",))
    plan = Plan((*planned.plan.steps, later), planned.plan.ends, planned.plan.aims)
    assert comes_first(plan, later, ()) == first
    write(folder, planned, first)
    done = steps_done(plan, Journal(folder), planned.upto)
    assert set(done) == {first}
    refit = next(s for s in plan.steps if s.kind == "refit" and s.what == first.what)
    assert comes_first(plan, later, done) == refit


def test_what_goes_back_on_comes_off_first(folder: Path) -> None:
    plan = kept(folder).plan
    for refit in (s for s in plan.steps if s.kind == "refit"):
        first = comes_first(plan, refit, ())
        assert first is not None
        assert (first.kind, first.what) == ("take", refit.what)
        assert comes_first(plan, refit, (first,)) is None


def test_taking_back_takes_the_deed_along_and_once(folder: Path) -> None:
    planned = kept(folder)
    problem = planned.hand.todo.problem
    step = next(
        s for s in planned.plan.steps if s.kind == "take" and problem.components[s.what].stops
    )
    entry = write(folder, planned, step)
    opened = drybuild.open_build(folder)
    assert opened.present.state.open == (step.what,)
    assert len(take_back(opened, problem, entry, who="Marten")) == 2
    assert drybuild.open_build(folder).present.state.open == ()
    with pytest.raises(DoneRefused, match="taken back already"):
        take_back(opened, problem, entry, who="Marten")
    assert Journal(folder).verify().fault is None


def test_what_later_work_rests_on_is_not_taken_back_from_under_it(folder: Path) -> None:
    """The refit stands on the taking off: the car would not let go of it, so nothing is written."""
    planned = kept(folder)
    problem = planned.hand.todo.problem
    take = next(
        s for s in planned.plan.steps if s.kind == "take" and problem.components[s.what].stops
    )
    refit = next(s for s in planned.plan.steps if s.kind == "refit" and s.what == take.what)
    entry = write(folder, planned, take)
    write(folder, planned, refit)
    head = Journal(folder).head()
    with pytest.raises(DoneRefused, match="rests on it"):
        take_back(drybuild.open_build(folder), problem, entry, who="Marten")
    assert Journal(folder).head() == head


def test_all_of_it_is_written_or_none(folder: Path) -> None:
    planned = kept(folder)
    problem = planned.hand.todo.problem
    take = next(
        s for s in planned.plan.steps if s.kind == "take" and problem.components[s.what].stops
    )
    refit = next(s for s in planned.plan.steps if s.kind == "refit" and s.what != take.what)
    with pytest.raises(ChangeRefused):
        write(folder, planned, take, refit)
    assert Journal(folder).entries() == ()


def test_an_undone_entry_that_the_plan_rests_on_is_said(folder: Path) -> None:
    journal = Journal(folder)
    journal.remark("before the plan", who="Ilse")
    opened = drybuild.open_build(folder)
    hand = at_hand(opened)
    plan_file.keep(opened, hand.todo.problem, kept(folder).plan)
    planned = kept(folder)
    assert planned.upto == 1
    assert so_far(planned, opened).changed == ()
    journal.undo(1, who="Ilse")
    (said,) = so_far(planned, drybuild.open_build(folder)).changed
    assert "taken back or corrected" in said


def test_what_work_leaves_owed_stops_the_car_on_every_page(folder: Path) -> None:
    """The library's account and that of the present car are one answer, until it is cleared."""
    planned = kept(folder)
    steps = [s for s in planned.plan.steps if s.kind != "clear"]
    last = max(s.end for s in steps if s.kind == "job")
    write(folder, planned, *(s for s in steps if s.end <= last))
    opened = drybuild.open_build(folder)
    problem = at_hand(opened, as_of=planned.hand.as_of).todo.problem
    owed = [e for n in problem.pending if (e := problem.effects[n]).clearing and e.stops]
    assert owed
    now = opened.uses_now()
    for effect in owed:
        for use in effect.stops:
            assert effect.title in [hold.why for hold in now.use(use).holds]
    shown = stands_now(at_hand(opened, as_of=planned.hand.as_of), now)
    titles = [stop.why for stop in shown.stops]
    assert len(titles) == len(set(titles))
    write(folder, planned, *(s for s in planned.plan.steps if s.end > last))
    left = {one.name for one in drybuild.open_build(folder).present.state.left}
    assert not left & {one.name for one in opened.present.state.left}


def test_the_record_as_it_was_takes_nothing_more(folder: Path) -> None:
    journal = Journal(folder)
    first = journal.remark("one", who="Ilse")
    journal.remark("two", who="Ilse")
    earlier = Earlier(journal, 1)
    assert earlier.entries() == (first,)
    assert earlier.head().entries == 1
    with pytest.raises(EntryRefused, match="takes no further entry"):
        earlier.remark("three", who="Ilse")
    assert len(journal.entries()) == 2


def test_an_example_has_a_day_of_its_own_that_moves_on_with_its_work(folder: Path) -> None:
    planned = kept(folder)
    begins = planned_from(drybuild.open_build(folder))
    assert begins == planned.hand.as_of
    step = planned.plan.steps[0]
    write(folder, planned, step)
    moved = planned_from(drybuild.open_build(folder))
    assert moved == planned.hand.todo.problem.at(step.end)
    assert moved - begins > timedelta(0)


def test_a_job_done_beside_the_plan_is_told(folder: Path) -> None:
    """By the record of the job alone, with none of the plan's tasks ticked."""
    planned, opened = kept(folder), drybuild.open_build(folder)
    job = opened.build.job("bar-links")
    Journal(folder).did([Change("fit", p, v) for p, v in job.fit.items()], who="Ilse", job=job.id)
    (said,) = so_far(planned, drybuild.open_build(folder)).changed
    assert said == "1 of its jobs done since, beside the plan"
