"""The shortest project on limited resources: a schedule and a bound that no schedule goes below.

Two searches go side by side. One breeds lists and shortens the best of them stretch by stretch;
the other asks whether the project can end one unit of time sooner than the best known, until it
cannot. Each takes up at once what the other finds. While a proof is far off, the second search
spends most of its time on shortening as well; where starts have little choice and a proof does not
come, both ask for it in parts.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from random import Random
from threading import Lock
from typing import Any, Literal

from drybuild.work.schedule.activities import Activities, Schedule, faults_of, makespan
from drybuild.work.schedule.bounds import lower_bound
from drybuild.work.schedule.critical import critical
from drybuild.work.schedule.listing import Pool
from drybuild.work.schedule.parts import Begins, Part, parts_of
from drybuild.work.schedule.windows import Windows, quick_solver
from drybuild.work.stopping import solved

Answer = Literal["found", "none", "open"]

__all__ = ["Activities", "Schedule", "schedule"]

FIRST_LISTS = 6000
MORE_LISTS = 400
SIZES = (30, 26, 34)
"""Activities that are scheduled anew at one time."""
STRETCH_EFFORT = 0.1
"""Deterministic time for one stretch."""
FIRST_EFFORT = 1.0
"""Deterministic time for the first attempt at a proof; later ones get twice as much each."""
BOUND_SHARE = 0.1
"""What one attempt at a better bound gets of that."""
NEAR = 3
"""Units of time between bound and schedule within which a proof is tried before all else."""
PARTS_AFTER = 0.06
"""Share of the time after which a proof is asked for in parts, where starts have little choice."""
PARTS_MOST = 1600
"""Units of time in all windows together up to which parts are worth asking."""


def schedule(
    activities: Activities, *, seconds: float, seed: int = 0, workers: int = 2
) -> Schedule:
    """The earliest end that can be found within ``seconds`` on ``workers`` cores.

    With one worker the same seed gives the same schedule, unless the time runs out.
    """
    begun = time.perf_counter()
    if not activities.durations:
        return Schedule(0, 0, (), True, time.perf_counter() - begun)
    pool = Pool(activities, seed=seed)
    best = _Best(activities, pool.best[1], lower_bound(activities), begun + seconds)
    improver, prover = _Improver(best, pool, seed), _Prover(best, seed, max(1, workers - 1))
    parts = _Parts(best, prover, begun + PARTS_AFTER * seconds)
    pool.breed(lists=20, goal=best.bound, stop=best.over)
    best.offer(pool.best[1])
    if workers > 1:
        with ThreadPoolExecutor(1) as beside:
            proof = beside.submit(prover.run, improver, seed + 1, parts)
            improver.run(parts)
            proof.result()
    else:
        windows = Windows(activities, seed=seed)
        while not best.over():
            prover.step()
            improver.step(windows, rounds=round(2 * prover.effort))
    wrong = faults_of(activities, best.starts)
    if wrong:
        raise AssertionError("\n".join(wrong))
    proven = best.bound == best.makespan
    return Schedule(best.makespan, best.bound, best.starts, proven, time.perf_counter() - begun)


@dataclass
class _Best:
    """What is known so far, for both searches. until: when to stop, of perf_counter."""

    activities: Activities
    starts: tuple[int, ...]
    bound: int
    until: float
    lock: Lock = field(default_factory=Lock)
    asked: dict[Any, int] = field(default_factory=dict)

    @property
    def makespan(self) -> int:
        """When the best schedule ends."""
        return makespan(self.activities, self.starts)

    def left(self) -> float:
        """Seconds that are left; none when nothing better exists."""
        return 0.0 if self.makespan <= self.bound else self.until - time.perf_counter()

    def over(self) -> bool:
        """Whether there is nothing left to do, or no time for it."""
        return self.left() <= 0

    def offer(self, starts: Sequence[int]) -> None:
        """Keep a schedule that is better, and stop asking for what it already gives."""
        with self.lock:
            if makespan(self.activities, tuple(starts)) < self.makespan:
                self.starts = tuple(starts)
            for solver, end in self.asked.items():
                if self.over() or self.makespan <= end:
                    solver.stop_search()

    @contextmanager
    def asking(self, solver: Any, end: int) -> Iterator[None]:
        """While a solver is asked for an end: it is stopped once that is known."""
        with self.lock:
            self.asked[solver] = end
        try:
            yield
        finally:
            with self.lock:
                del self.asked[solver]

    def cannot(self, end: int) -> None:
        """No schedule ends by then."""
        with self.lock:
            self.bound = max(self.bound, end + 1)
            for solver, asked in self.asked.items():
                if asked <= end:
                    solver.stop_search()


class _Improver:
    """Finds schedules; more than one thread may use it."""

    def __init__(self, best: _Best, pool: Pool, seed: int) -> None:
        self.best, self.pool, self.seed = best, pool, seed
        self.random = Random(seed)
        self.done: set[tuple[int, tuple[int, ...]]] = set()
        self.rounds = 0
        self.lock = Lock()

    def run(self, parts: _Parts) -> None:
        """Until nothing is left to do."""
        windows = Windows(self.best.activities, seed=self.seed)
        while not self.best.over():
            if not parts.step():
                self.step(windows, rounds=1)

    def step(self, windows: Windows, *, rounds: int) -> None:
        """So many times: choose a schedule of the pool and shorten it."""
        for _ in range(max(1, rounds)):
            with self.lock:
                size, member = self._chosen()
            if member is None or self.best.over():
                return
            shorter = windows.shorten(member, size=size, effort=STRETCH_EFFORT, left=self.best.left)
            self.best.offer(shorter)
            with self.lock:
                self.done.add((size, shorter))
                self.pool.put(shorter)

    def _chosen(self) -> tuple[int, tuple[int, ...] | None]:
        """How many activities to do anew at a time, and in which schedule."""
        if self.rounds % 6 == 0:
            lists = MORE_LISTS if self.rounds else FIRST_LISTS
            self.pool.breed(lists=lists, goal=self.best.bound, stop=self.best.over)
            self.best.offer(self.pool.best[1])
        size = SIZES[self.rounds % len(SIZES)]
        self.rounds += 1
        member = self._next(size)
        if member is not None:
            self.done.add((size, member))
        return size, member

    def _next(self, size: int) -> tuple[int, ...] | None:
        """A member that has not been worked on so, one of the best."""
        fresh = [one for one in self.pool.members if (size, one[1]) not in self.done]
        among = [one for one in fresh if one[0] <= fresh[0][0] + (self.rounds % 4 == 0)]
        return self.random.choice(among)[1] if among else None


class _Prover:
    """Shows that no schedule ends sooner."""

    def __init__(self, best: _Best, seed: int, workers: int) -> None:
        self.best, self.seed, self.workers = best, seed, workers
        self.early = critical(best.activities)
        self.effort = FIRST_EFFORT

    def run(self, improver: _Improver, seed: int, parts: _Parts) -> None:
        """Until nothing is left to do; where a proof is far off, shorten schedules as well."""
        windows = Windows(self.best.activities, seed=seed)
        while not self.best.over():
            if parts.step():
                continue
            self.step()
            if self.best.makespan - self.best.bound > NEAR:
                improver.step(windows, rounds=round(4 * self.effort))

    def step(self) -> None:
        """Try to prove the best schedule, then for a better bound; the next try gets more time."""
        best = self.best
        while not best.over():
            before = best.makespan
            if self._ask(before - 1, self.effort) == "open" and best.makespan == before:
                break
        low, high = best.bound, best.makespan - 1
        while low < high and not best.over():
            middle = (low + high) // 2
            answer = self._ask(middle, self.effort * BOUND_SHARE)
            if answer == "none":
                low = middle + 1
            else:
                high = middle
        self.effort *= 2

    def _ask(self, end: int, effort: float) -> Answer:
        """Whether all can be done by ``end``."""
        from drybuild.work.cp import cp_model

        model, times = self._model(end)
        solver = quick_solver(effort=effort, seconds=self.best.left(), seed=self.seed)
        solver.parameters.num_workers = self.workers
        with self.best.asking(solver, end):
            status = solved(solver, model)
        if status == cp_model.INFEASIBLE:
            self.best.cannot(end)
            return "none"
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self.best.offer([solver.value(t) for t in times])
            return "found"
        return "open"

    def windows(self, end: int) -> Begins:
        """When each activity can begin, if all is to be over by ``end``."""
        later = end - self.early.makespan
        pairs = zip(self.early.earliest, self.early.latest, strict=True)
        return tuple((early, late + later) for early, late in pairs)

    def _model(self, end: int) -> tuple[Any, list[Any]]:
        from drybuild.work.cp import cp_model

        activities, durations = self.best.activities, self.best.activities.durations
        model: Any = cp_model.CpModel()
        times = [model.new_int_var(low, high, "") for low, high in self.windows(end)]
        spans = [
            model.new_fixed_size_interval_var(times[a], d, "") for a, d in enumerate(durations)
        ]
        for activity, after in enumerate(activities.successors):
            model.add_hint(times[activity], self.best.starts[activity])
            for following in after:
                model.add(times[following] >= times[activity] + durations[activity])
        for resource, capacity in enumerate(activities.capacities):
            held = [(spans[a], row[resource]) for a, row in enumerate(activities.demands)]
            held = [(span, demand) for span, demand in held if demand]
            if held:
                model.add_cumulative([s for s, _ in held], [d for _, d in held], capacity)
        return model, times


class _Parts:
    """Asks for a proof in parts; more than one thread may take its next part from here."""

    def __init__(self, best: _Best, prover: _Prover, after: float) -> None:
        self.best, self.prover, self.after = best, prover, after
        self.end, self.open = -1, 0
        self.left: list[Begins] = []
        self.lock = Lock()

    def step(self) -> bool:
        """Ask one part. False: it is not the time for it, or no part is left."""
        part, end = self._next()
        if part is None:
            return False
        answer = self._ask(part, end)
        with self.lock:
            if answer == "none" and end == self.end:
                self.open -= 1
                if not self.open:
                    self.best.cannot(end)
        return True

    def _next(self) -> tuple[Begins | None, int]:
        best = self.best
        with self.lock:
            end = best.makespan - 1
            if time.perf_counter() < self.after or best.over():
                return None, end
            if end != self.end:
                windows = self.prover.windows(end)
                if sum(high - low for low, high in windows) > PARTS_MOST:
                    return None, end
                self.end, self.left = end, list(parts_of(best.activities, windows))
                self.open = len(self.left)
            return (self.left.pop() if self.left else None), end

    def _ask(self, windows: Begins, end: int) -> Answer:
        from drybuild.work.cp import cp_model

        best, part = self.best, Part(self.best.activities, windows)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = self.prover.seed
        solver.parameters.linearization_level = 0
        solver.parameters.max_time_in_seconds = max(0.0, best.left())
        with best.asking(solver, end):
            status = solved(solver, part.model)
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            best.offer([solver.value(start) for start in part.starts])
            return "found"
        return "none" if status == cp_model.INFEASIBLE else "open"
