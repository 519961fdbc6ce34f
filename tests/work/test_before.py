"""What a step rests on: also what had to be done before it takes something away."""

from __future__ import annotations

from dataclasses import replace

import saturdays as sat

from drybuild.work.before import open_before
from drybuild.work.ends import ends_of
from drybuild.work.model import Condition, Hours, Plan, Problem, Step

HALF = Hours(0.5, 0.5, 0.5)


def needing(name: str, *needed: Condition):
    one = sat.job(name, HALF)
    return replace(one, work=replace(one.work, needs=tuple(((c,),) for c in needed)))


def of(problem: Problem, *rows: tuple[str, str, int, str]) -> Plan:
    """Half an hour each: kind, what, hours after nine, who."""
    at = problem.sessions[0].start
    steps = tuple(
        Step(kind, what, "sat-1", at + 4 * hour, at + 4 * hour + 2, (who,))
        for kind, what, hour, who in rows
    )
    return Plan(steps, ends_of(problem, steps), ())


def made() -> Problem:
    """The pump runs while the earth is on; the engine may start while nothing stops it."""
    earth = sat.component("earth", HALF, HALF, stops=("run",))
    drained = sat.clearing("drained", HALF, stops=("run",))
    drain = sat.job("drain", HALF, causes=("drained",))
    jobs = [
        needing("pressure", Condition("on", "earth")), needing("listen", Condition("use", "run")),
        needing("level", Condition("clear", "drained")), needing("mirror"), drain,
    ]  # fmt: skip
    return sat.problem(components=[earth], effects=[drained], jobs=jobs)


def before(problem: Problem, plan: Plan, step: int) -> list[str]:
    return [one.what for one in open_before(problem, plan, [plan.steps[step]])]


def test_what_needed_it_on_comes_before_it_is_off():
    problem = made()
    rows = (("job", "pressure", 0, "A"), ("job", "listen", 0, "B"), ("job", "mirror", 0, "C"))
    plan = of(problem, *rows, ("take", "earth", 1, "B"))
    assert before(problem, plan, 3) == ["pressure", "listen"]
    assert before(problem, plan, 2) == []


def test_what_needed_an_effect_away_comes_before_its_cause():
    problem = made()
    rows = (("job", "level", 0, "A"), ("job", "listen", 0, "B"), ("job", "pressure", 0, "C"))
    plan = of(problem, *rows, ("job", "drain", 1, "B"))
    assert before(problem, plan, 3) == ["level", "listen"]


def test_what_comes_later_or_on_another_day_is_none_of_it():
    problem = made()
    plan = of(problem, ("take", "earth", 0, "B"), ("job", "pressure", 1, "A"))
    assert before(problem, plan, 0) == []
    week = 7 * 96
    step = replace(plan.steps[0], session="sat-2", start=plan.steps[0].start + week,
                   end=plan.steps[0].end + week)  # fmt: skip
    other = replace(plan, steps=(plan.steps[1], step))
    assert before(problem, other, 1) == []
