"""The outlook of a plan: what does not fit its day, its people, its parts and its records."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import saturdays as sat
from outlook_making import CERTAIN, carried_out, doubtful, guarded, number

from drybuild.work.held import HANDS_IN, TO_ITSELF
from drybuild.work.model import (
    After,
    Clause,
    Condition,
    Effect,
    Hours,
    Job,
    Presence,
    Work,
)
from drybuild.work.risk import Doubts, simulate
from drybuild.work.risk.execute import NEVER
from drybuild.work.risk.needs import met
from drybuild.work.risk.network import network

# what does not fit --------------------------------------------------------------------------


def test_what_was_not_begun_goes_first_in_the_next_session():
    made, plan = doubtful()
    tasks, _, run = carried_out(made, plan, takes={"job:seized": 8.0})
    begun = made.sessions[1].start
    # half an hour is left on the second Saturday of what was begun on the first
    assert np.all(run.end[number(tasks, "job:seized")] == begun + 2)
    assert np.all(run.start[number(tasks, "job:easy")] == begun + 2)
    assert not met(tasks, run, made.needs[0]).met.any()
    first = met(tasks, run, made.needs[0]).waits_for
    assert set(first) == {number(tasks, "refit:guard")}


def test_half_taken_off_is_off():
    made = sat.problem(
        components=[sat.component("box", sat.fixed(1))], jobs=[sat.job("in", sat.fixed(1), "box")],
        sessions=[sat.saturday(1, hours=2), sat.saturday(2)], needs=[sat.monday(1)],
    )  # fmt: skip
    plan = sat.plan(
        made, ("take:box", "sat-1", 1, "Ilse"), ("job:in", "sat-2", 0, "Ilse"),
        ("refit:box", "sat-2", 1, "Ilse"),
    )  # fmt: skip
    tasks, _, run = carried_out(made, plan, takes={"take:box": 3.0})
    assert np.all(run.start[0] < made.sessions[0].end)
    assert np.all(run.end[0] > made.sessions[1].start)
    assert not met(tasks, run, made.needs[0]).met.any()


@pytest.mark.parametrize(("stay", "makes_it"), [(0.0, False), (0.25, False), (0.5, True)])
def test_people_stay_on_but_not_for_ever(stay, makes_it):
    made, plan = doubtful()
    doubts = replace(CERTAIN, stay=stay)
    # half an hour more than the plan gives it
    tasks, _, run = carried_out(made, plan, doubts=doubts, takes={"job:seized": 5.5})
    assert bool(met(tasks, run, made.needs[0]).met.all()) is makes_it


def test_a_session_lasts_until_it_is_done_when_people_stay():
    made, plan = doubtful()
    _, times, run = carried_out(made, plan, doubts=Doubts(), stay=NEVER, draws=256)
    assert np.all(run.session == 0)
    assert run.end.max() > made.sessions[0].end
    assert np.allclose(run.end.max(axis=0), made.sessions[0].start + times.used.sum(axis=0))


def test_somebody_else_takes_over_who_is_there():
    made, plan = guarded()
    late = [sat.saturday(1, hours=1), sat.saturday(2, people=("Odile",))]
    tasks, _, run = carried_out(replace(made, sessions=tuple(late)), plan)
    # nobody but Odile is there: everything that is left is hers, one after the other
    left = [k for k in range(len(tasks.tasks)) if tasks.tasks[k].key != "take:guard"]
    assert np.all(run.session[left] == 1)
    spans = sorted((run.start[k, 0], run.end[k, 0]) for k in left)
    assert all(one[1] <= two[0] for one, two in pairwise(spans))


def test_only_those_who_may_do_it_take_over():
    made, plan = guarded()
    bound = {n: replace(j, who=("Ilse",)) for n, j in made.jobs.items()}
    sessions = (sat.saturday(1, hours=1), sat.saturday(2, people=("Odile",)))
    tasks, _, run = carried_out(replace(made, jobs=bound, sessions=sessions), plan)
    assert np.all(run.end[number(tasks, "job:cooler")] == NEVER)
    todo = sat.todo(replace(made, jobs=bound, sessions=sessions))
    outlook = simulate(todo, plan, draws=64, doubts=CERTAIN)
    assert outlook.finished == 0.0
    # the line is left for itself; the guard and the oil only wait for what is left
    assert {left.what for left in outlook.left} == {"job:cooler", "job:line"}


def test_a_missed_booking_is_not_made_again():
    made, plan = doubtful()
    booked = replace(made.jobs["other"], sessions=("sat-1",), kind="outside")
    late = replace(made, jobs={**made.jobs, "other": booked})
    tasks, _, run = carried_out(late, plan, takes={"job:seized": 8.0})
    assert np.all(run.end[number(tasks, "job:other")] == NEVER)
    assert np.all(run.end[number(tasks, "job:easy")] < NEVER)


def test_what_is_never_done_in_some_draws_is_never_done_when_people_stay_either():
    made, plan = doubtful()
    booked = replace(made.jobs["other"], sessions=("sat-1",), work=replace(
        made.jobs["other"].work, needs=sat.off("guard")))  # fmt: skip
    made = replace(made, jobs={**made.jobs, "other": booked})
    failing = replace(made.jobs["easy"], kind="record", fails=0.3)
    made = replace(made, jobs={**made.jobs, "easy": failing})
    outlook = simulate(sat.todo(made, age=20.0), plan, draws=256)
    assert 0.0 < outlook.finished < 1.0
    assert outlook.sessions[0].end.p90 < 24.0
    assert np.isfinite(outlook.waiting.mean)


def test_what_a_tool_is_needed_for_waits_for_a_session_that_has_it():
    press = (((Condition("tool", "press"),),),)
    made = sat.problem(
        jobs=[
            sat.job("long", sat.fixed(7)),
            replace(sat.job("bush", sat.fixed(2)), work=Work(sat.fixed(2), needs=press)),
        ],
        sessions=[
            sat.saturday(1, people=("Ilse",), tools=("press",)), sat.saturday(2, people=("Ilse",)),
            sat.saturday(3, people=("Ilse",), tools=("press",)),
        ],
    )  # fmt: skip
    plan = sat.plan(made, ("job:long", "sat-1", 0, "Ilse"), ("job:bush", "sat-1", 7, "Ilse"))
    tasks, _, run = carried_out(made, plan)
    assert np.all(run.session[number(tasks, "job:bush")] == 2)


@pytest.mark.parametrize(("count", "together"), [(1, 4.0), (2, 2.0)])
def test_a_tool_is_held_by_as_many_as_there_are(count, together):
    jobs = [sat.job(name, sat.fixed(2), tools=("press",)) for name in ("one", "other")]
    made = sat.problem(jobs=jobs, tools={"press": count})
    plan = sat.plan(made, ("job:one", "sat-1", 0, "Ilse"), ("job:other", "sat-1", 0, "Marten"))
    _, _, run = carried_out(made, plan)
    assert np.all(run.end.max(axis=0) == made.sessions[0].start + 4 * together)


@pytest.mark.parametrize("drive", ["one", "other", None])
def test_who_drives_the_car_waits_for_who_is_at_it_and_lets_nobody_near(drive):
    """Two hours of one and two of the other, planned side by side."""
    jobs = [
        sat.job(name, sat.fixed(2), tools=(TO_ITSELF,) if name == drive else ())
        for name in ("one", "other")
    ]
    made = sat.problem(jobs=jobs, tools={TO_ITSELF: 1})
    plan = sat.plan(made, ("job:one", "sat-1", 0, "Ilse"), ("job:other", "sat-1", 0, "Marten"))
    _, _, run = carried_out(made, plan)
    apart = np.sort(run.start, axis=0)[1] - np.sort(run.start, axis=0)[0]
    assert np.all(apart == (0 if drive is None else 8))


@pytest.mark.parametrize(("engines", "held", "apart"), [
    (("runs", ""), ((), (HANDS_IN,)), 8),
    (("runs", "runs"), ((), ()), 8),
    (("runs", ""), ((), ()), 0),
    (("", ""), ((HANDS_IN,), (HANDS_IN,)), 0),
])  # fmt: skip
def test_hands_wait_for_a_running_engine_and_it_for_them(engines, held, apart):
    """Two hours of one and two of the other, planned side by side."""
    jobs = [
        sat.job(name, sat.fixed(2), tools=tools, engine=engine)
        for name, tools, engine in zip(("one", "other"), held, engines, strict=True)
    ]
    made = sat.problem(jobs=jobs)
    plan = sat.plan(made, ("job:one", "sat-1", 0, "Ilse"), ("job:other", "sat-1", 0, "Marten"))
    _, _, run = carried_out(made, plan)
    assert np.all(np.ptp(run.start, axis=0) == apart)


def test_three_share_two_presses():
    jobs = [sat.job(str(n), sat.fixed(h), tools=("press",)) for n, h in ((1, 3), (2, 1), (3, 1))]
    made = sat.problem(
        jobs=jobs, tools={"press": 2}, sessions=[sat.saturday(1, people=("A", "B", "C"))]
    )
    plan = sat.plan(
        made, ("job:1", "sat-1", 0, "A"), ("job:2", "sat-1", 0, "B"), ("job:3", "sat-1", 1, "C")
    )
    tasks, _, run = carried_out(made, plan)
    assert np.all(run.start[number(tasks, "job:3")] == made.sessions[0].start + 4)


# waits, parts, effects, clauses ----------------------------------------------------------------


def test_lags_waits_and_parts_hold_the_start():
    made = sat.problem(
        jobs=[
            sat.job("glue", sat.fixed(1), wait=2.0),
            sat.job("on glue", sat.fixed(1), after=(After("glue"),)),
            sat.job("parts", sat.fixed(1), earliest=sat.NINE + 28),
        ],
    )
    plan = sat.plan(
        made, ("job:glue", "sat-1", 0, "Ilse"), ("job:on glue", "sat-1", 3, "Ilse"),
        ("job:parts", "sat-1", 7, "Marten"),
    )  # fmt: skip
    tasks, _, run = carried_out(made, plan)
    start = made.sessions[0].start
    assert np.all(run.start[number(tasks, "job:on glue")] == start + 12)
    assert np.all(run.start[number(tasks, "job:parts")] == start + 28)


def test_parts_that_come_late_cost_monday_and_are_named():
    made, plan = doubtful()
    sure = {n: replace(j, work=replace(j.work, hours=sat.fixed(1))) for n, j in made.jobs.items()}
    sure["easy"] = replace(sure["easy"], earliest=sat.NINE)
    made = replace(made, jobs=sure)
    late = Doubts(late={"easy": Hours(0.0, 2.0, 24.0)})
    outlook = simulate(sat.todo(made), plan, doubts=late)
    assert simulate(sat.todo(made), plan).all_needs == 1.0
    assert 0.2 < outlook.all_needs < 0.9
    cause = outlook.needs[0].causes[0]
    assert (cause.kind, cause.what) == ("parts", "job:easy")
    assert cause.gain == pytest.approx(1.0 - outlook.all_needs, abs=0.05)


def failing(chance, **more):
    effect = sat.clearing("brakes", sat.fixed(1), kind="record", fails=chance)
    made = sat.problem(
        jobs=[sat.job("lines", sat.fixed(1), causes=("brakes",))], effects=[effect],
        needs=[sat.monday(1)],
    )  # fmt: skip
    plan = sat.plan(made, ("job:lines", "sat-1", 0, "Ilse"), ("clear:brakes", "sat-1", 1, "Ilse"))
    return simulate(sat.todo(made), plan, doubts=Doubts(**more))


def test_a_record_that_may_fail_enters_the_chance_of_monday():
    assert failing(0.0).all_needs == 1.0
    assert failing(0.2, at_once=0.0).all_needs == pytest.approx(0.8, abs=0.01)
    assert failing(0.2, at_once=0.5).all_needs == pytest.approx(0.9, abs=0.01)
    assert failing(0.2, at_once=1.0).all_needs == 1.0  # there is time to put it right
    assert failing(1.0, at_once=0.0).all_needs == 0.0
    (cause,) = failing(0.2, at_once=0.0).needs[0].causes
    assert (cause.kind, cause.what) == ("check", "clear:brakes")
    assert cause.gain == pytest.approx(0.2, abs=0.02)


def test_a_failed_record_costs_its_putting_right_and_is_done_again():
    usual = failing(0.0).hours.p50
    always = failing(1.0, rework=sat.fixed(2.0)).hours.p50
    assert always == pytest.approx(usual + 3.0)
    assert failing(None).all_needs == pytest.approx(1 - 0.03 / 2, abs=0.01)  # as is usual


def test_wheels_are_tightened_again_in_a_later_session():
    again = sat.clearing("wheels", sat.fixed(0.5), stops=(), between=50.0)
    made = sat.problem(
        jobs=[sat.job("wheels on", sat.fixed(1), causes=("wheels",))], effects=[again]
    )
    plan = sat.plan(
        made, ("job:wheels on", "sat-1", 0, "Ilse"), ("clear:wheels", "sat-2", 0, "Ilse")
    )
    # the wheels go on a week late: nothing is driven before the last session
    _, _, run = carried_out(made, plan, takes={"job:wheels on": 10.0})
    assert np.all(run.session[0] == 1)
    assert np.all(run.end[1] == NEVER)


def test_a_cure_that_passes_by_itself_must_have_passed_by_monday():
    needs = [sat.monday(1, "run")]
    for hours, allowed in ((20.0, True), (60.0, False)):
        cure = Effect("sealant", "sealant", ("run",), None, lasting=hours)
        made = sat.problem(
            jobs=[sat.job("seal", sat.fixed(1), causes=("sealant",))], effects=[cure], needs=needs
        )
        plan = sat.plan(made, ("job:seal", "sat-1", 0, "Ilse"))
        tasks, _, run = carried_out(made, plan)
        assert bool(met(tasks, run, needs[0]).met.all()) is allowed


def test_a_clause_holds_as_long_as_its_job_is_missing():
    made, plan = doubtful()
    taught = Clause("drive", frozenset({"seized"}), frozenset({"easy"}), "bush is loose")
    stopped = replace(made, clauses=(taught,))
    steps = tuple(s for s in plan.steps if s.kind == "job")
    free = replace(stopped, components={}, jobs={
        n: replace(j, work=replace(j.work, needs=())) for n, j in stopped.jobs.items()
    })  # fmt: skip
    tasks, _, run = carried_out(free, replace(plan, steps=steps), takes={"job:easy": 9.0})
    found = met(tasks, run, made.needs[0])
    assert not found.met.any()
    assert set(found.waits_for) == {number(tasks, "job:easy")}
    tasks, _, run = carried_out(free, replace(plan, steps=steps), takes={"job:easy": 0.5})
    assert met(tasks, run, made.needs[0]).met.all()


def test_what_drives_comes_after_what_stops_it():
    road = Job("road", "road check", "test", "car", Work(
        sat.fixed(0.5), needs=(((Condition("use", "drive"),),),)), fixed=True)  # fmt: skip
    made, plan = guarded()
    made = replace(made, jobs={**made.jobs, "road": road})
    (last,) = sat.plan(made, ("job:road", "sat-1", 4, "Ilse")).steps
    plan = replace(plan, steps=(*plan.steps, last))
    tasks = network(made, plan)
    waits = {tasks.tasks[link.first].key for link in tasks.tasks[-1].links}
    assert waits == {"refit:guard", "clear:oil"}


def test_a_plan_of_nothing_takes_no_time():
    made = sat.problem(needs=[sat.monday(1)])
    outlook = simulate(sat.todo(made), sat.plan(made), draws=16)
    assert outlook.hours.p90 == outlook.planned == 0.0
    assert outlook.all_needs == outlook.finished == 1.0
    assert outlook.sessions == ()


def test_who_is_away_at_noon_goes_on_in_the_afternoon():
    start = sat.NINE
    there = (Presence("Ilse", start, start + 12), Presence("Ilse", start + 16, start + 32))
    made = sat.problem(
        jobs=[sat.job("one", sat.fixed(2)), sat.job("other", sat.fixed(2))],
        sessions=[replace(sat.saturday(1), people=there)],
    )
    plan = sat.plan(made, ("job:one", "sat-1", 0, "Ilse"), ("job:other", "sat-1", 4, "Ilse"))
    tasks, _, run = carried_out(made, plan, takes={})
    # an hour is left in the morning, too little to begin what takes two
    assert np.all(run.start[number(tasks, "job:other")] == start + 16)
    # what was begun is gone on with after noon
    tasks, _, run = carried_out(made, plan, takes={"job:one": 4.0})
    assert np.all(run.end[number(tasks, "job:one")] == start + 20)
