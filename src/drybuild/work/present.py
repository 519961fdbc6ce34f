"""How the car stands, from the tasks that were finished: what is off, owed and done."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from drybuild.work.model import Component, Effect, Job, Problem, Session


@dataclass(frozen=True, slots=True)
class Stands:
    """off: components; pending: effects; done: jobs."""

    off: frozenset[str]
    pending: frozenset[str]
    done: frozenset[str]


def stands(
    components: Mapping[str, Component],
    effects: Mapping[str, Effect],
    jobs: Mapping[str, Job],
    finished: Iterable[str],
    *,
    off: Collection[str] = (),
    done: Collection[str] = (),
) -> Stands:
    """The state after finished tasks, named as ``Step.key``, in the order they were finished.

    off, done: what the journal's deeds say besides. A task that the library no longer knows is
    passed over: it can leave nothing open that anybody could close.
    """
    apart, made = set(off), set(done)
    pending: dict[str, None] = {}
    for key in finished:
        kind, _, what = key.partition(":")
        work = None
        if kind in ("take", "refit") and what in components:
            component = components[what]
            work = component.take if kind == "take" else component.refit
            (apart.add if kind == "take" else apart.discard)(what)
        elif kind == "job" and what in jobs:
            work = jobs[what].work
            made.add(what)
        elif kind == "clear" and what in effects:
            clearing = effects[what].clearing
            work = clearing.work if clearing is not None else None
        if work is None:
            continue
        pending |= dict.fromkeys(work.causes)
        for effect in _cleared(kind, what, effects, jobs):
            pending.pop(effect, None)
    return Stands(frozenset(apart), frozenset(pending), frozenset(made))


def from_now(problem: Problem, now: int, finished: Sequence[str] = ()) -> Problem:
    """The problem as it stands at quarter ``now``, with these tasks finished.

    Sessions that are over are left out; one in progress begins now.
    """
    at = stands(
        problem.components, problem.effects, problem.jobs, finished,
        off=problem.off, done=problem.done,
    )  # fmt: skip
    left = with_sessions(problem, (_rest(s, now) for s in problem.sessions if s.end > now))
    spent = sum(problem.jobs[j].price for j in at.done if j in problem.jobs)
    jobs = {
        name: replace(job, after=tuple(a for a in job.after if a.job not in at.done))
        for name, job in problem.jobs.items()
        if name not in at.done
    }
    return replace(
        left,
        jobs=jobs,
        budgets=tuple(replace(b, most=b.most - spent) for b in left.budgets),
        off=at.off,
        pending=frozenset(problem.pending - _all_cleared(problem, finished)) | at.pending,
        done=at.done,
    )


def with_sessions(problem: Problem, left: Iterable[Session]) -> Problem:
    """The problem with these of its sessions alone, and what is asked of the others left out."""
    sessions = tuple(left)
    kept = {session.id for session in sessions}
    return replace(
        problem,
        sessions=sessions,
        needs=tuple(n for n in problem.needs if n.session in kept),
        budgets=tuple(
            replace(b, sessions=tuple(s for s in b.sessions if s in kept))
            for b in problem.budgets
            if any(s in kept for s in b.sessions)
        ),
    )


def _cleared(
    kind: str, what: str, effects: Mapping[str, Effect], jobs: Mapping[str, Job]
) -> tuple[str, ...]:
    if kind == "job":
        return jobs[what].clears
    if kind == "clear":
        clearing = effects[what].clearing
        return (what, *(clearing.clears if clearing is not None else ()))
    return ()


def _rest(session: Session, now: int) -> Session:
    if session.start >= now:
        return session
    people = tuple(replace(p, start=max(p.start, now)) for p in session.people if p.end > now)
    return replace(session, start=now, people=people)


def _all_cleared(problem: Problem, finished: Iterable[str]) -> frozenset[str]:
    """Effects that finished tasks cleared; ``stands`` says which of them are pending again."""
    found: set[str] = set()
    for key in finished:
        kind, _, what = key.partition(":")
        if kind == "clear":
            clearing = problem.effects[what].clearing if what in problem.effects else None
            found |= {what, *(clearing.clears if clearing is not None else ())}
        elif kind == "job" and what in problem.jobs:
            found |= set(problem.jobs[what].clears)
    return frozenset(found)
