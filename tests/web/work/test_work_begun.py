"""A session that is under way: what should have begun already is no session that changed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from forms import named, post

import drybuild
from drybuild.web.workshop import Workshop
from drybuild.work.fits import as_written, misfits
from drybuild.work.model import Presence
from drybuild.work.present import from_now


def test_a_task_that_was_to_begin_earlier_is_not_outside_of_its_session(folder: Path) -> None:
    opened = drybuild.open_build(folder)
    work = Workshop().work(opened)
    assert work is not None
    plan, problem = work.planned.plan, work.planned.hand.todo.problem
    first = problem.session(plan.steps[0].session)
    begun = from_now(problem, first.start + 2)
    known = {s.id for s in opened.build.sessions}
    assert [m.kind for m in misfits(begun, plan, sessions=known)][:1] == ["outside"]
    assert misfits(as_written(begun, opened.build), plan, sessions=known) == ()
    # what did change is still said: an end that is earlier, somebody who comes later
    assert first.people
    late = tuple(Presence(p.name, first.end - 1, p.end) for p in first.people)
    for changed in (replace(first, end=first.start + 1), replace(first, people=late)):
        sessions = tuple(changed if s.id == first.id else s for s in problem.sessions)
        other = from_now(replace(problem, sessions=sessions), first.start)
        found = misfits(as_written(other, opened.build), plan, sessions=known)
        assert {m.session for m in found} == {first.id}


def test_a_tick_makes_no_plan_unfit(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = named(browser)
    assert post(here, "/work/cards/1/done", task="1", hours="0.5").status_code == 303
    page = here.get("/work").text
    assert "1 of" in page
    assert "outside the session" not in page
