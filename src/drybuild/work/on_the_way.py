"""What a measurement would settle on the way of a plan, though it settles nothing of the car when
it is finished: the days in between have states of their own."""

from __future__ import annotations

from dataclasses import dataclass

from drybuild.work.lessons import Lessons
from drybuild.work.model import Step, ToMeasure
from drybuild.work.sheets import Sheets
from drybuild.work.standing import Stop
from drybuild.work.supposed import to_measure

MOST_DAYS = 3
"""Sessions whose end is looked at closely: each takes a second or two."""


@dataclass(frozen=True, slots=True)
class OnTheWay:
    """A session after which checks stop a use that nobody can answer yet, and did not before it.

    measure: what would settle them, what settles most for its minutes first; by: the step of the
    plan that lifts the last of them without, None where none does.
    """

    session: str
    stops: tuple[Stop, ...]
    measure: tuple[ToMeasure, ...]
    by: Step | None


def on_the_way(found: Sheets, lessons: Lessons) -> tuple[OnTheWay, ...]:
    """The sessions after which something new cannot be answered, the first few of them."""
    known: set[tuple[str, str]] = set()
    days: list[OnTheWay] = []
    for session, car in found.ends.items():
        stops = tuple(
            s for s in car.stops
            if s.kind == "check" and s.waits_for and s.roots and (s.what, s.why) not in known
        )  # fmt: skip
        known.update((s.what, s.why) for s in stops)
        if not stops or len(days) == MOST_DAYS:
            continue
        measure = to_measure(lessons, frozenset(car.done), {s.what for s in stops})
        steps = [s.by for s in stops]
        last = None if None in steps else max((s for s in steps if s), key=lambda s: s.end)
        days.append(OnTheWay(session, stops, measure, last))
    return tuple(days)
