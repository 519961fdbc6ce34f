"""Planning that tells where it stands, for whoever waits for it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Literal

from drybuild.work.at_hand import AtHand
from drybuild.work.examined import plan_examined
from drybuild.work.model import NoPlan, Plan, Problem
from drybuild.work.solve import solve


@dataclass(frozen=True, slots=True)
class Stage:
    """Where planning stands. looking: any plan will do, for there may be more to learn; searching:
    for a good one; explaining: there is none, and what would make room is looked for. round: from
    1; learned: clauses so far. found: a plan was found, and a better one is looked for."""

    name: Literal["looking", "searching", "explaining"]
    round: int
    learned: int
    found: bool = False


EXPLAINING = Stage("explaining", 0, 0)


def plan_telling(
    hand: AtHand,
    tell: Callable[[Stage], None],
    *,
    seconds: float = 40.0,
    seed: int = 0,
    near: Plan | None = None,
    suppose: bool | None = None,
    enough: Callable[[], bool] = lambda: False,
) -> Plan | NoPlan:
    """``plan_examined``, which says before each round of solving where it stands.

    enough: whether the plan found so far will do: the last search ends with it, and it is examined
    as any other before it is the answer.
    """
    return plan_examined(
        hand.opened, hand.todo, seconds=seconds, seed=seed, near=near,
        solver=telling_solver(tell, enough), lessons=hand.lessons, suppose=suppose,
        explains=lambda: tell(EXPLAINING),
    )  # fmt: skip


def telling_solver(
    tell: Callable[[Stage], None], enough: Callable[[], bool] = lambda: False
) -> Callable[..., Plan | NoPlan]:
    """``solve``, which says before each round where it stands."""
    rounds = 0

    def solver(problem: Problem, *, look: bool = False, **how: Any) -> Plan | NoPlan:
        nonlocal rounds
        rounds += 1
        stage = Stage("looking" if look else "searching", rounds, len(problem.clauses))
        tell(stage)
        if look:
            return solve(problem, look=True, **how)
        heard = _once(lambda: tell(replace(stage, found=True)))
        return solve(problem, heard=heard, enough=enough, **how)

    return solver


def _once(say: Callable[[], None]) -> Callable[[Plan], None]:
    """What says so of the first plan it hears, and nothing of later ones."""
    first = [say]
    return lambda plan: first.pop()() if first else None
