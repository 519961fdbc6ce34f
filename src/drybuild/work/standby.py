"""Who stands by while an engine runs for the first time: whoever is there and free then.

Nobody is booked for it, so that one who mostly works alone is not held up; but the card says who it
is, or that somebody is to be asked.
"""

from __future__ import annotations

from drybuild.work.model import Notes, Plan, Problem, Step

ASK = "nobody else has the time then: ask somebody to watch from outside, extinguisher in hand"


def stands_by(problem: Problem, plan: Plan, step: Step, notes: Notes) -> tuple[str, ...]:
    """The line of a task that is watched; nothing of one that is not, or that several are at."""
    if not notes.watched or len(step.who) != 1:
        return ()
    there = problem.session(step.session).people
    busy = {
        name for other in plan.steps if other.start < step.end and other.end > step.start
        for name in other.who
    }  # fmt: skip
    free = [p.name for p in there
            if p.name not in busy and p.start <= step.start and step.end <= p.end]  # fmt: skip
    if not free:
        return (ASK,)
    return (f"{free[0]} watches from outside, extinguisher in hand: free then, by this plan",)
