"""Nothing lies open longer than the plan's hours, its finish and its jobs need."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
import saturdays as sat

from drybuild.build.new import make_build
from drybuild.examine.opened import open_build
from drybuild.work.checker import faults
from drybuild.work.model import Aim, Plan, Problem
from drybuild.work.reading import to_do
from drybuild.work.solve import solve
from drybuild.work.solve.shut import open_days


def two_saturdays(hours: float = 8.0) -> Problem:
    return sat.problem(
        components=[sat.component("trim", sat.fixed(0.5), stops=())],
        jobs=[
            sat.job("first", sat.fixed(2), sessions=("sat-1",)),
            sat.job("behind", sat.fixed(2), "trim", sessions=("sat-2",)),
        ],
        sessions=[
            sat.saturday(1, people=("Ilse",)),
            sat.saturday(2, people=("Ilse",), hours=hours),
        ],
    )


def planned(problem: Problem, *rows: tuple) -> Plan:
    """A plan by hand that counts its hours and its finish, and is allowed."""
    made = sat.plan(problem, *rows)
    hours = sum(len(s.who) * (s.end - s.start) for s in made.steps) / 4
    last = max(int(s.session[-1]) for s in made.steps)
    aims = (Aim("hours", hours, 0.0, "h"), Aim("finish", float(last), 0.0, "session"))
    made = replace(made, aims=aims)
    assert faults(problem, made) == ()
    return made


def early(problem: Problem) -> Plan:
    """As good by hours and finish: the trim comes off a week before anything needs it off."""
    return planned(
        problem, ("job:first", "sat-1", 0, "Ilse"), ("take:trim", "sat-1", 2, "Ilse"),
        ("job:behind", "sat-2", 0, "Ilse"), ("refit:trim", "sat-2", 2, "Ilse"),
    )  # fmt: skip


def where(plan: Plan) -> dict[str, str]:
    return {step.key: step.session for step in plan.steps}


def test_what_is_in_the_way_comes_off_on_its_day_and_not_the_week_before() -> None:
    problem = two_saturdays()
    found = solve(problem, seconds=5, hint=early(problem))
    assert isinstance(found, Plan)
    assert where(found)["take:trim"] == where(found)["refit:trim"] == "sat-2"
    assert found.aim("hours").value == 5
    assert all(aim.proven for aim in found.aims)
    assert faults(problem, found) == ()


def test_it_comes_off_before_where_its_day_has_no_room_for_that() -> None:
    problem = two_saturdays(hours=2.5)
    found = solve(problem, seconds=5, hint=early(problem))
    assert isinstance(found, Plan)
    assert where(found)["take:trim"] == "sat-1"


FOUR_SATURDAYS = """
[[need]]
use = "drive"
day = "Monday"
at = "06:45"
not_on = ["2026-12-07", "2026-12-14", "2026-12-21"]
""" + "".join(f"""
[[session]]
id = "sat-{n}"
date = "2026-12-{day:02}"
start = "08:30"
end = "17:30"
people = ["Ann", "Ben"]
""" for n, day in enumerate((5, 12, 19, 26), 1))  # fmt: skip


def test_a_days_work_is_not_spread_over_weeks_with_the_car_on_stands(tmp_path: Path) -> None:
    folder = tmp_path / "car"
    make_build(
        folder, nearest="front-turbo-hatch", driving="yes", first_change="wheels and tyres"
    )
    file = folder / "build.toml"
    file.write_text(file.read_text("utf-8") + FOUR_SATURDAYS, "utf-8")
    problem = to_do(open_build(folder)).problem
    found = solve(problem, seconds=5)
    assert isinstance(found, Plan)
    assert [end.session for end in found.ends if end.off] == []
    assert faults(problem, found) == ()


def test_it_goes_back_on_the_day_on_which_nothing_more_needs_it_off() -> None:
    problem = sat.problem(
        components=[sat.component("trim", sat.fixed(0.5), stops=())],
        jobs=[
            sat.job("behind", sat.fixed(2), "trim", sessions=("sat-1",)),
            sat.job("last", sat.fixed(2), sessions=("sat-2",)),
        ],
    )
    left = planned(
        problem, ("take:trim", "sat-1", 0, "Ilse"), ("job:behind", "sat-1", 0.5, "Ilse"),
        ("job:last", "sat-2", 0, "Ilse"), ("refit:trim", "sat-2", 0, "Marten"),
    )  # fmt: skip
    found = solve(problem, seconds=5, hint=left)
    assert isinstance(found, Plan)
    assert where(found)["refit:trim"] == "sat-1"


@pytest.mark.parametrize("owed", [True, False])
def test_a_cover_off_counts_more_than_something_owed(owed: bool) -> None:
    problem = sat.problem(
        components=[sat.component("trim", sat.fixed(0.5), stops=())],
        effects=[sat.clearing("look", sat.fixed(0.5), stops=())],
        jobs=[
            sat.job("behind", sat.fixed(2), "trim", causes=("look",), sessions=("sat-1",)),
            sat.job("last", sat.fixed(2), sessions=("sat-2",)),
        ],
        sessions=[
            sat.saturday(1, people=("Ilse",), hours=3),
            sat.saturday(2, people=("Ilse",)),
        ],
    )
    plan = planned(
        problem, ("take:trim", "sat-1", 0, "Ilse"), ("job:behind", "sat-1", 0.5, "Ilse"),
        ("refit:trim" if owed else "clear:look", "sat-1", 2.5, "Ilse"),
        ("job:last", "sat-2", 0, "Ilse"),
        ("clear:look" if owed else "refit:trim", "sat-2", 2, "Ilse"),
    )  # fmt: skip
    found = solve(problem, seconds=5, hint=plan)
    assert isinstance(found, Plan)
    assert where(found)["refit:trim"] == "sat-1"
    assert where(found)["clear:look"] == "sat-2"
    assert open_days(problem, found.ends) == 7


def test_no_early_day_stays_empty_for_nothing() -> None:
    """Hours, finish and nights are the same on either day: what can be done early is done early."""
    problem = sat.problem(
        jobs=[
            sat.job("free", sat.fixed(2)),
            sat.job("last", sat.fixed(2), sessions=("sat-2",)),
        ],
        sessions=[sat.saturday(n, people=("Ilse",)) for n in (1, 2)],
    )
    late = planned(problem, ("job:free", "sat-2", 0, "Ilse"), ("job:last", "sat-2", 2, "Ilse"))
    found = solve(problem, seconds=5, hint=late)
    assert isinstance(found, Plan)
    assert where(found) == {"job:free": "sat-1", "job:last": "sat-2"}
