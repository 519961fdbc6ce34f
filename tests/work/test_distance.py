"""What is done over after some kilometres: once the car may have been driven, else left owed."""

from __future__ import annotations

import pytest
import saturdays as sat

from drybuild.work.checker import faults
from drybuild.work.ends import ends_of
from drybuild.work.model import Plan, Problem
from drybuild.work.solve import solve

pytestmark = pytest.mark.practice


def wheels(first: float, *more: float) -> Problem:
    """A wheel is changed in three hours; a road check of two follows, the nuts after 50 km.

    The nuts' effect stands before that of the road check: it asks whether the car is driven before
    all that may keep it from that is placed. first, more: hours of each Saturday.
    """
    nuts = sat.clearing("nuts again", sat.fixed(0.5), stops=(), between=50.0)
    road = sat.clearing("road check owed", sat.fixed(2), stops=("drive",))
    change = sat.job("change", sat.fixed(3), causes=(nuts.id, road.id))
    days = [sat.saturday(n, hours=h) for n, h in enumerate((first, *more), 1)]
    return sat.problem(jobs=[change], effects=[nuts, road], sessions=days)


def solved(problem: Problem) -> tuple[Plan, dict[str, str]]:
    """The plan, and the session of each task."""
    plan = solve(problem)
    assert isinstance(plan, Plan)
    assert faults(problem, plan) == ()
    return plan, {step.key: step.session for step in plan.steps}


def test_nuts_are_not_checked_again_before_the_first_metre() -> None:
    # the road check has no room beside the change: the nuts wait for the session after it
    plan, at = solved(wheels(3, 4, 4))
    assert at == {
        "job:change": "sat-1", "clear:road check owed": "sat-2", "clear:nuts again": "sat-3",
    }  # fmt: skip
    assert all(aim.proven for aim in plan.aims)


def test_what_cannot_be_driven_within_the_sessions_is_left_owed() -> None:
    problem = wheels(3, 4)
    plan, at = solved(problem)
    assert at == {"job:change": "sat-1", "clear:road check owed": "sat-2"}
    assert ends_of(problem, plan.steps)[-1].pending == {"nuts again"}


def test_nothing_is_put_off_so_that_what_follows_it_lies_outside() -> None:
    plan, at = solved(wheels(6, 6, 6))
    assert at == {
        "job:change": "sat-1", "clear:road check owed": "sat-1", "clear:nuts again": "sat-2",
    }  # fmt: skip
    hours, finish = plan.aims
    assert (hours.value, hours.bound, finish.value) == (5.5, 5.5, 2)


def test_hours_of_a_plan_are_of_its_tasks_alone() -> None:
    plan, _ = solved(wheels(6))
    assert (plan.aims[0].value, plan.aims[0].bound) == (5.0, 5.0)


def test_a_check_left_owed_though_it_was_driven_is_a_fault() -> None:
    problem = wheels(6, 6)
    rows = ("job:change", "sat-1", 0, "Ilse"), ("clear:road check owed", "sat-1", 3, "Ilse")
    never = "nuts again is never cleared"
    assert never in faults(problem, sat.plan(problem, *rows))
    late = rows[0], ("clear:road check owed", "sat-2", 3, "Ilse")
    assert never not in faults(problem, sat.plan(problem, *late))
