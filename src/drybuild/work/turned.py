"""How far a new plan turns the one before it round: what moved, which days, what it costs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from drybuild.work.happened import Happening
from drybuild.work.model import QUARTERS_AN_HOUR, Plan, Step
from drybuild.work.replan import Moved, TasksMoved


@dataclass(frozen=True, slots=True)
class Turned:
    """Of what was left of the plan before. jobs, tasks: that are on another day; new: jobs that it
    had not; more: tasks that come once more than before.

    changed, same: sessions in which something else is done, and in which the same is. hours,
    hours_before: person-hours left; finish, finish_before: the last session that is used; later:
    than before. least: what any plan takes, one made anew too, or None where that is not known.
    stay: tasks, jobs among them, that keep their session; of: how many were left.
    """

    jobs: int
    tasks: int
    more: int
    changed: tuple[str, ...]
    same: tuple[str, ...]
    hours: float
    hours_before: float
    finish: str
    finish_before: str
    later: bool = False
    least: float | None = None
    stay: int = 0
    of: int = 0
    new: int = 0

    @property
    def worse(self) -> bool:
        """Whether a plan made anew might do with less."""
        return self.hours > self.hours_before or self.later


def turned(
    left: Collection[Step],
    new: Plan,
    jobs: Iterable[Moved],
    tasks: Iterable[TasksMoved],
    least: float | None = None,
) -> Turned:
    """What a new plan makes of the steps that were left of the one before."""
    before, now = _by_session(left), _by_session(new.steps)
    order = sorted({*before, *now}, key=lambda s: min(
        step.start for step in (*left, *new.steps) if step.session == s
    ))  # fmt: skip
    rows, given = list(tasks), [row for row in jobs if row.now]
    return Turned(
        sum(bool(row.before) for row in given),
        sum(len(row.keys) for row in rows if row.before),
        sum(len(row.keys) for row in rows if not row.before),
        tuple(s for s in order if before.get(s) != now.get(s)),
        tuple(s for s in order if before.get(s) == now.get(s)),
        _hours(new.steps), _hours(left), _last(new.steps), _last(left),
        order.index(_last(new.steps)) > order.index(_last(left)) if left and new.steps else False,
        least, sum((before[s] & now[s]).total() for s in before.keys() & now.keys()), len(left),
        sum(not row.before for row in given),
    )  # fmt: skip


TIGHTER = ("late", "away", "shortened", "tool_gone")
"""What only takes away: no plan does with less after it than any did before."""


def least_hours(old: Plan, left: Collection[Step], happened: Iterable[Happening]) -> float | None:
    """Person-hours that any plan takes for what was left of one, of which the rest went as planned.

    None where that is not known: some bounds are of plans near another alone, and what happened may
    have made room.
    """
    aim = next((a for a in old.aims if a.name == "hours"), None)
    if aim is None or aim.near or any(one.kind not in TIGHTER for one in happened):
        return None
    return max(0.0, aim.bound - (_hours(old.steps) - _hours(left)))


def _by_session(steps: Iterable[Step]) -> dict[str, Counter[str]]:
    found: dict[str, Counter[str]] = {}
    for step in steps:
        found.setdefault(step.session, Counter())[step.key] += 1
    return found


def _hours(steps: Iterable[Step]) -> float:
    return sum(len(s.who) * (s.end - s.start) for s in steps) / QUARTERS_AN_HOUR


def _last(steps: Collection[Step]) -> str:
    return max(steps, key=lambda s: s.end).session if steps else ""
