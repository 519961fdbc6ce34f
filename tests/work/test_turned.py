"""How far a new plan turns the one before it round, and what is known of one made anew."""

from __future__ import annotations

from dataclasses import replace

import saturdays as sat

from drybuild.show.happened_words import handed_lines, turned_lines
from drybuild.work.handed import handed
from drybuild.work.happened import Happening
from drybuild.work.model import Aim, Plan, ToDo
from drybuild.work.replan import moved, moved_tasks
from drybuild.work.solve import solve
from drybuild.work.turned import Turned, least_hours, turned

MADE = sat.problem(
    components=[sat.component("cover", sat.fixed(0.5))],
    jobs=[sat.job(n, sat.fixed(1), "cover") for n in ("hose", "clip")],
    sessions=[sat.saturday(n) for n in (1, 2, 3)],
)
AWAY = Happening("away", {"person": "Ilse", "session": "sat-1"})


def two_plans() -> tuple[Plan, Plan]:
    """The cover off once for both; then off twice, for the clip is done a Saturday later."""
    old = sat.plan(
        MADE, ("take:cover", "sat-1", 0, "Ilse"), ("job:hose", "sat-1", 1, "Ilse"),
        ("job:clip", "sat-1", 2, "Ilse"), ("refit:cover", "sat-1", 3, "Ilse"),
    )  # fmt: skip
    new = sat.plan(
        MADE, ("take:cover", "sat-1", 0, "Ilse"), ("job:hose", "sat-1", 1, "Ilse"),
        ("refit:cover", "sat-1", 3, "Ilse"), ("take:cover", "sat-2", 0, "Ilse"),
        ("job:clip", "sat-2", 2, "Ilse"), ("refit:cover", "sat-2", 3, "Ilse"),
    )  # fmt: skip
    return old, new


def round_(old: Plan, new: Plan, least: float | None = None, left=None) -> Turned:
    asked = (MADE, MADE, old, new, (AWAY,))
    return turned(old.steps if left is None else left, new, moved(*asked), moved_tasks(*asked),
                  least)  # fmt: skip


def said(found: Turned) -> list[str]:
    return turned_lines(MADE, MADE, found, "drybuild plan car --anew")


def test_what_moves_which_days_change_and_what_it_costs() -> None:
    found = round_(*two_plans())
    assert found == Turned(
        1, 0, 2, ("sat-1", "sat-2"), (), 4.0, 3.0, "sat-2", "sat-1", later=True, stay=3, of=4
    )
    assert said(found) == [
        "3 of 4 tasks keep their day; 1 job on another day; 2 tasks once more; other work than "
        "before on Sat 5 Dec, Sat 12 Dec",
        "about 4 person-hours left, 1 more than in the plan before; finished on Sat 12 Dec, before "
        "on Sat 5 Dec",
        "whether a plan made anew does with less is not known: drybuild plan car --anew",
    ]


def test_a_job_that_is_new_keeps_no_day_and_is_on_no_other() -> None:
    _, new = two_plans()
    old = replace(new, steps=tuple(s for s in new.steps if s.what != "hose"))
    found = round_(old, new)
    assert (found.jobs, found.new) == (0, 1)
    assert said(found)[0].startswith("5 of 5 tasks keep their day; 1 job new; ")


def test_what_stays_in_its_session_says_whose_hands_it_went_to() -> None:
    old, _ = two_plans()
    other = [replace(s, who=("Marten",)) if s.kind == "job" else s for s in old.steps]
    rows = handed(old.steps, replace(old, steps=tuple(other)))
    assert handed_lines(ToDo(MADE, {}), rows) == ["Sat 5 Dec: Marten in place of Ilse: hose; clip"]
    assert handed(old.steps, old) == ()


def test_of_a_plan_made_anew_no_more_is_said_than_is_known() -> None:
    old, new = two_plans()
    assert said(round_(old, new, 3.0))[-1] == (
        "a plan made anew takes about 3 person-hours at least; whether fewer than this one is not "
        "known: drybuild plan car --anew"
    )
    assert said(round_(old, new, 4.0))[-1].startswith("no plan does with fewer hours; whether one")
    # one that costs nothing needs no other
    assert [line for line in said(round_(new, old)) if "anew" in line] == []
    assert said(round_(old, old)) == [
        "about 3 person-hours left, as many as in the plan before; finished on Sat 5 Dec, as before"
    ]


def test_a_plan_in_which_most_tasks_move_is_not_called_near() -> None:
    far = replace(round_(*two_plans()), stay=1)
    assert said(far)[0].startswith("not near: 1 of 4 tasks keep their day; ")


def test_what_was_done_since_counts_on_neither_side() -> None:
    old, new = two_plans()
    rest = replace(new, steps=new.steps[2:])
    found = round_(old, rest, left=old.steps[2:])
    assert (found.hours, found.hours_before) == (2.5, 1.5)


def test_the_least_of_before_holds_where_only_something_is_taken_away() -> None:
    old, _ = two_plans()
    aimed = replace(old, aims=(Aim("hours", 3.0, 2.75, "h"),))
    assert least_hours(aimed, old.steps, (AWAY,)) == 2.75
    assert least_hours(aimed, old.steps[1:], (AWAY,)) == 2.25
    assert least_hours(aimed, old.steps, (Happening("dropped", {"job": "clip"}),)) is None
    near = replace(old, aims=(Aim("hours", 3.0, 3.0, "h", near=True),))
    assert least_hours(near, old.steps, (AWAY,)) is None
    assert least_hours(old, old.steps, ()) is None


def test_a_plan_near_another_leaves_the_other_tasks_where_they_were() -> None:
    """The first day has room for one of two covers: it is the one of the plan before."""
    problem = sat.problem(
        jobs=[sat.job("hose", sat.fixed(1), sessions=("sat-1",)),
              sat.job("late", sat.fixed(1), sessions=("sat-3",))],
        components=[sat.component(n, sat.fixed(0.5), stops=()) for n in ("lid", "trim")],
        sessions=[
            sat.saturday(n, people=("Ilse",), hours=1.5 if n == 1 else 8) for n in (1, 2, 3)
        ],
        off=frozenset({"lid", "trim"}),
    )  # fmt: skip
    for name, other in (("lid", "trim"), ("trim", "lid")):
        near = sat.plan(
            problem, ("job:hose", "sat-1", 0, "Ilse"), (f"refit:{name}", "sat-1", 1, "Ilse"),
            (f"refit:{other}", "sat-2", 0, "Ilse"), ("job:late", "sat-3", 0, "Ilse"),
        )  # fmt: skip
        found = solve(problem, seconds=5, near=near)
        assert isinstance(found, Plan)
        where = {step.key: step.session for step in found.steps}
        assert (where[f"refit:{name}"], where[f"refit:{other}"]) == ("sat-1", "sat-2")
