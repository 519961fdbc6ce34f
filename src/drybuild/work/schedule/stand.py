"""How the car stands at the start of a work session, and what is known of a problem's tasks.

A task is named by its ``Step.key``: ``take:turbo``, ``refit:turbo``, ``job:springs``,
``clear:coolant``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from types import MappingProxyType

from drybuild.work.durations import planned, quarters
from drybuild.work.model import Job, Problem, Step, Work

_ORDER = {"take": 0, "job": 1, "refit": 2, "clear": 3}


@dataclass(frozen=True)
class Stand:
    """The car at the start of a session.

    ended: the quarter at which each task was last over in earlier sessions; one that is not there
    was over long ago. passing: the quarter at which what passes by itself will have passed.
    """

    off: frozenset[str] = frozenset()
    pending: frozenset[str] = frozenset()
    done: frozenset[str] = frozenset()
    ended: Mapping[str, int] = field(default_factory=dict)
    passing: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Facts:
    """A problem with its tasks looked up once."""

    problem: Problem

    @cached_property
    def causing(self) -> Mapping[str, tuple[str, ...]]:
        """Effect → the tasks that cause it."""
        return self._by_effect({key: work.causes for key, work in self._works.items()})

    @cached_property
    def clearing(self) -> Mapping[str, tuple[str, ...]]:
        """Effect → the tasks that clear it when it is pending."""
        return self._by_effect({key: self.clears(key) for key in self._works})

    @cached_property
    def _works(self) -> dict[str, Work]:
        problem = self.problem
        found = {f"take:{name}": c.take for name, c in problem.components.items()}
        found |= {f"refit:{name}": c.refit for name, c in problem.components.items()}
        found |= {f"job:{name}": job.work for name, job in problem.jobs.items()}
        clearing = {n: e.clearing for n, e in problem.effects.items() if e.clearing is not None}
        return found | {f"clear:{name}": job.work for name, job in clearing.items()}

    def _by_effect(self, rows: Mapping[str, Iterable[str]]) -> Mapping[str, tuple[str, ...]]:
        found: dict[str, list[str]] = {name: [] for name in self.problem.effects}
        for key, names in rows.items():
            for name in dict.fromkeys(names):
                found[name].append(key)
        return MappingProxyType({name: tuple(keys) for name, keys in found.items()})

    @cached_property
    def stopping(self) -> Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]]:
        """Use → (components that stop it while off, effects that stop it while pending)."""
        problem = self.problem
        uses = {u for c in problem.components.values() for u in c.stops}
        uses |= {u for e in problem.effects.values() for u in e.stops} | set(problem.prerequisites)
        found = {}
        for use in uses:
            below = problem.stopping(use)
            parts = tuple(n for n, c in problem.components.items() if below & set(c.stops))
            effects = tuple(n for n, e in problem.effects.items() if below & set(e.stops))
            found[use] = (parts, effects)
        return MappingProxyType(found)

    @cached_property
    def lengths(self) -> Mapping[str, int]:
        """Task → planned quarters."""
        share = self.problem.percentile
        return {key: planned(work.hours, share) for key, work in self._works.items()}

    def work(self, key: str) -> Work:
        """The stretch of work of a task. Raises KeyError for one that the problem does not have."""
        return self._works[key]

    def wait(self, key: str) -> int:
        """Quarters after a task before what it brings about is there."""
        return quarters(self._works[key].wait)

    def job(self, key: str) -> Job | None:
        """The job that a task is, if it is one."""
        kind, name = key.split(":", 1)
        if kind == "job":
            return self.problem.jobs[name]
        return self.problem.effects[name].clearing if kind == "clear" else None

    def clears(self, key: str) -> tuple[str, ...]:
        """Effects that a task clears, when they are pending."""
        job = self.job(key)
        own = (key.split(":", 1)[1],) if key.startswith("clear:") else ()
        return tuple(dict.fromkeys((*own, *(job.clears if job is not None else ()))))


def stand_of(problem: Problem) -> Stand:
    """The car before the first session. What passes by itself counts from quarter 0."""
    effects = problem.effects
    passing = {n: quarters(effects[n].lasting) for n in problem.pending if not effects[n].clearing}
    return Stand(problem.off, problem.pending, problem.done, passing=passing)


def stand_after(
    problem: Problem, stand: Stand, steps: Iterable[Step], *, facts: Facts | None = None
) -> Stand:
    """The car after these steps of one session. Raises KeyError for an unknown task."""
    facts = facts or Facts(problem)
    off, pending, done = set(stand.off), set(stand.pending), set(stand.done)
    ended, passing = dict(stand.ended), dict(stand.passing)
    for step in sorted(steps, key=lambda s: (s.end, s.start, _ORDER[s.kind])):
        ended[step.key] = step.end
        if step.kind == "take":
            off.add(step.what)
        elif step.kind == "refit":
            off.discard(step.what)
        elif step.kind == "job":
            done.add(step.what)
        for name in facts.work(step.key).causes:
            pending.add(name)
            if problem.effects[name].clearing is None:
                passing[name] = step.end + quarters(problem.effects[name].lasting)
        for name in facts.clears(step.key):
            pending.discard(name)
            passing.pop(name, None)
    found = replace(stand, off=frozenset(off), pending=frozenset(pending), done=frozenset(done))
    return replace(found, ended=ended, passing=passing)
