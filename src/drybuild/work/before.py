"""What a plan has before one of its steps: what the step needs off, put back, cleared or done."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator

from drybuild.work.ends import work_of
from drybuild.work.model import Condition, Plan, Problem, Step
from drybuild.work.openings import conditions


def open_before(
    problem: Problem, plan: Plan, steps: Iterable[Step], done: Collection[Step] = ()
) -> tuple[Step, ...]:
    """Steps of the plan that these rest on and that are neither among them nor done, in order.

    What the plan has before them only because hands were free is none of it.
    """
    told = list(steps)
    over, found, waiting = {*done, *told}, set[Step](), told
    while waiting:
        step = waiting.pop()
        for one in _rests_on(problem, plan, step):
            if one not in over:
                over.add(one)
                found.add(one)
                waiting.append(one)
    return tuple(one for one in plan.steps if one in found)


def _rests_on(problem: Problem, plan: Plan, step: Step) -> Iterator[Step]:
    earlier = [s for s in plan.steps if s is not step and s.end <= step.start]
    try:
        for condition in conditions(problem, step):
            yield from _for(problem, earlier, condition)
        if step.kind in ("take", "refit"):
            yield from _last(earlier, step.what, ("take", "refit"))
        if step.kind == "refit":
            yield from _behind(problem, earlier, step.what)
        if step.kind == "job":
            after = {one.job for one in problem.jobs[step.what].after}
            yield from (s for s in earlier if s.kind == "job" and s.what in after)
    except KeyError:  # of what the work does not know any more
        return


def _for(problem: Problem, earlier: list[Step], condition: Condition) -> Iterator[Step]:
    """The steps that bring about what one condition asks for."""
    name = condition.name
    if condition.kind in ("off", "on"):
        yield from _last(earlier, name, ("take", "refit"))
    elif condition.kind == "clear":
        yield from _last(earlier, name, ("clear",))
    elif condition.kind == "use":
        stopping = problem.stopping(name)
        for what, component in problem.components.items():
            if stopping & set(component.stops):
                yield from _last(earlier, what, ("refit",))
        for what, effect in problem.effects.items():
            if stopping & set(effect.stops):
                yield from _last(earlier, what, ("clear",))


def _behind(problem: Problem, earlier: list[Step], name: str) -> Iterator[Step]:
    """What was done while a component was off, and needed it off."""
    off = max((s.end for s in earlier if s.kind == "take" and s.what == name), default=-1)
    needs: Callable[[Step], bool] = lambda s: any(  # noqa: E731
        c.kind == "off" and c.name == name for c in conditions(problem, s)
    )
    yield from (s for s in earlier if s.start >= off and _known(problem, s) and needs(s))


def _known(problem: Problem, step: Step) -> bool:
    try:
        return bool(work_of(problem, step))
    except KeyError:
        return False


def _last(earlier: list[Step], what: str, kinds: tuple[str, ...]) -> Iterator[Step]:
    mine = [s for s in earlier if s.what == what and s.kind in kinds]
    if mine:
        yield max(mine, key=lambda s: s.end)
