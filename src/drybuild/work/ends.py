"""How the car stands when each work session is over: the tasks of a plan played in order."""

from __future__ import annotations

from collections.abc import Iterable

from drybuild.work.durations import quarters
from drybuild.work.model import Problem, SessionEnd, Step, Work

_ORDER = {"take": 0, "job": 1, "refit": 2, "clear": 3}
"""Which of two tasks without length comes first when they share a moment."""


def work_of(problem: Problem, step: Step) -> Work:
    """The stretch of work that a step is. Raises KeyError for what the problem does not know."""
    if step.kind == "take":
        return problem.components[step.what].take
    if step.kind == "refit":
        return problem.components[step.what].refit
    if step.kind == "job":
        return problem.jobs[step.what].work
    clearing = problem.effects[step.what].clearing
    if clearing is None:
        raise KeyError(f"nothing clears {step.what!r}: it passes by itself")
    return clearing.work


def cleared_by(problem: Problem, step: Step) -> frozenset[str]:
    """Effects that a step clears, when they are pending."""
    if step.kind == "job":
        return frozenset(problem.jobs[step.what].clears)
    if step.kind == "clear":
        clearing = problem.effects[step.what].clearing
        also = clearing.clears if clearing is not None else ()
        return frozenset({step.what, *also})
    return frozenset()


def ends_of(problem: Problem, steps: Iterable[Step]) -> tuple[SessionEnd, ...]:
    """How the car stands at the end of every session of the problem, in order.

    An effect that passes by itself is pending at a session's end when its time is not over by
    ``Session.end``; one that is pending at the outset is counted from quarter 0. Raises KeyError
    for a step that the problem does not know.
    """
    kept: dict[str, list[Step]] = {session.id: [] for session in problem.sessions}
    for step in steps:
        kept[step.session].append(step)
    off, done = set(problem.off), set(problem.done)
    pending = {name: _passing(problem, name, 0) for name in problem.pending}
    ends = []
    for session in problem.sessions:
        for step in sorted(kept[session.id], key=lambda s: (s.end, s.start, _ORDER[s.kind])):
            if step.kind == "take":
                off.add(step.what)
            elif step.kind == "refit":
                off.discard(step.what)
            elif step.kind == "job":
                done.add(step.what)
            for name in work_of(problem, step).causes:
                pending[name] = _passing(problem, name, step.end)
            for name in cleared_by(problem, step):
                pending.pop(name, None)
        left = frozenset(name for name, until in pending.items() if until > session.end)
        ends.append(SessionEnd(session.id, frozenset(off), left, frozenset(done)))
    return tuple(ends)


def _passing(problem: Problem, name: str, caused: int) -> float:
    """The quarter at which an effect that was caused then has passed by itself, or never."""
    effect = problem.effects[name]
    if effect.clearing is None:
        return caused + quarters(effect.lasting)
    return float("inf")
