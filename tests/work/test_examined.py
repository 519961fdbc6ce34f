"""Plans whose states were examined: the checks' word holds in every plan, and in every replan."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any, cast

import pytest
import small
from small_demo import copy_with

from drybuild.build import job_changes
from drybuild.examine import OpenBuild, open_build
from drybuild.work import examined
from drybuild.work.checker import faults
from drybuild.work.examined import _Search, moments, plan_examined
from drybuild.work.happened import Happening
from drybuild.work.lessons import Lessons, violated
from drybuild.work.model import NoPlan, Plan, Problem, ToDo
from drybuild.work.reading import to_do
from drybuild.work.replan import replan
from drybuild.work.solve import solve
from drybuild.work.wayback import ways_back

JOBS = ("front-brakes", "rear-pads", "brake-fluid", "rear-arms", "wheels", "speed-reading")
SESSIONS = ("sat-1", "sat-2", "sat-3", "sat-4", "sat-5")


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> OpenBuild:
    return open_build(copy_with(tmp_path_factory.mktemp("small"), JOBS, SESSIONS))


@pytest.fixture(scope="module")
def todo(opened: OpenBuild) -> ToDo:
    return to_do(opened)


@pytest.fixture(scope="module")
def plan(opened: OpenBuild, todo: ToDo) -> Plan:
    found = plan_examined(opened, todo, seconds=20)
    assert isinstance(found, Plan), found
    return found


def test_the_checker_takes_the_plan_with_all_that_was_learned(todo: ToDo, plan: Plan) -> None:
    assert faults(replace(todo.problem, clauses=plan.clauses), plan) == ()
    assert len(plan.clauses) > len(todo.problem.clauses)


def test_every_use_that_the_plan_counts_on_is_allowed_by_the_checks(
    opened: OpenBuild, todo: ToDo, plan: Plan
) -> None:
    lessons = Lessons(opened.state("now"), opened.registry, todo.problem.jobs)
    counted = set(moments(todo.problem, plan))
    assert {use for use, _ in counted} >= {"drive"}
    for use, done in counted:
        assert lessons.stopped(use, done) == ()


def test_the_solver_alone_would_not_have_known(opened: OpenBuild, todo: ToDo, plan: Plan) -> None:
    """A plan that keeps larger discs under old wheels over a Monday is what the checks forbid."""
    taught = [c for c in plan.clauses if c.check == "corners.caliper_barrel_gap"]
    assert {(c.done, c.not_done) for c in taught} == {
        (frozenset({"front-brakes"}), frozenset({"wheels"}))
    }
    for end in plan.ends:
        assert not any(violated(c, end.done) for c in taught)


def test_the_bound_includes_what_was_learned(todo: ToDo, plan: Plan) -> None:
    unlearned = solve(todo.problem, seconds=10)
    assert isinstance(unlearned, Plan)
    assert unlearned.aim("hours").bound <= plan.aim("hours").value
    assert plan.aim("hours").bound >= unlearned.aim("hours").bound - 1e-9


def test_what_no_order_cures_is_said_with_its_finding(opened: OpenBuild, todo: ToDo) -> None:
    stated = replace(opened.build, head=opened.build.head.model_copy(update={"driving": False}))
    start = replace(opened.state("now"), build=stated)
    lessons = Lessons(start, opened.registry, todo.problem.jobs)
    found = plan_examined(opened, todo, seconds=10, lessons=lessons)
    assert isinstance(found, NoPlan)
    assert found.relax[0].kind == "fix"
    assert "owner says" in found.relax[0].words


def test_planning_ends_with_the_time_that_it_has(
    opened: OpenBuild, todo: ToDo, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(examined, "AT_LEAST", 0.0)
    told: list[str] = []
    found = plan_examined(opened, todo, seconds=0.001, explains=lambda: told.append("explains"))
    assert isinstance(found, NoPlan)
    assert told == ["explains"]
    assert found.open
    assert "nothing says that there is none" in found.why[0]


def test_from_the_fullest_moment_of_each_day_a_way_leads_back(
    opened: OpenBuild, todo: ToDo, plan: Plan
) -> None:
    lessons = Lessons(opened.state("now"), opened.registry, todo.problem.jobs)
    back = ways_back(todo.problem, plan, lessons)
    opens = {step.session for step in plan.steps if step.kind == "take"}
    assert {way.session for way in back} >= opens
    assert len(opens) > 1
    for way in back:
        assert way.why == ""
        assert way.steps
        apart = {s.what for s in plan.steps if s.kind == "take" and s.end <= way.at}
        on = {s.what for s in plan.steps if s.kind == "refit" and s.end <= way.at}
        refitted = {s.what for s in way.steps if s.kind == "refit"}
        assert apart - on <= refitted


HAPPENINGS: tuple[tuple[str, dict[str, Any]], ...] = (
    ("late", {"job": "wheels", "until": "2026-12-13"}),
    ("late", {"job": "rear-pads", "until": "2026-12-19"}),
    ("away", {"person": "Marten", "session": "sat-1"}),
    ("away", {"person": "Ilse", "session": "sat-2", "until": "13:00"}),
    ("shortened", {"session": "sat-1", "end": "13:00"}),
    ("shortened", {"session": "sat-1"}),
    ("extra", {"id": "stud", "title": "broken stud", "hours": [0.5, 1, 3], "task": "job:wheels"}),
    ("longer", {"task": "job:front-brakes", "hours": [1.5, 2, 2.5]}),
    ("dropped", {"job": "speed-reading"}),
    ("moved", {"job": "wheels", "session": "sat-3"}),
)


@pytest.mark.parametrize(("kind", "body"), HAPPENINGS)
def test_ten_mishaps_each_have_a_plan_for_the_rest(
    opened: OpenBuild, todo: ToDo, plan: Plan, kind: str, body: dict[str, Any]
) -> None:
    found = replan(opened, todo, plan, happened=[Happening(kind, body)], seconds=10)
    if kind == "dropped":
        # wheels of another size and the reading uncorrected: the law's checks stop drive
        assert isinstance(found.plan, NoPlan)
        return
    assert isinstance(found.plan, Plan), found.plan
    problem = replace(found.todo.problem, clauses=found.plan.clauses)
    assert faults(problem, found.plan) == ()
    before = {s.what: s.session for s in plan.steps if s.kind == "job"}
    after = {s.what: s.session for s in found.plan.steps if s.kind == "job"}
    differ = {j for j in before.keys() | after.keys() if before.get(j) != after.get(j)}
    assert {m.job for m in found.moved} == differ
    assert all(m.why for m in found.moved)


def test_a_day_that_broke_off_is_planned_on_from_where_the_car_stands(
    tmp_path: Path, todo: ToDo
) -> None:
    folder = copy_with(tmp_path, JOBS, SESSIONS)
    began = open_build(folder)
    soon = replace(todo, problem=replace(todo.problem, first=("finish", "hours")))
    plan = plan_examined(began, soon, seconds=10)
    assert isinstance(plan, Plan)
    opens = next(step.session for step in plan.steps if step.kind == "take")
    day = todo.problem.session(opens)
    last = max(n for n, s in enumerate(plan.steps) if s.session == opens and s.kind == "take")
    halfway = [s.key for s in plan.steps[: last + 1]]
    jobs = {job.id: job_changes(job) for job in began.build.jobs}
    for key in halfway:
        began.journal.worked(key, who="Ilse", people=("Ilse",), ended="2026-12-05T15:00", hours=0.5)
        if changes := jobs.get(key.removeprefix("job:")):
            began.journal.did(changes, who="Ilse", job=key.removeprefix("job:"), at="2026-12-05")
    stands = open_build(folder)
    rest = to_do(stands, now=todo.problem.at(day.end))
    finished = {k.partition(":")[2] for k in halfway if k.startswith("job:")}
    assert rest.problem.off
    assert rest.problem.done >= finished
    found = replan(stands, rest, plan, seconds=10)
    assert isinstance(found.plan, Plan), found.plan
    assert faults(replace(found.todo.problem, clauses=found.plan.clauses), found.plan) == ()
    again = {s.what for s in found.plan.steps if s.kind == "job"}
    assert not finished & again
    assert {s.what for s in found.plan.steps if s.kind == "refit"} >= rest.problem.off


def test_where_there_is_no_plan_what_the_finished_car_would_be_stopped_by_is_said(
    tmp_path: Path,
) -> None:
    some = open_build(copy_with(tmp_path, ("wheels", "front-brakes"), ("sat-1", "sat-2")))
    asked = to_do(some)
    short = tuple(
        replace(s, end=s.start + 4, people=tuple(replace(p, end=s.start + 4) for p in s.people))
        for s in asked.problem.sessions
    )
    found = plan_examined(some, replace(asked, problem=replace(asked.problem, sessions=short)))
    assert isinstance(found, NoPlan)
    lessons = Lessons(some.state("now"), some.registry, asked.problem.jobs)
    holds = [h for h in lessons.stopped("drive", asked.problem.jobs) if not h.waits_for]
    assert holds
    assert found.still
    known = {(c.check, c.subject) for c in found.clauses}
    of_the_car = {(h.check, h.subject): h.why for h in holds}
    for clause in found.still:
        assert (clause.use, clause.why) == ("drive", of_the_car[clause.check, clause.subject])
        assert (clause.check, clause.subject) not in known


def test_what_was_learned_of_the_days_is_dropped_where_the_clauses_are_fewer_again() -> None:
    """What no day could hold with a clause, it may hold without: the second run begins anew."""
    seen: list[int] = []

    def finds_none(problem: Problem, *, learned: list[object], **how: object) -> NoPlan:
        seen.append(len(learned))
        learned.append(object())
        return NoPlan(("none",), ())

    lessons = cast("Lessons", None)  # nothing is examined where no plan is found
    search = _Search(small.problem(), lessons, finds_none, 0, 1.0, None)
    search.run(suppose=False)
    search.run(suppose=True)
    assert seen == [0, 0]
