"""What a plan has before one of its steps: what the step needs off, put back, cleared or done."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator

from drybuild.work.ends import cleared_by, work_of
from drybuild.work.model import Condition, Plan, Problem, Step
from drybuild.work.openings import conditions


class Before:
    """What each step of a plan rests on, worked out once.

    What the plan has before a step only because hands were free is none of it. What had better come
    first (``first``, cold work) is, where the plan has it so.
    """

    def __init__(self, problem: Problem, plan: Plan) -> None:
        self.problem, self.plan = problem, plan
        self._direct: dict[Step, frozenset[Step]] = {}
        self._all: dict[Step, frozenset[Step]] = {}

    def direct(self, step: Step) -> frozenset[Step]:
        """Steps that it rests on itself."""
        if step not in self._direct:
            self._direct[step] = frozenset(_rests_on(self.problem, self.plan, step))
        return self._direct[step]

    def all(self, step: Step) -> frozenset[Step]:
        """Those, and what they rest on in turn."""
        if step not in self._all:
            found: set[Step] = set()
            for one in self.direct(step):
                found |= {one, *self.all(one)}
            self._all[step] = frozenset(found)
        return self._all[step]

    def open(self, steps: Iterable[Step], done: Collection[Step] = ()) -> tuple[Step, ...]:
        """Steps that these rest on and that are neither among them nor done, in order; what a done
        step rested on is not asked for."""
        told = list(steps)
        over, found, waiting = {*done, *told}, set[Step](), told
        while waiting:
            for one in self.direct(waiting.pop()):
                if one not in over:
                    over.add(one)
                    found.add(one)
                    waiting.append(one)
        return tuple(one for one in self.plan.steps if one in found)


def open_before(
    problem: Problem, plan: Plan, steps: Iterable[Step], done: Collection[Step] = ()
) -> tuple[Step, ...]:
    """``Before.open``, of these steps alone."""
    return Before(problem, plan).open(steps, done)


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
        yield from _undone(problem, earlier, step)
        yield from _calling(problem, earlier, step)
        yield from _better_first(problem, earlier, step)
    except KeyError:  # of what the work does not know any more
        return


def _calling(problem: Problem, earlier: list[Step], step: Step) -> Iterator[Step]:
    """What called for this clearing since the one before it, and what of that is back on."""
    for name in cleared_by(problem, step):
        last = max((s.end for s in earlier if s.key == f"clear:{name}"), default=-1)
        since = [s for s in earlier if s.start >= last and _known(problem, s)]
        causing = [s for s in since if name in work_of(problem, s).causes]
        off = {s.what for s in causing if s.kind == "take"}
        yield from causing
        yield from (s for s in since if s.kind == "refit" and s.what in off)


def _better_first(problem: Problem, earlier: list[Step], step: Step) -> Iterator[Step]:
    """What of the same day had better come first, and does."""
    work = work_of(problem, step)
    here = [s for s in earlier if s.session == step.session and _known(problem, s)]
    yield from (s for s in here if s.key in work.first)
    if work.engine == "runs":
        yield from (s for s in here if work_of(problem, s).engine == "cold")


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


def _undone(problem: Problem, earlier: list[Step], step: Step) -> Iterator[Step]:
    """What of the same day needed what this step takes away: fuel pressure let off by a running
    engine, before the battery is off."""
    component = problem.components[step.what] if step.kind == "take" else None
    effects = [problem.effects[name] for name in work_of(problem, step).causes]
    stops = {use for one in (component, *effects) if one is not None for use in one.stops}

    def ended_by(c: Condition) -> bool:
        if c.kind == "use":
            return bool(stops & problem.stopping(c.name))
        on = c.kind == "on" and component is not None and c.name == component.id
        return on or (c.kind == "clear" and c.name in {effect.id for effect in effects})

    here = (one for one in earlier if one.session == step.session and _known(problem, one))
    yield from (one for one in here if any(ended_by(c) for c in conditions(problem, one)))


def _known(problem: Problem, step: Step) -> bool:
    try:
        return bool(work_of(problem, step))
    except KeyError:
        return False


def _last(earlier: list[Step], what: str, kinds: tuple[str, ...]) -> Iterator[Step]:
    mine = [s for s in earlier if s.what == what and s.kind in kinds]
    if mine:
        yield max(mine, key=lambda s: s.end)
