"""The outlook of a plan: what its doubt, its people and its parts make of it."""

from __future__ import annotations

import importlib.util
import sys
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from drybuild.journal import WorkEntry
from drybuild.values import Draws, quantiles
from drybuild.work.checker import faults
from drybuild.work.durations import quantile
from drybuild.work.ends import ends_of
from drybuild.work.model import After, Clause, Condition, Effect, Hours, Job, Plan, Presence, Work
from drybuild.work.reach import reach
from drybuild.work.risk import Doubts, Learned, Worked, learn, simulate, worked_from
from drybuild.work.risk.doubts import seized_share, weights
from drybuild.work.risk.execute import NEVER, execute
from drybuild.work.risk.lengths import lengths
from drybuild.work.risk.needs import met
from drybuild.work.risk.network import network
from drybuild.work.schedule.session import Fit, fit_session, stand_after, stand_of

_spec = importlib.util.spec_from_file_location(
    "saturdays", Path(__file__).with_name("saturdays.py")
)
sat = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(sat)
_spec = importlib.util.spec_from_file_location(
    "work_cars", Path(__file__).parents[2] / "benchmarks" / "work_cars.py"
)
work_cars = importlib.util.module_from_spec(_spec)
sys.modules["work_cars"] = work_cars  # its dataclasses look their module up
_spec.loader.exec_module(work_cars)

CERTAIN = Doubts(pace=0.0, seized=0.0, stay=0.0)


def carried_out(made, plan, *, doubts=CERTAIN, draws=64, age=10.0, stay=None, takes=None):
    """takes: key → hours that a task takes in truth; the others as planned, and nothing fails."""
    tasks = network(made, plan)
    times = lengths(tasks, Draws(draws), age=age, doubts=doubts, learned=Learned())
    for index, task in enumerate(tasks.tasks):
        if takes is not None:
            times.first[index] = 4 * takes.get(task.key, task.planned / 4)
            times.again[index] = 0.0
    run = execute(tasks, times, stay=4 * doubts.stay if stay is None else stay)
    return tasks, times, run


def number(tasks, key):
    return next(k for k, task in enumerate(tasks.tasks) if task.key == key)


# a plan of fixed lengths goes as planned --------------------------------------------------


def guarded():
    """Two jobs behind a guard, oil to fill, drive on Monday; all of fixed length."""
    made = sat.problem(
        components=[sat.component("guard", sat.fixed(0.5))],
        jobs=[
            sat.job("cooler", sat.fixed(2), "guard", causes=("oil",)),
            sat.job("line", sat.fixed(1), "guard"),
        ],
        effects=[sat.clearing("oil", sat.fixed(0.5))],
        needs=[sat.monday(1)],
    )
    plan = sat.plan(
        made, ("take:guard", "sat-1", 0, "Ilse"), ("job:cooler", "sat-1", 0.5, "Ilse"),
        ("job:line", "sat-1", 0.5, "Marten"), ("refit:guard", "sat-1", 2.5, "Marten"),
        ("clear:oil", "sat-1", 3.0, "Ilse"),
    )  # fmt: skip
    return made, plan


def test_without_doubt_it_goes_as_planned():
    made, plan = guarded()
    assert not [fault for fault in faults(made, plan) if "aims" not in fault]
    tasks, _, run = carried_out(made, plan)
    for index, task in enumerate(tasks.tasks):
        assert np.all(run.end[index] <= task.step.end)
    # the oil need not wait for the guard: it is filled as soon as Ilse has the cooler in
    assert np.all(run.start[number(tasks, "clear:oil")] == made.sessions[0].start + 10)
    assert np.all(met(tasks, run, made.needs[0]).met)
    outlook = simulate(sat.todo(made), plan, draws=64)
    assert outlook.all_needs == outlook.finished == 1.0
    assert outlook.hours.p10 == outlook.hours.p90 == pytest.approx(4.5)
    assert outlook.planned == 4.5
    assert outlook.buffers == outlook.left == ()


@pytest.mark.parametrize("seed", range(6))
def test_what_the_session_schedule_makes_goes_as_planned(seed):
    """Invented cars: every condition that the schedules keep is a wait here, and none is more."""
    made, plan = scheduled(seed)
    assert len(plan.steps) > 20
    assert not [f for f in faults(made, plan) if "drive" in f or "needs" in f]
    tasks, _, run = carried_out(made, plan, takes={}, draws=16)
    for index, task in enumerate(tasks.tasks):
        assert np.all(run.end[index] <= task.step.end), task.key
        assert np.all(run.session[index] == task.session), task.key
    for need in made.needs:
        assert met(tasks, run, need).met.all()


def scheduled(seed):
    """As many jobs of an invented car as fit, each session by itself."""
    made = work_cars.car(seed, components=40, jobs=18, sessions=4, people=3)
    stand, steps, left = stand_of(made), [], list(made.jobs)
    for session in made.sessions:
        chosen, fit = set(), None
        for name in list(left):
            keys = wanted(made, session, name, left, chosen)
            tried = fit_session(made, session, chosen | keys, stand, exact=False) if keys else None
            if isinstance(tried, Fit):
                chosen, fit = chosen | keys, tried
                left.remove(name)
        if fit is not None:
            steps += fit.steps
            stand = stand_after(made, stand, fit.steps)
    steps.sort(key=lambda s: (s.start, s.end))
    return made, Plan(tuple(steps), ends_of(made, steps), ())


def wanted(made, session, name, left, chosen):
    """What a job takes in a session: its openings, itself, what clears after it."""
    job = made.jobs[name]
    early = any(a.job in left and f"job:{a.job}" not in chosen for a in job.after)
    way = None if early or job.earliest > session.end else reach(made, job, tools=session.tools)
    if way is None:
        return set()
    keys = {f"job:{name}", *(f"take:{c}" for c in way.components)}
    keys |= {f"refit:{c}" for c in way.components}
    cleared = (made.effects[e] for e in way.effects)
    return keys | {f"clear:{e.id}" for e in cleared if e.clearing and not e.between}


def test_marten_waits_for_ilse():
    made, plan = guarded()
    outlook = simulate(sat.todo(made), plan, draws=64)
    # half an hour for the guard to come off, and an hour for the cooler before it goes back
    assert outlook.waiting.p50 == pytest.approx(1.5)


def test_the_guard_goes_back_only_when_nobody_needs_it_off():
    made, plan = guarded()
    tasks = network(made, plan)
    refit = tasks.tasks[number(tasks, "refit:guard")]
    assert {link.first for link in refit.links} == {
        number(tasks, k) for k in ("take:guard", "job:cooler", "job:line")
    }
    (round_,) = tasks.rounds
    assert {tasks.tasks[k].key for k in round_.behind} == {"job:cooler", "job:line"}


# doubt -------------------------------------------------------------------------------------


@pytest.mark.parametrize("age", [0.0, 8.0, 40.0])
@pytest.mark.parametrize("people", [("Ilse",), ("Ilse", "Marten")])
def test_each_task_keeps_its_own_marginal(age, people):
    hours = Hours(1.0, 1.5, 3.0)
    made = sat.problem(jobs=[sat.job("bolts", hours, people=len(people))])
    plan = sat.plan(made, ("job:bolts", "sat-1", 0, *people))
    _, times, _ = carried_out(made, plan, doubts=Doubts(), draws=2**14, age=age)
    low, high = quantiles(times.used[0] / 4, (0.1, 0.9))
    assert low == pytest.approx(1.0, abs=0.02)
    assert high == pytest.approx(3.0, abs=0.03)


def together(doubts, age, who=("Ilse", "Marten")):
    """Correlation of two equal tasks of one region."""
    jobs = [sat.job(name, sat.about(2)) for name in ("one", "other")]
    made = sat.problem(jobs=jobs)
    plan = sat.plan(made, ("job:one", "sat-1", 0, who[0]), ("job:other", "sat-1", 0, who[1]))
    _, times, _ = carried_out(made, plan, doubts=doubts, draws=2**12, age=age)
    return float(np.corrcoef(times.used)[0, 1])


def test_an_old_car_takes_longer_in_all_its_bolts_at_once():
    apart = [together(Doubts(), age) for age in (0.0, 5.0, 25.0)]
    assert abs(apart[0]) < 0.05
    assert apart[0] < apart[1] < apart[2]
    assert together(Doubts(), 0.0, ("Ilse", "Ilse")) > 0.3


def test_the_share_of_seized_fasteners_grows_with_age_and_stays_a_share():
    shares = [seized_share(age, Doubts()) for age in (0.0, 3.0, 12.0, 60.0)]
    assert shares[0] == 0.0
    assert shares == sorted(shares)
    assert shares[-1] <= Doubts().seized
    assert seized_share(None, Doubts()) == shares[2]


@pytest.mark.parametrize("kind", ["take", "refit", "job", "clear"])
@pytest.mark.parametrize("hours", [Hours(1, 1.01, 1.02), Hours(0.1, 1, 9), Hours(0, 0.1, 5)])
def test_common_causes_leave_room_for_a_tasks_own(kind, hours):
    load = weights(hours, kind=kind, region="bay", people=("Ilse",), age=99.0, doubts=Doubts())
    assert sum(w * w for w in load.values()) < 0.9
    assert not weights(sat.fixed(2), kind=kind, region="bay", people=("A",), age=9, doubts=Doubts())


def test_the_same_seed_gives_the_same_outlook_and_another_nearly_the_same():
    made, plan = doubtful()
    one, same, other = (simulate(sat.todo(made, age=20.0), plan, seed=s) for s in (1, 1, 2))
    assert one == same
    assert one.hours != other.hours
    assert one.hours.p80 == pytest.approx(other.hours.p80, rel=0.02)
    assert one.all_needs == pytest.approx(other.all_needs, abs=0.04)


def test_another_task_moves_no_draw_of_the_first():
    made, plan = guarded()
    loose = replace(made, jobs={n: replace(j, work=replace(j.work, hours=sat.about(1)))
                                for n, j in made.jobs.items()})  # fmt: skip
    _, all_times, _ = carried_out(loose, plan, doubts=Doubts())
    fewer = replace(plan, steps=tuple(s for s in plan.steps if s.what != "line"))
    tasks, times, _ = carried_out(loose, fewer, doubts=Doubts())
    whole = network(loose, plan)
    for index, task in enumerate(tasks.tasks):
        assert np.array_equal(times.first[index], all_times.first[number(whole, task.key)])


def doubtful(**more):
    """A tight Saturday: a doubtful job behind a guard, then two that are nearly sure."""
    made = sat.problem(
        components=[sat.component("guard", sat.fixed(0.5))],
        jobs=[
            sat.job("seized", Hours(1.5, 2.5, 6.0), "guard", region="rear axle"),
            sat.job("easy", Hours(0.9, 1.0, 1.1), "guard"),
            sat.job("other", Hours(0.9, 1.0, 1.1)),
        ],
        sessions=[sat.saturday(1, people=("Ilse",)), sat.saturday(2, people=("Ilse",))],
        needs=[sat.monday(1)],
        **more,
    )
    plan = sat.plan(
        made, ("take:guard", "sat-1", 0, "Ilse"), ("job:seized", "sat-1", 0.5, "Ilse"),
        ("job:easy", "sat-1", 5.5, "Ilse"), ("job:other", "sat-1", 6.5, "Ilse"),
        ("refit:guard", "sat-1", 7.5, "Ilse"),
    )  # fmt: skip
    return made, plan


def test_what_costs_monday_is_named_and_what_helps_is_found():
    made, plan = doubtful()
    outlook = simulate(sat.todo(made, age=20.0), plan)
    (need,) = outlook.needs
    assert 0.7 < need.chance < 0.99
    assert need.chance == outlook.all_needs
    assert outlook.need("sat-1") is need
    assert need.as_planned
    first = need.causes[0]
    assert (first.kind, first.what, first.session) == ("step", "job:seized", "sat-1")
    assert first.share > 0.9
    assert need.chance + first.gain > 0.97
    assert need.regions[0][0] == "rear axle"
    assert sum(share for _, share in need.regions) <= 1.0 + 1e-9
    (session,) = outlook.sessions
    assert session.overrun > 1 - need.chance  # they stay an hour on
    assert session.end.p90 > session.length
    assert session.causes[0].what == "job:seized"
    kinds = {(b.kind, b.what) for b in outlook.buffers}
    assert ("longer", "sat-1") in kinds
    assert ("later", "job:other") in kinds
    assert all(b.gain > 0 for b in outlook.buffers)
    longer = next(b for b in outlook.buffers if b.kind == "longer")
    assert longer.cost == 1.0
    other = next(b for b in outlook.buffers if b.what == "job:other")
    assert other.cost == 0.0
    assert 0.9 < other.frees < 1.1


def test_a_job_that_has_its_opening_to_itself_takes_it_along():
    made, plan = doubtful()
    alone = replace(plan, steps=tuple(s for s in plan.steps if s.what != "easy"))
    outlook = simulate(sat.todo(made, age=20.0), alone)
    longest = next(b for b in outlook.buffers if b.what == "job:seized")
    assert longest.frees > 4.0  # the guard off and on goes with it
    assert longest.cost == 0.0  # and is to be opened only once, then


def test_the_spreads_are_in_order_and_agree_with_the_sums():
    made, plan = doubtful()
    outlook = simulate(sat.todo(made, age=20.0), plan)
    hours = outlook.hours
    assert hours.at(0.0) <= hours.p10 <= hours.p50 <= hours.p80 <= hours.p90 <= hours.at(1.0)
    assert hours.mean == pytest.approx(outlook.by_sums[0], rel=0.005)
    assert hours.deviation == pytest.approx(outlook.by_sums[1], rel=0.03)
    with pytest.raises(ValueError, match="chance is 0 to 1"):
        hours.at(1.2)


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


# learning -----------------------------------------------------------------------------------


def finished(factor, *, count=6, who=("Ilse",), region="bay", hours=None):
    """So many jobs that took a factor on their median; without a region each has its own."""
    hours = hours or sat.about(2)
    took = factor * quantile(hours, 0.5)
    return [
        Worked(f"job:{k}", hours, took, who, region or f"region {k}")
        for k in range(count)
    ]


def test_a_slow_person_is_planned_with_longer_hours_and_less_doubt():
    made, plan = doubtful()
    before = simulate(sat.todo(made, age=10.0), plan)
    learned = learn(finished(1.6, count=12, region=""), age=10.0)
    after = simulate(sat.todo(made, age=10.0), plan, learned=learned)
    assert after.hours.p50 > 1.1 * before.hours.p50
    assert after.all_needs < before.all_needs
    assert after.learned.tasks == 12
    (pace,) = [p for p in learned.paces if p.kind == "person"]
    assert (pace.name, pace.tasks) == ("Ilse", 12)
    assert 1.2 < pace.low < pace.factor < pace.high < 1.8
    quick = learn(finished(0.7, region=""), age=10.0)
    assert simulate(sat.todo(made, age=10.0), plan, learned=quick).hours.p50 < before.hours.p50


def test_more_jobs_teach_more_surely():
    widths = []
    for count in (1, 4, 16):
        (pace,) = [
            p for p in learn(finished(1.3, count=count, region="")).paces if p.kind == "person"
        ]
        widths.append(pace.high - pace.low)
    assert widths == sorted(widths, reverse=True)


def test_a_bad_region_teaches_of_its_region_and_not_of_the_person():
    two = [*finished(1.6, who=("Ilse",)), *finished(1.6, who=("Marten",))]
    three = [*two, *finished(1.0, who=("Ilse",), region="nose", count=12)]
    learned = learn(three, age=25.0)
    factors = {p.name: p.factor for p in learned.paces}
    assert factors["nose"] < 1.0 < factors["Ilse"] < factors["bay"]
    assert factors["bay"] > 1.2
    alone = {p.name: p.factor for p in learn(finished(1.6), age=25.0).paces}
    assert factors["Ilse"] < alone["Ilse"]  # the nose shows that it is not her


def test_what_was_as_thought_narrows_and_moves_little():
    learned = learn(finished(1.0, count=20, region=""))
    (pace,) = [p for p in learned.paces if p.kind == "person"]
    assert pace.factor == pytest.approx(1.0, abs=0.03)
    made, plan = doubtful()
    before = simulate(sat.todo(made), plan).hours
    after = simulate(sat.todo(made), plan, learned=learned).hours
    assert after.deviation < before.deviation


def test_fixed_lengths_teach_nothing_and_impossible_hours_are_named():
    assert learn(finished(2.0, hours=sat.fixed(2))) == Learned()
    assert learn([]) == Learned()
    bad = [*finished(1.0), Worked("job:a", sat.about(1), 0.0), Worked("job:b", sat.about(1), -2.0)]
    with pytest.raises(ValueError, match=r"job:a: 0 h; job:b: -2 h"):
        learn(bad)


def test_one_wild_day_is_not_a_pace():
    learned = learn([*finished(1.0, count=5, region=""), *finished(40.0, count=1, region="")])
    (pace,) = [p for p in learned.paces if p.kind == "person"]
    assert pace.factor < 1.25


def entry(task, hours, *, people=("Ilse",), what="done", left=None):
    return WorkEntry(1, "2026-12-05", "Ilse", what, task, people, hours=hours, left=left)


def test_the_journals_work_becomes_finished_tasks():
    made, _ = doubtful(effects=[sat.clearing("oil", sat.fixed(0.5))])
    two = replace(made.jobs["easy"], work=replace(made.jobs["easy"].work, people=2))
    made = replace(made, jobs={**made.jobs, "easy": two})
    entries = (
        entry("job:seized", None, what="started"),
        entry("job:seized", 2.0, what="stopped", left=1.0),
        entry("take:guard", 0.75, people=("Marten",)),
        entry("job:seized", 1.5, people=("Marten",)),
        entry("job:easy", 1.0, people=("Ilse", "Marten")),
        entry("refit:guard", 0.5), entry("clear:oil", 0.5),
        entry("job:other", None), entry("job:gone", 3.0), entry("take:guard", 0.5, left=0.5),
        entry("", None, what="helper ill"),
    )  # fmt: skip
    found = {w.task: w for w in worked_from(made, entries)}
    assert set(found) == {"job:seized", "take:guard", "job:easy", "refit:guard", "clear:oil"}
    seized = found["job:seized"]
    assert (seized.hours, seized.people, seized.region) == (3.5, ("Ilse", "Marten"), "rear axle")
    assert seized.planned == made.jobs["seized"].work.hours
    assert found["take:guard"].hours == 0.75
    assert found["job:easy"].hours == 1.0


def test_a_task_that_the_plan_no_longer_holds_still_teaches():
    made, _ = doubtful()
    gone = {"take:gearbox": (Work(sat.about(2), 2), "gearbox")}
    entries = (entry("take:gearbox", 3.0, people=("Ilse", "Marten")),)
    assert worked_from(made, entries) == ()
    (found,) = worked_from(made, entries, finished=gone)
    assert (found.planned, found.hours, found.region) == (sat.about(2), 3.0, "gearbox")


def test_one_person_in_place_of_two_is_not_slow_for_it():
    made, _ = doubtful()
    two = replace(made.jobs["easy"], work=replace(made.jobs["easy"].work, people=2))
    made = replace(made, jobs={**made.jobs, "easy": two})
    (alone,) = worked_from(made, (entry("job:easy", 2.0),))
    assert alone.hours == 1.0


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
