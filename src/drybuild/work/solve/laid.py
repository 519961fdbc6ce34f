"""The model that a search asks: whole, with times, or without; and what is read out of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from drybuild.work.held import NEVER_AT_ONCE, WHOLE, sort_of
from drybuild.work.model import Problem
from drybuild.work.solve.states import Spot, States
from drybuild.work.solve.strict import Strict
from drybuild.work.solve.tasks import Tasks
from drybuild.work.solve.timing import Timing, least_present, person_quarters, presence, profile
from drybuild.work.solve.together import Idle, idle

Goal = str
"""``moves``, ``hours`` or ``finish``."""


@dataclass(frozen=True)
class Found:
    """A solution: when each task that is done begins, and its ways. Persons where they matter."""

    starts: Mapping[Spot, int]
    ways: Mapping[Spot, tuple[Any, ...]]
    who: Mapping[Spot, tuple[str, ...]]
    chosen: Mapping[str, int]


@dataclass
class Laid:
    """A model of the problem, whole or without times. near: session of each job to keep to.

    idle: with what is known of people who cannot but wait, which bounds well and slows proposals.
    full: how much of the people's time may be planned.
    """

    problem: Problem
    tasks: Tasks
    strict: Strict
    timed: bool
    near: Mapping[str, int] = field(default_factory=dict)
    exact: frozenset[int] = frozenset()
    idle: bool = True
    full: float = 1.0
    model: Any = field(init=False)
    states: States = field(init=False)
    timing: Timing | None = field(init=False, default=None)
    _most: Any = field(init=False, default=None)
    _idles: dict[tuple[int, frozenset[str]], list[Idle]] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        from drybuild.work.cp import cp_model

        self.model = cp_model.CpModel()
        self.strict.bind(self.model)
        self.states = States(self.model, self.tasks, self.strict, timed=self.timed)
        tasks, at = list(self.tasks.all.values()), self.states.at
        for k, session in enumerate(self.problem.sessions):
            held = sum(task.energy * at(task.key, k) for task in tasks)
            most = int(self.full * person_quarters(session))
            self.model.add(held <= most + self.strict.more(k))
            self._aside(k, most)
            if self.idle:
                self._idle(k)
        if self.timed:
            self.timing = Timing(self.states, self.exact)
        self._late = self._last()

    def _aside(self, k: int, most: int) -> None:
        """Cuts: while the car is driven, its engine runs or an end goes up or down, all stand by
        but those on that task, and those whom that does not reach: their work is not counted."""
        session, at = self.problem.sessions[k], self.states.at
        least = least_present(session, presence(session))
        for whole in (WHOLE[:1], WHOLE):
            never = frozenset.intersection(*(NEVER_AT_ONCE[sort] for sort in whole))
            held = list[Any]()
            for task in self.tasks.all.values():
                sort, energy = sort_of(task.work), task.energy
                if sort in whole or sort in never:
                    energy = max(least * task.length, energy) if sort in whole else energy
                    held.append(energy * at(task.key, k))
            self.states.add(sum(held) <= most + self.strict.more(k))

    def _idle(self, k: int) -> None:
        """Cuts: people who cannot but stand idle while something goes on."""
        session, at = self.problem.sessions[k], self.states.at
        present = presence(session)
        most, _ = profile(session, present)
        least = least_present(session, present)
        shut = frozenset(n for n in self.tasks.components if self.states.shut_both(n, k))
        held = person_quarters(session) + self.strict.more(k)
        for cut in self._cuts(most, shut):
            alone = sum(least * self.tasks.all[key].length * at(key, k) for key in cut.alone)
            others = sum(self.tasks.all[key].energy * at(key, k) for key in cut.others)
            self.states.add(alone + others <= held)

    def _cuts(self, most: int, shut: frozenset[str]) -> list[Idle]:
        if (most, shut) not in self._idles:
            self._idles[most, shut] = list(idle(self.tasks, most, shut))
        return self._idles[most, shut]

    def _last(self) -> list[Any]:
        """For each session, whether it or a later one is used."""
        late: list[Any] = []
        for k in reversed(range(len(self.problem.sessions))):
            used = self.model.new_bool_var(f"late@{k}")
            for task in self.tasks.all.values():
                if (task.key, k) in self.states.does:
                    self.model.add_implication(self.states.does[task.key, k], used)
            if late:
                self.model.add_implication(late[-1], used)
            late.append(used)
        return late[::-1]

    def goal(self, name: Goal) -> Any:
        """What is to be least: person-quarters, sessions until the end, jobs that move."""
        if name == "finish":
            return sum(self._late)
        if name == "moves":
            return sum(1 - self.states.at(f"job:{job}", k) for job, k in self.near.items())
        tasks, last = self.tasks.all, len(self.problem.sessions) - 1
        hours = sum(tasks[key].energy * truth for (key, _), truth in self.states.does.items())
        owed = (
            self.states.pending_after(name, last) * task.energy
            for name, task in self.tasks.again.items()
        )
        return hours + sum(owed)

    def within(self, sessions: int) -> None:
        """Only plans that are done within so many sessions, until it is called again."""
        if self._most is None:
            self._most = self.model.new_int_var(0, len(self.problem.sessions), "most")
            self.model.add(self.goal("finish") <= self._most)
        self._most.proto.domain[1] = sessions

    def suggest(self, chosen: Mapping[str, int]) -> None:
        """Begins the search at what another model found, by the names of the truth values."""
        self.model.clear_hints()
        for index, variable in enumerate(self.model.proto.variables):
            if variable.name in chosen:
                self.model.add_hint(
                    self.model.get_int_var_from_proto_index(index), chosen[variable.name]
                )

    def read(self, solver: Any) -> Found:
        """What the solver has found."""
        names = {v.name: n for n, v in enumerate(self.model.proto.variables)}
        values = solver.response_proto.solution
        chosen = {name: values[n] for name, n in names.items() if name}
        done = [spot for spot, truth in self.states.does.items() if solver.value(truth)]
        starts = {spot: self.problem.sessions[spot[1]].start for spot in done}
        who: dict[Spot, tuple[str, ...]] = {}
        if self.timing is not None:
            starts = {spot: solver.value(self.timing.start[spot]) for spot in done}
            for (key, k, name), truth in self.timing.holds.items():
                if solver.value(truth):
                    who[key, k] = (*who.get((key, k), ()), name)
        ways = {
            spot: tuple(
                next(way for truth, way in pairs if solver.value(truth))
                for pairs in self.states.ways.get(spot, ())
            )
            for spot in done
        }
        return Found(starts, ways, who, chosen)
