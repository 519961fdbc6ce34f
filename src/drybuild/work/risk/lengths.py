"""What each task of a plan takes, in every draw: stated doubt, common causes, what is learned."""

from __future__ import annotations

from collections import Counter
from math import exp

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from drybuild.values import Draws
from drybuild.work.durations import log_spread, times
from drybuild.work.model import QUARTERS_AN_HOUR, Hours
from drybuild.work.risk.doubts import Doubts, weights
from drybuild.work.risk.execute import Lengths
from drybuild.work.risk.learned import Learned
from drybuild.work.risk.network import Network, Task

Floats = npt.NDArray[np.float64]


def task_weights(task: Task, *, age: float | None, doubts: Doubts) -> dict[str, float]:
    """Weights of the common factors in a planned task."""
    return weights(
        task.hours, kind=task.step.kind, region=task.region, people=task.step.who, age=age,
        doubts=doubts,
    )  # fmt: skip


def lengths(
    plan: Network, draws: Draws, *, age: float | None, doubts: Doubts, learned: Learned
) -> Lengths:
    """Times of all tasks, quarters. A column belongs to its task and not to its place in the plan:
    a task that is moved, or another that is added, leaves it as it was."""
    factors = _Factors(draws, learned)
    shape = (len(plan.tasks), draws.n)
    first, again = np.zeros(shape), np.zeros(shape)
    at_once = np.zeros(shape, dtype=bool)
    late = {}
    seen: Counter[str] = Counter()
    for index, task in enumerate(plan.tasks):
        seen[task.key] += 1
        name = f"work.{task.key}.{seen[task.key]}"
        load = task_weights(task, age=age, doubts=doubts)
        first[index] = drawn(task.hours, load, factors, draws, name)
        if task.fails > 0.0:
            failed = draws.unit(f"{name}.fails") < task.fails
            right = times(doubts.rework, draws.unit(f"{name}.rework"))
            more = drawn(task.hours, {}, factors, draws, f"{name}.again")
            again[index] = np.where(failed, right + more, 0.0)
            at_once[index] = draws.unit(f"{name}.at_once") < doubts.at_once
        if task.step.kind == "job" and task.step.what in doubts.late:
            delay = times(doubts.late[task.step.what], draws.unit(f"{name}.late"))
            late[index] = delay * QUARTERS_AN_HOUR
    return Lengths(first * QUARTERS_AN_HOUR, again * QUARTERS_AN_HOUR, at_once, late)


class _Factors:
    """Columns of the common factors, less their known means."""

    def __init__(self, draws: Draws, learned: Learned) -> None:
        self.draws, self.learned = draws, learned
        self.known: dict[str, Floats] = {}
        if learned.names:
            own = np.stack([draws.normal(f"work.{name}") for name in learned.names])
            self.known = dict(zip(learned.names, learned.root() @ own, strict=True))

    def column(self, name: str) -> Floats:
        known = self.known.get(name)
        return self.draws.normal(f"work.{name}") if known is None else known


def drawn(
    hours: Hours, load: dict[str, float], factors: _Factors, draws: Draws, name: str
) -> Floats:
    """Times of one task, h. The triangle moves with what is learned, beyond its ends if need be,
    and narrows as the factors do."""
    if hours.fixed:
        return np.full(draws.n, hours.high)
    own = 1.0 - sum(weight * weight for weight in load.values())
    z = np.sqrt(own) * draws.normal(name)
    for factor, weight in load.items():
        z = z + weight * factors.column(factor)
    moved = exp(log_spread(hours) * factors.learned.shift(load))
    return moved * times(hours, ndtr(z))
