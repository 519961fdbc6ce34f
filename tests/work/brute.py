"""Every plan of a small build, tried: no plan is better than the one that the solver found.

What may be done in each session is enumerated whole; that a choice can be laid out in a session is
settled by the session's own scheduler, which is held to brute force itself (test_session.py).
Builds whose work asks for a distance to be driven in between are left out: that is the checker's to
judge.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import combinations, product

from drybuild.work.durations import planned
from drybuild.work.model import Condition, Problem, Session, Step, Work
from drybuild.work.schedule.conditions import World
from drybuild.work.schedule.laid import lay
from drybuild.work.schedule.listed import Placed, list_schedule
from drybuild.work.schedule.session import KINDS
from drybuild.work.schedule.session_cp import exact_schedule
from drybuild.work.schedule.stand import Facts, Stand, stand_after, stand_of


def tells_all(problem: Problem) -> bool:
    """Whether nothing asks for a distance between two sessions."""
    jobs = all(not a.between for job in problem.jobs.values() for a in job.after)
    return jobs and all(not effect.between for effect in problem.effects.values())


@dataclass
class Brute:
    """A search for a plan of fewer than ``below`` person-quarters in the first ``sessions``."""

    problem: Problem
    below: float
    sessions: int
    tried: int = 0
    _seen: dict[tuple[object, ...], float] = field(default_factory=dict)
    _fits: dict[tuple[object, ...], tuple[Step, ...] | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.facts = Facts(self.problem)
        clearing = {n: e for n, e in self.problem.effects.items() if e.clearing is not None}
        self.clearable = tuple(clearing)

    def exists(self) -> bool:
        """Whether there is such a plan."""
        return self._from(0, stand_of(self.problem), 0.0)

    def _energy(self, key: str) -> float:
        work = self.facts.work(key)
        return work.people * planned(work.hours, self.problem.percentile)

    def _from(self, k: int, stand: Stand, cost: float) -> bool:
        left = [n for n in self.problem.jobs if n not in stand.done]
        if cost + self._still(stand, left) >= self.below:
            return False
        if not left and not stand.off and not self._owed(stand):
            return True
        if k == self.sessions:
            return False
        at = (k, stand.off, stand.pending, stand.done)
        if self._seen.get(at, float("inf")) <= cost:
            return False
        self._seen[at] = cost
        session = self.problem.sessions[k]
        for keys in self._choices(k, session, stand, left, cost):
            steps = self._laid(session, keys, stand)
            if steps is None:
                continue
            after = stand_after(self.problem, stand, steps)
            if not self._allowed(session, after):
                continue
            if self._from(k + 1, after, cost + sum(map(self._energy, keys))):
                return True
        return False

    def _still(self, stand: Stand, left: list[str]) -> float:
        """Work that no plan from here is spared."""
        keys = [f"job:{n}" for n in left] + [f"refit:{n}" for n in stand.off]
        return sum(map(self._energy, keys))

    def _owed(self, stand: Stand) -> bool:
        effects = self.problem.effects
        return any(effects[n].owed and effects[n].clearing is not None for n in stand.pending)

    def _choices(
        self, k: int, session: Session, stand: Stand, left: list[str], cost: float
    ) -> Iterator[tuple[str, ...]]:
        """Every set of tasks that the session might hold, with nothing that cannot be."""
        spent = sum(
            self.problem.jobs[n].price for n in self.problem.jobs
            if n in stand.done and n not in self.problem.done
        )  # fmt: skip
        for parts in self._openings(stand):
            for clears in _subsets([f"clear:{n}" for n in self.clearable]):
                fixed = (*parts, *clears)
                extra = sum(self._energy(key) for key in fixed)
                refits = {key for key in parts if key.startswith("refit:")}
                closing = sum(self._energy(f"refit:{n}") for n in stand.off
                              if f"refit:{n}" not in refits)  # fmt: skip
                jobs = sum(self._energy(f"job:{n}") for n in left)
                if cost + extra + closing + jobs >= self.below:
                    continue
                for done in _subsets([f"job:{n}" for n in left]):
                    keys = (*fixed, *done)
                    if keys and self._may(k, session, stand, keys, spent):
                        yield keys
        yield ()

    def _openings(self, stand: Stand) -> Iterator[tuple[str, ...]]:
        ways = []
        for name in self.problem.components:
            if name in stand.off:
                ways.append(((), (f"refit:{name}",)))
            else:
                ways.append(((), (f"take:{name}",), (f"take:{name}", f"refit:{name}")))  # type: ignore[arg-type]
        for chosen in product(*ways):
            yield tuple(key for way in chosen for key in way)

    def _may(
        self, k: int, session: Session, stand: Stand, keys: tuple[str, ...], spent: float
    ) -> bool:
        held = set(keys)
        room = sum(p.end - p.start for p in session.people)
        if sum(map(self._energy, keys)) > room:
            return False
        for key in keys:
            kind, _, what = key.partition(":")
            if not all(self._possible(r, stand, held, session) for r in self._work(key).needs):
                return False
            if kind == "job":
                job = self.problem.jobs[what]
                if job.sessions and session.id not in job.sessions:
                    return False
                gone = stand.done | {j.partition(":")[2] for j in keys}
                if any(a.job not in gone for a in job.after) or job.earliest >= session.end:
                    return False
                spent += job.price
        return all(
            spent <= budget.most
            for budget in self.problem.budgets
            if any(s.id in budget.sessions for s in self.problem.sessions[k:])
        )

    def _work(self, key: str) -> Work:
        return self.facts.work(key)

    def _possible(
        self,
        requirement: tuple[tuple[Condition, ...], ...],
        stand: Stand,
        held: set[str],
        session: Session,
    ) -> bool:
        def one(c: Condition) -> bool:
            if c.kind == "off":
                return c.name in stand.off or f"take:{c.name}" in held
            if c.kind == "on":
                return c.name not in stand.off or f"refit:{c.name}" in held
            return c.kind != "tool" or c.name in session.tools

        return any(all(one(c) for c in way) for way in requirement)

    def _laid(
        self, session: Session, keys: tuple[str, ...], stand: Stand
    ) -> tuple[Step, ...] | None:
        if not keys:
            return ()
        at = (session.id, frozenset(keys), stand.off, stand.pending, stand.done)
        if at not in self._fits:
            self._fits[at] = self._lay(session, tuple(sorted(keys)), stand)
        return self._fits[at]

    def _lay(
        self, session: Session, keys: tuple[str, ...], stand: Stand
    ) -> tuple[Step, ...] | None:
        self.tried += 1
        world = World(self.facts, session, keys, None, stand)
        laid = lay(world)
        placed = list_schedule(laid, session, seed=0)
        if placed is None:
            if laid.broken:
                return None
            found = exact_schedule(laid, session, seconds=5.0, seed=0)
            assert found != "unsettled"
            if not isinstance(found, Placed):
                return None
            placed = found
        steps = []
        for n, key in enumerate(keys):
            kind, what = key.split(":", 1)
            start = placed.starts[n]
            steps.append(Step(KINDS[kind], what, session.id, start, start + world.length(key)))
        return tuple(steps)

    def _allowed(self, session: Session, after: Stand) -> bool:
        """Whether every need at the session's end is kept."""
        for need in self.problem.needs:
            if need.session != session.id:
                continue
            stopping = self.problem.stopping(need.use)
            if any(stopping & set(self.problem.components[n].stops) for n in after.off):
                return False
            for name in after.pending:
                effect = self.problem.effects[name]
                passed = effect.clearing is None and after.passing.get(name, 0) <= need.until
                if stopping & set(effect.stops) and not passed:
                    return False
        return True


def _subsets(names: list[str]) -> Iterator[tuple[str, ...]]:
    for size in range(len(names) + 1):
        yield from combinations(names, size)
