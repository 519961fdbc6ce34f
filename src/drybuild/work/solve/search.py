"""The search: one aim after the other, each with what it reaches and what nothing can go below."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from math import ceil
from typing import Any

from drybuild.work.model import Plan, Problem, Step
from drybuild.work.solve.staff import Short, staffed
from drybuild.work.solve.states import Spot, States
from drybuild.work.solve.strict import Strict
from drybuild.work.solve.tasks import Tasks, tasks_of
from drybuild.work.solve.timing import Timing, least_present, person_quarters, presence, profile
from drybuild.work.solve.together import Idle, idle

PACE = 0.45
"""Units of deterministic time that the solver counts in a second of one core, about."""

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
    """A model of the problem, whole or without times. near: session of each job to keep to."""

    problem: Problem
    tasks: Tasks
    strict: Strict
    timed: bool
    near: Mapping[str, int] = field(default_factory=dict)
    exact: frozenset[int] = frozenset()
    model: Any = field(init=False)
    states: States = field(init=False)
    timing: Timing | None = field(init=False, default=None)
    _idles: dict[tuple[int, frozenset[str]], list[Idle]] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        from ortools.sat.python import cp_model

        self.model = cp_model.CpModel()
        self.strict.bind(self.model)
        self.states = States(self.model, self.tasks, self.strict, timed=self.timed)
        tasks, at = list(self.tasks.all.values()), self.states.at
        for k, session in enumerate(self.problem.sessions):
            held = sum(task.energy * at(task.key, k) for task in tasks)
            self.model.add(held <= person_quarters(session) + self.strict.more(k))
            self._idle(k)
        if self.timed:
            self.timing = Timing(self.states, self.exact)
        self._late = self._last()

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
        tasks = self.tasks.all
        return sum(tasks[key].energy * truth for (key, _), truth in self.states.does.items())

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
        starts: dict[Spot, int] = {}
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


@dataclass
class Answer:
    """What came of a search: found or not, and for each goal its value and bound."""

    found: Found | None
    values: dict[Goal, tuple[int, int]]
    impossible: bool = False


class Search:
    """Searches a problem for a plan. seconds: of one core, about, the same on every machine."""

    def __init__(
        self,
        problem: Problem,
        *,
        seed: int,
        seconds: float,
        workers: int,
        near: Plan | None,
        hint: Plan | None = None,
    ) -> None:
        self.problem, self.seed, self.workers = problem, seed, workers
        number = {session.id: k for k, session in enumerate(problem.sessions)}
        steps = hint.steps if hint is not None else ()
        self.hint = {f"{s.key}@{number[s.session]}": 1 for s in steps if s.session in number}
        self.left = seconds * PACE
        self.tasks = tasks_of(problem)
        self.strict = Strict(problem)
        self.near = _sessions(problem, near) if near is not None else {}
        self.goals: tuple[Goal, ...] = (("moves",) if near is not None else ()) + problem.first

    def look(self, exact: frozenset[int] = frozenset()) -> Answer:
        """Any plan at all, for what can be learned from it; no goal and no bound."""
        whole = self._laid(timed=True, exact=exact)
        whole.suggest(self.hint)
        status, solver = self._solve(whole, self.left, quick=True)
        found = whole.read(solver) if status == "found" else None
        values = {name: self._value(name, found, 0) for name in self.goals}
        return Answer(found, values, impossible=status == "impossible")

    def run(
        self, exact: frozenset[int] = frozenset(), first: Mapping[str, int] | None = None
    ) -> Answer:
        """One goal after the other."""
        whole = self._laid(timed=True, exact=exact)
        rough = self._laid(timed=False)
        values: dict[Goal, tuple[int, int]] = {}
        found: Found | None = None
        for n, name in enumerate(self.goals):
            goal = whole.goal(name)
            floor, hint = self._rough(rough, name, 0.25)
            if floor is None:
                return Answer(None, values, impossible=True)
            whole.suggest(first or self.hint or hint)
            found = found or self._first(whole)
            if found is not None:
                whole.suggest(found.chosen)
            whole.model.add(goal >= floor)
            whole.model.minimize(goal)
            status, solver = self._solve(
                whole, self.left * (0.75 if n + 1 < len(self.goals) else 1)
            )
            if status == "impossible":
                return Answer(None, values, impossible=True)
            if status == "open":
                values[name] = self._value(name, found, floor)
                return Answer(found, values)
            found = whole.read(solver)
            value = round(solver.objective_value)
            values[name] = value, min(value, max(floor, ceil(solver.best_objective_bound - 1e-6)))
            for laid in (whole, rough):
                laid.model.add(laid.goal(name) <= value)
        return Answer(found, values)

    def _first(self, whole: Laid) -> Found | None:
        """Any plan at all, without an aim: it begins the search for a good one."""
        status, solver = self._solve(whole, self.left * 0.6, quick=True)
        return whole.read(solver) if status == "found" else None

    def _value(self, name: Goal, found: Found | None, floor: int) -> tuple[int, int]:
        """What a plan reaches of a goal, when the search for a better one found none in time."""
        done = found.starts if found is not None else {}
        if name == "finish":
            return max((k + 1 for _, k in done), default=0), floor
        if name == "moves":
            kept = sum((f"job:{job}", k) in done for job, k in self.near.items())
            return len(self.near) - kept, floor
        return sum(self.tasks.all[key].energy for key, _ in done), floor

    def _laid(self, *, timed: bool, exact: frozenset[int] = frozenset()) -> Laid:
        return Laid(self.problem, self.tasks, self.strict, timed, self.near, exact)

    def _rough(self, rough: Laid, name: Goal, share: float) -> tuple[int | None, dict[str, int]]:
        """A bound from the model without times, and a first guess; None when there is no plan."""
        rough.model.minimize(rough.goal(name))
        status, solver = self._solve(rough, self.left * share)
        if status == "impossible":
            return None, {}
        floor = ceil(solver.best_objective_bound - 1e-6)
        return floor, dict(rough.read(solver).chosen) if status == "found" else {}

    def _solve(self, laid: Laid, limit: float, *, quick: bool = False) -> tuple[str, Any]:
        from ortools.sat.python import cp_model

        solver = cp_model.CpSolver()
        solver.parameters.random_seed = self.seed
        solver.parameters.num_workers = self.workers
        if quick:  # without an aim, what is linear in the model only slows the search down
            solver.parameters.linearization_level = 0
        else:
            solver.parameters.interleave_search = True
        solver.parameters.max_deterministic_time = max(limit, 0.05)
        status = solver.solve(laid.model)
        self.left = max(0.0, self.left - solver.response_proto.deterministic_time)
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return "found", solver
        return ("impossible" if status == cp_model.INFEASIBLE else "open"), solver

    def settled(self, found: Found, exact: frozenset[int]) -> Found:
        """The same plan, each session over as early as can be, and each task early in it."""
        laid = self._laid(timed=True, exact=exact)
        assert laid.timing is not None
        starts, model = laid.timing.start, laid.model
        for spot, truth in laid.states.does.items():
            model.add(truth == int(spot in found.starts))
        last = []
        for k, session in enumerate(self.problem.sessions):
            here = [spot for spot in found.starts if spot[1] == k]
            over = model.new_int_var(session.start, session.end, f"over@{k}")
            for spot in here:
                model.add(over >= starts[spot] + self.tasks.all[spot[0]].length)
            last.append(over)
        laid.suggest(found.chosen)
        model.minimize(20 * sum(last) + sum(starts[spot] for spot in found.starts))
        left, self.left = self.left, 0.0
        status, solver = self._solve(laid, 0.5)
        self.left = left
        return laid.read(solver) if status == "found" else found

    def steps(self, found: Found) -> tuple[Step, ...] | Short:
        """The plan's steps with names to each."""
        steps = []
        for (key, k), start in found.starts.items():
            task, session = self.tasks.all[key], self.problem.sessions[k].id
            who = _lead_first(found.who.get((key, k), ()), task.job.who if task.job else ())
            steps.append(
                Step(
                    task.kind,
                    task.what,
                    session,
                    start,
                    start + task.length,
                    who,
                    found.ways.get((key, k), ()),
                )
            )
        return staffed(self.problem, steps, self.tasks.all)


def _lead_first(names: Iterable[str], who: Iterable[str]) -> tuple[str, ...]:
    able = set(who)
    return tuple(sorted(names, key=lambda name: (name not in able, name)))


def _sessions(problem: Problem, near: Plan) -> dict[str, int]:
    """Session of each job that is still to be done, where that session is still there."""
    number = {session.id: k for k, session in enumerate(problem.sessions)}
    return {
        step.what: number[step.session]
        for step in near.steps
        if step.kind == "job"
        and step.what in problem.jobs
        and step.what not in problem.done
        and step.session in number
    }
