"""What must be done before the day of a work session: on its cards it would be read too late."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from drybuild.work.model import Notes, Plan, Problem, SessionEnd, Step, ToDo

DRIVEN = "driven"
"""A word of what only a car that drives can have done to it before a day."""

TANK = "tank"
PUMPED = "tank emptied outdoors with a pump and cans made for fuel: the car drives no more"
"""What is left to do with a tank where it stands apart already."""


@dataclass(frozen=True, slots=True)
class Duty:
    """One thing to do before a session. steps: the tasks of the session that want it done."""

    words: str
    session: str
    steps: tuple[Step, ...]


def beforehand(todo: ToDo, plan: Plan, done: Collection[Step] = ()) -> tuple[Duty, ...]:
    """Session by session, each thing once, in the order in which its tasks begin. done: steps that
    want it no more. What asks for a drive is before the last session that the car drives to."""
    found: dict[tuple[str, str], list[Step]] = {}
    for step in sorted(plan.steps, key=lambda s: (s.start, s.end)):
        if step not in done:
            for words in todo.notes.get(step.key, Notes("")).beforehand:
                session = step.session
                if DRIVEN in words.split():
                    session = _driven_to(todo.problem, plan, step)
                    if not session:
                        session, words = step.session, PUMPED if TANK in words else words
                found.setdefault((session, words), []).append(step)
    order = {session.id: n for n, session in enumerate(todo.problem.sessions)}
    rows = sorted(found.items(), key=lambda row: order.get(row[0][0], 0))
    return tuple(Duty(words, session, tuple(s)) for (session, words), s in rows)


def _driven_to(problem: Problem, plan: Plan, step: Step) -> str:
    """The session of a step, or an earlier one after which the car cannot be driven to it; none
    where it does not drive as it is."""
    ids = [session.id for session in problem.sessions]
    ends, used = {end.session: end for end in plan.ends}, {s.session for s in plan.steps}
    session, now = step.session, SessionEnd("", problem.off, problem.pending, problem.done)
    for name in reversed(ids[: ids.index(step.session)]):
        if not _apart(problem, ends.get(name, now)):
            return session
        session = name if name in used else session
    return "" if _apart(problem, now) else session


def _apart(problem: Problem, end: SessionEnd) -> bool:
    """Whether what is off or owed then keeps the car from being driven."""
    stops = [problem.components[name].stops for name in end.off if name in problem.components]
    stops += [problem.effects[name].stops for name in end.pending if name in problem.effects]
    return any(set(one) & problem.stopping("drive") for one in stops)
