"""What has to come off to get at something, by the way that costs the fewest hours.

Access is all-of and any-of: a cheapest way to open is a shortest hyperpath whose shared parts are
paid for once (G. Gallo et al., Discrete Applied Mathematics 42 (1993) 177-201 *from memory*, for
the notion). The graphs of a car are small behind any one job, so all ways that could be the
cheapest are tried.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from drybuild.work.durations import mean
from drybuild.work.model import Condition, Job, Problem, Requirement, Work

MOST_TRIED = 20_000
"""Branches looked at before the cheapest so far is taken as it is."""


@dataclass(frozen=True, slots=True)
class Reach:
    """components: to take off and refit, in the order in which they were found to be needed.
    effects: caused on the way, or by the job, and to be cleared for it alone. hours: person-hours
    of all that on average, the job itself left out. exact: whether every way was tried.
    """

    components: tuple[str, ...]
    effects: tuple[str, ...]
    hours: float
    exact: bool = True


def person_hours(work: Work) -> float:
    """Person-hours of a stretch of work on average."""
    return work.people * mean(work.hours)


def reach(
    problem: Problem, job: Job, *, off: Iterable[str] = (), pending: Iterable[str] = (),
    tools: frozenset[str] | None = None,
) -> Reach | None:  # fmt: skip
    """The cheapest way to a job on a car of which ``off`` is off and ``pending`` is pending.

    tools: that are there; None for any. None comes out when no way is open: a tool is not there,
    or the job wants something fitted that has to be off for it.
    """
    search = _Search(problem, job, frozenset(off), frozenset(pending), tools)
    search.go(list(job.work.needs), (), 0.0)
    if search.best is None:
        return None
    taken, cost = search.best
    return Reach(taken, search.effects(taken), cost, search.tried <= MOST_TRIED)


class _Search:
    def __init__(
        self, problem: Problem, job: Job, off: frozenset[str], pending: frozenset[str],
        tools: frozenset[str] | None,
    ) -> None:  # fmt: skip
        self.problem, self.job, self.off, self.pending = problem, job, off, pending
        self.tools = tools
        self.best: tuple[tuple[str, ...], float] | None = None
        self.tried = 0

    def go(self, agenda: list[Requirement], taken: tuple[str, ...], cost: float) -> None:
        """Meet every requirement of the agenda, those with one way first."""
        self.tried += 1
        if self.tried > MOST_TRIED and self.best is not None:
            return
        if self.best is not None and cost >= self.best[1]:
            return
        choices: list[tuple[Requirement, list[tuple[str, ...]]]] = []
        for requirement in agenda:
            ways = self._ways(requirement, taken)
            if not ways:
                return
            if () not in ways:
                choices.append((requirement, ways))
        if not choices:
            self._arrived(taken)
            return
        choices.sort(key=lambda choice: len(choice[1]))
        for way in choices[0][1]:
            more = tuple(dict.fromkeys(way))
            needs = [r for name in more for r in self._behind(name)]
            opened = (*taken, *more)
            self.go([c[0] for c in choices] + needs, opened, self._cost(opened))

    def _behind(self, name: str) -> tuple[Requirement, ...]:
        component = self.problem.components[name]
        return (*component.take.needs, *component.refit.needs)

    def _ways(self, requirement: Requirement, taken: tuple[str, ...]) -> list[tuple[str, ...]]:
        """What each open way would take off besides; an empty tuple where it is open already."""
        found = []
        for way in requirement:
            if all(self._may(condition) for condition in way):
                found.append(
                    tuple(
                        c.name for c in way
                        if c.kind == "off" and c.name not in self.off and c.name not in taken
                    )
                )  # fmt: skip
        return list(dict.fromkeys(found))

    def _may(self, condition: Condition) -> bool:
        """Whether a condition can be met at all from here on."""
        name = condition.name
        if condition.kind == "off":
            return name in self.problem.components
        if condition.kind == "on":
            return name not in self.off
        if condition.kind == "clear":
            return name not in self.pending
        if condition.kind == "tool":
            return self.tools is None or name in self.tools
        return not self._stopped(name, ())

    def _stopped(self, use: str, taken: tuple[str, ...]) -> bool:
        stopping = self.problem.stopping(use)
        stops = [self.problem.components[n].stops for n in (*self.off, *taken)]
        stops += [self.problem.effects[n].stops for n in self.pending]
        return any(stopping & set(uses) for uses in stops)

    def _arrived(self, taken: tuple[str, ...]) -> None:
        """Everything is open: does the job itself still have what it wants fitted?"""
        if all(any(self._holds(way, taken) for way in r) for r in self.job.work.needs):
            cost = self._cost(taken)
            if self.best is None or cost < self.best[1]:
                self.best = (taken, cost)

    def _holds(self, way: tuple[Condition, ...], taken: tuple[str, ...]) -> bool:
        away = {*self.off, *taken}
        for condition in way:
            if not self._may(condition):
                return False
            if condition.kind == "off" and condition.name not in away:
                return False
            if condition.kind == "on" and condition.name in away:
                return False
            if condition.kind == "use" and self._stopped(condition.name, taken):
                return False
        return True

    def effects(self, taken: tuple[str, ...]) -> tuple[str, ...]:
        """Effects to clear because of what is taken off and refitted, and of the job."""
        works = [self.job.work]
        for name in taken:
            works += [self.problem.components[name].take, self.problem.components[name].refit]
        caused = dict.fromkeys(e for work in works for e in work.causes)
        return tuple(e for e in caused if e not in self.pending and e not in self.job.clears)

    def _cost(self, taken: tuple[str, ...]) -> float:
        cost = 0.0
        for name in taken:
            component = self.problem.components[name]
            cost += person_hours(component.take) + person_hours(component.refit)
        for name in self.effects(taken):
            clearing = self.problem.effects[name].clearing
            if clearing is not None:
                cost += person_hours(clearing.work)
        return cost
