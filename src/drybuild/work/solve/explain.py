"""Why there is no plan, and what would make one: the smallest things to give up or to get."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from time import perf_counter
from typing import Any

from drybuild.work.durations import planned
from drybuild.work.model import Job, Need, NoPlan, Problem, Relaxation, Session
from drybuild.work.solve.laid import Laid
from drybuild.work.solve.loose import EXTRA, KINDS, Loose
from drybuild.work.solve.strict import need_name
from drybuild.work.solve.tasks import Task, Tasks, missing_tools, tasks_of
from drybuild.work.solve.words import words_of
from drybuild.work.stopping import solved

ROUGH, WHOLE = 0.16, 0.16
"""Shares of the time that each kind of constraint gets without times, and with them."""

TRIED_ALONE = 2
"""Jobs that are looked at one by one, with times, whether one left out is enough."""

ALONE = 1.0
"""The solver's measure of each of these looks: a plan with times is not found in less."""

MOST_LEFT_OUT = 3
"""Jobs that are left out at once, where that makes room."""

_TRIED = (
    *(
        (frozenset({kind}), extra)
        for kind in KINDS
        for extra in (range(1, EXTRA + 1) if kind == "session" else (0,))
    ),
    (frozenset(KINDS), EXTRA),
)
"""Kinds of constraints that are loosened together, and how many sessions more there may be."""


def explain(problem: Problem, *, seconds: float = 5.0, seed: int = 0) -> NoPlan:
    """What stands in the way of any plan of the problem, and for each kind of constraint the
    smallest set of that kind that, given up or given, makes a plan possible.

    The kinds come in the order needs (those of the lowest rank first), longer sessions, earlier
    parts, bookings, tools, budgets, jobs left out (few of them), findings put right. When no single
    kind is enough, one set of several kinds is named. The sets are found without times first; one
    whose plan could not be laid out in time as well, in the time given, says that more may be
    wanted. seconds: of one core, about, over all kinds.
    """
    begun, left = perf_counter(), seconds
    loosened: list[_Loosened] = []
    for kinds, extra in _TRIED:
        if len(kinds) > 1 and loosened:
            break
        found = _Loosened.of(problem, kinds, extra, min(left, seconds * ROUGH), seed)
        if found is not None:
            left -= found.spent
            loosened += [found] * found.worth_saying
    relax: list[Relaxation] = []
    for one in loosened:
        if "session" in one.loose.kinds and any(r.kind == "session" for r in relax):
            continue  # one session more is enough
        found_words, spent = one.words(min(left, seconds * WHOLE), seed)
        left -= spent
        relax += [r for r in found_words if r.kind != "job" or _few(r)]
    why = tuple(plain_reasons(problem)) or ("no plan meets every need",)
    return NoPlan(why, tuple(relax), problem.clauses, perf_counter() - begun)


def given_up(problem: Problem, *, seconds: float, seed: int = 0) -> tuple[Need, ...] | None:
    """Days of need without which a plan was laid out, with times, the fewest that were found; None
    where none was found even so. seconds: the solver's measure."""
    found = _Loosened.of(problem, frozenset({"need"}), 0, seconds * ROUGH, seed)
    if found is None:
        return None
    loose = Loose(problem, found.loose.kinds, 0)
    whole = Laid(loose.problem, found.rough.tasks, loose, timed=True, idle=False)
    whole.model.minimize(loose.price())
    whole.suggest(found.rough.read(found.solver).chosen)
    solver = _solve(whole, seconds, seed)
    if not solver.response_proto.solution:
        return None
    out = {name for (_, name), truth in loose.given.items() if solver.value(truth)}
    return tuple(need for need in problem.needs if need_name(need) in out)


@dataclass(frozen=True)
class _Loosened:
    """The least of some kinds that has to be given up, as far as can be said without times."""

    problem: Problem
    loose: Loose
    rough: Laid
    solver: Any
    spent: float

    @classmethod
    def of(
        cls, problem: Problem, kinds: frozenset[str], extra: int, limit: float, seed: int
    ) -> _Loosened | None:
        loose = Loose(problem, kinds, extra)
        tasks = tasks_of(loose.problem, every_way="tool" in kinds)
        jobs = (task for task in tasks.all.values() if task.kind == "job" and "job" not in kinds)
        if not all(_somewhere(loose, task) for task in jobs):
            return None
        rough = Laid(loose.problem, tasks, loose, timed=False, idle=False)
        if not loose.given:
            return None
        rough.model.minimize(loose.price())
        solver = _solve(rough, limit, seed)
        if not solver.response_proto.solution:
            return None
        return cls(problem, loose, rough, solver, solver.response_proto.deterministic_time)

    @property
    def worth_saying(self) -> bool:
        """To leave out most of the work is no way out."""
        given = self.loose.given.items()
        out = sum(bool(self.solver.value(t)) for (kind, _), t in given if kind == "job")
        return out <= MOST_LEFT_OUT and (not out or out < len(self._open()))

    def _open(self) -> list[Task]:
        return [task for task in self.rough.tasks.all.values() if task.kind == "job"]

    def words(self, limit: float, seed: int) -> tuple[list[Relaxation], float]:
        """What to give up, in words, and how long it took to lay a plan out with it."""
        least = words_of(self.problem, self.loose, self.rough, self.solver)
        more = [replace(one, at_least=True) for one in least]
        if limit <= 0:
            return more, 0.0
        said, spent = self._one_left_out(seed)
        if said:
            return said, spent
        loose = Loose(self.problem, self.loose.kinds, len(self.loose.extra))
        whole = Laid(loose.problem, self.rough.tasks, loose, timed=True, idle=False)
        price = round(self.solver.objective_value)
        if price:
            whole.model.add(loose.price() <= price)
        else:  # what stands in the way is seen with times alone
            whole.model.minimize(loose.price())
        whole.suggest(self.rough.read(self.solver).chosen)
        solver = _solve(whole, limit, seed)
        spent += solver.response_proto.deterministic_time
        if not solver.response_proto.solution:
            return more, spent
        return words_of(self.problem, loose, whole, solver), spent

    def _one_left_out(self, seed: int) -> tuple[list[Relaxation], float]:
        """One job that, left out, makes room with times as well: the one whose parts come last is
        looked at first. Nothing where that is not asked, or none was found."""
        if self.loose.kinds != {"job"}:
            return [], 0.0
        spent = 0.0
        late = sorted(self._open(), key=lambda task: (-self._earliest(task), -task.energy))
        for task in late[:TRIED_ALONE]:
            loose = Loose(self.problem, self.loose.kinds)
            whole = Laid(loose.problem, self.rough.tasks, loose, timed=True, idle=False)
            for (_, name), left in loose.given.items():
                whole.model.add(left == int(name == task.what))
            whole.suggest(self.rough.read(self.solver).chosen)
            solver = _solve(whole, ALONE, seed)
            spent += solver.response_proto.deterministic_time
            if solver.response_proto.solution:
                return words_of(self.problem, loose, whole, solver), spent
        return [], spent

    def _earliest(self, task: Task) -> int:
        return task.job.earliest if task.job is not None else 0


def _few(one: Relaxation) -> bool:
    """Whether few jobs are left out."""
    return len(one.what.split("+")) <= MOST_LEFT_OUT


def _somewhere(loose: Loose, task: Task) -> bool:
    return any(loose.fits(task, k) for k in range(len(loose.problem.sessions)))


def _solve(laid: Laid, limit: float, seed: int) -> Any:
    """The solver after its search."""
    from drybuild.work.cp import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.random_seed = seed
    solver.parameters.num_workers = 1
    solver.parameters.linearization_level = 0
    solver.parameters.max_deterministic_time = max(limit, 0.01)
    solved(solver, laid.model)
    return solver


# ---- what can be seen without a search ----


def plain_reasons(problem: Problem) -> Iterable[str]:
    """Jobs and checks that no session can hold, each with what is missing."""
    tasks = tasks_of(problem)
    due = problem.pending | {
        effect for name, job in problem.jobs.items() if name not in problem.done
        for effect in job.work.causes
    }  # fmt: skip
    for task in tasks.all.values():
        owed = task.kind == "job" or (task.kind == "clear" and task.what in due)
        if owed and not any(task.fits(s) for s in problem.sessions):
            yield from _unfit(problem, task)
    yield from _without(problem, tasks)


def _unfit(problem: Problem, task: Task) -> Iterable[str]:
    job = task.job
    assert job is not None
    open_to = [s for s in problem.sessions if not job.sessions or s.id in job.sessions]
    hours = planned(job.work.hours, problem.percentile) / 4
    longest = max(((s.end - s.start) / 4 for s in open_to), default=0.0)
    if not open_to:
        yield f"{job.title}: booked for {', '.join(job.sessions)}, which is no work session"
    elif hours > longest:
        yield (
            f"{job.title}: takes {hours:g} h at the chosen percentile, the longest work session "
            f"that it may be in has {longest:g} h"
        )
    elif all(max(s.start, job.earliest) + task.length > s.end for s in open_to):
        when = problem.at(job.earliest)
        yield f"{job.title}: its parts come on {_date(when)}, after the last session it may be in"
    else:
        tools = _tools_missing(open_to, job)
        if tools:
            yield f"{job.title}: no work session that it may be in has {' or '.join(tools)}"
        else:
            need = f"{task.people} people" if task.people > 1 else "somebody"
            only = f" of {', '.join(job.who)}" if job.who else ""
            yield f"{job.title}: takes {need}{only} for {hours:g} h, and no work session has that"


def _tools_missing(sessions: Iterable[Session], job: Job) -> list[str]:
    here = list(sessions)
    for requirement in job.work.needs:
        if not any(not missing_tools(way, s) for way in requirement for s in here):
            return sorted(
                {name for way in requirement for s in here for name in missing_tools(way, s)}
            )
    return []


def _without(problem: Problem, tasks: Tasks) -> Iterable[str]:
    """Components that have to come off and no session has what that takes."""
    for task in tasks.all.values():
        if task.kind in ("job", "clear") or any(task.fits(s) for s in problem.sessions):
            continue
        title = problem.components[task.what].title
        verb = "taking off" if task.kind == "take" else "refitting"
        yield f"{title}: no work session has the time, people and tools for {verb} it"


def _date(when: Any) -> str:
    return f"{when.day} {when:%B %Y}"
