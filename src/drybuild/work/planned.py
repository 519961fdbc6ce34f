"""Planning that tells where it stands, for whoever waits for it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

from drybuild.work.at_hand import AtHand
from drybuild.work.examined import plan_examined
from drybuild.work.model import NoPlan, Plan, Problem
from drybuild.work.solve import solve


@dataclass(frozen=True, slots=True)
class Stage:
    """Where planning stands. looking: any plan will do, for there may be more to learn; searching:
    for a good one. round: from 1; learned: clauses so far."""

    name: Literal["looking", "searching"]
    round: int
    learned: int


def plan_telling(
    hand: AtHand,
    tell: Callable[[Stage], None],
    *,
    seconds: float = 20.0,
    seed: int = 0,
    near: Plan | None = None,
    suppose: bool | None = None,
) -> Plan | NoPlan:
    """``plan_examined``, which says before each round of solving where it stands."""
    rounds = 0

    def solver(problem: Problem, *, look: bool = False, **how: Any) -> Plan | NoPlan:
        nonlocal rounds
        rounds += 1
        tell(Stage("looking" if look else "searching", rounds, len(problem.clauses)))
        return solve(problem, look=look, **how)

    return plan_examined(
        hand.opened, hand.todo, seconds=seconds, seed=seed, near=near, solver=solver,
        lessons=hand.lessons, suppose=suppose,
    )  # fmt: skip
