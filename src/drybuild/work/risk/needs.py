"""Whether the car is allowed a use at a given moment, in every draw of a plan carried out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from drybuild.work.durations import quarters
from drybuild.work.ends import cleared_by
from drybuild.work.model import Need
from drybuild.work.risk.execute import Run
from drybuild.work.risk.network import Network

Flags = npt.NDArray[np.bool_]
Counts = npt.NDArray[np.int32]

NOBODY = -1


@dataclass(frozen=True)
class Met:
    """Whether a need is met, and the first task that should have been done for it (or ``NOBODY``,
    also where nothing in the plan would lift what stops it). Shape (draws,) each."""

    met: Flags
    waits_for: Counts


def met(plan: Network, run: Run, need: Need) -> Met:
    """What has ended counts when it has, what has begun counts as begun: half off is off."""
    stopped = np.zeros(run.end.shape[1], dtype=bool)
    none = len(plan.tasks)
    waits = np.full(run.end.shape[1], none, dtype=np.int32)
    for stops, first in _Judge(plan, run, need).holds():
        stopped |= stops
        if first != NOBODY:
            waits = np.where(stops, np.minimum(waits, np.int32(first)), waits)
    return Met(~stopped, np.where(waits == none, np.int32(NOBODY), waits))


class _Judge:
    def __init__(self, plan: Network, run: Run, need: Need) -> None:
        self.plan, self.run, self.need = plan, run, need
        self.problem = plan.problem
        self.at = float(max(need.until, self.problem.session(need.session).end))
        self.stopping = self.problem.stopping(need.use)
        self.draws = run.end.shape[1]

    def holds(self) -> Iterator[tuple[Flags, int]]:
        """Everything that may stop the use: in which draws, and the task that would lift it."""
        for round_ in self.plan.rounds:
            if self.stopping & set(self.problem.components[round_.component].stops):
                yield self._open(round_.take, round_.refit)
        for name, effect in self.problem.effects.items():
            if self.stopping & set(effect.stops):
                yield from self._pending(name)
        for clause in self.problem.clauses:
            if clause.use in self.stopping:
                yield self._clause(clause.done, clause.not_done)

    def _begun(self, index: int | None) -> Flags:
        if index is None:
            return np.ones(self.draws, dtype=bool)
        return np.asarray(self.run.start[index] < self.at)

    def _over(self, index: int | None) -> Flags:
        """Whether a task has ended, and the wait after it."""
        if index is None:
            return np.zeros(self.draws, dtype=bool)
        wait = quarters(self.plan.tasks[index].work.wait)
        return np.asarray(self.run.end[index] + wait <= self.at)

    def _open(self, take: int | None, refit: int | None) -> tuple[Flags, int]:
        return self._begun(take) & ~self._over(refit), NOBODY if refit is None else refit

    def _pending(self, name: str) -> Iterator[tuple[Flags, int]]:
        """From each cause to the clearing that follows it in the plan."""
        effect = self.problem.effects[name]
        causes: list[int | None] = [None] if name in self.problem.pending else []
        for index, task in enumerate(self.plan.tasks):
            if name in cleared_by(self.problem, task.step):
                for cause in causes:
                    yield self._begun(cause) & ~self._over(index), index
                causes = []
            elif name in task.work.causes:
                causes.append(index)
        for cause in causes:
            if effect.clearing is not None:
                yield self._begun(cause), NOBODY
                continue
            ended = 0.0 if cause is None else self.run.end[cause]
            stays = np.asarray(ended + quarters(effect.lasting) > self.at)
            yield self._begun(cause) & stays, NOBODY if cause is None else cause

    def _clause(self, done: frozenset[str], not_done: frozenset[str]) -> tuple[Flags, int]:
        jobs = {t.step.what: k for k, t in enumerate(self.plan.tasks) if t.step.kind == "job"}
        armed = np.ones(self.draws, dtype=bool)
        for name in done:
            if name not in self.problem.done:
                armed = armed & self._ended(jobs.get(name))
        for name in not_done:
            if name in self.problem.done:
                armed = np.zeros(self.draws, dtype=bool)
            else:
                armed = armed & ~self._ended(jobs.get(name))
        lifting = [jobs[name] for name in not_done if name in jobs]
        return armed, min(lifting, default=NOBODY)

    def _ended(self, index: int | None) -> Flags:
        if index is None:
            return np.zeros(self.draws, dtype=bool)
        return np.asarray(self.run.end[index] <= self.at)
