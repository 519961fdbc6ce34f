"""The last pass: of plans as good by hours and finish, the one that leaves least open.

Hours and finish do not tell a cover that comes off on the day it is in the way from one that comes
off a week before, nor one day's work from the same on two, with the car on stands between them. A
plan in hand is therefore gone over once more. First the car is apart for as few nights as can be,
wherever its jobs are then; then each job is as soon as that leaves it. With the jobs there, each
removal is as late, each refitting and each check as early as can be. Where it is kept near another,
no job moves for that, and as few other tasks as can be are then on another day than there.
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


def _apart(problem: Problem, ends: Iterable[SessionEnd]) -> int:
    """Nights that things are off between sessions, each as it counts."""
    return sum(
        days * sum(problem.components[name].night for name in end.off)
        for days, end in zip(nights(problem), ends, strict=False)
    )


def _apart_of(laid: Laid) -> Any:
    """The same of a model."""
    parts, off = laid.problem.components, laid.states.off_after
    return sum(
        days * parts[name].night * off(name, k)
        for k, days in enumerate(nights(laid.problem))
        for name in laid.tasks.components
    )


def open_days(problem: Problem, ends: Iterable[SessionEnd]) -> int:
    """Days that things are off or owed between sessions, each by itself and as it counts."""
    ends = tuple(ends)
    owed = {name for name, effect in problem.effects.items() if effect.clearing is not None}
    hanging = zip(nights(problem), ends, strict=False)
    return OFF * _apart(problem, ends) + sum(d * len(end.pending & owed) for d, end in hanging)


def open_goal(laid: Laid) -> Any:
    """The same of a model."""
    pending = laid.states.pending_after
    return OFF * _apart_of(laid) + sum(
        days * pending(name, k)
        for k, days in enumerate(nights(laid.problem))
        for name in laid.tasks.effects
    )


def days_apart(laid: Laid, found: Found, ends: Iterable[SessionEnd]) -> tuple[Any, int]:
    """What counts the nights that the car is apart, and a little each job that is then on another
    day than found; and what that is of the plan found."""
    jobs = [spot for spot in found.starts if spot[0].startswith("job:")]
    each, moved = 1 + len(jobs), sum(1 - laid.states.does[spot] for spot in jobs)
    return each * _apart_of(laid) + moved, each * _apart(laid.problem, ends)


def soon(laid: Laid, found: Found, ends: Iterable[SessionEnd]) -> tuple[Any, int]:
    """What counts how late the jobs are, in sessions, and what that is of the plan found; from here
    on the car is apart for no more nights than in that."""
    laid.model.add(_apart_of(laid) <= _apart(laid.problem, ends))
    does = laid.states.does
    goal = sum(k * truth for (key, k), truth in does.items() if key.startswith("job:"))
    return goal, sum(k for key, k in found.starts if key.startswith("job:"))


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
