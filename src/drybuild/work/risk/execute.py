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

from drybuild.work.held import NEVER_AT_ONCE, sort_of
from drybuild.work.model import Session
from drybuild.work.risk.network import Network, Task

Floats = npt.NDArray[np.float64]
Counts = npt.NDArray[np.int32]
Flags = npt.NDArray[np.bool_]

NEVER = np.inf
BEGUN, PARTS = -1, -2
"""What bound the start of a task, besides another task: the session's own start, its parts."""
AT_THE_CAR = ": at the car, "
"""What is kept of a session besides people and tools, by ``held.Sort``; no tool is called so."""


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

    def take(self, taken: Flags, stop: Floats, spent: Floats, index: int) -> None:
        """Hold it until then in these draws. spent: how long it is held, 0 elsewhere."""
        taken = taken & (stop >= self.free[0])
        np.copyto(self.free[0], stop, where=taken)
        self.last[0][taken] = index
        self.busy += spent
        if len(self.free) > 1:
            order = np.argsort(self.free, axis=0, kind="stable")
            self.free = np.take_along_axis(self.free, order, axis=0)
            self.last = np.take_along_axis(self.last, order, axis=0)


@dataclass
class _Going:
    """A task on its way, shape (draws,) each. left: quarters still to work; owed: whether it will
    be found to have failed; first: number of the first session it may be in."""

    index: int
    task: Task
    ready: Floats
    left: Floats
    again: Floats
    owed: Flags
    first: Counts
    open: Flags
    begun: Flags


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
        self.sessions = plan.problem.sessions
        self.draws = lengths.first.shape[1]
        shape = (len(plan.tasks), self.draws)
        self.start, self.end = np.full(shape, NEVER), np.full(shape, NEVER)
        self.session = np.full(shape, len(self.sessions), dtype=np.int32)
        self.bound = np.full(shape, BEGUN, dtype=np.int32)
        self.places: dict[tuple[str, int, bool], _Place] = {}
        self.windows: dict[tuple[int, tuple[str, ...]], list[tuple[int, int]]] = {}

    def run(self) -> Run:
        for index in range(len(self.plan.tasks)):
            self._carry_out(self._going(index))
        idle = np.zeros(self.draws)
        for (name, k, person), place in self.places.items():
            if person:
                session = self.sessions[k]
                come = min(p.start for p in session.people if p.name == name)
                there = np.minimum(place.free[0], session.end) - come
                idle += np.where(place.busy > 0.0, np.maximum(0.0, there - place.busy), 0.0)
        return Run(self.start, self.end, self.session, self.bound, idle)

    def _going(self, index: int) -> _Going:
        """A task with when what it waits for is over, and what that was."""
        task = self.plan.tasks[index]
        ready = np.full(self.draws, float(task.earliest))
        if index in self.lengths.late:
            ready += self.lengths.late[index]
        first = np.full(self.draws, task.session, dtype=np.int32)
        bound = self.bound[index]
        bound[:] = PARTS if task.earliest else BEGUN
        for link in task.links:
            over = self.end[link.first] + link.lag if link.lag else self.end[link.first]
            bound[over >= ready] = link.first
            np.maximum(ready, over, out=ready)
            if link.later:
                np.maximum(first, self.session[link.first] + 1, out=first)
        left = self.lengths.first[index].astype(np.float64)
        again, at_once = self.lengths.again[index], self.lengths.at_once[index]
        owed = np.zeros(self.draws, dtype=bool)
        if task.fails:
            left = np.where(at_once, left + again, left)
            owed = (again > 0.0) & ~at_once
        nothing = np.zeros(self.draws, dtype=bool)
        return _Going(index, task, ready, left, again, owed, first, ready < NEVER, nothing)

    def _carry_out(self, going: _Going) -> None:
        for k in going.task.sessions:
            if not going.open.any():
                return
            waits = going.ready[going.open].min() > self._limit(k, self.sessions[k].end)
            if waits and k > going.task.session:
                continue
            for team in teams(self.sessions[k], going.task):
                for window in self._windows(k, team):
                    may = going.open & (going.first <= k)
                    if may.any():
                        self._try(going, k, team, window, may)

    def _windows(self, k: int, team: tuple[str, ...]) -> list[tuple[int, int]]:
        key = (k, team)
        if key not in self.windows:
            self.windows[key] = windows(self.sessions[k], team)
        return self.windows[key]

    def _try(
        self, going: _Going, k: int, team: tuple[str, ...], window: tuple[int, int], may: Flags
    ) -> None:
        """Begin or go on with a task in one stretch of one session, in the draws where it fits."""
        task, index = going.task, going.index
        held = self._held(task, team, k)
        waited = [*held, *self._waited(task, k)]
        start = np.maximum(going.ready, window[0])
        if k == task.session:
            self._bind(going, waited, start, may)
        for place in waited:
            np.maximum(start, place.free[0], out=start)
        fits, done, limit = self._fits(going, k, team, window, start, may)
        if not fits.any():
            return
        stop = np.where(done, start + going.left, limit)
        spent = np.zeros(self.draws)
        np.subtract(stop, start, out=spent, where=fits)
        fresh = fits & ~going.begun
        np.copyto(self.start[index], start, where=fresh)
        for place in (*held, *self._marked(task, k)):
            place.take(fits, stop, spent, index)
        going.left -= spent
        going.begun |= fits
        if task.fails:
            failed = done & going.owed
            going.left[failed] = going.again[failed]
            going.first[failed] = k + 1
            going.owed &= ~failed
            done = done & ~failed
        np.copyto(self.end[index], stop, where=done)
        self.session[index][done] = k
        going.open &= ~done

    def _fits(
        self, going: _Going, k: int, team: tuple[str, ...], window: tuple[int, int],
        start: Floats, may: Flags,
    ) -> tuple[Flags, Flags, float]:  # fmt: skip
        """In which draws it is begun or gone on with, in which it is done, and when people go."""
        if not team:
            fits = may & (start <= window[1])
            return fits, fits, NEVER
        limit = self._limit(k, window[1])
        needed = np.minimum(going.left, going.task.planned)
        goes_on = going.begun & (start < min(limit, window[1]))
        fits = may & (goes_on | (~going.begun & (start + needed <= limit)))
        return fits, fits & (start + going.left <= limit), limit

    def _bind(self, going: _Going, places: list[_Place], start: Floats, may: Flags) -> None:
        """Note what held the start in the session it is planned for."""
        bound = np.where(going.ready >= start, self.bound[going.index], BEGUN)
        at = start
        for place in places:
            held = place.free[0] > at
            bound = np.where(held, place.last[0], bound)
            at = np.maximum(at, place.free[0])
        np.copyto(self.bound[going.index], bound, where=may & ~going.begun)

    def _limit(self, k: int, end: float) -> float:
        """When people go home at the latest: the next session is a day of its own."""
        following = self.sessions[k + 1].start if k + 1 < len(self.sessions) else NEVER
        return min(end + self.stay, following)

    def _held(self, task: Task, team: tuple[str, ...], k: int) -> list[_Place]:
        """The people and the counted tools that a task holds in a session."""
        counts = self.plan.problem.tools
        found = [self._place(name, k, 1, person=True) for name in team]
        return found + [
            self._place(tool, k, counts[tool], person=False)
            for tool in task.work.tools
            if tool in counts
        ]

    def _waited(self, task: Task, k: int) -> list[_Place]:
        """What must be over before it, though it holds nothing of it: all at the car that it is
        never at once with."""
        never = sorted(NEVER_AT_ONCE[sort_of(task.work)])
        return [self._place(AT_THE_CAR + sort, k, 1, person=False) for sort in never]

    def _marked(self, task: Task, k: int) -> list[_Place]:
        """What others have to wait for because of it, as ``_waited`` asks."""
        sort = sort_of(task.work)
        return [self._place(AT_THE_CAR + sort, k, 1, person=False)] if sort else []

    def _place(self, name: str, k: int, pieces: int, *, person: bool) -> _Place:
        key = (name, k, person)
        if key not in self.places:
            self.places[key] = _Place(pieces, self.draws)
        return self.places[key]
