"""How the tasks of a day had better lie: one at a time in a wheel arch, cold work before heat,
both ends up before a wheel comes off, covers on after the leak check.

Nobody undoes an arm beside somebody who undoes the spring; what wants a cold engine comes before
what runs it that day; what else comes first, or goes on alone of its kind, the work library says
(``first``, ``apart``). A plan changes neither its sessions nor its hours for any of it: all of it
is had wherever the day leaves the room.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from functools import partial
from itertools import combinations, pairwise, product
from typing import Any

from drybuild.work.ends import work_of
from drybuild.work.model import Component, Condition, ConditionKind, Problem, Step, Work
from drybuild.work.schedule.session import Fit, fit_session, stand_after, stand_of
from drybuild.work.solve.laid import Laid
from drybuild.work.solve.states import Spot
from drybuild.work.solve.tasks import Task, Tasks, tasks_of

AFTER: dict[str, ConditionKind] = {"take": "off", "refit": "on", "clear": "clear"}
"""What is so once a task of that kind is over."""

ARCHES = " corners"
"""What the region ends with of that which comes off in the wheel arches of an axle."""


Order = tuple[str, str]
"""Two tasks of which the first is over before the other begins; or a word of ``apart`` alone."""


def orderly(problem: Problem, steps: Iterable[Step], seed: int) -> tuple[Step, ...]:
    """The same tasks in the same sessions, in as many of these orders as a day soon shows it has.

    A day that has none of them is left as it is.
    """
    mine, found, stand = tuple(steps), list[Step](), stand_of(problem)
    arches, tasks = _one_in_an_arch(problem), tasks_of(problem)
    for session in problem.sessions:
        here = tuple(step for step in mine if step.session == session.id)
        keys = [step.key for step in here]
        fits = partial(
            fit_session, session=session, chosen=keys, stand=stand, seed=seed, exact=False,
            steady=True,
        )  # fmt: skip
        here = _in_better_order((arches, problem), _orders(tasks, keys), fits) or here
        found += here
        stand = stand_after(problem, stand, here)
    return tuple(found)


def _in_better_order(
    bases: tuple[Problem, ...], orders: list[Order], fits: Callable[[Problem], object]
) -> tuple[Step, ...]:
    """A day in all of its orders; else with each of them in turn that goes with those before.

    bases: the problem with what it had better hold beside them, then without.
    """
    for base in bases:
        fit = fits(_in_turn(base, orders))
        if isinstance(fit, Fit):
            return fit.steps
        kept, fit = list[Order](), fits(base)
        if not isinstance(fit, Fit):
            continue
        for order in orders:
            if _has(base, fit.steps, order):  # as it lies: no search is wanted to show that
                kept = [*kept, order]
                continue
            more = fits(_in_turn(base, [*kept, order]))
            if isinstance(more, Fit):
                kept, fit = [*kept, order], more
        return fit.steps
    return ()


def _orders(tasks: Tasks, keys: Iterable[str]) -> list[Order]:
    """What had better be of these tasks: one at a time of a word, then one before the other."""
    mine = [tasks.all[key] for key in keys]
    named = {task.key for task in mine}
    words = dict.fromkeys((word, "") for task in mine for word in task.work.apart)
    return [*words, *((key, t.key) for t in mine for key in t.work.first if key in named)]


def _has(problem: Problem, steps: tuple[Step, ...], order: Order) -> bool:
    """Whether a day lies in an order already."""
    first, later = order
    if later:
        ends, begins = ([s for s in steps if s.key == key] for key in order)
        return all(one.end <= other.start for one in ends for other in begins)
    mine = [step for step in steps if first in work_of(problem, step).apart]
    return not any(a.start < b.end and b.start < a.end for a, b in combinations(mine, 2))


def _in_turn(problem: Problem, orders: Iterable[Order]) -> Problem:
    """The problem in which what comes first is needed, and what goes on alone holds a tool."""
    firsts = [(first, later) for first, later in orders if later]
    words = {word for word, later in orders if not later}

    def strict(key: str, work: Work) -> Work:
        needs = [((_over(first),),) for first, later in firsts if later == key]
        held = [f"apart: {word}" for word in work.apart if word in words]
        return replace(work, needs=(*work.needs, *needs), tools=(*work.tools, *held))

    components = {
        name: replace(
            c, take=strict(f"take:{name}", c.take), refit=strict(f"refit:{name}", c.refit)
        )
        for name, c in problem.components.items()
    }
    effects = {
        name: replace(
            e, clearing=replace(e.clearing, work=strict(f"clear:{name}", e.clearing.work))
        )
        if e.clearing is not None
        else e
        for name, e in problem.effects.items()
    }
    jobs = {
        name: replace(job, work=strict(f"job:{name}", job.work))
        for name, job in problem.jobs.items()
    }
    tools = {**problem.tools, **{f"apart: {word}": 1 for word in words}}
    return replace(problem, components=components, effects=effects, jobs=jobs, tools=tools)


def _over(key: str) -> Condition:
    """That a task is over, as the planner says it."""
    kind, name = key.split(":", 1)
    return Condition(AFTER[kind], name)


def _one_in_an_arch(problem: Problem) -> Problem:
    """The problem in which what comes off in the arches of an axle holds them, as a tool is."""
    regions = {c.region for c in problem.components.values() if c.region.endswith(ARCHES)}
    components = {
        name: _holding(c) if c.region in regions else c for name, c in problem.components.items()
    }
    tools = {**problem.tools, **dict.fromkeys(regions, 1)}
    return replace(problem, components=components, tools=tools)


def _holding(c: Component) -> Component:
    take, refit = (replace(w, tools=(*w.tools, c.region)) for w in (c.take, c.refit))
    return replace(c, take=take, refit=refit)


Had = Callable[[Mapping[Spot, int]], bool]
"""Whether an order is had when the tasks begin then."""


def had(laid: Laid, spots: Iterable[Spot]) -> list[tuple[Any, Had]]:
    """A truth value for each of these orders in each session: whether it is had; and the same
    of starts that are known."""
    found, of = list[tuple[Any, Had]](), dict[int, list[Task]]()
    for key, k in spots:
        of.setdefault(k, []).append(laid.tasks.all[key])
    for k, tasks in of.items():
        for mine in (*_arches(laid, tasks), *_apart(tasks)):
            truth = laid.model.new_bool_var("")
            _one_at_a_time(laid, k, mine, truth)
            found.append((truth, partial(_is_one_at_a_time, k, mine)))
        pairs = [[pair] for pair in _firsts(tasks)]
        cold = list(_cold_and_hot(tasks))
        for several in (*pairs, cold) if cold else pairs:
            truth = laid.model.new_bool_var("")
            for first, later in several:
                _after(laid, k, first, later, truth)
            found.append((truth, partial(_are_after, k, several)))
    return found


def _is_one_at_a_time(k: int, tasks: list[Task], starts: Mapping[Spot, int]) -> bool:
    spans = sorted((starts[t.key, k], starts[t.key, k] + t.length) for t in tasks)
    return all(one[1] <= later[0] for one, later in pairwise(spans))


def _are_after(k: int, pairs: list[tuple[Task, Task]], starts: Mapping[Spot, int]) -> bool:
    return all(starts[a.key, k] + a.length <= starts[b.key, k] for a, b in pairs)


def _arches(laid: Laid, tasks: list[Task]) -> Iterator[list[Task]]:
    """The tasks in the arches of an axle, where there are several."""
    by: dict[str, list[Task]] = {}
    for task in tasks:
        if task.kind in ("take", "refit") and task.length and task.people:
            by.setdefault(laid.problem.components[task.what].region, []).append(task)
    yield from (mine for at, mine in by.items() if at.endswith(ARCHES) and len(mine) > 1)


def _apart(tasks: list[Task]) -> Iterator[list[Task]]:
    """The tasks of which one at a time had better go on, where there are several."""
    by: dict[str, list[Task]] = {}
    for task in tasks:
        for word in task.work.apart:
            by.setdefault(word, []).append(task)
    yield from (mine for mine in by.values() if len(mine) > 1)


def _firsts(tasks: list[Task]) -> Iterator[tuple[Task, Task]]:
    """Each task beside one that had better come first."""
    named = {task.key: task for task in tasks}
    for later in tasks:
        yield from ((named[key], later) for key in later.work.first if key in named)


def _cold_and_hot(tasks: list[Task]) -> Iterator[tuple[Task, Task]]:
    cold = [task for task in tasks if task.work.engine == "cold"]
    return product(cold, (task for task in tasks if task.work.engine == "runs"))


def _one_at_a_time(laid: Laid, k: int, tasks: list[Task], truth: Any) -> None:
    assert laid.timing is not None
    laid.model.add_no_overlap(
        laid.model.new_optional_fixed_size_interval_var(
            laid.timing.start[task.key, k], task.length, truth, ""
        )
        for task in tasks
    )


def _after(laid: Laid, k: int, cold: Task, hot: Task, truth: Any) -> None:
    assert laid.timing is not None
    start = laid.timing.start
    later = start[hot.key, k] >= start[cold.key, k] + cold.length
    laid.model.add(later).only_enforce_if(truth)
