"""What a plan near to the one before moves, and how near it is, in words."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from drybuild.build import BuildProblem
from drybuild.examine import OpenBuild
from drybuild.show.happened_words import (
    handed_lines,
    happened_text,
    misfit_text,
    moved_lines,
    moved_tasks_lines,
    turned_lines,
)
from drybuild.show.wanted_words import wanted_lines
from drybuild.work.as_planned import AsPlanned, as_planned, happened_since
from drybuild.work.at_hand import AtHand
from drybuild.work.fits import as_written, misfits
from drybuild.work.handed import handed
from drybuild.work.happened import Happening
from drybuild.work.model import Plan, Step
from drybuild.work.replan import moved, moved_tasks
from drybuild.work.shopping import shopping
from drybuild.work.turned import turned
from drybuild.work.wanted import wanted_earlier


def plan_before(opened: OpenBuild) -> AsPlanned | None:
    """The plan before with the work that it was made for; None where it is of no use any more."""
    try:
        return as_planned(opened)
    except BuildProblem:
        return None


def what_moved(
    opened: OpenBuild,
    hand: AtHand,
    kept: Plan,
    before: AsPlanned | None,
    found: Plan,
    left: Collection[Step],
    anew: str,
) -> tuple[list[str], list[str]]:
    """What the new plan moved, and why, in words: what happened, or a session that changed; and how
    far it turns round what was left of the old one. anew: how one is made
    that is not near, empty of one that is not."""
    now = hand.todo.problem
    todo = before.hand.todo if before is not None else hand.todo
    old = before.plan if before is not None else kept
    names = {session.id for session in opened.build.sessions}
    whole = as_written(now, opened.build)
    misfit = {m.session: m for m in reversed(misfits(whole, kept, sessions=names))}
    happened = [Happening(_MISFIT, {"session": name}) for name in misfit]
    if before is not None:
        happened += [Happening(e.what, e.more) for e in happened_since(before, opened)]

    def say(one: Happening) -> str:
        if one.kind == _MISFIT:
            return misfit_text(whole, misfit[one.body["session"]])
        return happened_text(todo, one)

    asked = (todo.problem, now, old, found, happened, say)
    jobs, tasks = moved(*asked), moved_tasks(*asked)
    if not anew:  # no job of one stays near for another's sake: nothing but a guess is why
        jobs = tuple(replace(j, why="") if j.why.startswith("to ") else j for j in jobs)
    said = [
        *moved_lines(todo.problem, now, jobs), *moved_tasks_lines(todo.problem, hand.todo, tasks)
    ]  # fmt: skip
    if said:
        lists = shopping(todo, old, opened=opened), shopping(hand.todo, found, opened=opened)
        said += wanted_lines(wanted_earlier(*lists))
    how = turned_lines(todo.problem, now, turned(left, found, jobs, tasks), anew) if said else []
    return said, [*how, *handed_lines(hand.todo, handed(left, found))]


_MISFIT = "misfit"
