"""Plans: which task in which work session, in which order, by whom."""

from __future__ import annotations

from time import perf_counter

from drybuild.work.ends import ends_of
from drybuild.work.model import QUARTERS_AN_HOUR, Aim, NoPlan, Plan, Problem
from drybuild.work.solve.explain import explain
from drybuild.work.solve.large import is_large, solve_large
from drybuild.work.solve.search import Answer, Search
from drybuild.work.solve.staff import Short

__all__ = ["explain", "solve"]


def solve(
    problem: Problem,
    *,
    seed: int = 0,
    seconds: float = 20.0,
    workers: int | None = None,
    hint: Plan | None = None,
    near: Plan | None = None,
    look: bool = False,
) -> Plan | NoPlan:
    """The best plan of a problem, with a bound for each aim, or why there is none.

    Aims are taken in the problem's order: a later one among the plans that reach the earlier ones'
    values, and so are their bounds. seconds: how long one core may search, about; it is counted in
    the solver's own measure, so that the same seed gives the same plan on any machine. hint: a
    plan to begin from. near: a plan to keep to: of all plans, first those that move the fewest
    jobs into another session than there. look: any plan at all will do, without a bound.
    """
    begun = perf_counter()
    if is_large(problem) and near is None:
        return solve_large(problem, seconds=seconds, seed=seed, hint=hint)
    search = Search(problem, seed=seed, seconds=seconds, workers=workers or 1, near=near, hint=hint)
    exact: frozenset[int] = frozenset()
    answer = search.look(exact) if look else search.run(exact)
    while answer.found is not None:
        found = search.settled(answer.found, exact)
        steps = search.steps(found)
        if isinstance(steps, Short):
            steps = search.steps(answer.found)
        if not isinstance(steps, Short):
            return Plan(
                steps=steps,
                ends=ends_of(problem, steps),
                aims=_aims(problem, answer),
                clauses=problem.clauses,
                seconds=perf_counter() - begun,
                seed=seed,
            )
        number = [s.id for s in problem.sessions].index(steps.session)
        exact |= {number}
        answer = search.run(exact, answer.found.chosen)
    why = "no plan meets every need" if answer.impossible else "no plan was found in the time given"
    return NoPlan((why,), (), problem.clauses, perf_counter() - begun, not answer.impossible)


def _aims(problem: Problem, answer: Answer) -> tuple[Aim, ...]:
    found = []
    for name in problem.first:
        value, bound = answer.values.get(name, (0, 0))
        if name == "hours":
            each = QUARTERS_AN_HOUR
            found.append(Aim(name, value / each, bound / each, "h"))
        else:
            found.append(Aim(name, float(value), float(bound), "session"))
    return tuple(found)
