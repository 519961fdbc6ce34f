"""Activities that follow each other and share what there is only so much of, and their schedules.

The problem is project scheduling under limited resources with one way of doing each activity (A. A.
B. Pritsker, L. J. Watters, P. M. Wolfe, Management Science 16 (1969) 93-108, *from memory*): every
activity has a whole duration, runs without a break, begins when all before it have ended, and
holds its demand of each resource meanwhile. The project is to end as early as it can.
"""

from __future__ import annotations

from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from itertools import accumulate

Rows = tuple[tuple[int, ...], ...]


class ActivityFaults(ValueError):
    """Activities that no schedule can exist for; ``faults`` says all that is wrong, in words."""

    def __init__(self, faults: tuple[str, ...]) -> None:
        self.faults = faults
        super().__init__("\n".join(faults))


@dataclass(frozen=True)
class Activities:
    """What is to be scheduled; activities are named by their number from 0.

    durations: (A,), whole units of time, ≥ 0. demands: (A, R), of each resource, while it lasts.
    capacities: (R,). successors: (A, any): the activities that begin after this one has ended.
    Raises ActivityFaults with every fault.
    """

    durations: tuple[int, ...]
    demands: Rows
    capacities: tuple[int, ...]
    successors: Rows

    def __post_init__(self) -> None:
        faults = (*_shapes(self), *_sizes(self)) if not _shapes(self) else _shapes(self)
        faults = faults or _loops(self)
        if faults:
            raise ActivityFaults(faults)

    @property
    def horizon(self) -> int:
        """The time by which all can be done one after the other."""
        return sum(self.durations)

    def predecessors(self) -> Rows:
        """(A, any): the activities that end before this one begins, in order of number."""
        before: list[list[int]] = [[] for _ in self.durations]
        for activity, after in enumerate(self.successors):
            for later in after:
                before[later].append(activity)
        return tuple(tuple(sorted(set(found))) for found in before)

    def order(self) -> tuple[int, ...]:
        """All activities, each after those before it."""
        return tuple(TopologicalSorter(dict(enumerate(self.predecessors()))).static_order())

    def turned(self) -> Activities:
        """The same project run backwards in time."""
        return Activities(self.durations, self.demands, self.capacities, self.predecessors())


@dataclass(frozen=True)
class Schedule:
    """When each activity begins, and how good that is.

    makespan: when the last one ends. bound: no schedule ends earlier. proven: whether the two are
    the same. seconds: how long the search took.
    """

    makespan: int
    bound: int
    starts: tuple[int, ...]
    proven: bool
    seconds: float


def faults_of(activities: Activities, starts: tuple[int, ...]) -> tuple[str, ...]:
    """What is wrong with these starts, in words; empty when they make a schedule.

    It recomputes everything from the activities alone.
    """
    if len(starts) != len(activities.durations):
        return (f"{len(starts)} starts for {len(activities.durations)} activities",)
    found = [f"activity {a} starts at {s}, before 0" for a, s in enumerate(starts) if s < 0]
    ends = [start + length for start, length in zip(starts, activities.durations, strict=True)]
    for activity, after in enumerate(activities.successors):
        found += [
            f"activity {later} starts at {starts[later]}, {activity} ends at {ends[activity]}"
            for later in after
            if starts[later] < ends[activity]
        ]
    for resource, capacity in enumerate(activities.capacities):
        moves: dict[int, int] = {}
        for activity, demand in enumerate(row[resource] for row in activities.demands):
            if activities.durations[activity]:
                moves[starts[activity]] = moves.get(starts[activity], 0) + demand
                moves[ends[activity]] = moves.get(ends[activity], 0) - demand
        times = sorted(moves)
        for time, used in zip(times, accumulate(moves[t] for t in times), strict=True):
            if used > capacity:
                found.append(f"resource {resource} at {time}: {used} used of {capacity}")
    return tuple(found)


def makespan(activities: Activities, starts: tuple[int, ...]) -> int:
    """When the last activity ends."""
    return max((s + d for s, d in zip(starts, activities.durations, strict=True)), default=0)


def _shapes(activities: Activities) -> tuple[str, ...]:
    count, resources = len(activities.durations), len(activities.capacities)
    found = []
    if len(activities.demands) != count:
        found.append(f"{count} durations and {len(activities.demands)} rows of demands")
    if len(activities.successors) != count:
        found.append(f"{count} durations and {len(activities.successors)} rows of successors")
    found += [
        f"activity {a}: {len(row)} demands for {resources} resources"
        for a, row in enumerate(activities.demands)
        if len(row) != resources
    ]
    return tuple(found)


def _sizes(activities: Activities) -> tuple[str, ...]:
    count = len(activities.durations)
    found = [f"activity {a}: duration {d}" for a, d in enumerate(activities.durations) if d < 0]
    for activity, row in enumerate(activities.demands):
        for resource, demand in enumerate(row):
            capacity = activities.capacities[resource]
            if demand < 0 or (demand > capacity and activities.durations[activity]):
                found.append(f"activity {activity}: {demand} of resource {resource}, of {capacity}")
    for activity, after in enumerate(activities.successors):
        found += [
            f"activity {activity}: successor {later}, expected 0 to {count - 1}"
            for later in after
            if not 0 <= later < count
        ]
    return tuple(found)


def _loops(activities: Activities) -> tuple[str, ...]:
    try:
        activities.order()
    except CycleError as error:
        loop = " → ".join(str(a) for a in error.args[1])
        return (f"activities that wait for each other: {loop}",)
    return ()
