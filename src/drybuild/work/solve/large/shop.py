"""What the parts of the search share: the problem, the blocks, the room in them, the clock."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from random import Random
from typing import Any

from drybuild.work.solve.large.choice import Choice
from drybuild.work.solve.large.laid import Board
from drybuild.work.solve.large.master import Cut, Master, stretches
from drybuild.work.solve.large.shape import Shape
from drybuild.work.stopping import solved

LONGEST = 4
"""Sessions in a block of the coarse master, at most: a block must be spread in a second or two."""

COARSE_ROOM, ALONE_ROOM, FINE_ROOM = 0.84, 0.78, 0.92
"""Share of presence that is filled, since people wait for each other: in a block of several
sessions, in one of a single session, and in a session when a block is spread."""


Free = Callable[[str, int], bool]
"""Whether a task may be chosen anew in a block."""


@dataclass
class Clock:
    """Seconds of wall clock since ``begun``, and where to stop. enough: no more are wanted."""

    seconds: float
    begun: float = field(default_factory=time.perf_counter)
    enough: Callable[[], bool] = lambda: False

    @property
    def spent(self) -> float:
        """Seconds so far."""
        return time.perf_counter() - self.begun

    @property
    def left(self) -> float:
        """Seconds that remain, never below zero."""
        return 0.0 if self.enough() else max(0.0, self.seconds - self.spent)


@dataclass(frozen=True, slots=True)
class Found:
    """What a search of a master gave. none: there is none. spent: deterministic seconds."""

    choice: Choice | None
    none: bool
    spent: float


@dataclass
class Shop:
    """One search for a plan of one problem.

    budget: deterministic seconds for all searches together; spent: so far. horizon: what is chosen
    anew lies in sessions before it. none: whether the search itself showed that there is no plan.
    """

    shape: Shape
    clock: Clock
    seed: int = 0
    budget: float = float("inf")
    cuts: list[Cut] = field(default_factory=list)
    blocks: tuple[tuple[int, ...], ...] = ()
    room: list[float] = field(default_factory=list)
    horizon: int = 10**6
    spent: float = 0.0
    none: bool = False
    board: Board = field(init=False)
    random: Random = field(init=False)

    def __post_init__(self) -> None:
        self.board = Board(self.shape, self.seed)
        self.random = Random(f"large {self.seed}")
        self.blocks = short(stretches(self.shape))
        self.room = [
            (COARSE_ROOM if len(block) > 1 else ALONE_ROOM) * self.capacity(block)
            for block in self.blocks
        ]

    def capacity(self, block: Iterable[int]) -> int:
        """Quarters of presence in a block."""
        return sum(self.shape.capacity[session] for session in block)

    def over(self, until: float | None = None) -> bool:
        """Whether so many deterministic seconds, or all of the budget or time, are spent."""
        return self.spent >= (self.budget if until is None else until) or self.clock.left <= 0

    def search(
        self,
        master: Master,
        *,
        seconds: float,
        least: Any = None,
        hint: Choice | None = None,
        enough: float | None = None,
    ) -> Found:
        """Solve a master with one worker for so many deterministic seconds.

        least: what to minimise, the load unless told. enough: a value that is as good as the best.
        """
        from drybuild.work.cp import cp_model

        master.model.minimize(master.load() if least is None else least)
        if hint is not None:
            master.hint(hint)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = self.seed
        solver.parameters.linearization_level = 2
        solver.parameters.max_deterministic_time = seconds
        # a wall cap, far off on an idle machine, so that nobody waits for long past the end
        solver.parameters.max_time_in_seconds = max(0.1, self.clock.left)
        status = solved(solver, master.model, _Enough(enough) if enough is not None else None)
        spent = float(solver.deterministic_time)
        self.spent += spent
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return Found(None, bool(status == cp_model.INFEASIBLE), spent)
        return Found(master.read(solver), False, spent)


def _Enough(enough: float) -> Any:
    """A callback that stops the solver at a value."""
    from drybuild.work.cp import cp_model

    class Stop(cp_model.CpSolverSolutionCallback):
        def on_solution_callback(self) -> None:
            if self.objective_value <= enough + 1e-6:
                self.stop_search()

    return Stop()


def short(blocks: Iterable[tuple[int, ...]]) -> tuple[tuple[int, ...], ...]:
    """Blocks cut into even pieces of no more than LONGEST sessions."""
    found: list[tuple[int, ...]] = []
    for block in blocks:
        pieces = -(-len(block) // LONGEST)
        begun = 0
        for piece in range(pieces):
            end = round(len(block) * (piece + 1) / pieces)
            found.append(block[begun:end])
            begun = end
    return tuple(found)
