"""What is left of a plan once some of it is written down: hours, and the day on which it ends."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from drybuild.journal import WorkEntry
from drybuild.show.cards_words import short_day
from drybuild.show.hours import two
from drybuild.work.model import QUARTERS_AN_HOUR, Plan, Problem, Step

AS_MADE = "what follows is counted of the plan as it was made"


def left_now_text(
    problem: Problem,
    plan: Plan,
    done: Collection[Step],
    stopped: Mapping[str, WorkEntry],
    late: bool = False,
) -> str:
    """``left: about 41 of 76 person-hours; it ends on Sat 16 Jan``; empty before the first tick and
    after the last.

    done: steps that are written down; stopped: by ``Step.key``, what was begun and left, with its
    hours; late: whether a session is over and not all of it is written down, so that the plan's
    last day is not to be relied on.
    """
    over = set(done)
    left = [step for step in plan.steps if step not in over]
    if not left or not (over or stopped):
        return ""
    known = {key: entry.left for key, entry in stopped.items() if entry.left is not None}
    hours = sum(
        len(s.who) * known.get(s.key, (s.end - s.start) / QUARTERS_AN_HOUR) for s in left
    )
    whole = sum(len(s.who) * (s.end - s.start) for s in plan.steps) / QUARTERS_AN_HOUR
    last = max(left, key=lambda step: step.end)
    day = short_day(problem.at(last.end))
    ends = f"the plan ends on {day}, and no longer holds: plan again" if late else (
        f"it ends on {day}"
    )  # fmt: skip
    return f"left: about {two(hours)} of {two(whole)} person-hours; {ends}"
