"""How much work there is at the least, and how many hours the work sessions have for it.

A bound, not a plan: each thing is done once, what is opened is opened once, and what may be done
in several ways asks for nothing. So a plan never takes less.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace

from drybuild.work.durations import planned
from drybuild.work.model import QUARTERS_AN_HOUR, Problem, Session, Work
from drybuild.work.solve.tasks import sole_off


@dataclass(frozen=True, slots=True)
class Amount:
    """Person-hours, and hours for which two are at it together."""

    hours: float
    together: float


def least_work(problem: Problem) -> Amount:
    """What the work that is left takes at the least."""
    works = list(_works(problem).values())
    lengths = [planned(work.hours, problem.percentile) for work in works]
    energy = sum(work.people * long for work, long in zip(works, lengths, strict=True))
    pairs = sum(long for work, long in zip(works, lengths, strict=True) if work.people > 1)
    return Amount(energy / QUARTERS_AN_HOUR, pairs / QUARTERS_AN_HOUR)


def there(sessions: Iterable[Session]) -> Amount:
    """What people have for it in these sessions."""
    alone, pairs = 0, 0
    for session in sessions:
        alone += sum(p.end - p.start for p in session.people)
        pairs += _together(session)
    return Amount(alone / QUARTERS_AN_HOUR, pairs / QUARTERS_AN_HOUR)


def without(problem: Problem, jobs: Collection[str]) -> Problem:
    """The problem with some jobs left out, as if nobody had wanted them."""
    out = frozenset(jobs)
    left = {
        name: replace(job, after=tuple(a for a in job.after if a.job not in out))
        for name, job in problem.jobs.items() if name not in out
    }  # fmt: skip
    clauses = tuple(
        replace(c, not_done=c.not_done - out) for c in problem.clauses if not c.done & out
    )
    return replace(problem, jobs=left, clauses=clauses)


def saved_by(problem: Problem) -> list[tuple[str, float]]:
    """Jobs that are left, each with the person-hours that go with it alone; the most first."""
    whole = least_work(problem).hours
    found = [
        (name, whole - least_work(without(problem, [name])).hours)
        for name in problem.jobs if name not in problem.done
    ]  # fmt: skip
    return sorted((row for row in found if row[1] > 0), key=lambda row: (-row[1], row[0]))


def shared(problem: Problem) -> tuple[float, float]:
    """Person-hours that go with no job alone: of opening and closing, and of what is seen to
    afterwards (set, bled, checked, driven)."""
    whole = _works(problem)
    names = problem.jobs.keys() - problem.done
    left = [_works(without(problem, [name])).keys() for name in names]
    both = [key for key in whole if all(key in keys for keys in left)]
    found = {True: 0.0, False: 0.0}
    for key in both:
        work = whole[key]
        hours = work.people * planned(work.hours, problem.percentile) / QUARTERS_AN_HOUR
        found[key.startswith(("take:", "refit:"))] += hours
    return found[True], found[False]


def _together(session: Session) -> int:
    """Quarters in which two or more are there."""
    return sum(
        sum(p.start <= q < p.end for p in session.people) > 1
        for q in range(session.start, session.end)
    )


def _works(problem: Problem) -> dict[str, Work]:
    """Everything that has to be done in any plan, by key."""
    found: dict[str, Work] = {}
    waiting = [
        (f"job:{name}", job.work) for name, job in problem.jobs.items() if name not in problem.done
    ]
    waiting += [(f"refit:{name}", problem.components[name].refit) for name in problem.off]
    waiting += _clearings(problem, problem.pending)
    while waiting:
        key, work = waiting.pop()
        if key in found:
            continue
        found[key] = work
        for name in sole_off(work):
            component = problem.components[name]
            waiting.append((f"refit:{name}", component.refit))
            if name not in problem.off:
                waiting.append((f"take:{name}", component.take))
        waiting += _clearings(problem, work.causes)
    return found


def _clearings(problem: Problem, effects: Iterable[str]) -> list[tuple[str, Work]]:
    """What clears these effects and nothing else does; not what may stay owed after a distance."""
    also = {name for job in problem.jobs.values() for name in job.clears}
    also |= {
        name for e in problem.effects.values() if e.clearing is not None
        for name in e.clearing.clears if name != e.id
    }  # fmt: skip
    return [
        (f"clear:{name}", effect.clearing.work)
        for name in effects
        if (effect := problem.effects[name]).clearing is not None
        and effect.owed and not effect.between and name not in also
    ]  # fmt: skip
