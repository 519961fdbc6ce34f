"""Makes a schedule shorter by working on one stretch of it at a time.

What starts before the stretch stays where it is; what starts after it is pushed to the right, to
end one unit of time sooner than now; what lies between is scheduled anew by constraint
programming. When it fits, the whole is shorter (neighbourhoods by time windows: M. Palpant, C.
Artigues, P. Michelon, LSSPER: solving the resource-constrained project scheduling problem with
large neighbourhood search, Annals of Operations Research 131 (2004) 237-257, *from memory*).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from random import Random
from typing import Any

from drybuild.work.schedule.activities import Activities, Rows
from drybuild.work.schedule.listing import Packed, in_order, justified, pack
from drybuild.work.stopping import solved


@dataclass(frozen=True)
class Stretch:
    """The activities that are free, and the fixed starts of the others."""

    free: tuple[int, ...]
    fixed: dict[int, int]


class Windows:
    """Shortens schedules of one project."""

    def __init__(self, activities: Activities, *, seed: int = 0) -> None:
        self.activities = activities
        self.before: Rows = activities.predecessors()
        self.packed: Packed = pack(activities)
        self.back = self.packed.turned()
        self.random = Random(seed)

    def shorten(
        self, starts: Sequence[int], *, size: int, effort: float, left: Callable[[], float]
    ) -> tuple[int, ...]:
        """The schedule, shorter where any stretch of about ``size`` activities lets it.

        effort: deterministic time for a stretch. left: seconds until it must stop.
        """
        found, last = justified(self.packed, self.back, in_order(self.packed, starts))
        while True:
            for low, high in self._cuts(found, size):
                if left() <= 0:
                    return tuple(found)
                new = self._redone(found, low, high, last - 1, effort, left())
                if new is not None:
                    order = in_order(self.packed, new)
                    found, last = justified(self.packed, self.back, order)
                    break
            else:
                return tuple(found)

    def _cuts(self, starts: Sequence[int], size: int) -> list[tuple[int, int]]:
        """(first, last) start of overlapping stretches, in any order."""
        times, count = sorted(starts), len(starts)
        places = range(0, max(1, count - size + 1), max(1, size // 4))
        cuts = [(times[k], times[k + size] if k + size < count else times[-1] + 1) for k in places]
        self.random.shuffle(cuts)
        return cuts

    def _redone(
        self, starts: Sequence[int], low: int, high: int, end: int, effort: float, seconds: float
    ) -> list[int] | None:
        """The schedule with what starts in [low, high) done anew, all of it by ``end``."""
        stretch = self._stretch(starts, low, high, end)
        if stretch is None:
            return None
        limits = self._limits(stretch, end)
        if limits is None:
            return None
        return self._solved(starts, stretch, limits, end, effort, seconds)

    def _stretch(self, starts: Sequence[int], low: int, high: int, end: int) -> Stretch | None:
        durations = self.activities.durations
        fixed = {a: s for a, s in enumerate(starts) if s < low}
        late = [a for a, s in enumerate(starts) if s >= high]
        # seen backwards, what ends last is placed first
        packed, room = self.back, [self.packed.full] * (end + 1)
        late.sort(key=lambda a: (starts[a] + durations[a], starts[a]), reverse=True)
        waiting = late
        while waiting:
            again = []
            for a in waiting:
                if any(later not in fixed for later in packed.before[a]):
                    again.append(a)
                    continue
                latest = min((fixed[later] for later in packed.before[a]), default=end)
                start = _last(packed, room, a, latest)
                if start < 0:
                    return None
                fixed[a] = start
            if len(again) == len(waiting):
                return None
            waiting = again
        free = tuple(a for a in range(len(starts)) if a not in fixed)
        return Stretch(free, fixed) if len(free) > 1 else None

    def _limits(self, stretch: Stretch, end: int) -> dict[int, tuple[int, int]] | None:
        """Earliest and latest start of each free activity between the fixed ones."""
        found, fixed = {}, stretch.fixed
        for a in stretch.free:
            length = self.activities.durations[a]
            ends = (fixed[b] + self.activities.durations[b] for b in self.before[a] if b in fixed)
            early = max(ends, default=0)
            after = (fixed[b] for b in self.activities.successors[a] if b in fixed)
            late = min(after, default=end) - length
            if late < early:
                return None
            found[a] = (early, late)
        return found

    def _solved(
        self, starts: Sequence[int], stretch: Stretch, limits: dict[int, tuple[int, int]],
        end: int, effort: float, seconds: float,
    ) -> list[int] | None:  # fmt: skip
        from drybuild.work.cp import cp_model

        model: Any = cp_model.CpModel()
        times = {a: model.new_int_var(*limits[a], "") for a in stretch.free}
        durations = self.activities.durations
        spans = {
            a: model.new_fixed_size_interval_var(t, durations[a], "") for a, t in times.items()
        }
        for a, time in times.items():
            model.add_hint(time, starts[a])
            for later in self.activities.successors[a]:
                if later in times:
                    model.add(times[later] >= time + durations[a])
        begin = min(early for early, _ in limits.values())
        for resource, capacity in enumerate(self.activities.capacities):
            demand = {a: self.activities.demands[a][resource] for a in stretch.free}
            held = [a for a in stretch.free if demand[a]]
            if held:
                parts = self._taken(stretch.fixed, resource, begin, end)
                blocks = [model.new_fixed_size_interval_var(s, e - s, "") for s, e, _ in parts]
                needs = [*(demand[a] for a in held), *(used for _, _, used in parts)]
                model.add_cumulative([*(spans[a] for a in held), *blocks], needs, capacity)
        solver = quick_solver(effort=effort, seconds=seconds, seed=self.random.randrange(1 << 30))
        if solved(solver, model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        return [
            solver.value(times[a]) if a in times else stretch.fixed[a] for a in range(len(starts))
        ]

    def _taken(
        self, fixed: dict[int, int], resource: int, begin: int, end: int
    ) -> list[tuple[int, int, int]]:
        """(from, to, used) of a resource by what is fixed."""
        used = [0] * (end + 1)
        for a, start in fixed.items():
            for time in range(start, start + self.activities.durations[a]):
                used[time] += self.activities.demands[a][resource]
        found: list[tuple[int, int, int]] = []
        for time in range(begin, end):
            if found and found[-1][1] == time and found[-1][2] == used[time]:
                found[-1] = (found[-1][0], time + 1, used[time])
            elif used[time]:
                found.append((time, time + 1, used[time]))
        return found


def _last(packed: Packed, room: list[int], activity: int, latest: int) -> int:
    """The last start at which an activity fits before ``latest``, and its place taken; or −1."""
    length, demand, guard = packed.durations[activity], packed.demands[activity], packed.guard
    start = latest - length
    at = latest - 1
    while demand and at >= start >= 0:
        if (room[at] - demand) & guard != guard:
            start = at - length
        at -= 1
    if start >= 0:
        for at in range(start, start + length):
            room[at] -= demand
    return max(start, -1)


def quick_solver(*, effort: float, seconds: float, seed: int) -> Any:
    """One worker without linear relaxation: it only gets in the way of these models."""
    from drybuild.work.cp import cp_model

    solver: Any = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.linearization_level = 0
    solver.parameters.cp_model_probing_level = 0
    solver.parameters.symmetry_level = 0
    solver.parameters.max_deterministic_time = effort
    solver.parameters.max_time_in_seconds = max(seconds, 0.01)
    solver.parameters.random_seed = seed
    return solver
