"""The last pass: of plans as good by hours and finish, the one that leaves least open.

Hours and finish do not tell a cover that comes off on the day it is in the way from one that comes
off a week before, nor one day's work from the same on two, with the car on stands between them. A
plan in hand is therefore gone over once more. First the car is apart for as few nights as can be,
wherever its jobs are then. With the jobs there, each removal is as late, each refitting and each
check as early as can be. Where it is kept near another, no job moves for that, and as few other
tasks as can be are then on another day than there.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from math import ceil
from typing import Any

from drybuild.work.model import QUARTERS_AN_HOUR, Plan, Problem, SessionEnd
from drybuild.work.solve.laid import Found, Laid
from drybuild.work.solve.states import Spot

DAY = 24 * QUARTERS_AN_HOUR

OFF = 20
"""So much more counts what is off than what is owed: no cover stays off for a look sooner."""


def nights(problem: Problem) -> tuple[int, ...]:
    """Days from the end of each session to the next, begun ones whole: how long it stays so."""
    pairs = zip(problem.sessions, problem.sessions[1:], strict=False)
    return tuple(max(1, ceil((later.start - one.end) / DAY)) for one, later in pairs)


def open_days(problem: Problem, ends: Iterable[SessionEnd]) -> int:
    """Days that things are off or owed between sessions, each by itself and as it counts."""
    owed = {name for name, effect in problem.effects.items() if effect.clearing is not None}
    return sum(
        days * (OFF * len(end.off) + len(end.pending & owed))
        for days, end in zip(nights(problem), ends, strict=False)
    )


def open_goal(laid: Laid) -> Any:
    """The same of a model."""
    states = laid.states
    return sum(
        days * truth
        for k, days in enumerate(nights(laid.problem))
        for truth in (
            *(OFF * states.off_after(name, k) for name in laid.tasks.components),
            *(states.pending_after(name, k) for name in laid.tasks.effects),
        )
    )


def days_apart(laid: Laid, found: Found, ends: Iterable[SessionEnd]) -> tuple[Any, int]:
    """What counts the nights that the car is apart, and a little each job that is then on another
    day than found; and what that is of the plan found."""
    jobs = [spot for spot in found.starts if spot[0].startswith("job:")]
    each, off = 1 + len(jobs), laid.states.off_after
    apart = zip(nights(laid.problem), ends, strict=False)
    least = sum(days * len(end.off) for days, end in apart)
    names = laid.tasks.components
    goal = sum(days * off(n, k) for k, days in enumerate(nights(laid.problem)) for n in names)
    return each * goal + sum(1 - laid.states.does[spot] for spot in jobs), each * least


def turns_of(problem: Problem, plan: Plan) -> frozenset[Spot]:
    """Where a plan has what is no job, in sessions that are still there."""
    number = {session.id: k for k, session in enumerate(problem.sessions)}
    return frozenset(
        (s.key, number[s.session]) for s in plan.steps
        if s.kind != "job" and s.session in number
    )  # fmt: skip


def elsewhere(spots: Iterable[Spot], near: Collection[Spot]) -> list[Spot]:
    """Of these, what is no job and is done where the plan to keep to has it not."""
    return [s for s in spots if not s[0].startswith("job:") and s not in near] if near else []


def keep_jobs(laid: Laid, found: Found) -> None:
    """Only plans with each job in the session in which it was found."""
    for (key, k), truth in laid.states.does.items():
        if laid.tasks.all[key].kind == "job":
            laid.model.add(truth == int((key, k) in found.starts))
