"""A choice laid out in time: every session's own schedule, or what stands against it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from drybuild.work.checker import faults
from drybuild.work.ends import ends_of
from drybuild.work.model import Aim, Plan, Step
from drybuild.work.schedule.session import (
    Clash,
    Facts,
    Fit,
    Stand,
    fit_session,
    stand_after,
    stand_of,
)
from drybuild.work.solve.large.choice import Choice, choice_of
from drybuild.work.solve.large.shape import Shape

SETTLE = 0.4
"""Deterministic seconds for one search of a session's schedule."""


@dataclass(frozen=True)
class Laid:
    """A choice with the steps of each session."""

    choice: Choice
    steps: tuple[tuple[Step, ...], ...]

    @cached_property
    def all(self) -> tuple[Step, ...]:
        """All steps in order of start."""
        found = [step for steps in self.steps for step in steps]
        return tuple(sorted(found, key=lambda step: (step.start, step.end, step.key)))


@dataclass(frozen=True)
class Refused:
    """A session whose tasks cannot be scheduled, or were not in the time; clash: why, if known."""

    session: int
    clash: Clash | None


@dataclass
class Board:
    """Schedules sessions of one problem. It remembers what it found for the same tasks."""

    shape: Shape
    seed: int
    facts: Facts = field(init=False)
    _fits: dict[tuple[int, frozenset[str]], tuple[Step, ...]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.facts = Facts(self.shape.problem)

    def lay(
        self, wanted: Choice, sessions: Iterable[int], kept: Sequence[tuple[Step, ...]]
    ) -> Laid | Refused:
        """Schedule some sessions; the others keep the steps that they have."""
        todo = set(sessions)
        steps = [() if k in todo else tuple(mine) for k, mine in enumerate(kept)]
        stand = stand_of(self.shape.problem)
        for k in range(max(todo, default=-1) + 1):
            if k in todo:
                fit = self.fit(k, wanted.chosen[k], stand)
                if isinstance(fit, Refused):
                    return fit
                steps[k] = fit
            stand = stand_after(self.shape.problem, stand, steps[k], facts=self.facts)
        return Laid(wanted, tuple(steps))

    def fit(self, session: int, keys: frozenset[str], stand: Stand) -> tuple[Step, ...] | Refused:
        """The steps of one session."""
        if not keys:
            return ()
        problem = self.shape.problem
        found = fit_session(
            problem,
            problem.sessions[session],
            keys,
            stand,
            seconds=SETTLE,
            seed=self.seed,
            facts=self.facts,
        )
        if isinstance(found, Fit):
            return found.steps
        return Refused(session, found if isinstance(found, Clash) else None)

    def holds(self, laid: Laid) -> Laid | None:
        """The same when the independent checker takes it; with later sessions laid out anew
        when only those do not follow from the earlier ones; else None."""
        if not faults(self.shape.problem, self.plan(laid, {})):
            return laid
        again = self.lay(laid.choice, range(len(laid.steps)), laid.steps)
        if isinstance(again, Laid) and not faults(self.shape.problem, self.plan(again, {})):
            return again
        return None

    def plan(self, laid: Laid, bounds: Mapping[str, float], *, seconds: float = 0.0) -> Plan:
        """The plan of it, with bounds on the aims (0 where none is known)."""
        problem = self.shape.problem
        value = {"hours": laid.choice.load / 4, "finish": float(laid.choice.finish)}
        unit = {"hours": "h", "finish": "session"}
        return Plan(
            steps=laid.all,
            ends=ends_of(problem, laid.all),
            aims=tuple(
                Aim(name, value[name], min(bounds.get(name, 0.0), value[name]), unit[name])
                for name in problem.first
            ),
            clauses=problem.clauses,
            seconds=seconds,
            seed=self.seed,
        )


def laid_of(shape: Shape, plan: Plan) -> Laid:
    """A plan from elsewhere, as a choice with steps."""
    return Laid(choice_of(shape, plan), tuple(plan.of(session.id) for session in shape.sessions))
