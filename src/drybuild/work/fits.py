"""Whether a kept plan still fits the sessions as they are now, and where it does not."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from typing import Literal

from drybuild.build import Build, Fault
from drybuild.work.model import Plan, Problem, Session, Step
from drybuild.work.times import read_times


@dataclass(frozen=True, slots=True)
class Misfit:
    """What of a plan no longer fits a session.

    kind: the session is ``gone``; tasks lie ``outside`` it; somebody (``who``) is ``away`` from
    them. tasks: how many; at: the quarter at which the first of them begins.
    """

    kind: Literal["gone", "outside", "away"]
    session: str
    tasks: int
    at: int
    who: str = ""


def misfits(problem: Problem, plan: Plan, *, sessions: Collection[str]) -> tuple[Misfit, ...]:
    """What of a plan no longer fits, session by session.

    sessions: every id that the build has, past ones too.
    """
    ahead = {session.id: session for session in problem.sessions}
    found: list[Misfit] = []
    for name in dict.fromkeys(step.session for step in plan.steps):
        steps = list(plan.of(name))
        if name not in sessions:
            found.append(_misfit("gone", name, steps))
        elif name in ahead:
            found += _in_session(ahead[name], steps)
    return tuple(found)


def as_written(problem: Problem, build: Build) -> Problem:
    """The problem with sessions that are under way as if they were not.

    A session in progress begins now; that a task was to begin earlier is no session that changed.
    """
    faults: list[Fault] = []
    written = {session.id: session for session in read_times(build, None, faults).sessions}
    whole = (_whole(s, written[s.id]) if s.id in written else s for s in problem.sessions)
    return replace(problem, sessions=tuple(whole))


def _whole(session: Session, written: Session) -> Session:
    if session.start <= written.start or session.start == session.end:
        return session
    begins = {p.name: p.start for p in reversed(written.people)}
    people = tuple(
        replace(p, start=begins.get(p.name, p.start)) if p.start == session.start else p
        for p in session.people
    )
    return replace(session, start=written.start, people=people)


def _in_session(session: Session, steps: list[Step]) -> Iterable[Misfit]:
    outside = [s for s in steps if s.start < session.start or s.end > session.end]
    if outside:
        yield _misfit("outside", session.id, outside)
    inside = [s for s in steps if s not in outside]
    for who in dict.fromkeys(name for step in inside for name in step.who):
        there = [p for p in session.people if p.name == who]
        away = [
            s for s in inside
            if who in s.who and not any(p.start <= s.start and s.end <= p.end for p in there)
        ]  # fmt: skip
        if away:
            yield _misfit("away", session.id, away, who)


def _misfit(
    kind: Literal["gone", "outside", "away"], session: str, steps: list[Step], who: str = ""
) -> Misfit:
    return Misfit(kind, session, len(steps), min(step.start for step in steps), who)
