"""A build with its work before it: what is to do from a day on, as it went so far."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from drybuild.examine import Examination, OpenBuild
from drybuild.work.happened import Happening, HappeningRefused, after_happenings
from drybuild.work.lessons import Lessons
from drybuild.work.model import Plan, Problem, Step, ToDo
from drybuild.work.reading import First, to_do
from drybuild.work.risk import Learned, learn, worked_from
from drybuild.work.standing import Standing, check_stops, standing


@dataclass(frozen=True)
class AtHand:
    """A build with its work and what examines it. as_of: the moment from which one plans."""

    opened: OpenBuild
    todo: ToDo
    lessons: Lessons
    as_of: datetime

    @property
    def name(self) -> str:
        """What the build is called."""
        return self.opened.build.head.name

    def learned(self) -> Learned:
        """What finished work taught of people and of the car's regions."""
        done = worked_from(
            self.todo.problem, self.opened.journal.work(), finished=self.todo.finished
        )
        return learn(done, age=self.todo.age)


def at_hand(
    opened: OpenBuild,
    *,
    as_of: datetime | None = None,
    percentile: float | None = None,
    first: First | None = None,
) -> AtHand:
    """The work of an open build from a moment on; unset: from now. Raises WorkFaults."""
    now = as_of or planned_from(opened)
    todo = to_do(opened, percentile=percentile, first=first, now=now)
    todo = replace(todo, problem=as_it_went(opened, todo.problem))
    lessons = Lessons(opened.state("now"), opened.registry, todo.problem.jobs)
    return AtHand(opened, todo, lessons, now or datetime.now())


def stands_now(hand: AtHand, now: Examination, done: Iterable[Step] = ()) -> Standing:
    """The car as it stands. now: the present examined.

    done: steps that were finished since the work of ``hand`` was read. What is off and what is left
    undone is the library's to judge, so that nothing is said twice; a hand check that is owed stops
    its uses, as it does nowhere but in the present.
    """
    problem, steps = hand.todo.problem, tuple(sorted(done, key=lambda step: step.end))
    quarter = int((hand.as_of - problem.zero) / timedelta(minutes=15))
    at = max([quarter, *(step.end for step in steps)])
    car = standing(problem, Plan(steps, (), ()), at, lessons=hand.lessons, notes=hand.todo.notes)
    told = tuple(s for s in car.stops if s.kind in ("off", "pending"))
    checks = tuple(s for s in check_stops(now) if not s.what.startswith(("open.", "left.")))
    return replace(car, stops=(*told, *checks))


def planned_from(opened: OpenBuild, now: datetime | None = None) -> datetime | None:
    """The moment from which one plans: now; in an example its own day, None if it is no day.

    An example's day moves on with the work that its journal says was done.
    """
    stated = opened.build.work.as_of
    if not stated:
        return now or datetime.now()
    try:
        begins = datetime.fromisoformat(stated).replace(tzinfo=None)
    except ValueError:  # what reads the work says so, with its line
        return None
    ended = [datetime.fromisoformat(w.ended) for w in opened.journal.work() if w.ended]
    return max([begins, *(e.replace(tzinfo=None) for e in ended)])


def as_it_went(opened: OpenBuild, problem: Problem) -> Problem:
    """The problem with what the journal says happened, as far as it still bears on it."""
    for entry in opened.journal.work():
        if not entry.of_task:
            try:
                problem = after_happenings(problem, (Happening(entry.what, entry.more),))
            except HappeningRefused:  # its session is over, or its job is done
                continue
    return problem
