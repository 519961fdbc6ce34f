"""Steps of a plan cut into stretches: what one pair of hands does in one go, for one card.

A stretch takes things off, does one job that needs them off, and puts them back, in that order; it
ends when that order would begin again, when what comes next has nothing to do with its job, when
the hands rest for long, or when a card would grow too long to read. It ends too before a step that
rests on a stretch with a higher number: worked by number, everything has before it what it needs.
Its hands are the first person of each of its steps; others help.
"""

from __future__ import annotations

from drybuild.work.before import Before
from drybuild.work.ends import work_of
from drybuild.work.model import Plan, Problem, Session, Step, Work

MOST_TASKS = 7
"""Tasks on one card: more do not fit both sides of a small card in large type."""

LONG_REST = 4
"""Quarters without work of the same hands after which a new card begins."""

PHASE = {"take": 0, "job": 1, "clear": 1, "refit": 2}
_JOB = 1


def stretches(
    problem: Problem, plan: Plan, before: Before | None = None
) -> tuple[tuple[Step, ...], ...]:
    """All steps of the plan, each in one stretch, in the order in which the stretches begin.

    before: what steps rest on, where it is worked out already.
    """
    before = before or Before(problem, plan)
    found: list[list[Step]] = []
    for session in problem.sessions:
        found += _of_session(problem, session, plan.of(session.id), before)
    return tuple(tuple(one) for one in found)


def _of_session(
    problem: Problem, session: Session, steps: tuple[Step, ...], before: Before
) -> list[list[Step]]:
    ranks = {person.name: i for i, person in enumerate(session.people)}
    order = sorted(
        steps, key=lambda s: (s.start, s.end, ranks.get(_hand(s), len(ranks)), PHASE[s.kind])
    )
    found: list[list[Step]] = []
    number: dict[Step, int] = {}
    latest: dict[str, list[Step]] = {}
    for step in order:
        hand = _hand(step)
        current = latest.get(hand) if hand else _waiting_on(found, step)
        if current is not None and _waits(current, step, number, before):
            current = None
        if current is not None and _joins(problem, current, step):
            current.append(step)
        else:
            current = [step]
            found.append(current)
        number[step] = number.get(current[0], len(found))
        if hand:
            latest[hand] = current
    return found


def _waits(
    current: list[Step], step: Step, number: dict[Step, int], before: Before
) -> bool:
    """Whether a step rests on what stands on a card with a higher number than this one."""
    mine = number[current[0]]
    return any(number.get(one, 0) > mine for one in before.all(step))


def _hand(step: Step) -> str:
    return step.who[0] if step.who else ""


def _joins(problem: Problem, current: list[Step], step: Step) -> bool:
    """Whether a step goes on the card that the same hands have before them."""
    last, phase = PHASE[current[-1].kind], PHASE[step.kind]
    if step.kind == "clear" and all(s.kind == "refit" for s in current):
        phase = last  # put back, then filled or looked at for leaks
    if phase < last or (phase == last == _JOB) or len(current) >= MOST_TASKS:
        return False
    if step.start - max(s.end for s in current) > LONG_REST:
        return False
    return _belongs(problem, current, step)


def _belongs(problem: Problem, current: list[Step], step: Step) -> bool:
    """Whether a step has to do with the job of a card; without a job, whether it is more of it."""
    if step.kind in ("job", "clear"):
        off = {s.what for s in current}
        caused = {name for s in current for name in work_of(problem, s).causes}
        return bool(off & concerned(problem, step)) or step.what in caused
    job = next((s for s in current if s.kind in ("job", "clear")), None)
    taken = {s.what for s in current if s.kind == "take"}
    return job is None or step.what in taken or step.what in concerned(problem, job)


def concerned(problem: Problem, step: Step) -> frozenset[str]:
    """Components that must be off or on for a step, and those in front of them in turn."""
    found: set[str] = set()
    waiting = _named(work_of(problem, step), step)
    while waiting:
        name = waiting.pop()
        if name not in found and name in problem.components:
            found.add(name)
            waiting |= _named(problem.components[name].take, None)
    return frozenset(found)


def _named(work: Work, step: Step | None) -> set[str]:
    """Components of a task's conditions; of several ways, those that were chosen, if known."""
    chosen = step.ways if step is not None and step.ways else None
    ways = [w for wanted in work.needs for w in wanted if chosen is None or len(wanted) == 1]
    return {c.name for w in (*ways, *(chosen or ())) for c in w if c.kind in ("off", "on")}


def _waiting_on(found: list[list[Step]], step: Step) -> list[Step] | None:
    """The stretch after which something happens that needs nobody: the one that ended last."""
    before = [one for one in found if max(s.end for s in one) <= step.start]
    return max(before, key=lambda one: max(s.end for s in one)) if before else None
