"""Solve a large problem: the search for a plan, and beside it the search for the bounds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from drybuild.work.checker import faults
from drybuild.work.model import NoPlan, Plan, Problem
from drybuild.work.solve.large.bound import HoursBound, sessions_needed, sessions_that_hold
from drybuild.work.solve.large.first import first
from drybuild.work.solve.large.improve import Improver
from drybuild.work.solve.large.laid import Laid, laid_of
from drybuild.work.solve.large.shape import Shape, shape_of
from drybuild.work.solve.large.shop import Clock, Shop

LARGE_JOBS, LARGE_COMPONENTS = 45, 90
"""From here on one model for everything takes too long to find any plan."""

PACE = 0.4
"""Deterministic seconds of search to a second of wall clock: a little less than a quiet machine
gives, so that there the search ends by its own count and is the same each time."""

DRAWN_TOGETHER = {"hours": 0.25, "finish": 0.5}
"""Share of the search for bringing the end forward, by which aim comes first."""

SLOWER = 2.0
"""How much slower a machine may be before the clock ends what brings the end forward."""

ENOUGH_TRIED, GIVE_UP = 12, 60
"""Attempts in a row without success after which the end is left where it is, and the plan."""

EVERY = 4
"""Of so many attempts at less hours, one is at an earlier end."""

ANY = 10**9
"""More load than any plan has."""

Heard = Callable[[Plan], None]
"""Is told of every plan that is better than the last."""


def is_large(problem: Problem) -> bool:
    """Whether a problem is better solved on two levels."""
    jobs = len(problem.jobs.keys() - problem.done)
    return jobs > LARGE_JOBS or len(problem.components) > LARGE_COMPONENTS


def solve_large(
    problem: Problem,
    *,
    seconds: float = 120.0,
    seed: int = 0,
    hint: Plan | None = None,
    heard: Heard | None = None,
    enough: Callable[[], bool] = lambda: False,
) -> Plan | NoPlan:
    """A plan that every session's own schedule and the checker stand behind, with its bounds.

    seconds: of wall clock in all, on two cores. hint: a plan to begin from, if it still holds.
    enough: whether the plan found so far will do, asked between two steps of the search.
    heard: is told of each better plan on the way, with the bounds known by then. The same problem,
    seed and seconds give the same plan where the machine is quick enough to end by its own count.
    No plan in the time, or none at all, gives a NoPlan that says which of the two it is.
    """
    return _Solve(problem, seconds, seed, heard, enough).run(hint)


@dataclass
class _Solve:
    """One call of ``solve_large``."""

    problem: Problem
    seconds: float
    seed: int
    heard: Heard | None
    enough: Callable[[], bool]
    best: Laid = field(init=False)

    def run(self, hint: Plan | None) -> Plan | NoPlan:
        self.clock = Clock(self.seconds, enough=self.enough)
        self.shape: Shape = shape_of(self.problem)
        self.shop = Shop(
            self.shape, Clock(0.96 * self.seconds, enough=self.enough), self.seed,
            PACE * self.seconds,
        )  # fmt: skip
        self.hours = HoursBound(self.shape, self.seed, 0.97 * self.seconds)
        self.finish = 0
        stuck = _stuck(self.shape)
        if stuck:
            return NoPlan(stuck, (), self.problem.clauses, self.clock.spent)
        self.hours.start()
        try:
            return self._search(hint)
        finally:
            self.hours.stop()

    def _search(self, hint: Plan | None) -> Plan | NoPlan:
        laid = self._begin(hint)
        if laid is None:
            return self._none()
        improver = Improver(self.shop, laid)
        self.best = laid
        self._tell()
        self.finish = sessions_needed(self.shape, self.hours.hours, self.seed)
        self._improve(improver)
        while not self._proven(self.best) and self.hours.running and self.clock.left:
            # the plan is made: what is left of the time goes to the bound
            self.hours.wait(min(1.0, self.clock.left))
        self.finish = max(self.finish, sessions_that_hold(self.shape, self.hours.stop()))
        return self._plan(self.best)

    def _begin(self, hint: Plan | None) -> Laid | None:
        if hint is not None and not faults(self.problem, hint):
            return laid_of(self.shape, hint)
        return first(self.shop, stop=lambda: self.hours.none)

    def _improve(self, improver: Improver) -> None:
        """First the end is brought forward as far as it goes; then less hours are looked for among
        plans that end no later, and an earlier end among plans of no more hours, in turn.

        Whichever aim comes first: a plan drawn together early takes hardly more hours in the end
        (docs/decisions/planning.md), and one that is loose at first never draws together.
        """
        shop, aims = self.shop, self.problem.first
        if "finish" in aims:
            self._draw_together(improver, DRAWN_TOGETHER[aims[0]])
        improver.idle = turn = 0
        while not shop.over() and improver.idle < GIVE_UP:
            turn += 1
            if "hours" in aims and (turn % EVERY or "finish" not in aims):
                self._step(improver, improver.less)
            else:
                self._step(improver, improver.sooner)
                shop.horizon = min(shop.horizon, improver.best.choice.finish)

    def _draw_together(self, improver: Improver, share: float) -> None:
        """The end brought forward, whatever that takes; of plans that end as soon, the lightest.

        share: of the search, and of the time where the machine is too slow for all of the search.
        """
        shop, lightest = self.shop, improver.best
        until, late = share * shop.budget, SLOWER * share * shop.clock.seconds
        while not shop.over(until) and shop.clock.spent < late and improver.idle < ENOUGH_TRIED:
            self._step(improver, improver.sooner, most=ANY)
            lightest = min(lightest, improver.best, key=_early)
        improver.best = lightest
        shop.horizon = lightest.choice.finish

    def _step(self, improver: Improver, attempt: Callable[..., bool], **how: int) -> None:
        """One attempt. Bounds have no say in what is tried: when they come would decide which plan
        comes out."""
        if attempt(**how):
            self._take(improver.best)

    def _take(self, laid: Laid) -> None:
        """Kept where it is the best so far in the owner's order."""
        if self._worth(laid) < self._worth(self.best):
            self.best = laid
            self._tell()

    def _tell(self) -> None:
        if self.heard is not None:
            self.heard(self._plan(self.best))

    def _worth(self, laid: Laid) -> tuple[int, ...]:
        of = {"hours": laid.choice.load, "finish": laid.choice.finish}
        return tuple(of[aim] for aim in self.problem.first)

    def _proven(self, laid: Laid) -> bool:
        """Whether nothing takes less hours."""
        return laid.choice.load / 4 <= self.hours.hours

    def _plan(self, laid: Laid) -> Plan:
        bounds = {"hours": self.hours.hours, "finish": float(self.finish)}
        return self.shop.board.plan(laid, bounds, seconds=self.clock.spent)

    def _none(self) -> NoPlan:
        if self.hours.none or self.shop.none:
            why = ("no plan meets every need",)
        else:
            why = (f"no plan was found in {self.clock.spent:.0f} s; whether there is one is open",)
        return NoPlan(why, (), self.problem.clauses, self.clock.spent)


def _early(laid: Laid) -> tuple[int, int]:
    return laid.choice.finish, laid.choice.load


def _stuck(shape: Shape) -> tuple[str, ...]:
    """Jobs that no session can take, each in words."""
    return tuple(
        f"{name}: no work session has what it needs"
        for name in shape.jobs
        if not any(shape.allowed(f"job:{name}", k) for k in range(len(shape.sessions)))
    )
