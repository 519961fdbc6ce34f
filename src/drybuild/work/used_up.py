"""What each task of a plan uses up, so that what is fitted once takes one set.

A job that fits new injectors and the rail that goes on again after it both ask for the seals: one
set is used, where the joint is closed. What is opened again on another day takes a set again.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from drybuild.findings import AXLES
from drybuild.work.model import Notes, Plan, Renewable, Step, ToDo
from drybuild.work.openings import conditions

Opening = tuple[str, Step | None]
"""A component, and the step that puts it back; None where nothing in the plan does."""


def used_up(todo: ToDo, plan: Plan) -> Mapping[Step, tuple[Renewable, ...]]:
    """Step → what it uses up, each with as much as no other task of the same fitting asks for."""
    return _Count(todo, plan).all()


class _Count:
    """One count; left: what refits ask for and no job has counted on, by step and name."""

    def __init__(self, todo: ToDo, plan: Plan) -> None:
        self.todo, self.problem = todo, todo.problem
        self.steps = sorted(plan.steps, key=lambda s: (s.start, s.end))
        self.left = {
            (step, one.name, one.unit): one.quantity
            for step in self.steps if step.kind == "refit" for one in self.of(step).renew
        }  # fmt: skip
        self.jobs: list[tuple[Step, set[Opening]]] = []

    def of(self, step: Step) -> Notes:
        return self.todo.notes.get(step.key, Notes(""))

    def all(self) -> dict[Step, tuple[Renewable, ...]]:
        found = {}
        for step in self.steps:
            asked = self.of(step).renew
            found[step] = self._job(step, asked) if step.kind == "job" and asked else asked
        return found

    def _job(self, step: Step, asked: tuple[Renewable, ...]) -> tuple[Renewable, ...]:
        openings = self._openings(step)
        own = [replace(r, quantity=self._own(step, openings, r)) for r in asked]
        self.jobs.append((step, openings))
        return tuple(one for one in own if one.quantity > 0)

    def _own(self, step: Step, openings: set[Opening], asked: Renewable) -> float:
        """How much of it the job uses, without what closes with its openings."""
        much = asked.quantity - self._fastened_alike(step, openings, asked)
        for _, back in sorted(openings, key=lambda one: one[0]):
            if back is not None:
                kept = self.left.get((back, asked.name, asked.unit), 0.0)
                taken = min(kept, max(0.0, much))
                self.left[back, asked.name, asked.unit] = kept - taken
                much -= taken
        return round(max(0.0, much), 6)

    def _fastened_alike(self, step: Step, openings: set[Opening], asked: Renewable) -> float:
        """What a job before it uses of the same at a joint that both tighten, in one opening."""
        joints, region = set(self.of(step).joints), self.problem.jobs[step.what].region
        return sum(
            one.quantity
            for other, there in self.jobs if there & openings
            and self.problem.jobs[other.what].region == region
            and joints & set(self.of(other).joints)
            for one in self.of(other).renew if (one.name, one.unit) == (asked.name, asked.unit)
        )  # fmt: skip

    def _openings(self, step: Step) -> set[Opening]:
        """What the job itself needs off, and what of its corners is off just then: there a name
        says one thing (the hose that ends at a caliper), elsewhere in a region it may say two."""
        wanted = {c.name for c in conditions(self.problem, step) if c.kind == "off"}
        region = self.problem.jobs[step.what].region
        if set(AXLES) & set(region.split()):
            wanted |= {c.id for c in self.problem.components.values() if c.region == region}
        return {(name, self._back(name, step)) for name in wanted if self._is_off(name, step)}

    def _is_off(self, name: str, step: Step) -> bool:
        mine = [s for s in self.steps if s.what == name and s.kind in ("take", "refit")]
        before = [s for s in mine if s.end <= step.start]
        return before[-1].kind == "take" if before else name in self.problem.off

    def _back(self, name: str, step: Step) -> Step | None:
        return next(
            (s for s in self.steps
             if s.kind == "refit" and s.what == name and s.start >= step.end), None,
        )  # fmt: skip
