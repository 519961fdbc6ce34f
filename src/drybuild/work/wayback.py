"""The way back: from a car that may not drive to the last state in which it may.

Worked out by the planner itself. What is off goes back on, what is owed is cleared, and of the jobs
since the last drivable state those are taken back that the checks object to. Bleeding, leak and
road checks are in it like in any plan.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from drybuild.work.lessons import Lessons, violated
from drybuild.work.model import (
    QUARTERS_AN_HOUR,
    Clause,
    Job,
    NoPlan,
    Plan,
    Presence,
    Problem,
    Session,
    Step,
)
from drybuild.work.solve import solve
from drybuild.work.standing import Standing, at_end, standing

USE = "drive"

DAYS = 3
HOURS = 10
"""A way back may take this many days, two people for so many hours each."""

SECONDS = 2.0
"""Of searching for each: a way back is short, and a good one does."""

TAKEN_BACK = "back."
"""Begins the id of a job that takes another back."""


@dataclass(frozen=True, slots=True)
class WayBack:
    """From quarter ``at`` in ``session`` back to a car that may drive.

    to: the last session after which it may, or empty for the car as it stands now. steps: what to
    do, in order; undone: jobs that are taken back; hours: person-hours at the percentile. Without
    a way back by refitting and taking back alone, ``why`` says what stands against it.
    """

    session: str
    at: int
    to: str
    steps: tuple[Step, ...]
    undone: tuple[str, ...]
    hours: float
    why: str = ""


def ways_back(problem: Problem, plan: Plan, lessons: Lessons) -> tuple[WayBack, ...]:
    """From the fullest moment of each session: the latest at which most is off and owed.

    That is when the day goes wrong. Sessions in which the car may drive all along have none.
    """
    found: list[WayBack] = []
    if not problem.sessions:
        return ()
    last, to = standing(problem, plan, problem.sessions[0].start, lessons=lessons), ""
    for session in problem.sessions:
        steps = plan.of(session.id)
        worst = _fullest(problem, plan, steps)
        if worst is not None and not may(worst, USE):
            full = standing(problem, plan, worst.at, lessons=lessons)
            found.append(way_back(problem, full, last, lessons, session=session.id, to=to))
        end = at_end(problem, plan, session.id, lessons=lessons)
        if may(end, USE):
            last, to = end, session.id
    return tuple(found)


def may(standing: Standing, use: str) -> bool:
    """Whether nothing in the plan and nothing calculated stops the use. Hand checks may be owed."""
    return not standing.stopping(use)


def way_back(
    problem: Problem, full: Standing, last: Standing, lessons: Lessons, *, session: str, to: str
) -> WayBack:
    """From one moment to the last state in which the car may drive."""
    undone = _to_undo(frozenset(full.done), frozenset(full.done) - set(last.done), lessons)
    small = _back_problem(problem, full, undone)
    found = solve(small, seconds=SECONDS)
    names = tuple(sorted(undone))
    if isinstance(found, NoPlan):
        why = "; ".join(found.why)
        return WayBack(session, full.at, to, (), names, 0.0, why)
    return WayBack(session, full.at, to, found.steps, names, found.aim("hours").value)


def _fullest(problem: Problem, plan: Plan, steps: tuple[Step, ...]) -> Standing | None:
    """The car at the latest moment at which most is off and owed, by the plan alone."""
    moments = sorted({step.end for step in steps})
    stands = [standing(problem, plan, at) for at in moments]
    return max(stands, key=lambda s: (len(s.off) + len(s.pending), s.at), default=None)


def _to_undo(done: frozenset[str], since: frozenset[str], lessons: Lessons) -> frozenset[str]:
    """The jobs to take back: those that the clauses name, then all since, until nothing stops."""
    undone: frozenset[str] = frozenset()
    while lessons.stopped(USE, done - undone):
        clauses = [c for c in lessons.clauses(USE, done - undone) if violated(c, done - undone)]
        named = _smallest(clauses, since - undone)
        if not named:
            return since
        undone |= named
    return undone


def _smallest(clauses: Iterable[Clause], since: frozenset[str]) -> frozenset[str]:
    """Jobs that lift each of the clauses: of each, one of those done since, as few as may be."""
    chosen: set[str] = set()
    for clause in sorted(clauses, key=lambda c: len(c.done & since)):
        if clause.done & since and not clause.done & chosen:
            chosen.add(min(clause.done & since))
    return frozenset(chosen)


def _back_problem(problem: Problem, full: Standing, undone: frozenset[str]) -> Problem:
    """The work of going back: nothing but the jobs taken back, with two people and every tool."""
    jobs = {f"{TAKEN_BACK}{name}": _taken_back(problem.jobs[name]) for name in sorted(undone)}
    tools = frozenset(t for s in problem.sessions for t in s.tools)
    sessions = []
    for day in range(DAYS):
        at = full.at + day * 24 * QUARTERS_AN_HOUR
        end = at + HOURS * QUARTERS_AN_HOUR
        people = tuple(Presence(name, at, end) for name in ("one", "two"))
        sessions.append(Session(f"back-{day + 1}", "the way back", at, end, people, tools))
    return replace(
        problem,
        jobs=jobs,
        sessions=tuple(sessions),
        needs=(),
        budgets=(),
        clauses=(),
        off=frozenset(full.off),
        pending=frozenset(full.pending),
        done=frozenset(full.done) - undone,
    )


def _taken_back(job: Job) -> Job:
    return replace(
        job,
        id=f"{TAKEN_BACK}{job.id}",
        title=f"{job.title}: taken back",
        after=(),
        changes=(),
        earliest=0,
        sessions=(),
        who=(),
        price=0.0,
    )
