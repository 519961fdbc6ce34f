"""The work in few words, for a list: how the car stands, what a session is for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from drybuild.findings.words import use_closure
from drybuild.findings.words import uses as all_uses
from drybuild.show.cards_words import (
    apart_text,
    clock,
    lift_text,
    open_text,
    same_said,
    short_day,
    why_text,
)
from drybuild.show.hours import person_hours, two
from drybuild.show.lines import listed, numbers_text, percent
from drybuild.work.cards import Card
from drybuild.work.model import QUARTERS_AN_HOUR, Aim, Plan, Problem, Session, Step
from drybuild.work.standing import Standing

MOST = 3
"""Reasons that a list gives before it counts the rest."""


@dataclass(frozen=True, slots=True)
class Line:
    """Uses, what is said of them, and what lifts it where they are stopped."""

    uses: str
    said: str
    lift: str = ""
    stopped: bool = False


def brief(car: Standing, cards: Iterable[Card] = (), *, most: int = MOST) -> tuple[Line, ...]:
    """What stands open to the car and what stops the rest, each reason once.

    A use that another one needs is not named beside it.
    """
    known = tuple(cards)
    free, found = _free_lines(car), list[Line]()
    stops = [stop for stop in car.stops if stop.roots]
    shown = stops if len(stops) <= most + 1 else stops[:most]
    for stop in shown:
        lift = lift_text(stop, known)
        found.append(Line(", ".join(stop.roots), why_text(stop), lift, stopped=True))
    rest = stops[len(shown) :]
    if rest:
        uses = dict.fromkeys(u for stop in rest for u in stop.roots)
        said = f"{len(rest)} more reasons"
        found.append(Line(", ".join(uses), said, stopped=True))
    found += _needing(car)
    # of a car that is apart, what is off stands before what is not stopped
    return tuple([*found, *free] if apart_text(car) else [*free, *found])


def far_uses(car: Standing) -> tuple[str, ...]:
    """Uses that nothing stops, without those that another one of them needs."""
    return tuple(u for u in car.open_uses if not any(u in _below(v) for v in car.open_uses))


def _free_lines(car: Standing) -> list[Line]:
    same: dict[tuple[str, ...], list[str]] = {}
    for use in far_uses(car):
        same.setdefault(same_said(car, use), []).append(use)
    return [Line(", ".join(names), open_text(car, names)) for names in same.values()]


def _needing(car: Standing) -> list[Line]:
    """Uses that are stopped only because they need others that are."""
    roots = {u for stop in car.stops for u in stop.roots}
    found: dict[tuple[str, ...], list[str]] = {}
    for use in (u.name for u in all_uses()):
        if use in car.stopped and use not in roots:
            through = tuple(u.name for u in all_uses() if u.name in roots & use_closure(use))
            found.setdefault(through, []).append(use)
    return [
        Line(", ".join(names), f"stopped: needs {' and '.join(through)} first", stopped=True)
        for through, names in found.items()
    ]


def briefest(car: Standing) -> tuple[Line, ...]:
    """The same in two lines: what is free, and all that is stopped, with the first reason."""
    free = tuple(_free_lines(car))
    stops = [stop for stop in car.stops if stop.roots]
    if not stops:
        return free
    uses = [u.name for u in all_uses() if any(u.name in stop.roots for stop in stops)]
    lowest = [u for u in uses if not _below(u) & set(uses)]
    first = next(stop for stop in stops if lowest[0] in stop.roots)
    more = f"; {len(stops) - 1} more" if len(stops) > 1 else ""
    stopped = Line(", ".join(uses), f"{why_text(first)}{more}", stopped=True)
    return (stopped, *free) if apart_text(car) else (*free, stopped)


def _below(use: str) -> set[str]:
    return set(use_closure(use)) - {use}


def when_text(problem: Problem, session: Session) -> str:
    """``Sat 5 Dec, 09:00 to 17:00``."""
    start, end = problem.at(session.start), problem.at(session.end)
    return f"{short_day(start)}, {clock(start)} to {clock(end)}"


def people_text(session: Session) -> str:
    """Who is there."""
    return listed(person.name for person in session.people)


HOW_LIKELY = (
    (0.95, "very likely"), (0.65, "likely"), (0.35, "as likely as not"), (0.05, "unlikely"),
)  # fmt: skip
"""Words for a chance, from so much on; less than the last is ``very unlikely``."""


def in_time_text(problem: Problem, session: Session, chance: float) -> str:
    """``done by 17:00: likely, about 8 in 10``."""
    words = next((said for least, said in HOW_LIKELY if chance >= least), "very unlikely")
    tenths = round(10 * chance)
    share = f"about {tenths} in 10" if 0 < tenths < 10 else (
        "more than 9 in 10" if tenths else "less than 1 in 10"
    )  # fmt: skip
    return f"done by {clock(problem.at(session.end))}: {words}, {share}"


def jobs_of(problem: Problem, steps: Iterable[Step]) -> tuple[str, ...]:
    """Titles of the jobs among these steps."""
    return tuple(problem.jobs[s.what].title for s in steps if s.kind == "job")


def tasks_text(done: int, count: int) -> str:
    """``3 of 20 tasks done``; one that is done alone is just that."""
    tasks = "task" if count == 1 else "tasks"
    if not done:
        return f"{count} {tasks}"
    if done == count:
        return "done" if count == 1 else f"all {count} {tasks} done"
    return f"{done} of {count} {tasks} done"


def open_before_text(cards: Iterable[Card]) -> str:
    """``Cards 1 to 15, 18 come before this one and are not written down``; empty for none."""
    numbers = [card.number for card in cards]
    if len(numbers) < 2:
        return f"Card {numbers[0]} comes before this one and is not written down" if numbers else ""
    return f"Cards {numbers_text(numbers)} come before this one and are not written down"


def ahead_text(day: datetime, days: int) -> str:
    """``Sat 12 Dec is 13 days ahead``; empty for none."""
    if not days:
        return ""
    return f"{short_day(day)} is {'tomorrow' if days == 1 else f'{days} days ahead'}"


WIDE = 0.25
"""A bound so far below what was found says nothing of how good it is."""


def aim_text(problem: Problem, aim: Aim) -> str:
    """One objective with its bound."""
    if aim.name == "hours":
        said, bound = person_hours(aim.value), f"about {two(aim.bound)}"
    else:
        number = int(aim.value)
        last = problem.sessions[number - 1] if number else None
        when = f" on {short_day(problem.at(last.start))}" if last is not None else ""
        said, bound = f"finished in session {number} of {len(problem.sessions)}{when}", ""
        bound = f"session {aim.bound:g}"
    if aim.proven and aim.near:
        better = "does with fewer" if aim.name == "hours" else "is over earlier"
        return f"{said}: none that moves as few jobs {better}"
    if aim.proven and aim.name == "hours":
        return f"{said}: no plan that meets every need does with fewer"
    if aim.proven:
        return f"{said}: no plan with those hours is earlier"
    if aim.name == "hours" and two(aim.bound) == two(aim.value):
        return f"{said}: no plan saves more than {percent(aim.gap)} of them"
    if aim.name != "hours" and aim.bound < 1:  # nothing was shown of it: every session is above 0
        return f"{said}: whether one may be earlier was not found out in the time"
    if aim.name == "hours" and aim.gap > WIDE:
        return f"{said}: whether another does with fewer was not found out in the time"
    return f"{said}: none goes below {bound}; up to {percent(aim.gap)} may still be had"


LITTLE = 0.25
"""Share of its people's hours below which a session that does anything counts as nearly empty."""
NOT_THERE, NO_PARTS = "nobody is there", "no job's parts are there yet"
LATER_PARTS = "the parts of the other jobs come later"
NO_GAIN = "spreading the work saves no hours"


def idle_text(problem: Problem, plan: Plan) -> str:
    """The days for which a plan has nothing, each with why as far as that is known: nobody is
    there, every job waits for its parts, or it was shown that no plan takes fewer hours."""
    names = {step.session for step in plan.steps}
    same: dict[str, list[str]] = {}
    for session in problem.sessions:
        if session.id not in names:
            day = short_day(problem.at(session.start))
            same.setdefault(_idle_why(problem, plan, session), []).append(day)
    said = [f"{', '.join(days)}{f' ({why})' if why else ''}" for why, days in same.items()]
    return f"nothing is planned for {'; '.join(said)}" if said else ""


def little_text(problem: Problem, plan: Plan) -> str:
    """The days that a plan leaves nearly empty, each with why as far as that is known."""
    little = []
    for session in problem.sessions:
        steps = plan.of(session.id)
        there = sum(p.end - p.start for p in session.people)
        work = sum(len(s.who) * (s.end - s.start) for s in steps)
        if work and work < LITTLE * there:  # what others do elsewhere leaves nobody idle
            why = _idle_why(problem, plan, session).replace(NO_PARTS, LATER_PARTS)
            day = short_day(problem.at(session.start))
            done, all_ = two(work / QUARTERS_AN_HOUR), two(there / QUARTERS_AN_HOUR)
            little.append(f"{day}, {done} of {all_} person-hours{f' ({why})' if why else ''}")
    return f"little is planned for {'; '.join(little)}" if little else ""


def _idle_why(problem: Problem, plan: Plan, session: Session) -> str:
    if not any(person.end > person.start for person in session.people):
        return NOT_THERE
    here = {s.what for s in plan.of(session.id) if s.kind == "job"}
    left = [
        job for name, job in problem.jobs.items() if name not in problem.done and name not in here
    ]
    if left and all(job.earliest >= session.end for job in left):
        return NO_PARTS
    fewest = any(aim.name == "hours" and aim.proven and not aim.near for aim in plan.aims)
    return NO_GAIN if fewest and left else ""
