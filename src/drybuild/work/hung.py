"""Hold tags of the work itself: each is hung when the work begins that makes it true, and comes
down with the work that ends it.

A component's tag hangs while it is off, a job's until the first work that uses the car or its
engine, or until the map is written that it waits for; an effect's, which stands with what clears
it, from its cause until then.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from drybuild.work.ends import cleared_by, work_of
from drybuild.work.model import Plan, Problem, Step, ToDo


@dataclass(frozen=True, slots=True)
class Hung:
    """One tag. line: its words. by: the step before which it is hung, None where it hung before the
    plan. until: the step after which it comes down, None where nothing in the plan ends it. once:
    whether it hangs only when the step's engine is still again: the step runs it, to let fuel
    pressure off, and the tag says that it must not run. after: whether it is hung when the step is
    done, for what is to be looked at once so many km were driven."""

    line: str
    by: Step | None
    until: Step | None
    once: bool = False
    after: bool = False


STILL = ("DO NOT START", "DO NOT CRANK")
"""How tags begin that say that the engine must not run."""

FOR_A_MAP = "map expects"
"""What a tag of a job says that waits for a map: once that is written, it tells what is not so."""


def together(tags: Iterable[Hung], cut: Iterable[tuple[Step, ...]]) -> list[tuple[Hung, ...]]:
    """Tags that are one: hung by the same card, with the same first words. cut: the cards."""
    stretches = tuple(cut)
    found: dict[tuple[int, str], list[Hung]] = {}
    for tag in tags:
        card = next((n for n, steps in enumerate(stretches) if tag.by in steps), -1)
        found.setdefault((card, tag.line.partition(":")[0]), []).append(tag)
    return [tuple(group) for group in found.values()]


def ended_by(group: tuple[Hung, ...]) -> Step | None:
    """The step after which nothing is left of a tag; None where nothing ends all of it."""
    last = group[0].until
    for tag in group[1:]:
        last = _later(last, tag.until)
    return last


def hung(todo: ToDo, plan: Plan) -> tuple[Hung, ...]:
    """The tags in the order in which they are hung; one that hangs already is not hung again."""
    found: list[Hung] = []
    later = _once_driven(todo)
    for line, by, until in _wanted(todo, plan):
        if line in later:
            by = _driven_from(todo.problem, plan, by)
        last = next((i for i, h in reversed([*enumerate(found)]) if h.line == line), None)
        if last is not None and _hangs(found[last], by):
            # what was owed before any of this may have been ticked on another card than the one
            # that hangs its tag: the next that wants it asks for it all the same
            first = found[last].by or by
            found[last] = replace(found[last], by=first, until=_later(found[last].until, until))
        else:
            found.append(Hung(line, by, until, _once(todo.problem, by, line), line in later))
    return tuple(found)


def _once_driven(todo: ToDo) -> set[str]:
    """Lines of what is cleared only after so many km on the road."""
    effects = todo.problem.effects.values()
    return {line for e in effects if e.between for line in _lines(todo, f"clear:{e.id}")}


def _driven_from(problem: Problem, plan: Plan, by: Step | None) -> Step | None:
    """The step from which on a car can be driven again: what keeps it from being moved is back.

    A tag for whoever has driven so far has no place on a car without springs, on axle stands.
    """
    if by is None:
        return None
    keeps = {name for name, one in problem.components.items() if "move" in one.stops}
    off = keeps & set(problem.off)
    for step in sorted(plan.steps, key=lambda s: (s.end, s.kind != "take")):
        if step.what in keeps and step.kind in ("take", "refit"):
            off = off | {step.what} if step.kind == "take" else off - {step.what}
        if not off and step.end >= by.end:
            return by if step.end == by.end else step
    return by


def _once(problem: Problem, by: Step | None, line: str) -> bool:
    runs = by is not None and by.kind == "take" and work_of(problem, by).engine == "runs"
    return runs and line.startswith(STILL)


def _wanted(todo: ToDo, plan: Plan) -> Iterable[tuple[str, Step | None, Step | None]]:
    problem = todo.problem
    for name in sorted(problem.off):
        until = _refit(plan, name, 0)
        yield from ((line, None, until) for line in _lines(todo, f"take:{name}"))
    for name in sorted(problem.pending):
        until = _cleared(problem, plan, name, 0)
        yield from ((line, None, until) for line in _lines(todo, f"clear:{name}"))
    for step in sorted(plan.steps, key=lambda s: (s.start, s.end)):
        causes = work_of(problem, step).causes
        ends = [_cleared(problem, plan, name, step.end) for name in causes]
        if step.kind != "clear":
            until = _own_end(problem, plan, step, ends)
            written = _map_written(problem, plan, step) or until
            told = {line for name in causes for line in _lines(todo, f"clear:{name}")}
            for line in _lines(todo, step.key):
                if step.kind == "take" or line not in told:
                    yield line, step, written if FOR_A_MAP in line else until
        for name, end in zip(causes, ends, strict=True):
            yield from ((line, step, end) for line in _lines(todo, f"clear:{name}"))


def _lines(todo: ToDo, key: str) -> tuple[str, ...]:
    notes = todo.notes.get(key)
    return notes.tags if notes is not None else ()


def _own_end(
    problem: Problem, plan: Plan, step: Step, ends: list[Step | None]
) -> Step | None:
    """What ends the tag of a step's own: the refit; for a job the first work that uses the car or
    its engine, which nothing may stop any more, else the first that clears what it leaves open."""
    if step.kind == "take":
        return _refit(plan, step.what, step.end)
    uses = (s for s in plan.steps if s.start >= step.end and _uses(problem, s))
    first = min(uses, key=lambda s: s.end, default=None)
    return first or min((e for e in ends if e is not None), key=lambda s: s.end, default=None)


def _map_written(problem: Problem, plan: Plan, step: Step) -> Step | None:
    """The step that writes the map which a job's part waits for."""
    clauses = (c for c in problem.clauses if not c.check and c.done == {step.what})
    maps = {name for clause in clauses for name in clause.not_done}
    writing = (s for s in plan.steps if s.kind == "job" and s.what in maps and s.start >= step.end)
    return min(writing, key=lambda s: s.end, default=None)


def _uses(problem: Problem, step: Step) -> bool:
    ways = (way for need in work_of(problem, step).needs for way in need)
    return any(condition.kind == "use" for way in ways for condition in way)


def _refit(plan: Plan, name: str, at: int) -> Step | None:
    back = (s for s in plan.steps if s.kind == "refit" and s.what == name and s.start >= at)
    return min(back, key=lambda s: s.end, default=None)


def _cleared(problem: Problem, plan: Plan, name: str, at: int) -> Step | None:
    clears = (s for s in plan.steps if s.start >= at and name in cleared_by(problem, s))
    return min(clears, key=lambda s: s.end, default=None)


def _hangs(one: Hung, by: Step | None) -> bool:
    """Whether a tag still hangs when a step begins."""
    return by is None or one.until is None or one.until.end > by.start


def _later(one: Step | None, other: Step | None) -> Step | None:
    if one is None or other is None:
        return None
    return max(one, other, key=lambda s: s.end)
