"""The plan that a tidy home builder makes by hand: one region of the car after the other.

Jobs are grouped by the region that they are in. The groups are taken in the order of the build,
each into the first session that still holds it together with what went before, so that every region
is opened once, by itself, and closed when the car is needed. Within that choice nothing is wasted:
the openings, times and people are the best there are for it. What it never sees is that one opening
serves two regions, or that waiting for a part makes one opening of two.
"""

from __future__ import annotations

from dataclasses import replace

from drybuild.work.model import Job, NoPlan, Plan, Problem
from drybuild.work.solve import solve

LOOK = 6.0
FULL = 8.0
"""Seconds of searching for each step by hand, and for the plan of the whole choice."""


def by_region(problem: Problem, *, seed: int = 0) -> Plan | NoPlan:
    """The plan by regions, or what is left when a region finds no session.

    A group that no session holds whole is taken job by job. Jobs that wait for others (``after``)
    or belong together by a clause go with the later of their groups.
    """
    chosen: dict[str, str] = {}
    for group in _groups(problem):
        for part in (group, *((name,) for name in group)):
            left = tuple(name for name in part if name not in chosen)
            session = _first_that_holds(problem, chosen, left, seed) if left else None
            if session is not None:
                chosen |= dict.fromkeys(left, session)
        missing = [name for name in group if name not in chosen]
        if missing:
            return NoPlan((f"by regions, no session holds {', '.join(missing)}",), (), open=True)
    return solve(_bound(problem, chosen), seed=seed, seconds=FULL)


def _groups(problem: Problem) -> list[tuple[str, ...]]:
    """Regions in the order of the build, joined where jobs must go together."""
    groups: dict[str, list[str]] = {}
    for job in problem.jobs.values():
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


def _first_that_holds(
    problem: Problem, chosen: dict[str, str], group: tuple[str, ...], seed: int
) -> str | None:
    """The first session in which the group has a plan beside what was chosen before."""
    for session in problem.sessions:
        tried = chosen | dict.fromkeys(group, session.id)
        found = solve(_bound(problem, tried), seed=seed, seconds=LOOK, look=True)
        if isinstance(found, Plan):
            return session.id
    return None


def _bound(problem: Problem, chosen: dict[str, str]) -> Problem:
    """The problem of these jobs alone, each in its session."""
    jobs = {name: _in(problem.jobs[name], session, chosen) for name, session in chosen.items()}
    known = set(jobs) | problem.done
    clauses = tuple(
        replace(c, not_done=c.not_done & known) for c in problem.clauses if c.done <= known
    )
    return replace(problem, jobs=jobs, clauses=clauses)


def _in(job: Job, session: str, chosen: dict[str, str]) -> Job:
    after = tuple(a for a in job.after if a.job in chosen)
    return replace(job, sessions=(session,), after=after)
