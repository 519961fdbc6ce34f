"""Small plans and the carrying out of one, for the tests of its outlook."""

from __future__ import annotations

import saturdays as sat

from drybuild.values import Draws
from drybuild.work.model import Hours
from drybuild.work.risk import Doubts, Learned
from drybuild.work.risk.execute import execute
from drybuild.work.risk.lengths import lengths
from drybuild.work.risk.network import network

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
