"""What a card says of what others do in the same minutes."""

from __future__ import annotations

from dataclasses import replace

from test_stretches import bare_plan

from drybuild.work.meanwhile import JACK, RUNNING, RUNS, meanwhile

COVERS, START = ("refit", "covers", 1, 3, ("A",)), ("job", "start", 2, 4, ("B",))


def plan_of(*rows, region="under, middle", runs=("start",), jack=()):
    problem, plan = bare_plan(rows, {"start": (), "rack": ()})
    components = {}
    for name, one in problem.components.items():
        work = replace(one.take, apart=("jack",) if name in jack else ())
        components[name] = replace(one, region=region, take=work, refit=work)
    jobs = {
        name: replace(job, work=replace(job.work, engine="runs" if name in runs else ""))
        for name, job in problem.jobs.items()
    }
    return replace(problem, components=components, jobs=jobs), plan


def said(problem, plan, step):
    return [(words, other.what) for words, other in meanwhile(problem, plan, [step])]


def test_a_running_engine_and_hands_at_it_are_told_of_each_other():
    problem, plan = plan_of(COVERS, START)
    covers, start = plan.steps
    assert said(problem, plan, covers) == [(RUNS, "start")]
    assert said(problem, plan, start) == [(RUNNING, "covers")]
    # what is on the same card is worked one after the other by the same hands
    assert not list(meanwhile(problem, plan, plan.steps))


def test_what_does_not_meet_says_nothing():
    after = ("refit", "covers", 4, 5, ("A",))
    nobody = ("refit", "covers", 1, 3, ())
    for rows, more in (
        ((after, START), {}), ((nobody, START), {}), ((COVERS, START), {"region": "cabin"}),
        ((COVERS, START), {"runs": ()}),
    ):  # fmt: skip
        problem, plan = plan_of(*rows, **more)
        assert not [x for step in plan.steps for x in said(problem, plan, step)], (rows, more)


def test_a_job_that_has_something_off_under_the_car_is_there_too():
    rows = (("job", "rack", 0, 2, ("A",)), ("job", "start", 1, 2, ("B",)))
    problem, plan = plan_of(("take", "covers", 0, 0, ("A",)), *rows)
    needs = bare_plan((("take", "covers", 0, 0, ("A",)), *rows), {"rack": ("covers",), "start": ()})
    rack = needs[0].jobs["rack"]
    other = replace(problem, jobs={**problem.jobs, "rack": rack})
    assert not said(problem, plan, plan.steps[1])
    assert said(other, plan, plan.steps[1]) == [(RUNS, "start")]


def test_both_ends_on_jacks_at_once_are_told_of_each_other():
    rows = (("refit", "front", 0, 1, ("A",)), ("refit", "rear", 0, 1, ("B",)))
    problem, plan = plan_of(*rows, jack=("front", "rear"))
    for step, other in zip(plan.steps, reversed(plan.steps), strict=True):
        assert said(problem, plan, step) == [(JACK, other.what)]
