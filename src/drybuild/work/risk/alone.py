"""What a job has to itself in a plan, and whether it could be done another day."""

from __future__ import annotations

from collections.abc import Iterator

from drybuild.work.ends import cleared_by
from drybuild.work.risk.network import Network, Round, Task

MOVABLE = ("fit", "adjust", "inspect", "flash")
"""Kinds of job that may wait: never a record, a test, a filling or what is booked."""


def movable(plan: Network, task: Task) -> bool:
    """Whether nothing but the opening keeps a job where it is."""
    if task.step.kind != "job":
        return False
    job = plan.problem.jobs[task.step.what]
    waited_for = any(a.job == job.id for j in plan.problem.jobs.values() for a in j.after)
    held = any(job.id in clause.not_done for clause in plan.problem.clauses)
    free = not (job.fixed or job.sessions or job.clears or waited_for or held)
    return free and job.kind in MOVABLE


def alone(plan: Network, index: int) -> frozenset[int]:
    """A job and the tasks of its session that only it is the reason for.

    Openings that begin and end in the session and serve nothing else, and the clearing of effects
    that nothing else causes.
    """
    session = plan.tasks[index].session
    group = {index}
    while True:
        more = {k for r in plan.rounds for k in _round(plan, r, session, group)}
        more |= _clearings(plan, session, group | more)
        if more <= group:
            return frozenset(group)
        group |= more


def _round(plan: Network, round_: Round, session: int, group: set[int]) -> set[int]:
    if round_.take is None or round_.refit is None or not round_.behind:
        return set()
    pair = {round_.take, round_.refit}
    here = all(plan.tasks[k].session == session for k in pair)
    return pair if here and set(round_.behind) <= group else set()


def _clearings(plan: Network, session: int, group: set[int]) -> set[int]:
    found = set()
    for index, task in enumerate(plan.tasks):
        if task.step.kind != "clear" or task.session < session:
            continue
        cleared = cleared_by(plan.problem, task.step)
        causes = {k for k in range(index) if cleared & set(plan.tasks[k].work.causes)}
        if causes and causes <= group and not cleared & plan.problem.pending:
            found.add(index)
    return found


def off_later(plan: Network, session: int) -> Iterator[tuple[int, frozenset[str]]]:
    """Number of each later session and what is off at once in it, after each taking off."""
    off = set(plan.problem.off)
    for task in plan.tasks:
        if task.step.kind == "take":
            off.add(task.step.what)
            if task.session > session:
                yield task.session, frozenset(off)
        elif task.step.kind == "refit":
            off.discard(task.step.what)
