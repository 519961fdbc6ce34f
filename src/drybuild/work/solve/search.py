"""The search: one aim after the other, each with what it reaches and what nothing can go below."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from math import ceil, isfinite
from typing import Any, Literal

from drybuild.work.checker import faults
from drybuild.work.ends import ends_of
from drybuild.work.model import Plan, Problem, Step
from drybuild.work.solve import shut
from drybuild.work.solve.by_session import BySession, Learned
from drybuild.work.solve.laid import Found, Goal, Laid
from drybuild.work.solve.orderly import had, orderly
from drybuild.work.solve.staff import Short, staffed
from drybuild.work.solve.states import Spot
from drybuild.work.solve.strict import Strict
from drybuild.work.solve.tasks import tasks_of
from drybuild.work.stopping import solved

PACE = 0.45
"""Units of deterministic time that the solver counts in a second of one core, about: searching in
many ways in turn."""

SLOWER = {"core": 0.45, "quick": 0.22}
"""By how much a unit of another way of searching lasts less than that."""

LOOK = 1.0
"""The same measure: how long is looked for a good proposal before any will do."""

BY_SESSION, BY_SESSION_ONLY = 0.75, 0.95
"""Share of the time in which the search goes session by session, before it takes all at once; and
where a plan stands already, which all at once would seldom better."""

FULL = (0.79, 0.82, 0.85, 0.88, 0.92, 0.96, 1.0)
"""How full the days of a first plan may be: the less, the likelier each has a schedule."""

FIRST, FIRST_TRIES = 2.0, 6
"""The same measure for all of the search for a first plan, and its proposals at one fullness."""

SETTLED = 0.5
"""The same measure for moving the tasks of a plan to the front of their days."""

ORDERLY = 100_000
"""What a day in better order counts, against quarters of an hour that it is over sooner."""

SHUT = 3.0
"""The same measure for closing sooner, and opening later, what a plan leaves open meanwhile."""

DAYS = 1.0
"""The same measure for having the car apart on fewer days, with jobs on other days than found."""

NO_LIMIT = 1_000_000
"""More than any such goal comes to."""

LEAST = 0.05
"""The same measure for what any search has."""

FOUND = ("best", "found")

How = Literal["mixed", "quick", "core"]
"""Many ways of searching in turn; any plan, quickly; what cannot all be had, bound by bound."""


@dataclass
class Answer:
    """What came of a search: found or not, and for each goal its value and bound."""

    found: Found | None
    values: dict[Goal, tuple[int, int]]
    impossible: bool = False


class Search:
    """Searches a problem for a plan. seconds: of one core, about, the same on every machine.

    heard: is told the first plan, long before the best. enough: whether what is found by now will
    do; it is asked while a solver runs, in the main thread, and before the next one. learned: of
    the days, by searches of this problem with fewer clauses; and by this one.
    """

    def __init__(
        self,
        problem: Problem,
        *,
        seed: int,
        seconds: float,
        workers: int,
        near: Plan | None,
        hint: Plan | None = None,
        heard: Callable[[Found], None] = lambda found: None,
        enough: Callable[[], bool] = lambda: False,
        learned: list[Learned] | None = None,
    ) -> None:
        self.problem, self.seed, self.workers = problem, seed, workers
        self.learned = [] if learned is None else learned
        self.hint, self.heard, self.enough = hint, heard, enough
        self._told = False
        self.left = seconds * PACE
        self.tasks = tasks_of(problem)
        self.strict = Strict(problem)
        self.near = _sessions(problem, near) if near is not None else {}
        self.turns = shut.turns_of(problem, near) if near is not None else frozenset()
        self.goals: tuple[Goal, ...] = (("moves",) if near is not None else ()) + problem.first

    def look(self) -> tuple[Spot, ...] | None:
        """What would be done in which session as far as can be said without times; None: no plan.

        It may be less than the best, and it may be empty when there was no time to find any.
        """
        rough = self._laid(timed=False, idle=False)
        rough.model.minimize(rough.goal(self.goals[0]))
        status, solver = self._solve(rough, min(self.left, LOOK), "core")
        if status == "open":
            status, solver = self._solve(rough, self.left, "quick")
        if status == "impossible":
            return None
        return tuple(rough.read(solver).starts) if status in FOUND else ()

    def run(
        self, exact: frozenset[int] = frozenset(), first: Mapping[str, int] | None = None
    ) -> Answer:
        """One goal after the other: session by session, or else all of it at once.

        first: truth values to begin from, when the search is on its second try.
        """
        by = BySession(self._laid(timed=False, idle=False), self.seed, learned=self.learned)
        answer = self._best(by, exact, first)
        if answer.found is not None and not exact:
            found = self._shut(by, answer.found)
            values = {n: (self.value(n, found), low) for n, (_, low) in answer.values.items()}
            return Answer(found, values)
        return answer

    def _best(
        self, by: BySession, exact: frozenset[int], first: Mapping[str, int] | None
    ) -> Answer:
        values: dict[Goal, tuple[int, int]] = {}
        rough, whole = None, None
        found = self._hinted()
        if found is None and not exact and not self.near:  # else few moves count, not soon
            found = self._early()
        self._tell(found)
        for n, name in enumerate(self.goals):
            found, low, proven = self._singly(by, name, found) if not exact else (found, 0, False)
            self._tell(found)
            if low is None:
                return Answer(None, values, impossible=True)
            if proven:
                values[name] = (low, low)
            else:
                rough = rough or self._bounded(values, timed=False)
                whole = whole or self._bounded(values, timed=True, exact=exact)
                floor, hint = self._rough(rough, name, low)
                if floor is None:
                    return Answer(None, values, impossible=True)
                whole.suggest(first or hint)
                found = found or self._first(whole)
                self._tell(found)
                if found is not None:
                    whole.suggest(found.chosen)
                share = 0.75 if n + 1 < len(self.goals) else 1
                best, value, bound = self._at_once(whole, name, floor, share)
                if bound is None:
                    return Answer(None, values, impossible=True)
                if best is None:
                    rest = self.goals[n + 1 :]
                    values[name] = self.value(name, found), floor
                    values |= {other: (self.value(other, found), 0) for other in rest}
                    return Answer(found, values)
                found, values[name] = best, (value, bound)
            for laid in filter(None, (by.rough, rough, whole)):
                laid.model.add(laid.goal(name) <= values[name][0])
        return Answer(found, values)

    def _tell(self, found: Found | None) -> None:
        if found is not None and not self._told:
            self._told = True
            self.heard(found)

    def _singly(
        self, by: BySession, name: Goal, found: Found | None
    ) -> tuple[Found | None, int | None, bool]:
        """Session by session: the best plan so far, what nothing can go below, whether they meet.

        None instead of a bound: there is no plan.
        """
        if name == "finish" and found is not None:
            found, proven = self._sooner(by, found)
            return found, self.value(name, found) if proven else 0, proven
        floor, best = self._by_session(by, name, found)
        return best or found, floor, best is not None

    def _early(self) -> Found | None:
        """Any plan, soon: days that are not filled up have a schedule more often than not."""
        end = max(0.0, self.left - FIRST)
        for full in FULL:
            laid = self._laid(timed=False, idle=False, full=full)
            by = BySession(laid, self.seed, quick=True, learned=self.learned)
            for _ in range(FIRST_TRIES):
                if self.left <= end:
                    return None
                status, solver = self._solve(laid, min(self.left, FIRST), "quick")
                if status not in FOUND:
                    break
                steps = by.steps(laid.read(solver).chosen)
                self.left, by.spent = max(0.0, self.left - by.spent), 0.0
                if steps is not None:
                    return self._found(steps)
                if by.stuck:
                    break
        return None

    def _hinted(self) -> Found | None:
        """The plan to begin from, where it holds."""
        if self.hint is None or faults(self.problem, self.hint):
            return None
        return self._found(self.hint.steps)

    def _found(self, steps: Iterable[Step]) -> Found:
        number = {session.id: k for k, session in enumerate(self.problem.sessions)}
        spots = {(s.key, number[s.session]): s for s in steps}
        return Found(
            {spot: s.start for spot, s in spots.items()},
            {spot: s.ways for spot, s in spots.items()},
            {spot: s.who for spot, s in spots.items()},
            {f"{key}@{k}": 1 for key, k in spots},
        )

    def _by_session(
        self, by: BySession, name: Goal, standing: Found | None
    ) -> tuple[int | None, Found | None]:
        """What nothing can go below, and a plan that reaches it; None: there is no plan."""
        goal, each = by.rough.goal(name), 1
        if name == "moves":  # among as few moves, proposals with few hours: these fit the days
            each = 1 + sum(t.energy for t in self.tasks.all.values()) * len(self.problem.sessions)
            goal = each * goal + by.rough.goal("hours")
        by.rough.model.minimize(goal)
        floor, end = 0, self.left * (1 - (BY_SESSION_ONLY if standing else BY_SESSION))
        while self.left > end and not by.stuck:
            status, solver = self._solve(by.rough, self.left - end, "core")
            if status == "impossible":
                return None, None
            if status != "open":
                floor = max(floor, ceil(solver.best_objective_bound - 1e-6) // each)
            if status != "best":
                break
            chosen = by.rough.read(solver).chosen
            steps = by.steps(chosen)
            self.left, by.spent = max(0.0, self.left - by.spent), 0.0
            if steps is not None:
                by.rough.suggest(chosen)
                return floor, self._found(steps)
        return floor, None

    def _sooner(self, by: BySession, found: Found) -> tuple[Found, bool]:
        """A plan that ends sooner, session by session, until none can; whether that was shown.

        That there is none with one session fewer is shown far sooner than a bound is found.
        """
        end = self.left * (1 - BY_SESSION_ONLY)
        model, proven = by.rough.model, False
        model.clear_objective()
        while self.left > end and not by.stuck and not proven:
            by.rough.within(self.value("finish", found) - 1)
            status, solver = self._solve(by.rough, self.left - end, "quick")
            proven = status == "impossible"
            if status not in FOUND:
                break
            steps = by.steps(by.rough.read(solver).chosen)
            self.left, by.spent = max(0.0, self.left - by.spent), 0.0
            found = found if steps is None else self._found(steps)
        by.rough.within(len(self.problem.sessions))
        return found, proven

    def _shut(self, by: BySession, found: Found) -> Found:
        """The same plan, or one as good with less left open: on fewer days apart, if its jobs may
        be on others; then with the same jobs on the same days.

        Near another plan, with fewer other tasks elsewhere than there, where as much is left open.
        """
        for name in self.goals:
            by.rough.model.add(by.rough.goal(name) <= self.value(name, found))
        if not self.near:
            found = self._fewer_days(by, found)
        steps = self.steps(found)
        if isinstance(steps, Short):
            return found
        does = by.rough.states.does
        each = 1 + len(shut.elsewhere(does, self.turns))
        least = each * shut.open_days(self.problem, ends_of(self.problem, steps))
        least += len(shut.elsewhere(found.starts, self.turns))
        shut.keep_jobs(by.rough, found)
        goal = each * shut.open_goal(by.rough)
        goal += sum(does[spot] for spot in shut.elsewhere(does, self.turns))
        return self._closer(by, goal, least, SHUT) or found

    def _fewer_days(self, by: BySession, found: Found) -> Found:
        """The same plan, or one as good that leaves the car apart for fewer nights, with as few
        jobs on another day as that needs; then with each job as soon as that leaves it."""
        for look in (shut.days_apart, shut.soon):
            steps = self.steps(found)
            if isinstance(steps, Short):
                return found
            goal, least = look(by.rough, found, ends_of(self.problem, steps))
            found = (self._closer(by, goal, least, DAYS) if least else None) or found
        return found

    def _closer(self, by: BySession, goal: Any, least: int, limit: float) -> Found | None:
        """A plan with less of a goal than that, within so much of the search's measure."""
        most = by.rough.model.new_int_var(0, least - 1, "least open")  # of this look alone
        by.rough.model.add(goal <= most)
        by.rough.model.minimize(goal)
        left, by.stuck, self.left, better = self.left, False, limit, None
        while self.left > 0 and not by.stuck and better is None:
            status, solver = self._solve(by.rough, self.left, "core", whole=True)
            if status not in FOUND:
                break
            better = by.steps(by.rough.read(solver).chosen)
            self.left, by.spent = max(0.0, self.left - by.spent), 0.0
        self.left = left
        most.proto.domain[1] = NO_LIMIT  # the next look is bound by its own goal, not by this one
        return self._found(better) if better is not None else None

    def _bounded(
        self,
        values: Mapping[Goal, tuple[int, int]],
        *,
        timed: bool,
        exact: frozenset[int] = frozenset(),
    ) -> Laid:
        """A model whose plans reach what was reached."""
        laid = self._laid(timed=timed, exact=exact)
        for name, (value, _) in values.items():
            laid.model.add(laid.goal(name) <= value)
        return laid

    def _at_once(
        self, whole: Laid, name: Goal, floor: int, share: float
    ) -> tuple[Found | None, int, int | None]:
        """The best that is found, its value and bound; no bound: there is no plan."""
        goal = whole.goal(name)
        whole.model.add(goal >= floor)
        whole.model.minimize(goal)
        status, solver = self._solve(whole, self.left * share)
        if status == "impossible":
            return None, 0, None
        if status == "open":
            return None, 0, floor
        value = round(solver.objective_value)
        bound = max(floor, ceil(solver.best_objective_bound - 1e-6))
        return whole.read(solver), value, min(value, bound)

    def _first(self, whole: Laid) -> Found | None:
        """Any plan at all, without an aim: it begins the search for a good one."""
        status, solver = self._solve(whole, self.left * 0.6, "quick")
        return whole.read(solver) if status in FOUND else None

    def value(self, name: Goal, found: Found | None) -> int:
        """What a plan reaches of a goal."""
        done = found.starts if found is not None else {}
        if name == "finish":
            return max((k + 1 for _, k in done), default=0)
        if name == "moves":
            kept = sum((f"job:{job}", k) in done for job, k in self.near.items())
            return len(self.near) - kept
        return sum(self.tasks.all[key].energy for key, _ in done) + self.tasks.owed(done)

    def _laid(
        self,
        *,
        timed: bool,
        exact: frozenset[int] = frozenset(),
        idle: bool = True,
        full: float = 1.0,
    ) -> Laid:
        return Laid(self.problem, self.tasks, self.strict, timed, self.near, exact, idle, full)

    def _rough(self, rough: Laid, name: Goal, floor: int) -> tuple[int | None, dict[str, int]]:
        """A bound from the model without times, and a first guess; None when there is no plan."""
        goal = rough.goal(name)
        rough.model.add(goal >= floor)
        rough.model.minimize(goal)
        status, solver = self._solve(rough, self.left * 0.25)
        if status == "impossible":
            return None, {}
        if isfinite(solver.best_objective_bound):  # it is not where the search was over at once
            floor = max(floor, ceil(solver.best_objective_bound - 1e-6))
        return floor, dict(rough.read(solver).chosen) if status in FOUND else {}

    def _solve(
        self, laid: Laid, limit: float, how: How = "mixed", *, whole: bool = False
    ) -> tuple[str, Any]:
        """whole: it goes on though what is found will do, for it is short."""
        from drybuild.work.cp import cp_model

        enough = _never if whole else self.enough
        solver = cp_model.CpSolver()
        solver.parameters.random_seed = self.seed
        solver.parameters.num_workers = self.workers
        if how == "mixed":
            solver.parameters.interleave_search = True
        else:  # what is linear in the model only slows these down
            solver.parameters.linearization_level = 0
        if how == "core":
            solver.parameters.num_workers = 1
            solver.parameters.optimize_with_core = True
        pace = SLOWER.get(how, 1.0)
        limit = LEAST if enough() else limit
        solver.parameters.max_deterministic_time = max(limit / pace, LEAST)
        status = solved(solver, laid.model, enough=enough)
        self.left = max(0.0, self.left - pace * solver.response_proto.deterministic_time)
        self.left = 0.0 if self.enough() else self.left
        said = {
            cp_model.OPTIMAL: "best",
            cp_model.FEASIBLE: "found",
            cp_model.INFEASIBLE: "impossible",
        }
        return said.get(status, "open"), solver

    def settled(self, found: Found, exact: frozenset[int]) -> Found:
        """The same plan, its days in better order where they have the room for that; then each
        session over as early as can be, and each task early in it."""
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
        early = 20 * sum(last) + sum(starts[spot] for spot in found.starts)
        model.minimize(early - ORDERLY * sum(self._in_order(laid, found)))
        left, self.left = self.left, 0.0
        status, solver = self._solve(laid, SETTLED, whole=True)
        self.left = left
        return laid.read(solver) if status in FOUND else found

    def _in_order(self, laid: Laid, found: Found) -> list[Any]:
        """Truth values that are 1 where a day is in better order; it begins with one that is."""
        assert laid.timing is not None
        orders, steps = had(laid, found.starts), self.steps(found)
        if not isinstance(steps, Short):
            begun = self._found(orderly(self.problem, steps, self.seed)).starts
            for spot, start in begun.items():
                laid.model.add_hint(laid.timing.start[spot], start)
            for truth, is_had in orders:
                laid.model.add_hint(truth, is_had(begun))
        return [truth for truth, _ in orders]

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


def _never() -> bool:
    return False


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
