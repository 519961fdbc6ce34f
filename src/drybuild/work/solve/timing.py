"""When things are done inside a session: an interval for each task that may be in it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import pairwise
from typing import Any

from drybuild.work.held import NEVER_AT_ONCE, WHOLE, Sort, sort_of
from drybuild.work.model import Session
from drybuild.work.solve.states import Spot, States
from drybuild.work.solve.tasks import Task


class Timing:
    """Starts and intervals of every task in every session, and what holds between them.

    exact: numbers of the sessions in which each task gets its people by name; elsewhere it is
    enough that never more people are at work than are there.
    """

    def __init__(self, states: States, exact: Iterable[int] = ()) -> None:
        from ortools.sat.python.cp_model import Domain

        self._domain = Domain.from_intervals
        self.states, self.model = states, states.model
        self.start: dict[Spot, Any] = {}
        self.interval: dict[Spot, Any] = {}
        self.holds: dict[tuple[str, int, str], Any] = {}
        for spot in states.does:
            if spot[0].startswith("job:"):
                self._lay_job(spot)
            else:
                self._lay(spot)
        for spot, start in list(self.start.items()):
            if spot in states.does:
                states.loose.timed(states, spot, start)
        for order in states.orders:
            if order.first not in self.start or order.then not in self.start:
                continue  # no session may hold that job: the states say already that no plan is
            end = self.start[order.first] + states.tasks.all[order.first[0]].length
            constraint = self.model.add(self.start[order.then] >= end + order.gap)
            if order.when:
                constraint.only_enforce_if(list(order.when))
        for limit in states.limits:
            start, task = self.start[limit.spot], states.tasks.all[limit.spot[0]]
            if limit.since is not None:
                self.model.add(start >= limit.since).only_enforce_if(list(limit.when))
            if limit.until is not None:
                self.model.add(start + task.length <= limit.until).only_enforce_if(list(limit.when))
        for k, session in enumerate(states.sessions):
            here = [t for t in states.tasks.all.values() if (t.key, k) in states.does]
            self._hands(k, session, here)
            self._skills(k, session, here)
            self._tools(k, here)
            self._alone(k, session, here)
            if k in exact:
                self._by_name(k, session, here)
            self._room(k, session)

    def _window(self, task: Task, k: int) -> tuple[int, int]:
        session = self.states.sessions[k]
        return max(session.start, self.states.loose.earliest(task)), session.end - task.length

    def _lay(self, spot: Spot) -> None:
        task = self.states.tasks.all[spot[0]]
        self.start[spot] = self.model.new_int_var(*self._window(task, spot[1]), f"start {spot}")
        self._interval(task, spot)

    def _lay_job(self, spot: Spot) -> None:
        """A job is done once, in whatever session, and so has one start."""
        task = self.states.tasks.all[spot[0]]
        always = (task.key, -1)
        if always not in self.start:
            windows = [self._window(task, k) for k in self.states.where(task)]
            domain = self._domain([list(window) for window in windows])
            self.start[always] = self.model.new_int_var_from_domain(domain, f"start {task.key}")
        begin, end = self._window(task, spot[1])
        start, does = self.start[always], self.states.does[spot]
        self.model.add_linear_constraint(start, begin, end).only_enforce_if(does)
        self.start[spot] = start
        self._interval(task, spot)

    def _interval(self, task: Task, spot: Spot) -> None:
        if task.length:
            self.interval[spot] = self.model.new_optional_fixed_size_interval_var(
                self.start[spot], task.length, self.states.does[spot], f"{spot}"
            )

    def _cumulative(
        self, tasks: Iterable[tuple[Task, int]], k: int, present: Mapping[str, list[range]]
    ) -> None:
        """Never more of these people at work than are there."""
        session = self.states.sessions[k]
        intervals, demands = [], []
        for task, demand in tasks:
            if demand and task.length:
                intervals.append(self.interval[task.key, k])
                demands.append(demand)
        most, away = profile(session, present)
        for begin, end, missing in away:
            intervals.append(self.model.new_fixed_size_interval_var(begin, end - begin, "away"))
            demands.append(missing)
        if intervals:
            self.model.add_cumulative(intervals, demands, most)

    def _hands(self, k: int, session: Session, here: list[Task]) -> None:
        present = presence(session)
        self._cumulative(((t, t.people) for t in here), k, present)

    def _skills(self, k: int, session: Session, here: list[Task]) -> None:
        present = presence(session)
        for who in sorted({t.job.who for t in here if t.job is not None and t.job.who}):
            mine = {name: times for name, times in present.items() if name in who}
            bound = [
                (t, t.people if len(t.job.who) >= t.people else 1)
                for t in here
                if t.job is not None and t.job.who and set(t.job.who) <= set(who)
            ]
            if len(mine) < len(present):
                self._cumulative(bound, k, mine)

    def _tools(self, k: int, here: list[Task]) -> None:
        for tool, count in self.states.problem.tools.items():
            mine = [self.interval[t.key, k] for t in here if tool in t.work.tools and t.length]
            if len(mine) > count:
                self.model.add_cumulative(mine, [1] * len(mine), count)

    def _alone(self, k: int, session: Session, here: list[Task]) -> None:
        """Nobody works at the car while a task has it to itself, has hands in while the engine
        runs, or is below while an end goes up or down."""
        most = len(presence(session))
        said = set[Sort]()
        for sort in WHOLE:
            sorts = {sort, *NEVER_AT_ONCE[sort]} - said
            said.add(sort)
            mine = [t for t in here if t.length and sort_of(t.work) in sorts]
            whole = [sort_of(t.work) == sort for t in mine]
            if most > 1 and any(whole):
                self.model.add_cumulative(
                    [self.interval[t.key, k] for t in mine], [most if w else 1 for w in whole], most
                )

    def _room(self, k: int, session: Session) -> None:
        """What is done while a component is off has room between its taking off and refitting.

        It follows from the rest; said here as sums of work, it spares the solver much search.
        """
        states = self.states
        hands = profile(session, presence(session))[0]
        work = {}
        for name in states.tasks.components:
            take, refit = (f"take:{name}", k), (f"refit:{name}", k)
            if not states.shut_both(name, k) or take not in states.does:
                continue
            inner = states.inside(name, k)
            ends = [states.tasks.all[key] for key, _ in (take, refit)]
            held = sum(t.energy * states.does[t.key, k] for t in inner)
            work[name] = held + sum(t.energy * states.does[t.key, k] for t in ends)
            if len(inner) > 2:
                room = self.start[refit] - self.start[take] - ends[0].length
                self.model.add(hands * room >= held).only_enforce_if(states.does[take])
        for late, key, name, i in states.lates:
            if i == k and name in work:
                room = self.start[key, k] - session.start
                self.model.add(hands * room >= work[name]).only_enforce_if(late)

    def _by_name(self, k: int, session: Session, here: list[Task]) -> None:
        """Each task gets its people by name."""
        present = presence(session)
        for name, times in present.items():
            own = []
            for task in here:
                if not task.people:
                    continue
                truth = self.model.new_bool_var(f"{name} {task.key}@{k}")
                self.holds[task.key, k, name] = truth
                self.model.add_implication(truth, self.states.does[task.key, k])
                start = self.start[task.key, k]
                inside = [
                    self.model.new_bool_var(f"{name} {task.key}@{k} {t.start}") for t in times
                ]
                for t, one in zip(times, inside, strict=True):
                    self.model.add(start >= t.start).only_enforce_if(one)
                    self.model.add(start + task.length <= t.stop).only_enforce_if(one)
                self.model.add(sum(inside) >= truth)
                if task.length:
                    own.append(
                        self.model.new_optional_fixed_size_interval_var(
                            start, task.length, truth, f"{name} {task.key}@{k}"
                        )
                    )
            self.model.add_no_overlap(own)
        for task in here:
            if task.people:
                does = self.states.does[task.key, k]
                held = {n: self.holds[task.key, k, n] for n in present}
                self.model.add(sum(held.values()) == task.people * does)
                who = task.job.who if task.job is not None else ()
                if who:
                    able = sum(truth for n, truth in held.items() if n in who)
                    enough = task.people if len(who) >= task.people else 1
                    self.model.add(able >= enough * does)


def presence(session: Session) -> dict[str, list[range]]:
    """When each person is there, by name, in stretches that do not touch."""
    found: dict[str, list[range]] = {}
    for one in sorted(session.people, key=lambda p: (p.name, p.start)):
        begin, end = max(one.start, session.start), min(one.end, session.end)
        mine = found.setdefault(one.name, [])
        if mine and begin <= mine[-1].stop:
            mine[-1] = range(mine[-1].start, max(end, mine[-1].stop))
        elif begin < end:
            mine.append(range(begin, end))
    return found


def profile(
    session: Session, present: Mapping[str, list[range]]
) -> tuple[int, list[tuple[int, int, int]]]:
    """The most people that are there at once, and when how many of them are not."""
    stretches = [t for times in present.values() for t in times]
    edges = sorted({session.start, session.end, *(e for t in stretches for e in (t.start, t.stop))})
    counts = [
        (begin, end, sum(t.start <= begin < t.stop for t in stretches))
        for begin, end in pairwise(edges)
    ]
    most = max((count for _, _, count in counts), default=0)
    return most, [(begin, end, most - count) for begin, end, count in counts if count < most]


def person_quarters(session: Session) -> int:
    """How much work the people of a session can do."""
    return sum(t.stop - t.start for times in presence(session).values() for t in times)


def least_present(session: Session, present: Mapping[str, list[range]]) -> int:
    """The fewest people that are there at once."""
    most, away = profile(session, present)
    return most - max((missing for _, _, missing in away), default=0)
