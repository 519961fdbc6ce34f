"""The planner in a process of its own: ``python -m drybuild.web.planning_process FOLDER near 40``.

It says where it stands in lines of JSON, and ends when its standard input is closed: so it never
outlives the app that started it. A line ``enough`` there ends the search with the plan found so
far, which is examined before it is kept. The plan is written whole or not at all.
"""

from __future__ import annotations

import json
import os
import sys
import threading
from collections.abc import Iterable
from importlib.util import find_spec
from typing import Any
from urllib.parse import quote

from drybuild.build import BuildProblem, ChangeRefused
from drybuild.examine import OpenBuild, open_build
from drybuild.journal import JournalProblem
from drybuild.show.near import plan_before, what_moved
from drybuild.show.no_plan import (
    Cure,
    by_head,
    first_cures,
    first_title,
    reasons,
    reasons_of,
    room_text,
    ways_out,
)
from drybuild.web.planning_words import ENOUGH, SUPPOSE
from drybuild.work import plan_file
from drybuild.work.as_planned import mark_of, staying, steps_left
from drybuild.work.at_hand import at_hand
from drybuild.work.model import Clause, NoPlan, Relaxation
from drybuild.work.plan_file import Kept, PlanProblem
from drybuild.work.planned import Stage, plan_telling
from drybuild.work.solve.strict import clause_name

NICER = 5
"""By how much the pages go before the planner where both want the processor."""

_enough = threading.Event()

NO_SOLVER = "planning needs a solver that is not installed: pip install 'drybuild[plan]'"


def main(folder: str, near: str, seconds: str, suppose: str = SUPPOSE) -> int:
    """Plan the folder's work and keep the plan. near: ``near`` to the kept plan, or ``anew``.
    suppose: whether what nobody knows yet may be supposed."""
    threading.Thread(target=_listen, daemon=True).start()
    if hasattr(os, "nice"):
        os.nice(NICER)
    if find_spec("ortools") is None:
        return _say(ended="failed", why=[NO_SOLVER])
    try:
        asked = None if suppose == SUPPOSE else False
        return _plan(folder, near == "near", float(seconds), suppose=asked)
    except (BuildProblem, ChangeRefused, JournalProblem) as error:
        return _say(ended="failed", why=str(error).splitlines())


def _plan(folder: str, near: bool, seconds: float, *, suppose: bool | None = None) -> int:
    opened = open_build(folder)
    rests_on = plan_file.fingerprint(opened)  # what is written from here on comes after the plan
    mark = mark_of(opened)  # nor does a refusal know of a plan that is kept elsewhere meanwhile
    hand = at_hand(opened)
    old = _kept(opened, hand)
    kept = old.plan if old is not None else None
    before = plan_before(opened) if kept is not None else None
    found = plan_telling(
        hand, _tell, seconds=seconds, near=kept if near else None, suppose=suppose,
        enough=_enough.is_set,
    )  # fmt: skip
    if isinstance(found, NoPlan):
        ways = ways_out(found)
        return _say(
            ended="no plan", why=reasons(found), open=found.open, mark=mark,
            rests_on=(rests_on.files, rests_on.journal),
            first=_first_rows(first_cures(found)),
            first_title=first_title(found), room=room_text(ways, found),
            cures=[_way_row(one, opened, found) for one in ways],
        )  # fmt: skip
    left = steps_left(kept, opened) if kept is not None else ()
    numbers = staying(opened, old if near else None)
    plan_file.keep(opened, hand.todo.problem, found, rests_on=rests_on, numbers=numbers)
    moves, how = (
        what_moved(opened, hand, kept, before, found, left, "Plan anew" if near else "")
        if kept is not None else (None, [])
    )
    return _say(ended="kept", moved=moves, turned=how, mark=mark_of(opened))


def _first_rows(cures: Iterable[Cure]) -> list[tuple[str, list[tuple[str, str, str]]]]:
    """What is to be done first: what heads several, and each with its page and what that is."""
    return [
        (head, [
            (one.of if head else one.words, _first_where(one), _leads(_first_where(one)))
            for one in these
        ])
        for head, these in by_head(cures)
    ]  # fmt: skip


def _way_row(one: Relaxation, opened: OpenBuild, said: NoPlan) -> tuple[str, str, list[str], str]:
    """What makes room: in words, its page, what stands against the plan without it, what the page
    is."""
    where = _where(one, opened, said.clauses)
    return one.words, where, reasons_of(one, said), _leads(where)


_PAGES = (
    ("/measure/at/", "write the reading down"), ("/measure", "what to measure"),
    ("/workings/", "the numbers, and what is usual for it"), ("/findings", "all findings"),
    ("/work/when/", "change that work session"), ("/work/jobs/", "look at that job"),
    ("/work?fold=need", "the days of need"), ("/work#when", "add a work session"),
    ("/work#change", "the work sessions"),
)  # fmt: skip


def _leads(where: str) -> str:
    """What a page is that something is done on."""
    return next((said for page, said in _PAGES if where.startswith(page)), "")


def _first_where(one: Cure) -> str:
    """Where what is to be known or cured first is measured, or worked out with what is usual."""
    if one.measure:
        return f"/measure/at/{quote(one.measure)}"
    return f"/workings/{quote(one.check)}/{quote(one.subject)}?state=finished"


def _where(one: Relaxation, opened: OpenBuild, clauses: tuple[Clause, ...] = ()) -> str:
    """The page on which a cure is done; empty where it is none of the app's."""
    if one.kind == "fix":
        return next((_finding(c) for c in clauses if clause_name(c) == one.what), "")
    if one.kind == "time" and one.what in {session.id for session in opened.build.sessions}:
        return f"/work/when/{one.what}"
    elsewhere = {"measure": "/measure", "need": "/work?fold=need#need", "session": "/work#when"}
    if one.kind == "job" and one.what in {job.id for job in opened.build.jobs}:
        return f"/work/jobs/{quote(one.what)}"
    return {**elsewhere, "time": "/work#change"}.get(one.kind, "")


def _finding(clause: Clause) -> str:
    """Where what has to be cured is worked out, with what is usual for it. One that only some
    order of the jobs brings about is not of the finished car: its page is none."""
    if clause.not_done or not clause.check:
        return "/findings"
    return f"/workings/{quote(clause.check)}/{quote(clause.subject)}?state=finished"


def _kept(opened: Any, hand: Any) -> Kept | None:
    try:
        return plan_file.read(opened, hand.todo.problem)
    except PlanProblem:  # one that cannot be read is nothing to keep to
        return None


def _tell(stage: Stage) -> None:
    if not stage.found:  # the plan that would have done is not the one that is searched for now
        _enough.clear()
    _say(stage=stage.name, round=stage.round, learned=stage.learned, found=stage.found)


def _say(**what: Any) -> int:
    print(json.dumps(what), flush=True)
    return 0


def _listen() -> None:
    for line in sys.stdin:
        if line.strip() == ENOUGH:
            _enough.set()
    os._exit(3)  # with the app that started it


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:5]))
