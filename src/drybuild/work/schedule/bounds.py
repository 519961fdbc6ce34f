"""Times before which no schedule can end.

The longest path, and energy: in a stretch of time, what each activity must do there at least,
even when it is pushed as far out of it as its earliest start and latest end let it, is no more
than the resource has (P. Baptiste, C. Le Pape, W. Nuijten, Satisfiability tests and time-bound
adjustments for cumulative scheduling problems, Annals of Operations Research 92 (1999) 305-333,
*from memory*). The bound is the first end for which no stretch asks too much.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from drybuild.work.schedule.activities import Activities
from drybuild.work.schedule.critical import critical

Whole = NDArray[np.int64]
LONGEST = 400
"""Ends above this are not looked at stretch by stretch: it would take long and gain little."""


def lower_bound(activities: Activities) -> int:
    """No schedule ends earlier. Two bounds, the better one: longest path and energy."""
    found = critical(activities)
    least, most = found.makespan, activities.horizon
    least = max(least, _work(activities))
    if least > LONGEST:
        return least
    most = min(most, 2 * least)
    while least < most:
        # what asks too much at one end asks too much at every earlier one
        middle = (least + most) // 2
        if overloaded(activities, end=middle):
            least = middle + 1
        else:
            most = middle
    return least


def _work(activities: Activities) -> int:
    """All work through the whole capacity."""
    found = 0
    for resource, capacity in enumerate(activities.capacities):
        rows = zip(activities.durations, activities.demands, strict=True)
        total = sum(length * row[resource] for length, row in rows)
        if capacity:
            found = max(found, -(-total // capacity))
    return found


def overloaded(activities: Activities, *, end: int) -> bool:
    """Whether some stretch asks more of a resource than it has, if all is to be done by ``end``."""
    path = critical(activities)
    durations: Whole = np.array(activities.durations, dtype=np.int64)
    if end < path.makespan:
        return True
    if not durations.size or not activities.capacities:
        return False
    early: Whole = np.array(path.earliest, dtype=np.int64)
    late: Whole = np.array(path.latest, dtype=np.int64) + (end - path.makespan)
    demands: Whole = np.array(activities.demands, dtype=np.int64)
    capacities: Whole = np.array(activities.capacities, dtype=np.int64)
    ends: Any = np.arange(1, end + 1)
    for start in range(end):
        stretch = ends[ends > start]
        # least part within [start, stop): pushed to the left, to the right, or all of the stretch
        left = np.clip(early + durations - start, 0, durations)
        right = np.clip(stretch[:, None] - late[None, :], 0, durations)
        inside = np.minimum(np.minimum(left[None, :], right), (stretch - start)[:, None])
        if np.any(inside @ demands > (stretch - start)[:, None] * capacities[None, :]):
            return True
    return False
