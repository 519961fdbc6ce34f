"""Which tasks are in which session, and how the car stands after each: the master's answer."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from drybuild.work.model import Plan
from drybuild.work.solve.large.shape import Shape


@dataclass(frozen=True)
class Choice:
    """The tasks of every session, by key."""

    shape: Shape
    chosen: tuple[frozenset[str], ...]

    @cached_property
    def load(self) -> int:
        """Person-quarters of all of it: the hours objective."""
        return sum(self.loads)

    @cached_property
    def loads(self) -> tuple[int, ...]:
        """Person-quarters of each session."""
        tasks = self.shape.tasks
        return tuple(sum(tasks[key].load for key in keys) for keys in self.chosen)

    @cached_property
    def finish(self) -> int:
        """Number, from 1, of the last session with a task; 0 when there is none."""
        return max((k + 1 for k, keys in enumerate(self.chosen) if keys), default=0)

    @cached_property
    def off(self) -> tuple[frozenset[str], ...]:
        """Components that are off at the end of each session."""
        now = self.shape.problem.off & frozenset(self.shape.components)
        found = []
        for keys in self.chosen:
            taken = {key[5:] for key in keys if key.startswith("take:")}
            fitted = {key[6:] for key in keys if key.startswith("refit:")}
            now = frozenset((now | taken) - fitted)
            found.append(now)
        return tuple(found)

    @cached_property
    def pending(self) -> tuple[frozenset[str], ...]:
        """Effects that await their clearing at the end of each session."""
        now = self.shape.problem.pending & frozenset(self.shape.effects)
        causing, clearing = self.shape.causing, self.shape.clearing
        found = []
        for keys in self.chosen:
            caused = {e for e in self.shape.effects if any(k in keys for k in causing[e])}
            cleared = {e for e in self.shape.effects if any(k in keys for k in clearing[e])}
            now = frozenset((now | caused) - cleared)
            found.append(now)
        return tuple(found)

    def rank(self, first: tuple[str, ...]) -> tuple[int, ...]:
        """What is compared, least first, in the owner's order; then the sessions' mean place."""
        values = {"hours": self.load, "finish": self.finish}
        early = sum(k * load for k, load in enumerate(self.loads))
        return (*(values[name] for name in first), early)

    def put(self, changed: dict[int, frozenset[str]]) -> Choice:
        """The same with other tasks in some sessions."""
        return Choice(
            self.shape,
            tuple(changed.get(k, keys) for k, keys in enumerate(self.chosen)),
        )


def choice_of(shape: Shape, plan: Plan) -> Choice:
    """The choice that a plan made."""
    number = {session.id: k for k, session in enumerate(shape.sessions)}
    chosen: list[set[str]] = [set() for _ in shape.sessions]
    for step in plan.steps:
        chosen[number[step.session]].add(step.key)
    return choice(shape, chosen)


def choice(shape: Shape, chosen: Iterable[Iterable[str]]) -> Choice:
    """A choice from any sets of keys."""
    return Choice(shape, tuple(frozenset(keys) for keys in chosen))
