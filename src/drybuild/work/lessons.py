"""What an examination teaches the planner: which jobs together stop a use, and which would lift it.

The solver cannot call the checks. So a stopped use is put into words that it can take: a clause
over the jobs whose Changes the stopping check reads. Which facts a check reads is recorded while it
runs, so that a job left out of a clause is one that cannot alter what the check says.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import combinations
from typing import cast

import numpy as np

from drybuild.build import Change, State
from drybuild.build.declared import expand
from drybuild.build.drawn import DrawnFacts
from drybuild.build.kinds import place_of
from drybuild.build.state import spoils, touched_by
from drybuild.examine import Examination, examine_state
from drybuild.examine.uses import Hold
from drybuild.findings import Evaluation, Fact, Missing, Registry
from drybuild.findings.finding import assess, margins
from drybuild.values import Draws
from drybuild.work.model import Clause, Job

DRAWS = 1024
"""Draws of the examinations on the way; an accepted plan is examined again with more."""

SEED = 2026

MOST_TRIED = 7
"""A finding that this many jobs bear on, or fewer, is tried with every choice of them at once."""


class _ReadFacts(DrawnFacts):
    """Facts of a state that remember which of them were asked for."""

    def __init__(self, state: State, draws: Draws) -> None:
        super().__init__(state, draws)
        self.read: set[str] = set()

    def fact(self, address: str) -> Fact | Missing:
        self.read.add(address)
        return super().fact(address)


@dataclass
class Lessons:
    """Examines states of the car along a plan, and keeps what it saw.

    start: the present state; jobs: those still to do. A state is the present one and the Changes of
    some of the jobs, in the order of the build. asked: the uses that will be asked for, again and
    again: to look at these alone costs half as much.
    """

    start: State
    registry: Registry
    jobs: Mapping[str, Job]
    draws: int = DRAWS
    asked: frozenset[str] = frozenset()
    _seen: dict[tuple[frozenset[str], int, frozenset[str] | None], Examination] = field(
        default_factory=dict
    )
    _last: dict[frozenset[str], Examination] = field(default_factory=dict)

    def state(self, done: Iterable[str], name: str = "planned") -> State:
        """The present car with these jobs done. Raises ChangeRefused.

        What stands open now is the planner's to know, as components that are off.
        """
        chosen = frozenset(done)
        changes = [c for j in self.jobs.values() if j.id in chosen for c in _of_the_car(j.changes)]
        return replace(self.start, open=()).after(changes, name)

    def examination(self, done: Iterable[str], draws: int | None = None) -> Examination:
        """The uses of the car with these jobs done, and of its findings those that stop one.

        The rest is not kept: a search looks at some tens of states, and this asks for no more."""
        return self._examined(done, draws, None)

    def of_asked(self, done: Iterable[str], draws: int | None = None) -> Examination:
        """The same of the uses that are asked for, and of no others."""
        return self._examined(done, draws, self.asked)

    def _examined(
        self, done: Iterable[str], draws: int | None, asked: frozenset[str] | None
    ) -> Examination:
        bearing, many = self._bearing(done), draws or self.draws
        if (bearing, many, asked) not in self._seen:
            found = examine_state(
                self.state(bearing), self.registry, draws=many, seed=SEED, unknowns=False,
                sparing=many > self.draws, asked=asked,
            )  # fmt: skip
            # The columns behind it weigh tens of megabytes a state, all its findings two.
            self._seen[bearing, many, asked] = replace(
                found,
                findings=tuple(f for f in found.findings if f.stopping),
                margins=np.empty((0, 0)),
                evaluation=cast(Evaluation, None),
            )
        return self._seen[bearing, many, asked]

    def touching(self, jobs: Iterable[str], read: Iterable[str]) -> str:
        """The first of these jobs that may alter one of these facts; empty where none does."""
        facts = tuple(read)
        known = (self.jobs[name] for name in jobs if name in self.jobs)
        return next((job.id for job in known if _touches(job, facts, self.start)), "")

    def with_columns(self, done: Iterable[str]) -> Examination:
        """The same with the results behind it; of the state asked for last it is kept."""
        key = self._bearing(done)
        if key not in self._last:
            self._last.clear()
            self._last[key] = examine_state(
                self.state(key), self.registry, draws=self.draws, seed=SEED, unknowns=False
            )
        return self._last[key]

    def with_unknowns(self, done: Iterable[str]) -> Examination:
        """The same in full, with the inputs that cause the doubt; it is not kept."""
        return examine_state(self.state(self._bearing(done)), self.registry, seed=SEED)

    def stopped(self, use: str, done: Iterable[str], draws: int | None = None) -> tuple[Hold, ...]:
        """What stops the use with these jobs done, by the checks alone."""
        asked = self.asked if use in self.asked else None
        return self._examined(done, draws, asked).use(use).holds

    def clauses(
        self,
        use: str,
        done: Iterable[str],
        draws: int | None = None,
        *,
        suppose: bool = False,
    ) -> tuple[Clause, ...]:
        """What the planner must be told of a use that is stopped with these jobs done.

        suppose: what stops it only by what is not known yet is taken to turn out well.
        """
        bearing = self._bearing(done)
        found: list[Clause] = []
        for hold in sorted(self.stopped(use, bearing, draws), key=self._place_of):
            if not (suppose and hold.waits_for):
                found += self._of_hold(use, hold, bearing, draws or self.draws, suppose)
        return tuple(dict.fromkeys(found))

    @cached_property
    def _numbered(self) -> dict[str, int]:
        return {check: number for number, check in enumerate(self.registry.checks)}

    def _place_of(self, hold: Hold) -> tuple[bool, int, str]:
        """Sort key of holds: by the check, whatever its verdict is with these draws, so that a plan
        does not turn on the order in which reasons are told."""
        at = self._numbered.get(hold.check, -1)
        return hold.through != "", at, hold.subject if at >= 0 else ""

    def _bearing(self, done: Iterable[str]) -> frozenset[str]:
        """The jobs among those done that make Changes: the others alter no examination."""
        return frozenset(d for d in done if d in self.jobs and self.jobs[d].changes)

    def _of_hold(
        self, use: str, hold: Hold, done: frozenset[str], draws: int, suppose: bool
    ) -> list[Clause]:
        if hold.kind == "check":
            return self._of_check(use, hold, done, draws, suppose)
        if hold.kind == "empty":
            root = hold.check.removeprefix("empty.")
            places = [i for i in place_of() if i == root or i.startswith(root + ".")]
            jobs = {j.id for j in self.jobs.values() if _touches(j, places, self.start)}
            return [_clause(use, hold, jobs, done)]
        return [_clause(use, hold, set(), done)]

    def _of_check(
        self, use: str, hold: Hold, done: frozenset[str], draws: int, suppose: bool
    ) -> list[Clause]:
        bearing, _ = self._tried(hold, done, draws, suppose)
        found = {done & bearing: _clause(use, hold, bearing, done)}
        if len(bearing) <= MOST_TRIED:
            # All choices of these jobs at once: fewer rounds of solving and examining.
            rest = done - bearing
            for chosen in _subsets(sorted(bearing)):
                if chosen not in found:
                    others, stops = self._tried(hold, rest | chosen, draws, suppose)
                    if stops:
                        found[chosen] = _clause(use, hold, others, rest | chosen)
        return merged(found.values())

    def _tried(
        self, hold: Hold, done: frozenset[str], draws: int, suppose: bool
    ) -> tuple[set[str], bool]:
        """The jobs that bear on one check in a state, and whether it stops its uses there."""
        state = self.state(done)
        columns = Draws(draws, SEED)
        facts, base_facts = _ReadFacts(state, columns), _ReadFacts(state.base, columns)
        base = Evaluation(self.registry, base_facts, draws)
        evaluation = Evaluation(self.registry, facts, draws, base)
        with np.errstate(all="ignore"):
            raw = evaluation.check(self.registry.checks[hold.check], hold.subject)
        jobs = {j.id for j in self.jobs.values() if _touches(j, facts.read, self.start)}
        if raw is None:
            return jobs, False
        (finding,) = assess([raw], margins([raw], draws))
        return jobs, finding.stopping and not (suppose and finding.waits_for)


def merged(clauses: Iterable[Clause]) -> list[Clause]:
    """The same clauses with pairs joined that differ in one job being done or not."""
    current, result = list(dict.fromkeys(clauses)), []
    while current:
        joined: set[int] = set()
        following: list[Clause] = []
        for (i, one), (k, other) in combinations(enumerate(current), 2):
            both = _joined(one, other)
            if both is not None:
                joined |= {i, k}
                following.append(both)
        result += [clause for i, clause in enumerate(current) if i not in joined]
        current = list(dict.fromkeys(following))
    return list(dict.fromkeys(result))


def _joined(one: Clause, other: Clause) -> Clause | None:
    differing = one.done ^ other.done
    if len(differing) != 1 or differing != one.not_done ^ other.not_done:
        return None
    if (one.use, one.check, one.subject) != (other.use, other.check, other.subject):
        return None
    return replace(one, done=one.done & other.done, not_done=one.not_done & other.not_done)


def violated(clause: Clause, done: Iterable[str]) -> bool:
    """Whether these jobs done are a case of the clause, so that its use is stopped."""
    made = frozenset(done)
    return clause.done <= made and not clause.not_done & made


def _clause(use: str, hold: Hold, bearing: set[str], done: frozenset[str]) -> Clause:
    inside = frozenset(bearing)
    return Clause(
        use, inside & done, inside - done, hold.why, hold.check, hold.subject, hold.waits_for
    )


def _subsets(names: Sequence[str]) -> Iterable[frozenset[str]]:
    for size in range(len(names) + 1):
        for chosen in combinations(names, size):
            yield frozenset(chosen)


def _of_the_car(changes: Iterable[Change]) -> list[Change]:
    """Changes that stay: what is opened and closed on the way is the planner's own account."""
    return [c for c in changes if c.kind not in ("open", "close")]


def _touches(job: Job, read: Iterable[str], start: State) -> bool:
    """Whether a job may alter one of these facts."""
    changes = _of_the_car(job.changes)
    names = {name for c in changes for name in _reach(c)}
    for address in read:
        if any(address == name or address.startswith(name + ".") for name in names):
            return True
        if address in start.readings and any(spoils(c, address) for c in changes):
            return True
    return False


def _reach(change: Change) -> tuple[str, ...]:
    if change.kind == "set":
        return (change.target, *expand(change.target))
    return touched_by(change)
