"""Who works at the car at once: a drive keeps everybody off, a running engine hands near it."""

from __future__ import annotations

from itertools import combinations, product

import pytest
import saturdays as sat
from small_demo import copy_with

import drybuild
from drybuild.work.at_hand import at_hand
from drybuild.work.checker import faults
from drybuild.work.ends import work_of
from drybuild.work.held import HANDS_IN, NEVER_AT_ONCE, TO_ITSELF, sort_of, with_hands
from drybuild.work.model import Hours, Plan, Problem, Work
from drybuild.work.solve import Learned, solve

HALF = Hours(0.5, 0.5, 0.5)


def works() -> list[Work]:
    held = ((), (HANDS_IN,), (TO_ITSELF,))
    return [
        Work(HALF, people, tools=tools, engine=engine)
        for people, tools, engine in product((0, 1), held, ("", "cold", "runs"))
    ]


def test_two_are_never_at_once_both_ways_round():
    for one, other in combinations(works(), 2):
        a, b = sort_of(one), sort_of(other)
        assert (b in NEVER_AT_ONCE[a]) == (a in NEVER_AT_ONCE[b]), (a, b)
        alone = TO_ITSELF in one.tools and (TO_ITSELF in other.tools or other.people > 0)
        if alone:
            assert b in NEVER_AT_ONCE[a]


@pytest.mark.parametrize(("region", "near"), [
    ("engine bay", True), ("under, middle", True), ("tank", True), ("nose", True),
    ("gearbox", True), ("whole car, front", True), ("rear corners", True), ("", True),
    ("cabin", False), ("boot", False),
])  # fmt: skip
def test_hands_are_in_where_a_running_engine_reaches_them(region, near):
    cover = sat.component("cover", HALF, HALF, region=region)
    inside = sat.job("inside", HALF, "cover", region="cabin")
    there = sat.job("there", HALF, region=region)
    started = sat.job("start", HALF, region=region, engine="runs")
    waits = sat.job("waits", HALF, region=region, people=0)
    made = with_hands(sat.problem(components=[cover], jobs=[inside, there, started, waits]))
    held = {name: HANDS_IN in job.work.tools for name, job in made.jobs.items()}
    assert held == {"inside": near, "there": near, "start": False, "waits": False}
    ends = (made.components["cover"].take, made.components["cover"].refit)
    assert {HANDS_IN in work.tools for work in ends} == {near}


def test_nobody_is_at_the_car_while_an_end_goes_up_or_down():
    """Leaning in, under it, beside it or in it."""
    lift = sat.component("lift", HALF, region="whole car, front", tools=(TO_ITSELF,))
    regions = ("under, middle", "front corners", "engine bay", "whole car", "cabin")
    jobs = [sat.job(region, HALF, region=region) for region in regions]
    made = with_hands(sat.problem(components=[lift], jobs=jobs))
    assert sort_of(made.components["lift"].take) == "alone"
    assert HANDS_IN not in made.components["lift"].take.tools
    assert all(sort_of(job.work) in NEVER_AT_ONCE["alone"] for job in made.jobs.values())


def full_day(*, near: bool) -> Problem:
    """One hour for two people: a start of half an hour, and the rest of it is work."""
    region = "engine bay" if near else "cabin"
    jobs = [sat.job("start", HALF, engine="runs", region="cabin")]
    jobs += [sat.job(name, HALF, region=region) for name in ("one", "two", "three")]
    return with_hands(sat.problem(jobs=jobs, sessions=[sat.saturday(1, hours=1)]))


def test_a_day_that_is_too_full_for_that_has_no_plan():
    assert isinstance(solve(full_day(near=False)), Plan)
    assert not isinstance(solve(full_day(near=True)), Plan)


def test_the_checker_finds_hands_beside_a_running_engine_by_itself():
    plan = solve(full_day(near=False))
    assert isinstance(plan, Plan)
    assert not faults(full_day(near=False), plan)
    said = [f for f in faults(full_day(near=True), plan) if f.startswith("hands are in")]
    beside = [s.what for s in plan.steps if s.what != "start"
              and s.start == next(o.start for o in plan.steps if o.what == "start")]  # fmt: skip
    assert len(said) == len(beside) == 1
    assert f"job:{beside[0]}" in said[0]


def test_what_one_search_learned_of_a_day_spares_the_next():
    """A day has the hours for three turns at the press, and its clock has not."""
    jobs = [sat.job(f"press {n}", Hours(3, 3, 3), tools=("press",)) for n in range(3)]
    made = sat.problem(jobs=jobs, tools={"press": 1})
    learned: list[Learned] = []
    first = solve(made, learned=learned)
    before = len(learned)
    again = solve(made, learned=learned)
    assert isinstance(first, Plan)
    assert isinstance(again, Plan)
    assert [(a.name, a.value, a.bound) for a in first.aims] == [
        (a.name, a.value, a.bound) for a in again.aims
    ]
    assert not faults(made, again)
    assert before == len(learned) > 0, "the second search meets nothing that is new to it"


@pytest.fixture(scope="module")
def problem(tmp_path_factory) -> Problem:
    jobs, days = ("intake", "springs-front"), ("sat-1", "sat-2")
    made = copy_with(tmp_path_factory.mktemp("held"), jobs, days)
    return at_hand(drybuild.open_build(made)).todo.problem


def test_the_demo_has_one_end_up_at_a_time_and_hands_out_at_the_first_start(problem):
    ends = [problem.components[f"raised_{axle}"] for axle in ("front", "rear")]
    assert all(TO_ITSELF in work.tools for one in ends for work in (one.take, one.refit))
    assert problem.tools[TO_ITSELF] == 1
    assert HANDS_IN not in problem.tools
    start = problem.effects["first_start"].clearing
    assert start is not None
    assert sort_of(start.work) == "runs"
    assert any(sort_of(c.take) == "hands" for c in problem.components.values())


def test_every_plan_keeps_them_apart(problem):
    plan = solve(problem, seconds=5)
    assert isinstance(plan, Plan)
    for one, other in combinations(plan.steps, 2):
        if one.start < other.end and other.start < one.end:
            works = [work_of(problem, step) for step in (one, other)]
            assert sort_of(works[1]) not in NEVER_AT_ONCE[sort_of(works[0])]


def test_the_checker_finds_who_is_in_the_car_while_an_end_moves_and_at_the_key_of_an_engine():
    lift = sat.component("lift", HALF, region="whole car, front", tools=(TO_ITSELF,))
    kinds = {"trim": "fit", "map": "flash"}
    jobs = [sat.job(name, HALF, region="cabin", kind=kind) for name, kind in kinds.items()]
    jobs += [sat.job("start", HALF, "lift", engine="runs"), sat.job("air box", HALF)]
    day = sat.saturday(1, hours=2.5)
    made = with_hands(sat.problem(components=[lift], jobs=jobs, sessions=[day]))
    sorts = {name: sort_of(job.work) for name, job in made.jobs.items()}
    assert sorts == {"trim": "people", "map": "hands", "start": "runs", "air box": "hands"}
    assert "runs" not in NEVER_AT_ONCE["people"], "in the cabin while the engine runs"
    both = sat.plan(
        made, ("take:lift", "sat-1", 0, "Ilse"), ("job:trim", "sat-1", 0, "Marten"),
        ("job:start", "sat-1", 0.5, "Ilse"), ("job:map", "sat-1", 0.5, "Marten"),
        ("job:air box", "sat-1", 1, "Marten"), ("refit:lift", "sat-1", 1.5, "Ilse"),
    )  # fmt: skip
    said = [f for f in faults(made, both) if "while" in f]
    assert said == [
        "job:trim goes on while take:lift has the car to itself",
        "hands are in for job:map while the engine runs for job:start",
    ]
    plan = solve(made)
    assert isinstance(plan, Plan)
    assert not faults(made, plan)
