"""How the tasks of a day had better lie: one at a time in a wheel arch, cold work before heat.

Nobody undoes an arm beside somebody who undoes the spring; what wants a cold engine comes before
what runs it that day. A plan changes neither its sessions nor its hours for either: both are had
wherever the day leaves the room.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import product
from typing import Any

from drybuild.work.model import Component, Problem, Step
from drybuild.work.schedule.session import Fit, fit_session, stand_after, stand_of
from drybuild.work.solve.laid import Laid
from drybuild.work.solve.states import Spot
from drybuild.work.solve.tasks import Task

ARCHES = " corners"
"""What the region ends with of that which comes off in the wheel arches of an axle."""


def orderly(problem: Problem, steps: Iterable[Step], seed: int) -> tuple[Step, ...]:
    """The same tasks in the same sessions, one at a time in an arch wherever a day soon shows so.

    A day that does not is left as it is.
    """
    strict, mine = _strict(problem), tuple(steps)
    found, stand = list[Step](), stand_of(strict)
    for session in problem.sessions:
        here = tuple(step for step in mine if step.session == session.id)
        keys = [step.key for step in here]
        fit = fit_session(strict, session, keys, stand, seed=seed, exact=False, steady=True)
        here = fit.steps if isinstance(fit, Fit) else here
        found += here
        stand = stand_after(strict, stand, here)
    return tuple(found)


def _strict(problem: Problem) -> Problem:
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


def had(laid: Laid, spots: Iterable[Spot]) -> list[Any]:
    """A truth value for each of these orders in each session: whether it is had."""
    found, of = [], dict[int, list[Task]]()
    for key, k in spots:
        of.setdefault(k, []).append(laid.tasks.all[key])
    for k, tasks in of.items():
        for mine in _arches(laid, tasks):
            found.append(laid.model.new_bool_var(""))
            _one_at_a_time(laid, k, mine, found[-1])
        pairs = list(_cold_and_hot(tasks))
        if pairs:
            found.append(laid.model.new_bool_var(""))
        for cold, hot in pairs:
            _after(laid, k, cold, hot, found[-1])
    return found


def _arches(laid: Laid, tasks: list[Task]) -> Iterator[list[Task]]:
    """The tasks in the arches of an axle, where there are several."""
    by: dict[str, list[Task]] = {}
    for task in tasks:
        if task.kind in ("take", "refit") and task.length and task.people:
            by.setdefault(laid.problem.components[task.what].region, []).append(task)
    yield from (mine for at, mine in by.items() if at.endswith(ARCHES) and len(mine) > 1)


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
