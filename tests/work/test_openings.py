"""What an opening serves, and what sharing it saves, on a problem that one can add up by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
import small

from drybuild.work.greedy import by_region
from drybuild.work.model import Clause
from drybuild.work.openings import compare, finish, openings


def test_one_opening_serves_both_jobs():
    (one,) = openings(small.problem(), small.together())
    assert one.title == "splash guard"
    assert one.serves == ("cooler", "line")
    assert one.taken.start == 36
    assert one.refitted.end == 44


def test_two_openings_serve_one_job_each():
    first, second = openings(small.problem(), small.apart())
    assert (first.serves, second.serves) == (("cooler",), ("line",))


def test_what_was_off_at_the_outset_is_an_opening_without_a_beginning():
    plan = small.together()
    problem = replace(small.problem(), off=frozenset({"guard"}))
    (one,) = openings(problem, replace(plan, steps=plan.steps[1:]))
    assert one.taken is None
    assert one.serves == ("cooler", "line")


def test_the_plans_differ_by_one_opening_and_by_nothing_else():
    found = compare(small.problem(), small.together(), small.apart())
    assert (found.hours, found.other_hours) == (3.5, 4.5)
    assert found.saved_share == pytest.approx(1 / 4.5)
    (row,) = found.rows
    assert (row.title, row.times, row.other_times, row.saved) == ("splash guard", 1, 2, 1.0)
    assert (found.finish, found.other_days) == (1, 2)
    assert sum(r.saved for r in found.rows) == found.other_hours - found.hours


def test_a_plan_without_steps_finishes_before_the_first_session():
    assert finish(small.problem(), replace(small.together(), steps=())) == 0


def test_by_region_each_region_has_a_day_of_its_own_and_everything_in_its_favour():
    problem = small.problem()
    first, second = problem.jobs
    jobs = {
        first: replace(problem.jobs[first], region="nose", earliest=40),
        second: replace(problem.jobs[second], region="under"),
    }
    other = by_region(replace(problem, jobs=jobs))
    days = {step.what: step.session for step in other.steps if step.kind == "job"}
    assert days == {first: "by region 1", second: "by region 2"}
    found = compare(problem, small.together(), other)
    assert found.other_hours == small_hours_apart()
    assert found.other_days == 2


def small_hours_apart() -> float:
    """Added by hand: both jobs, and the splash guard off and on again for each."""
    return compare(small.problem(), small.together(), small.apart()).other_hours


def test_by_region_jobs_that_a_clause_ties_share_a_day():
    problem = small.problem()
    first, second = problem.jobs
    jobs = {
        first: replace(problem.jobs[first], region="nose"),
        second: replace(problem.jobs[second], region="under"),
    }
    tied = (Clause("drive", frozenset({first}), frozenset({second}), "only together"),)
    other = by_region(replace(problem, jobs=jobs, clauses=tied))
    assert len({step.session for step in other.steps if step.kind == "job"}) == 1
