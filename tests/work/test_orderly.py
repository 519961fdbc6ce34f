"""A day in better order, where it has the room: one at a time in an arch, cold work before heat."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import pytest

from drybuild.work.checker import faults
from drybuild.work.model import (
    After,
    Component,
    Condition,
    Effect,
    Hours,
    Job,
    Plan,
    Presence,
    Problem,
    Requirement,
    Session,
    Step,
    Work,
)
from drybuild.work.solve import solve
from drybuild.work.solve.orderly import orderly

ONE = Hours(1.0, 1.0, 1.0)
AT = 36
HANDS = ("Ilse", "Marten")


def day(problem: Problem, hours: int) -> Problem:
    end = AT + 4 * hours
    people = tuple(Presence(name, AT, end) for name in HANDS)
    return replace(problem, sessions=(Session("sat", "Saturday", AT, end, people),))


def planned(problem: Problem) -> dict[str, Step]:
    plan = solve(problem, seconds=5)
    assert isinstance(plan, Plan)
    assert faults(problem, plan) == ()
    return {step.key: step for step in plan.steps}


def two_units(region: str, other: str) -> Problem:
    """Two things of an hour off and an hour on, each for a job of an hour."""
    at = {"arms": region, "units": other}
    parts = {n: Component(n, n, place, Work(ONE), Work(ONE)) for n, place in at.items()}
    jobs = {n: Job(n, n, "fit", "", Work(ONE, needs=(((Condition("off", n),),),))) for n in at}
    return Problem(datetime(2026, 12, 5), parts, {}, jobs, ())


def beside(steps: dict[str, Step]) -> bool:
    """Whether somebody takes off or refits one while somebody else does so with the other."""
    hands = [[s for s in steps.values() if s.what == n and s.kind != "job"]
             for n in ("arms", "units")]  # fmt: skip
    return any(a.start < b.end and b.start < a.end for a in hands[0] for b in hands[1])


@pytest.mark.parametrize(("hours", "other", "at_once"), [
    (6, "front corners", False),
    (3, "front corners", True),  # it has no room for more order
    (6, "rear corners", True),
    (6, "engine bay", True),
])  # fmt: skip
def test_one_works_in_an_arch_at_a_time_where_the_day_has_room(
    hours: int, other: str, at_once: bool
) -> None:
    steps = planned(day(two_units("front corners", other), hours))
    assert beside(steps) == at_once
    assert sum(len(s.who) * (s.end - s.start) for s in steps.values()) == 24


@pytest.mark.parametrize(("engine", "forced"), [("cold", False), ("", False), ("cold", True)])
def test_what_wants_a_cold_engine_comes_first_where_it_may(engine: str, forced: bool) -> None:
    runs = Job("runs", "first start", "test", "", Work(ONE, engine="runs"))
    after = (After("runs"),) if forced else ()
    nuts = Job("nuts", "nuts", "inspect", "", Work(ONE, engine=engine), after=after)  # type: ignore[arg-type]
    problem = Problem(datetime(2026, 12, 5), {}, {}, {"runs": runs, "nuts": nuts}, ())
    steps = planned(day(problem, 3))
    first = steps["job:nuts"].end <= steps["job:runs"].start
    assert first == (engine == "cold" and not forced)


def late_first(first: str, apart: tuple[str, ...] = ()) -> Problem:
    """A cover and a clearing of an hour each, whose letters would put the cover first."""
    cover = Component(
        "cover", "cover", "engine bay", Work(ONE), Work(ONE, first=(first,), apart=apart)
    )
    check = Job("clear:leak", "leak check", "test", "", Work(ONE, apart=apart), clears=("leak",))
    leak = Effect("leak", "not looked at", ("drive",), check)
    needs: tuple[Requirement, ...] = (((Condition("off", "cover"),),),)
    line = Job("a-line", "line", "fit", "", Work(ONE, needs=needs, causes=("leak",)))
    return Problem(
        datetime(2026, 12, 5), {"cover": cover}, {"leak": leak}, {"a-line": line}, ()
    )


@pytest.mark.parametrize(("hours", "had"), [(5, True), (4, True), (3, False)])
def test_what_comes_first_does_where_the_day_has_room(hours: int, had: bool) -> None:
    steps = planned(day(late_first("clear:leak"), hours))
    assert (steps["clear:leak"].end <= steps["refit:cover"].start) == had


@pytest.mark.parametrize("apart", [("jack",), ()])
def test_of_the_same_word_one_goes_on_at_a_time(apart: tuple[str, ...]) -> None:
    ends = {
        name: Job(name, name, "fit", "", Work(ONE, apart=apart)) for name in ("front", "rear")
    }
    steps = planned(day(Problem(datetime(2026, 12, 5), {}, {}, ends, ()), 4))
    front, rear = steps["job:front"], steps["job:rear"]
    at_once = front.start < rear.end and rear.start < front.end
    assert at_once == (not apart)


def test_an_order_that_cannot_be_had_costs_no_other() -> None:
    """Of two that each want the other over first one has its way, and so has whoever is beside."""
    wants = {"a": ("clear:b",), "b": ("clear:a",), "c": ("clear:d",), "d": ()}
    left = {
        n: Effect(n, n, (), Job(f"clear:{n}", n, "fit", "", Work(ONE, first=first), clears=(n,)))
        for n, first in wants.items()
    }
    problem = day(
        Problem(datetime(2026, 12, 5), {}, left, {}, (), pending=frozenset(left)), 6
    )
    begun = [
        Step("clear", name, "sat", at, at + 4, (who,))
        for at, names in ((AT, "ac"), (AT + 4, "bd"))
        for name, who in zip(names, HANDS, strict=True)
    ]
    found = {step.what: step for step in orderly(problem, begun, seed=0)}
    assert found["d"].end <= found["c"].start
    assert found["a"].end <= found["b"].start or found["b"].end <= found["a"].start
