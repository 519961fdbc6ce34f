"""Plans: which task in which work session, in which order, by whom."""

from __future__ import annotations

from collections.abc import Callable
from time import perf_counter

from drybuild.work.ends import ends_of
from drybuild.work.model import QUARTERS_AN_HOUR, Aim, NoPlan, Plan, Problem, Step
from drybuild.work.solve.by_session import Learned
from drybuild.work.solve.explain import explain
from drybuild.work.solve.laid import Found
from drybuild.work.solve.large import is_large, solve_large
from drybuild.work.solve.search import Answer, Search
from drybuild.work.solve.staff import Short
from drybuild.work.solve.tasks import tasks_of

__all__ = ["Learned", "explain", "solve"]


def solve(
    problem: Problem,
    *,
    seed: int = 0,
    seconds: float = 40.0,
    workers: int | None = None,
    hint: Plan | None = None,
    near: Plan | None = None,
    look: bool = False,
    heard: Callable[[Plan], None] = lambda plan: None,
    enough: Callable[[], bool] = lambda: False,
    learned: list[Learned] | None = None,
) -> Plan | NoPlan:
    """The best plan of a problem, with a bound for each aim, or why there is none.

    Aims are taken in the problem's order: a later one among the plans that reach the earlier ones'
    values, and so are their bounds. seconds: how long one core may search, about; it is counted in
    the solver's own measure, so that the same seed gives the same plan on any machine. hint: a
    plan to begin from. near: a plan to keep to: of all plans, first those that move the fewest
    jobs into another session than there. look: only what would be done in which session, each task
    as long as that, with no bound: from it can be learned what the checks say of such a plan.
    heard: is told the first plan, long before the best is found; its aims have no bounds. enough:
    whether the plan found so far will do: the search ends, soon, with that or one no worse.
    learned: what searches of this problem with fewer clauses learned of its days; it is added to.
    """
    begun = perf_counter()
    if is_large(problem) and near is None:
        return solve_large(
            problem, seconds=seconds, seed=seed, hint=hint, heard=heard, enough=enough
        )

    def first(found: Found) -> None:
        steps = search.steps(found)
        if not isinstance(steps, Short):
            answer = Answer(found, {name: (search.value(name, found), 0) for name in search.goals})
            heard(_plan(problem, steps, answer, begun, seed))

    search = Search(
        problem, seed=seed, seconds=seconds, workers=workers or 1, near=near, hint=hint,
        heard=first, enough=enough, learned=learned,
    )  # fmt: skip
    if look:
        return _looked(problem, search, begun)
    exact: frozenset[int] = frozenset()
    answer = search.run(exact)
    while answer.found is not None:
        found = search.settled(answer.found, exact)
        steps = search.steps(found)
        if isinstance(steps, Short):
            steps = search.steps(answer.found)
        if not isinstance(steps, Short):
            return _plan(problem, steps, answer, begun, seed)
        number = [s.id for s in problem.sessions].index(steps.session)
        exact |= {number}
        answer = search.run(exact, answer.found.chosen)
    return _none(problem, begun, open_=not answer.impossible)


def _plan(
    problem: Problem, steps: tuple[Step, ...], answer: Answer, begun: float, seed: int
) -> Plan:
    return Plan(
        steps=steps,
        ends=ends_of(problem, steps),
        aims=_aims(problem, answer, steps),
        clauses=problem.clauses,
        seconds=perf_counter() - begun,
        seed=seed,
    )


def _none(problem: Problem, begun: float, *, open_: bool) -> NoPlan:
    why = "no plan was found in the time given" if open_ else "no plan meets every need"
    return NoPlan((why,), (), problem.clauses, perf_counter() - begun, open_)


def _looked(problem: Problem, search: Search, begun: float) -> Plan | NoPlan:
    """What a look at the problem says, as a plan without times."""
    spots = search.look()
    if not spots and problem.jobs.keys() - problem.done:
        return _none(problem, begun, open_=spots is not None)
    steps = []
    for key, k in spots or ():
        task, session = search.tasks.all[key], problem.sessions[k]
        steps.append(Step(task.kind, task.what, session.id, session.start, session.end))
    return Plan(
        tuple(steps),
        ends_of(problem, steps),
        (),
        problem.clauses,
        perf_counter() - begun,
        search.seed,
    )


def _aims(problem: Problem, answer: Answer, steps: tuple[Step, ...]) -> tuple[Aim, ...]:
    """What the aims came to, of a finish by the steps themselves: a search that ended with what
    was found may not have counted yet that it ends sooner. What is left owed after a distance was
    counted with the hours, or they would be fewer for putting work off; it is none of the plan's.
    """
    number = {session.id: n for n, session in enumerate(problem.sessions, 1)}
    last = max((number[step.session] for step in steps), default=0)
    owed = tasks_of(problem).owed((step.key, number[step.session] - 1) for step in steps)
    found = []
    near = "moves" in answer.values
    for name in problem.first:
        value, bound = answer.values.get(name, (0, 0))
        if name == "hours":
            each = QUARTERS_AN_HOUR
            low = max(0, bound - owed)
            found.append(Aim(name, (value - owed) / each, low / each, "h", near))
        else:
            found.append(Aim(name, float(last), float(min(bound, last)), "session", near))
    return tuple(found)
