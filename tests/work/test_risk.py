"""The outlook of a plan: as planned where nothing is in doubt, and what its doubt makes of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import saturdays as sat
from outlook_making import carried_out, doubtful, guarded, number

import work_cars
from drybuild.values import quantiles
from drybuild.work.checker import faults
from drybuild.work.ends import ends_of
from drybuild.work.model import Hours, Plan
from drybuild.work.reach import reach
from drybuild.work.risk import Doubts, simulate
from drybuild.work.risk.doubts import seized_share, weights
from drybuild.work.risk.needs import met
from drybuild.work.risk.network import network
from drybuild.work.schedule.session import Fit, fit_session, stand_after, stand_of

# a plan of fixed lengths goes as planned --------------------------------------------------


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
