"""What is half done while the car is driven: one axle of two, a joint whose test waits."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import cast

import saturdays as sat

from drybuild.build import Change
from drybuild.show.left_words import half_done_lines, half_left_lines, left_lines
from drybuild.work.half_done import HalfDone, half_done, half_done_after
from drybuild.work.model import Condition, Plan, Problem
from drybuild.work.sheets import Sheets
from drybuild.work.standing import at_end


def fitting(name: str, *places: str, **more):
    changes = tuple(Change("fit", place, "made") for place in places)
    return sat.job(name, sat.fixed(1), changes=changes, **more)


def found(problem: Problem, plan: Plan) -> tuple[HalfDone, ...]:
    return half_done(problem, {s.id: at_end(problem, plan, s.id) for s in problem.sessions})


def lowering(**more) -> Problem:
    """Springs of two axles, wheels of both, brakes of one."""
    return sat.problem(
        jobs=[
            fitting("front springs", "spring.front", "damper.front"),
            fitting("rear springs", "spring.rear"),
            fitting("wheels", "wheel"), fitting("discs", "disc.front"),
        ],
        sessions=[sat.saturday(n) for n in (1, 2, 3)], **more,
    )  # fmt: skip


def days(**jobs: int) -> list[tuple]:
    return [(f"job:{n.replace('_', ' ')}", f"sat-{k}", 0, "Ilse") for n, k in jobs.items()]


def test_one_axle_lowered_and_the_other_not_is_said_from_when_to_when() -> None:
    problem = lowering()
    plan = sat.plan(problem, *days(front_springs=1, wheels=2, discs=2, rear_springs=3))
    half = HalfDone("sat-1", "sat-3", done=("front springs",), left=("rear springs",))
    assert found(problem, plan) == (half,)
    order = [s.id for s in problem.sessions]
    assert [half_done_after((half,), s, order) for s in order] == [[half], [half], []]
    assert half_done_lines(problem, (half,)) == [
        "Left half done while the car is in use",
        "  Sat 5 Dec to Sat 19 Dec   one axle only: front springs; not yet: rear springs",
    ]
    both = sat.plan(problem, *days(front_springs=2, rear_springs=2, wheels=1, discs=3))
    assert found(problem, both) == ()
    assert half_done_lines(problem, ()) == []
    other = sat.plan(problem, *days(front_springs=3, rear_springs=2, wheels=1, discs=3))
    assert [(h.since, h.until, h.done) for h in found(problem, other)] == [
        ("sat-2", "sat-3", ("rear springs",))
    ]


def test_nothing_is_said_while_the_car_stands_apart() -> None:
    """Off its wheels from the one Saturday to the next: it goes nowhere half done."""
    problem = lowering(off=frozenset({"wheels"}), components=[
        sat.component("wheels", sat.fixed(0.5), stops=("drive",))
    ])  # fmt: skip
    rows = days(front_springs=1, rear_springs=2, wheels=2, discs=2)
    assert found(problem, sat.plan(problem, *rows, ("refit:wheels", "sat-2", 1, "Ilse"))) == ()
    # but where the owner means to need it, it is
    needed = replace(problem, needs=(sat.monday(1),))
    plan = sat.plan(needed, *rows, ("refit:wheels", "sat-2", 1, "Ilse"))
    assert [h.since for h in found(needed, plan)] == ["sat-1"]


def test_a_check_that_waits_for_a_later_day_is_said_with_what_it_stops() -> None:
    leak = sat.clearing("charge side not tested", sat.fixed(0.5), stops=("full load",))
    log = sat.clearing("not logged", sat.fixed(0.5), stops=("full load",))
    assert log.clearing is not None
    driven = replace(log.clearing.work, needs=(((Condition("use", "drive"),),),))
    log = replace(log, clearing=replace(log.clearing, work=driven))
    again = sat.clearing("nuts again", sat.fixed(0.5), stops=(), between=50.0)
    fuel = sat.clearing("fuel system opened", sat.fixed(0.5), stops=("run",))
    opening = sat.job("pipe", sat.fixed(1), causes=(leak.id, log.id, again.id, fuel.id))
    problem = sat.problem(
        jobs=[opening], effects=[leak, log, again, fuel], needs=(sat.monday(1, "move"),)
    )
    plan = sat.plan(
        problem, ("job:pipe", "sat-1", 0, "Ilse"), (f"clear:{leak.id}", "sat-2", 0, "Ilse"),
        (f"clear:{log.id}", "sat-2", 1, "Ilse"), (f"clear:{again.id}", "sat-2", 2, "Ilse"),
        (f"clear:{fuel.id}", "sat-2", 3, "Ilse"),
    )  # fmt: skip
    # no half work: what keeps it from being driven, what only driving settles, and what some
    # kilometres must come before
    assert found(problem, plan) == (HalfDone("sat-1", "sat-2", "charge side not tested"),)
    assert half_done_lines(problem, found(problem, plan))[1].endswith("it stops full load")


def test_the_sheet_of_a_day_says_what_is_half_done_and_until_when() -> None:
    leak = sat.clearing("charge side not tested", sat.fixed(0.5), stops=("full load",))
    again = sat.clearing("nuts again", sat.fixed(0.5), stops=(), between=50.0)
    problem = sat.problem(
        jobs=[sat.job("pipe", sat.fixed(1), causes=(leak.id, again.id))], effects=[leak, again]
    )
    plan = sat.plan(
        problem, ("job:pipe", "sat-1", 0, "Ilse"), (f"clear:{leak.id}", "sat-2", 0, "Ilse"),
        (f"clear:{again.id}", "sat-2", 2, "Ilse"),
    )  # fmt: skip
    ends = {s.id: at_end(problem, plan, s.id) for s in problem.sessions}
    made = cast(Sheets, SimpleNamespace(todo=sat.todo(problem), ends=ends, cards=()))
    assert left_lines(made, "sat-1") == [
        "nothing is off", "left so: nuts again",
        "half done until Sat 12 Dec: charge side not tested",
    ]  # fmt: skip
    assert half_left_lines(made, "sat-1") == left_lines(made, "sat-1")[2:]
    assert left_lines(made, "sat-2") == ["nothing is off"]


def test_a_drive_to_be_logged_that_a_day_went_by_without_is_said() -> None:
    """A map is written on sat-1 and the car driven all week: sat-2 could have logged it."""
    log = sat.clearing("not logged", sat.fixed(0.5), stops=("full load",))
    assert log.clearing is not None
    driven = replace(log.clearing.work, needs=(((Condition("use", "drive"),),),))
    log = replace(log, clearing=replace(log.clearing, work=driven))
    days = [sat.saturday(n) for n in (1, 2, 3)]
    problem = sat.problem(
        jobs=[sat.job("map", sat.fixed(1), causes=(log.id,)), sat.job("seat", sat.fixed(1))],
        effects=[log], sessions=days,
    )  # fmt: skip
    rows = ("job:map", "sat-1", 0, "Ilse"), ("job:seat", "sat-2", 0, "Ilse")
    plan = sat.plan(problem, *rows, (f"clear:{log.id}", "sat-3", 0, "Ilse"))
    half = HalfDone("sat-1", "sat-3", "not logged")
    assert found(problem, plan) == (half,)  # from the day after which the car goes without it
    order = [s.id for s in days]
    assert [half_done_after((half,), s, order) for s in order] == [[half], [half], []]
    soon = sat.plan(problem, *rows, (f"clear:{log.id}", "sat-2", 2, "Ilse"))
    assert found(problem, soon) == ()
