"""Which single work session, longer, makes room for a plan, where several were named for it.

The search that gives way in length names the sessions of the first plan that it finds in its time,
and that may be all of them. Here single ones are tried: first those in which a plan of before had
what new work belongs to, or that come next after one that fell through.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import islice

from drybuild.work.model import QUARTERS_AN_HOUR, Plan, Problem, Relaxation, Session
from drybuild.work.solve.loose import longer

MOST, HALF = 4 * QUARTERS_AN_HOUR, 2 * QUARTERS_AN_HOUR
"""Quarters by which a session is longer: first as much as may be, then half of it."""

MOST_LAID = 2
"""Sessions that are tried with times."""


def stretched(problem: Problem, name: str, by: int) -> Problem:
    """The problem with one session longer by so many quarters, as far as the day and the next
    session let it; who stays to its end stays on."""
    most = {session.id: session for session in longer(problem).sessions}[name]
    return replace(
        problem,
        sessions=tuple(_stretched(s, min(s.end + by, most.end)) if s.id == name else s
                       for s in problem.sessions),
    )  # fmt: skip


def _stretched(session: Session, end: int) -> Session:
    people = tuple(replace(p, end=end) if p.end >= session.end else p for p in session.people)
    return replace(session, end=end, people=people)


def one_longer(
    problem: Problem,
    one: Relaxation,
    near: Plan | None,
    holds: Callable[[Problem], bool],
    laid: Callable[[Problem], bool | None],
) -> Relaxation:
    """In place of several sessions that are longer one that is enough, where there is one.

    near: a plan of before; holds: whether the work divides, without times; laid: whether a plan
    with times was found, None where the search ended before it knew. Where none of those that are
    tried is shown to be enough by itself, what was said stays.
    """
    names = one.what.split("+")
    if one.kind != "time" or len(names) < 2:
        return one
    names = sorted(names, key=lambda name: _apart(problem, near, name))
    worth = (name for name in names if holds(stretched(problem, name, MOST)))
    for name in islice(worth, MOST_LAID):
        if laid(stretched(problem, name, MOST)):
            half = laid(stretched(problem, name, HALF))
            return Relaxation("time", name, words(problem, name, HALF if half else MOST))
    return one


def _apart(problem: Problem, near: Plan | None, name: str) -> tuple[int, int]:
    """How little a session has to do with what is new since a plan of before; none: all alike."""
    if near is None:
        return 0, 0
    session, had = problem.session(name), {step.key for step in near.steps}
    new = {job.region for n, job in problem.jobs.items()
           if n not in problem.done and f"job:{n}" not in had}  # fmt: skip
    there = {s.what for s in near.steps if s.session == name and s.kind == "job"}
    belongs = sum(problem.jobs[what].region in new for what in there & problem.jobs.keys())
    known = {s.id for s in problem.sessions}
    lost = [s.start for s in near.steps if s.session not in known and s.start < session.start]
    return -belongs, session.start - max(lost) if lost else problem.sessions[-1].end


def words(problem: Problem, name: str, by: int) -> str:
    """``2 hours more on Saturday 2 January (until 19:00, Ilse and Marten)``."""
    session, end = problem.session(name), stretched(problem, name, by).session(name).end
    hours = (end - session.end) / QUARTERS_AN_HOUR
    many = "1 hour" if hours == 1 else f"{hours:g} hours"
    stay = " and ".join(p.name for p in session.people if p.end >= session.end)
    return f"{many} more on {session.title} (until {problem.at(end):%H:%M}, {stay})"
