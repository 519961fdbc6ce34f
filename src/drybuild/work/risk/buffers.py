"""Where a buffer buys the most: an hour more here, a job less there, each tried in all draws."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import islice

import numpy as np

from drybuild.work.model import QUARTERS_AN_HOUR, Presence, Session
from drybuild.work.reach import person_hours, reach
from drybuild.work.risk.alone import alone, movable, off_later
from drybuild.work.risk.execute import Lengths
from drybuild.work.risk.network import Network
from drybuild.work.risk.outlook import Buffer
from drybuild.work.risk.trial import Trial, tried

SURE = 0.99
"""A need that is met as often as this wants no buffer."""

WORTH = 0.005
"""Chance gained below which a buffer is not spoken of."""

MOST_JOBS = 12
MOST_SHOWN = 8


def buffers(base: Trial, *, stay: float, most: int) -> tuple[Buffer, ...]:
    """What buys chance, most per hour first; nothing where every need is nearly sure.

    most: how many trials to make, half of them of longer sessions.
    """
    weak = [k for k, chance in enumerate(base.chances) if chance < SURE]
    if not weak:
        return ()
    problem = base.plan.problem
    number = {session.id: k for k, session in enumerate(problem.sessions)}
    needed = [number[problem.needs[k].session] for k in weak]
    longer = islice(_longer(base, needed, stay), most // 2)
    found = [*longer, *islice(_later(base, max(needed), stay), most - most // 2)]
    found = [buffer for buffer in found if max(buffer.gain, buffer.need_gain) >= WORTH]
    found.sort(key=lambda b: (-b.gain / max(b.cost, 0.25), -b.need_gain, b.session, b.what))
    return tuple(found[:MOST_SHOWN])


def _longer(base: Trial, needed: list[int], stay: float) -> Iterator[Buffer]:
    """An hour more for each session up to the last need in doubt, those with such a need first."""
    problem = base.plan.problem
    used = {task.session for task in base.plan.tasks if task.session <= max(needed)}
    for k in sorted(used, key=lambda k: (k not in needed, k)):
        session = problem.sessions[k]
        room = problem.sessions[k + 1].start if k + 1 < len(problem.sessions) else np.inf
        if session.end + QUARTERS_AN_HOUR > room:
            continue
        longer, people = _extended(session)
        changed = replace(
            problem, sessions=tuple(longer if s is session else s for s in problem.sessions)
        )
        trial = tried(replace(base.plan, problem=changed), base.times, stay=stay)
        yield _buffer(base, trial, "longer", session.id, session.title, session.id, float(people))


def _extended(session: Session) -> tuple[Session, int]:
    """The session an hour longer, and how many people that holds."""
    end = session.end + QUARTERS_AN_HOUR
    there = tuple(
        Presence(p.name, p.start, end) if p.end == session.end else p for p in session.people
    )
    return replace(session, end=end, people=there), sum(p.end == end for p in there)


def _later(base: Trial, last: int, stay: float) -> Iterator[Buffer]:
    """One job out of its session, with what is opened and cleared for it alone."""
    plan = base.plan
    chosen = []
    for index, task in enumerate(plan.tasks):
        if task.session <= last and movable(plan, task):
            group = alone(plan, index)
            freed = sum(person_hours(plan.tasks[k].work) for k in group)
            chosen.append((freed, index, group))
    chosen.sort(key=lambda c: (-c[0], c[1]))
    for freed, index, group in chosen[:MOST_JOBS]:
        task = plan.tasks[index]
        trial = tried(*_without(plan, base.times, group), stay=stay)
        session = plan.problem.sessions[task.session].id
        cost = _again(plan, index, group)
        found = _buffer(base, trial, "later", task.key, task.title, session, cost)
        yield replace(found, frees=freed)


def _without(plan: Network, times: Lengths, group: frozenset[int]) -> tuple[Network, Lengths]:
    """The plan and its times without some tasks."""
    kept = [k for k in range(len(plan.tasks)) if k not in group]
    number = {old: new for new, old in enumerate(kept)}
    tasks = []
    for old in kept:
        task = plan.tasks[old]
        links = tuple(
            replace(link, first=number[link.first]) for link in task.links if link.first in number
        )
        tasks.append(replace(task, links=links))
    rounds = tuple(
        replace(
            r,
            take=None if r.take is None else number[r.take],
            refit=None if r.refit is None else number[r.refit],
            behind=tuple(number[k] for k in r.behind if k in number),
        )
        for r in plan.rounds
        if r.take not in group and r.refit not in group
    )
    late = {number[k]: column for k, column in times.late.items() if k in number}
    fewer = Lengths(times.first[kept], times.again[kept], times.at_once[kept], late)
    return replace(plan, tasks=tuple(tasks), rounds=rounds), fewer


def _again(plan: Network, index: int, group: frozenset[int]) -> float:
    """Person-hours that the job costs more when it is done later: what is opened again for it.

    The cheapest of the later sessions of the plan and the closed car.
    """
    task, problem = plan.tasks[index], plan.problem
    job = problem.jobs[task.step.what]
    opened = sum(person_hours(plan.tasks[k].work) for k in group) - person_hours(task.work)
    later = [frozenset[str](), *(off for _, off in off_later(plan, task.session))]
    ways = [reach(problem, job, off=off) for off in later]
    least = min((way.hours for way in ways if way is not None), default=opened)
    return max(0.0, round(least - opened, 6))


def _buffer(
    base: Trial, trial: Trial, kind: str, what: str, title: str, session: str, cost: float
) -> Buffer:
    gains = [new - old for old, new in zip(base.chances, trial.chances, strict=True)]
    best = max(range(len(gains)), key=lambda k: gains[k])
    gain = float(trial.all_met.mean()) - float(base.all_met.mean())
    need = base.plan.problem.needs[best].session
    return Buffer(kind, what, title, session, gain, need, gains[best], cost)
