"""Large plans on two levels: they hold, they are as good as the best, their bounds are true."""

from __future__ import annotations

import importlib.util
import sys
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest

from drybuild.work.checker import faults
from drybuild.work.model import (
    QUARTERS_AN_HOUR,
    Hours,
    Job,
    NoPlan,
    Plan,
    Presence,
    Problem,
    Work,
)
from drybuild.work.solve import solve
from drybuild.work.solve.large import is_large, solve_large
from drybuild.work.solve.large.bound import sessions_needed
from drybuild.work.solve.large.choice import choice_of
from drybuild.work.solve.large.master import singles, stretches
from drybuild.work.solve.large.shape import shape_of
from drybuild.work.solve.large.shop import LONGEST, short
from drybuild.work.solve.tasks import tasks_of

BENCHMARKS = Path(__file__).parents[2] / "benchmarks"


def _module(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(f"large_{name}", BENCHMARKS / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def cars() -> ModuleType:
    return _module("work_cars")


@pytest.fixture(scope="module")
def small() -> ModuleType:
    return _module("work_random")


@pytest.fixture(scope="module")
def medium(cars: ModuleType) -> Problem:
    problem: Problem = cars.car(3, components=60, jobs=24, sessions=7, people=4)
    return problem


@pytest.fixture(scope="module")
def planned(medium: Problem) -> Plan:
    plan = solve_large(medium, seconds=10, seed=1)
    assert isinstance(plan, Plan)
    return plan


def test_a_medium_plan_holds_and_is_near_its_bound(medium: Problem, planned: Plan) -> None:
    assert faults(medium, planned) == ()
    assert {step.what for step in planned.steps if step.kind == "job"} == set(medium.jobs)
    hours = planned.aim("hours")
    assert 0 < hours.bound <= hours.value
    assert hours.gap <= 0.1


def test_the_checker_would_see_a_step_left_out(medium: Problem, planned: Plan) -> None:
    assert faults(medium, replace(planned, steps=planned.steps[1:])) != ()


def test_every_better_plan_that_is_told_holds_and_is_better(medium: Problem) -> None:
    told: list[Plan] = []
    last = solve_large(medium, seconds=6, seed=2, heard=told.append)
    assert isinstance(last, Plan)
    assert told
    assert all(faults(medium, plan) == () for plan in told)
    hours = [plan.aim("hours").value for plan in told]
    assert hours == sorted(hours, reverse=True)
    assert last.aim("hours").value == hours[-1]


def test_a_plan_to_begin_from_is_never_made_worse(medium: Problem, planned: Plan) -> None:
    again = solve_large(medium, seconds=2, seed=5, hint=planned)
    assert isinstance(again, Plan)
    assert again.aim("hours").value <= planned.aim("hours").value


@pytest.mark.parametrize("seed", range(20))
def test_small_plans_are_the_best_and_no_bound_lies_above_it(small: ModuleType, seed: int) -> None:
    problem: Problem = small.small(seed)
    best = solve(problem, seconds=10)
    plan = solve_large(problem, seconds=5)
    if isinstance(best, NoPlan):
        assert isinstance(plan, NoPlan)
        return
    assert isinstance(plan, Plan)
    assert faults(problem, plan) == ()
    assert best.aims[0].proven
    first = best.aims[0].name
    least, found = _counted(problem, best, first), _counted(problem, plan, first)
    assert plan.aim(first).bound <= least <= found
    assert found - least <= plan.aim(first).value * plan.aim(first).gap + 1e-9
    # what no plan can go below holds for the best one, whichever aim is first
    assert all(plan.aim(aim.name).bound <= _counted(problem, best, aim.name) for aim in best.aims)


def _counted(problem: Problem, plan: Plan, name: str) -> float:
    """An aim as it is compared: hours with what is left to be done over after a distance."""
    number = {session.id: n for n, session in enumerate(problem.sessions)}
    owed = tasks_of(problem).owed((step.key, number[step.session]) for step in plan.steps)
    return plan.aim(name).value + (owed / QUARTERS_AN_HOUR if name == "hours" else 0.0)


def test_the_same_seed_gives_the_same_plan(cars: ModuleType) -> None:
    problem: Problem = cars.car(0, components=40, jobs=6, sessions=4, people=3)
    # time enough that it ends by its own count, however busy the machine is
    one, two = (solve_large(problem, seconds=15, seed=7) for _ in range(2))
    assert isinstance(one, Plan)
    assert isinstance(two, Plan)
    assert one.steps == two.steps


def test_a_job_that_no_session_can_take_is_named(medium: Problem) -> None:
    name = next(iter(medium.jobs))
    booked = replace(medium.jobs[name], sessions=("no such session",))
    plan = solve_large(replace(medium, jobs={**medium.jobs, name: booked}), seconds=5)
    assert isinstance(plan, NoPlan)
    assert any(name in why for why in plan.why)


def test_too_much_work_for_the_sessions_is_proven_to_have_no_plan(medium: Problem) -> None:
    session = medium.sessions[0]
    one = replace(session, people=(Presence("Aune", session.start, session.end),))
    jobs = {n: Job(n, n, "fit", "nose", Work(Hours(3.0, 3.0, 3.0))) for n in ("a", "b", "c")}
    few = replace(medium, jobs=jobs, sessions=(one,), needs=(), budgets=())
    plan = solve_large(few, seconds=10)
    assert isinstance(plan, NoPlan)
    assert plan.why == ("no plan meets every need",)


def test_only_what_can_come_into_play_is_kept(medium: Problem) -> None:
    shape = shape_of(medium)
    assert set(shape.components) < set(medium.components)
    none = shape_of(replace(medium, done=frozenset(medium.jobs)))
    assert none.components == ()
    assert none.jobs == ()


def test_what_a_choice_says_of_each_session_is_what_the_plan_says(
    medium: Problem, planned: Plan
) -> None:
    chosen = choice_of(shape_of(medium), planned)
    assert chosen.load / 4 == planned.aim("hours").value
    assert chosen.finish == planned.aim("finish").value
    for end, off in zip(planned.ends, chosen.off, strict=True):
        assert end.off == off


def test_blocks_are_whole_stretches_cut_short(medium: Problem) -> None:
    shape = shape_of(medium)
    ends = {block[-1] for block in stretches(shape)}
    assert set(shape.needed) <= ends
    pieces = short(stretches(shape))
    assert [k for piece in pieces for k in piece] == [k for (k,) in singles(shape)]
    assert max(map(len, pieces)) <= LONGEST
    assert short([tuple(range(9))]) == ((0, 1, 2), (3, 4, 5), (6, 7, 8))


def test_the_finish_is_bounded_by_the_hours_that_must_fit(medium: Problem) -> None:
    shape = shape_of(medium)
    room = [load / 4 for load in shape.capacity]
    assert sessions_needed(shape, room[0] + room[1] + 0.25, 0) >= 3
    assert sessions_needed(shape, 0.0, 0) <= len(room)


def test_size_decides_which_way_is_taken(cars: ModuleType, medium: Problem) -> None:
    assert not is_large(medium)
    assert is_large(cars.car(0))


def test_a_plan_that_will_do_ends_the_search_and_is_kept(medium: Problem) -> None:
    told: list[Plan] = []
    kept = solve_large(
        medium, seconds=60, seed=2, heard=told.append, enough=lambda: bool(told)
    )
    assert isinstance(kept, Plan)
    assert faults(medium, kept) == ()
    assert len(told) == 1  # no better one was looked for
    assert kept.steps == told[0].steps
    assert kept.seconds < 30
