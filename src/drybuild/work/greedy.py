"""The plan that a tidy home builder makes by hand: one region of the car after the other.

Jobs are grouped by the region that they are in. Each group gets a day of its own: it is opened
once, by itself, and closed again so that the car is as it is needed to be. Within that nothing is
wasted, and much is in its favour: the days are as long as it takes, everybody is there with every
tool, and every part has come. What it never has is one opening that serves two regions.
"""

from __future__ import annotations

from dataclasses import replace

from drybuild.work.model import Job, Need, NoPlan, Plan, Presence, Problem, Session
from drybuild.work.solve import solve

LONG = 400
"""Quarters in such a day: longer than any region takes."""

WEEK = 7 * 96

SECONDS = 10.0


def by_region(problem: Problem, *, seed: int = 0) -> Plan | NoPlan:
    """The plan by regions, its days named after no session of the problem; or why there is none.

    Jobs that a clause ties to each other are one group, whatever their regions; groups whose jobs
    wait for others come after them, and so do bookings.
    """
    groups = [g for g in _groups(problem) if g]
    booked = [s for s in problem.sessions if any(s.id in j.sessions for j in _open(problem))]
    days = [_day(problem, n) for n in range(len(groups))]
    later = [_moved(s, len(groups) + n) for n, s in enumerate(booked)]
    last = _day(problem, len(groups) + len(later))
    jobs = {name: problem.jobs[name] for name in problem.done & set(problem.jobs)}
    for day, group in zip(days, groups, strict=True):
        jobs |= {name: _in(problem.jobs[name], (day.id,)) for name in group}
    for job in _open(problem):
        if job.sessions:
            jobs[job.id] = _in(job, tuple(s.id for s in later if s.id in job.sessions))
    ordered = {name: jobs[name] for name in problem.jobs}
    uses = dict.fromkeys(need.use for need in problem.needs)
    needs = [Need(use, day.id, day.end + 96) for day in (*days, last) for use in uses]
    return solve(
        replace(
            problem, jobs=ordered, sessions=(*days, *later, last), needs=tuple(needs), budgets=(),
            first=("hours",),
        ),
        seed=seed, seconds=SECONDS,
    )  # fmt: skip


def _open(problem: Problem) -> list[Job]:
    return [job for job in problem.jobs.values() if job.id not in problem.done]


def _day(problem: Problem, number: int) -> Session:
    """A day for a region: everybody is there from first to last, and everything is at hand."""
    start = number * WEEK
    names = dict.fromkeys(p.name for s in problem.sessions for p in s.people)
    people = tuple(Presence(name, start, start + LONG) for name in names)
    tools = frozenset(tool for s in problem.sessions for tool in s.tools)
    return Session(
        f"by region {number + 1}", f"day {number + 1}", start, start + LONG, people, tools
    )


def _moved(session: Session, number: int) -> Session:
    by = number * WEEK - session.start
    people = tuple(replace(p, start=p.start + by, end=p.end + by) for p in session.people)
    return replace(session, start=number * WEEK, end=session.end + by, people=people)


def _in(job: Job, sessions: tuple[str, ...]) -> Job:
    return replace(job, sessions=sessions, earliest=0)


def _groups(problem: Problem) -> list[tuple[str, ...]]:
    """Regions in the order of the build, joined where jobs must go together."""
    groups: dict[str, list[str]] = {}
    for job in _open(problem):
        if not job.sessions:
            groups.setdefault(job.region, []).append(job.id)
    return _ordered(problem, _joined(problem, [tuple(g) for g in groups.values()]))


def _joined(problem: Problem, groups: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Groups joined that a clause ties to each other: neither may be left done without the other.

    The home builder knows of these: the map goes with the injectors.
    """
    for clause in problem.clauses:
        tied = clause.done | clause.not_done
        if len(tied) != 2 or not (clause.done and clause.not_done):
            continue
        touched = [g for g in groups if tied & set(g)]
        if len(touched) > 1:
            rest = [g for g in groups if g not in touched]
            joined = tuple(name for group in touched for name in group)
            at = min(groups.index(g) for g in touched)
            groups = [*rest[:at], joined, *rest[at:]]
    return groups


def _ordered(problem: Problem, groups: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Groups whose jobs wait for jobs of others come after them, as far as that can be."""
    done: list[tuple[str, ...]] = []
    left = list(groups)
    while left:
        waiting = {name for group in left for name in group}
        ready = [g for g in left if not _waits_for(problem, g) & waiting - set(g)]
        chosen = ready[0] if ready else left[0]
        left.remove(chosen)
        done.append(chosen)
    return done


def _waits_for(problem: Problem, group: tuple[str, ...]) -> set[str]:
    return {after.job for name in group for after in problem.jobs[name].after}
