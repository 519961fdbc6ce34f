"""A plan carried out many times at once: every draw has its own times, all keep the plan's order.

Each step begins as soon as what it waits for is over, its people are free and its parts are there.
Nobody knows beforehand how long a step will take: it is begun when the time that the plan gives it
still fits before people go home, and then it takes what it takes. What is not finished when they
go home is gone on with in the next work session; what was not begun goes there too. There it comes
first. Nobody leaves a job out, and nobody plans again: with a new plan the chances are better.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from drybuild.work.model import Session
from drybuild.work.risk.network import Network, Task

Floats = npt.NDArray[np.float64]
Counts = npt.NDArray[np.int32]
Flags = npt.NDArray[np.bool_]

NEVER = np.inf
BEGUN, PARTS = -1, -2
"""What bound the start of a task, besides another task: the session's own start, its parts."""


@dataclass(frozen=True)
class Lengths:
    """What each task takes, quarters, shape (tasks, draws).

    first: until it is done, or is found to have failed; again: what putting right and doing it
    again take, 0 where it did not fail; at_once: whether that can be done in the same session.
    late: quarters by which its parts come late, by task number.
    """

    first: Floats
    again: Floats
    at_once: Flags
    late: dict[int, Floats] = field(default_factory=dict)

    @property
    def used(self) -> Floats:
        """All the time that goes into each task, quarters."""
        return self.first + self.again


@dataclass(frozen=True)
class Run:
    """Shape (tasks, draws) each. start, end: quarters, inf for never. session: number of the one it
    ended in, or how many there are. bound: number of the task that it waited for last, in the
    session it was planned for, or ``BEGUN``, ``PARTS``. idle: person-quarters that people waited
    for each other, shape (draws,).
    """

    start: Floats
    end: Floats
    session: Counts
    bound: Counts
    idle: Floats


class _Place:
    """A person, or the pieces of a counted tool, in one session; shape (pieces, draws).

    Row 0 is the piece that is free first, and the one that is taken.
    """

    def __init__(self, pieces: int, draws: int) -> None:
        self.free = np.zeros((pieces, draws))
        self.last = np.full((pieces, draws), BEGUN, dtype=np.int32)
        self.busy = np.zeros(draws)

    def take(self, taken: Flags, start: Floats, stop: Floats, index: int) -> None:
        """Hold it from start to stop in these draws."""
        self.free[0] = np.where(taken, stop, self.free[0])
        self.last[0] = np.where(taken, np.int32(index), self.last[0])
        self.busy += np.where(taken, stop - start, 0.0)
        if len(self.free) > 1:
            order = np.argsort(self.free, axis=0, kind="stable")
            self.free = np.take_along_axis(self.free, order, axis=0)
            self.last = np.take_along_axis(self.last, order, axis=0)


def windows(session: Session, people: Sequence[str]) -> list[tuple[int, int]]:
    """Stretches in which all of them are there; the whole session for nobody."""
    found = [(session.start, session.end)]
    for name in people:
        mine = sorted((p.start, p.end) for p in session.people if p.name == name)
        joined: list[tuple[int, int]] = []
        for start, end in mine:
            if joined and start <= joined[-1][1]:
                joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
            else:
                joined.append((start, end))
        found = [
            (max(a, c), min(b, d)) for a, b in found for c, d in joined if max(a, c) < min(b, d)
        ]
    return found


def teams(session: Session, task: Task) -> Iterator[tuple[str, ...]]:
    """The people who were planned; then, in their place, those who are there longest."""
    if task.work.people == 0:
        yield ()
        return
    there = {p.name: max(q.end for q in session.people if q.name == p.name) for p in session.people}
    if set(task.step.who) <= set(there):
        yield task.step.who
    names = sorted(there, key=lambda name: -there[name])
    allowed = [name for name in names if not task.who or name in task.who]
    if task.who and len(task.who) < task.work.people:
        allowed = [*allowed[:1], *(n for n in names if n not in allowed[:1])] if allowed else []
    other = tuple(allowed[: task.work.people])
    if len(other) == task.work.people and set(other) != set(task.step.who):
        yield other


def execute(plan: Network, lengths: Lengths, *, stay: float) -> Run:
    """Carry the plan out. stay: quarters that people stay on; inf: until what they have is done."""
    return _Hall(plan, lengths, stay).run()


class _Hall:
    def __init__(self, plan: Network, lengths: Lengths, stay: float) -> None:
        self.plan, self.lengths, self.stay = plan, lengths, stay
        self.draws = lengths.first.shape[1]
        shape = (len(plan.tasks), self.draws)
        self.start, self.end = np.full(shape, NEVER), np.full(shape, NEVER)
        self.session = np.full(shape, len(plan.problem.sessions), dtype=np.int32)
        self.bound = np.full(shape, BEGUN, dtype=np.int32)
        self.people: dict[tuple[str, int], _Place] = {}
        self.tools: dict[tuple[str, int], _Place] = {}

    def run(self) -> Run:
        for index in range(len(self.plan.tasks)):
            self._place(index)
        idle = np.zeros(self.draws)
        for (name, k), place in self.people.items():
            session = self.plan.problem.sessions[k]
            come = min(p.start for p in session.people if p.name == name)
            there = np.minimum(place.free[0], session.end) - come
            idle += np.where(place.busy > 0.0, np.maximum(0.0, there - place.busy), 0.0)
        return Run(self.start, self.end, self.session, self.bound, idle)

    def _ready(self, index: int) -> tuple[Floats, Counts, Counts]:
        """When what it waits for is over, what that was, and the first session it may be in."""
        task = self.plan.tasks[index]
        ready = np.full(self.draws, float(task.earliest))
        bound = np.full(self.draws, PARTS if task.earliest else BEGUN, dtype=np.int32)
        if index in self.lengths.late:
            ready += self.lengths.late[index]
        first = np.full(self.draws, task.session, dtype=np.int32)
        for link in task.links:
            over = self.end[link.first] + link.lag
            held = over >= ready
            ready = np.where(held, over, ready)
            bound[held] = link.first
            if link.later:
                first = np.maximum(first, self.session[link.first] + 1)
        return ready, bound, first

    def _place(self, index: int) -> None:
        task = self.plan.tasks[index]
        ready, bound, first = self._ready(index)
        self.bound[index] = bound
        left = self.lengths.first[index].astype(np.float64)
        again = self.lengths.again[index]
        now = (again > 0.0) & self.lengths.at_once[index]
        left[now] += again[now]
        owed = (again > 0.0) & ~self.lengths.at_once[index]
        open_ = np.ones(self.draws, dtype=bool)
        begun = np.zeros(self.draws, dtype=bool)
        for k in task.sessions:
            session = self.plan.problem.sessions[k]
            for team in teams(session, task):
                for window in windows(session, team):
                    may = open_ & (first <= k)
                    if may.any():
                        self._try(index, k, team, window, ready, may, left, begun, open_,
                                  owed, first)  # fmt: skip
            if not open_.any():
                return

    def _try(
        self, index: int, k: int, team: tuple[str, ...], window: tuple[int, int], ready: Floats,
        may: Flags, left: Floats, begun: Flags, open_: Flags, owed: Flags, first: Counts,
    ) -> None:  # fmt: skip
        """Begin or go on with a task in one stretch of one session, in the draws where it fits."""
        task = self.plan.tasks[index]
        places = self._places(task, team, k)
        start = np.maximum(ready, window[0])
        bound = np.where(ready >= window[0], self.bound[index], BEGUN)
        for place in places:
            held = place.free[0] > start
            start = np.where(held, place.free[0], start)
            bound = np.where(held, place.last[0], bound)
        if k == task.session:
            self.bound[index] = np.where(may & ~begun, bound, self.bound[index])
        limit = self._limit(k, window[1]) if team else self._limit(k, self._next(k))
        needed = np.minimum(left, task.planned)
        fits = np.where(begun, start < min(limit, window[1]), start + needed <= limit)
        if not team:
            fits = start <= window[1]
        fits &= may
        if not fits.any():
            return
        done = fits & ((start + left <= limit) if team else True)
        stop = np.where(done, start + left, limit)
        self.start[index] = np.where(fits & ~begun, start, self.start[index])
        for place in places:
            place.take(fits, start, stop, index)
        left -= np.where(fits, stop - start, 0.0)
        begun |= fits
        failed = done & owed
        left[failed] = self.lengths.again[index][failed]
        first[failed] = k + 1
        owed &= ~failed
        done &= ~failed
        self.end[index] = np.where(done, stop, self.end[index])
        self.session[index] = np.where(done, np.int32(k), self.session[index])
        open_ &= ~done

    def _next(self, k: int) -> float:
        sessions = self.plan.problem.sessions
        return sessions[k + 1].start if k + 1 < len(sessions) else NEVER

    def _limit(self, k: int, end: float) -> float:
        """When people go home at the latest: the next session is a day of its own."""
        return min(end + self.stay, self._next(k))

    def _places(self, task: Task, team: tuple[str, ...], k: int) -> list[_Place]:
        """The people and the counted tools that a task holds in a session."""
        counts = self.plan.problem.tools
        held = [self.people.setdefault((name, k), _Place(1, self.draws)) for name in team]
        for tool in task.work.tools:
            if tool in counts:
                fresh = _Place(counts[tool], self.draws)
                held.append(self.tools.setdefault((tool, k), fresh))
        return held
