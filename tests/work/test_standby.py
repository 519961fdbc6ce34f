"""Who watches a first start: whoever is there and free, else somebody is asked."""

from __future__ import annotations

import saturdays as sat

from drybuild.work.library import load, outlines
from drybuild.work.model import Notes
from drybuild.work.standby import ASK, stands_by


def asked(*rows: tuple, who=("Ilse",), people=("Ilse", "Marten"), watched: bool = True):
    problem = sat.problem(
        jobs=[sat.job("other", sat.fixed(1.0))], sessions=[sat.saturday(1, people=people)],
        effects=[sat.clearing("first_start", sat.fixed(1.0))],
    )  # fmt: skip
    plan = sat.plan(problem, *rows, ("clear:first_start", "sat-1", 2.0, *who))
    step = next(s for s in plan.steps if s.kind == "clear")
    return stands_by(problem, plan, step, Notes("first start", watched=watched))


def test_who_is_there_and_free_stands_by():
    (line,) = asked()
    assert line.startswith("Marten watches from outside, extinguisher in hand")


def test_who_is_at_another_task_does_not():
    assert asked(("job:other", "sat-1", 1.5, "Marten")) == (ASK,)
    assert asked(("job:other", "sat-1", 1.0, "Marten")) != (ASK,)  # over when it begins


def test_alone_or_before_the_other_comes_somebody_is_asked():
    assert asked(people=("Ilse",)) == (ASK,)
    assert asked(people=("Ilse", ("Marten", 10))) == (ASK,)


def test_a_task_of_two_and_one_that_is_not_watched_say_nothing():
    assert asked(who=("Ilse", "Marten")) == ()
    assert asked(watched=False) == ()


def test_the_library_has_the_first_start_watched_and_books_one():
    for outline in outlines():
        clear = load(outline).effects["first_start"].clear
        assert clear is not None
        assert (clear.watched, clear.people) == (True, 1)
