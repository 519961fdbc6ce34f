"""The critical path: how early and how late each activity can be when nothing runs short.

The forward and backward pass of J. E. Kelley and M. R. Walker, Critical-path planning and
scheduling, Eastern Joint Computer Conference 1959 (*from memory*).
"""

from __future__ import annotations

from dataclasses import dataclass

from drybuild.work.schedule.activities import Activities


@dataclass(frozen=True)
class Critical:
    """Earliest and latest start of each activity, in its unit of time, and when all is done.

    path: the activities without float, in order of start.
    """

    makespan: int
    earliest: tuple[int, ...]
    latest: tuple[int, ...]
    path: tuple[int, ...]

    @property
    def floats(self) -> tuple[int, ...]:
        """How much later than its earliest each may start without making the whole later."""
        return tuple(late - early for early, late in zip(self.earliest, self.latest, strict=True))


def critical(activities: Activities) -> Critical:
    """Critical path of these activities, resources left aside."""
    order, durations = activities.order(), activities.durations
    earliest = [0] * len(order)
    for activity in order:
        for later in activities.successors[activity]:
            earliest[later] = max(earliest[later], earliest[activity] + durations[activity])
    end = max((earliest[a] + durations[a] for a in order), default=0)
    latest = [end - duration for duration in durations]
    for activity in reversed(order):
        for later in activities.successors[activity]:
            latest[activity] = min(latest[activity], latest[later] - durations[activity])
    tight = [a for a in order if earliest[a] == latest[a]]
    return Critical(
        makespan=end,
        earliest=tuple(earliest),
        latest=tuple(latest),
        path=tuple(sorted(tight, key=lambda a: (earliest[a], earliest[a] + durations[a]))),
    )
