"""Why there is no plan, and what would make one: the smallest things to give up or to get."""

from __future__ import annotations

from collections.abc import Iterable
from time import perf_counter
from typing import Any

from drybuild.work.durations import planned
from drybuild.work.model import Job, NoPlan, Problem, Relaxation, Session
from drybuild.work.solve.loose import KINDS, Loose
from drybuild.work.solve.search import PACE, Laid
from drybuild.work.solve.tasks import Task, Tasks, missing_tools, tasks_of
from drybuild.work.solve.words import words_of

ROUGH, WHOLE = 0.06, 0.14
"""Shares of the time that each kind of constraint gets without times, and with them."""


def explain(problem: Problem, *, seconds: float = 5.0, seed: int = 0) -> NoPlan:
    """What stands in the way of any plan of the problem, and for each kind of constraint the
    smallest set of that kind that, given up or given, makes a plan possible.

    The kinds come in the order needs (those of the lowest rank first), longer sessions, earlier
    parts, bookings, tools, budgets, findings put right. When no single kind is enough, one set of
    several kinds is named. seconds: of one core, about, over all kinds.
    """
    begun = perf_counter()
    relax = []
    for kind in KINDS:
        relax += _smallest(problem, frozenset({kind}), seconds * PACE, seed)
    if not relax:
        relax += _smallest(problem, frozenset(KINDS), seconds * PACE * 2, seed)
    why = tuple(plain_reasons(problem)) or ("no plan meets every need",)
    return NoPlan(why, tuple(relax), problem.clauses, perf_counter() - begun)


def _smallest(problem: Problem, kinds: frozenset[str], limit: float, seed: int) -> list[Relaxation]:
    loose = Loose(problem, kinds)
    tasks = tasks_of(loose.problem, every_way="tool" in kinds)
    if not all(_somewhere(loose, task) for task in tasks.all.values() if task.kind == "job"):
        return []
    rough = Laid(loose.problem, tasks, loose, timed=False)
    if not loose.given:
        return []
    rough.model.minimize(loose.price())
    solver = _solve(rough, limit * ROUGH, seed)
    if solver is None:
        return []
    floor = round(solver.best_objective_bound)
    hint = rough.read(solver).chosen if solver.response_proto.solution else {}
    whole = Laid(loose.problem, tasks, loose, timed=True)
    price = loose.price()
    whole.model.add(price >= floor)
    whole.model.minimize(price)
    whole.suggest(hint)
    solver = _solve(whole, limit * WHOLE, seed)
    if solver is None or not solver.response_proto.solution:
        return []
    return words_of(problem, loose, whole, solver)


def _somewhere(loose: Loose, task: Task) -> bool:
    return any(loose.fits(task, k) for k in range(len(loose.problem.sessions)))


def _solve(laid: Laid, limit: float, seed: int) -> Any:
    """The solver after its search, or None when there is no solution."""
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.random_seed = seed
    solver.parameters.num_workers = 1
    solver.parameters.interleave_search = laid.timed
    solver.parameters.linearization_level = 2
    solver.parameters.max_deterministic_time = limit
    status = solver.solve(laid.model)
    return None if status == cp_model.INFEASIBLE else solver


# ---- what can be seen without a search ----


def plain_reasons(problem: Problem) -> Iterable[str]:
    """Jobs that no session can hold, each with what is missing."""
    tasks = tasks_of(problem)
    for task in tasks.all.values():
        if task.kind == "job" and not any(task.fits(s) for s in problem.sessions):
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
