"""What no plan can go below: from masters that hold every plan to less than it must meet.

The blocks are whole stretches between needed uses, filled to the last quarter. Whatever is needed
in a stretch is opened at least once in it, unless it is off from before.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

from drybuild.work.solve.large.master import Master, stretches
from drybuild.work.solve.large.shape import Shape
from drybuild.work.stopping import solved

if TYPE_CHECKING:
    from drybuild.work.cp import cp_model

QUARTER = 0.25


@dataclass
class HoursBound:
    """Searches for the bound on hours beside the search for a plan, in a thread of its own.

    seconds: of wall clock at most. hours: what is proven so far. none: whether it is proven that
    there is no plan.
    """

    shape: Shape
    seed: int
    seconds: float
    none: bool = False
    hours: float = 0.0
    _solver: cp_model.CpSolver | None = None
    _thread: threading.Thread | None = None

    def start(self) -> None:
        """Begin."""
        from drybuild.work.cp import cp_model

        self.hours = sum(self.shape.tasks[f"job:{name}"].load for name in self.shape.jobs) * QUARTER
        self._solver = cp_model.CpSolver()
        self._thread = threading.Thread(target=self._run, args=(self._solver,), daemon=True)
        self._thread.start()

    def _run(self, solver: cp_model.CpSolver) -> None:
        from drybuild.work.cp import cp_model

        master = relaxed(self.shape)
        master.model.minimize(master.load())
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = self.seed
        solver.parameters.optimize_with_lb_tree_search = True
        solver.parameters.linearization_level = 2
        solver.parameters.max_time_in_seconds = self.seconds
        solver.best_bound_callback = self._heard
        status = solved(solver, master.model)
        if status == cp_model.INFEASIBLE:
            self.none = True
        elif status != cp_model.MODEL_INVALID:
            self._heard(solver.best_objective_bound)

    def _heard(self, quarters: float) -> None:
        # loads are whole quarters, and so is a bound on them
        self.hours = max(self.hours, ceil(quarters - 1e-6) * QUARTER)

    @property
    def running(self) -> bool:
        """Whether it is still at it."""
        return self._thread is not None and self._thread.is_alive()

    def wait(self, seconds: float) -> None:
        """Give it so much time."""
        if self._thread is not None:
            self._thread.join(seconds)

    def stop(self) -> float:
        """End it; the bound, h."""
        if self._solver is not None and self._thread is not None:
            self._solver.stop_search()
            self._thread.join()
        return self.hours


def relaxed(shape: Shape, *, until: int = 10**6) -> Master:
    """A master that every plan meets: stretches, all presence, weak rules within a stretch."""
    blocks = stretches(shape)
    room = [float(sum(shape.capacity[k] for k in block if k < until)) for block in blocks]
    return Master(shape, blocks, room=room, strict=False, until=until)


FINISH_SECONDS = 0.2
"""Deterministic seconds for one question about the finish."""


def sessions_that_hold(shape: Shape, hours: float) -> int:
    """How many sessions, from the first on, have the presence for so many person-hours."""
    count, room = 0, 0.0
    while count < len(shape.sessions) and room < hours:
        room += shape.capacity[count] * QUARTER
        count += 1
    return count


def sessions_needed(shape: Shape, hours: float, seed: int) -> int:
    """Number of the first session in which a plan may end; 0 where there is nothing to do.

    hours: a bound on all hours. A question that is left open counts against the bound.
    """
    from drybuild.work.cp import cp_model

    low, high = sessions_that_hold(shape, hours), len(shape.sessions)
    while low < high:
        middle = (low + high) // 2
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = seed
        solver.parameters.max_deterministic_time = FINISH_SECONDS
        if solved(solver, relaxed(shape, until=middle).model) == cp_model.INFEASIBLE:
            low = middle + 1
        else:
            high = middle
    return low
