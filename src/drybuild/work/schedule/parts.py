"""Whether a project can end by a time, asked in parts: a few starts are halved, each half is asked.

In a part, each unit of time of each resource is a condition of its own over who is at work then, so
that what is learned names times; the clauses are far shorter than where a resource is one condition
(A. Schutt, T. Feydy, P. J. Stuckey and M. G. Wallace, Constraints 16 (2011) 250-282, compare the
two, *from memory*). The parts are independent: several threads ask them side by side.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

from drybuild.work.schedule.activities import Activities

Begins = tuple[tuple[int, int], ...]
"""Earliest and latest start of each activity."""

HALVED = 5
"""How many activities are halved."""

WIDE = 4
"""The fewest units of time in a window that is worth halving."""


def parts_of(activities: Activities, windows: Begins) -> Iterator[Begins]:
    """Times of beginning that together hold every schedule of the given ones, and none twice."""
    chosen = _heaviest(activities, windows)
    halves = [(_half(windows[a], late=False), _half(windows[a], late=True)) for a in chosen]
    for picked in product(*halves):
        part = list(windows)
        for activity, half in zip(chosen, picked, strict=True):
            part[activity] = half
        yield tuple(part)


def _half(window: tuple[int, int], *, late: bool) -> tuple[int, int]:
    middle = sum(window) // 2
    return (middle + 1, window[1]) if late else (window[0], middle)


def _heaviest(activities: Activities, windows: Begins) -> list[int]:
    """Activities that hold most of what is used most, and may begin early or late."""
    most = max(range(len(activities.capacities)), key=lambda r: _use(activities, r), default=None)
    if most is None:
        return []
    held = {
        a: duration * activities.demands[a][most]
        for a, duration in enumerate(activities.durations)
        if windows[a][1] - windows[a][0] > WIDE
    }
    return sorted((a for a, h in held.items() if h), key=lambda a: -held[a])[:HALVED]


def _use(activities: Activities, resource: int) -> float:
    pairs = zip(activities.durations, activities.demands, strict=True)
    capacity = activities.capacities[resource]
    return sum(d * row[resource] for d, row in pairs) / capacity if capacity else 0.0


@dataclass
class Part:
    """The model of one part, and the start of each activity in it."""

    activities: Activities
    windows: Begins

    def __post_init__(self) -> None:
        from drybuild.work.cp import cp_model

        self.model: Any = cp_model.CpModel()
        self.starts = [self.model.new_int_var(low, high, "") for low, high in self.windows]
        self.begun = [self._begun(a) for a in range(len(self.starts))]
        for activity, after in enumerate(self.activities.successors):
            length = self.activities.durations[activity]
            for following in after:
                self.model.add(self.starts[following] >= self.starts[activity] + length)
        works = [self._works(a) for a in range(len(self.starts))]
        for resource, capacity in enumerate(self.activities.capacities):
            self._held(resource, capacity, works)

    def _begun(self, activity: int) -> list[Any]:
        """For each time of its window, whether it has begun by then; at the last it has."""
        low, high = self.windows[activity]
        start, found = self.starts[activity], []
        for time in range(low, high):
            truth = self.model.new_bool_var("")
            self.model.add(start <= time).only_enforce_if(truth)
            self.model.add(start > time).only_enforce_if(truth.negated())
            found.append(truth)
        return [*found, True]

    def _by(self, activity: int, time: int) -> Any:
        """Whether it has begun by a time."""
        low, high = self.windows[activity]
        return False if time < low else self.begun[activity][min(time, high) - low]

    def _works(self, activity: int) -> dict[int, Any]:
        """For each time at which it may be at work, whether it is."""
        (low, high), length = self.windows[activity], self.activities.durations[activity]
        found = {}
        for time in range(low, high + length):
            begun, over = self._by(activity, time), self._by(activity, time - length)
            if over is False:
                found[time] = begun
            elif begun is True:
                found[time] = over.negated()
            else:
                found[time] = self.model.new_bool_var("")
                self.model.add_bool_or([found[time], begun.negated(), over])
                self.model.add_implication(found[time], begun)
                self.model.add_implication(found[time], over.negated())
        return found

    def _held(self, resource: int, capacity: int, works: Sequence[dict[int, Any]]) -> None:
        """At no time is more held of a resource than there is."""
        held: dict[int, list[tuple[int, Any]]] = {}
        for activity, row in enumerate(self.activities.demands):
            for time, truth in works[activity].items() if row[resource] else ():
                held.setdefault(time, []).append((row[resource], truth))
        for pairs in held.values():
            if sum(demand for demand, _ in pairs) > capacity:
                self.model.add(sum(demand * truth for demand, truth in pairs) <= capacity)
