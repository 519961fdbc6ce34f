"""What goes wrong, as data, and what it makes of the work that is left.

late       a part comes later: ``job``, ``until`` (date)
away       somebody is not there: ``person``, ``session``; ``until`` (time of day) if only at first
worked     all that was planned for a session is done before its day: ``session`` is over, and so
           is what came before it
shortened  a session ends early: ``session``, ``end`` (time of day); without ``end`` it is lost
tool_gone  a tool is not to be had: ``tool``; in ``session``, or in none when that is left out
extra      something more to do (a broken stud): ``id``, ``title``, ``hours``; ``task``: the task
           at which it was found, whose component must be off for it; ``until`` when its parts come
           later; ``price``
longer     a task takes longer than thought: ``task``, ``hours``
dropped    a job is given up: ``job``
moved      a booking is moved: ``job``, ``session``
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from types import MappingProxyType
from typing import Any, cast

from drybuild.build.errors import nearest
from drybuild.values import ValueFault, typed_number
from drybuild.work.model import (
    QUARTERS_AN_HOUR,
    Component,
    Condition,
    Effect,
    Hours,
    Job,
    Plan,
    Problem,
    Requirement,
    Session,
    Work,
)
from drybuild.work.present import with_sessions

MOST_PEOPLE = 20


class HappeningRefused(Exception):
    """It names something that the work does not know, or lacks what it must say. field: which of
    what it says, where it is one."""

    def __init__(self, said: str, *, field: str = "") -> None:
        super().__init__(said)
        self.field = field


@dataclass(frozen=True, slots=True)
class Happening:
    """One thing that happened. kind and body as in the module's table."""

    kind: str
    body: Mapping[str, Any]

    def __str__(self) -> str:
        said = ", ".join(f"{key} {value}" for key, value in self.body.items())
        return f"{self.kind.replace('_', ' ')}: {said}"


def after_happenings(problem: Problem, happened: Iterable[Happening]) -> Problem:
    """The problem with all of this taken into account, in order. Raises HappeningRefused."""
    for one in happened:
        make = _MAKERS.get(one.kind)
        if make is None:
            known = ", ".join(_MAKERS)
            raise HappeningRefused(f"nothing is known of {one.kind!r}; known: {known}")
        problem = make(problem, _Body(one))
    return problem


def refuse_past(told: Happening, today: date) -> None:
    """A part that is still to come does not come on a day that is over. Raises HappeningRefused."""
    given = told.body.get("until") if told.kind in ("late", "extra") else None
    try:
        day = date.fromisoformat(str(given)) if given else None
    except ValueError:  # no date: said by whoever reads it
        return
    if day is not None and day < today:
        raise HappeningRefused(
            f"{told.kind}: found {day}, which is past; expected the day on which it comes. What is "
            "here already has no day", field="until",
        )  # fmt: skip


def _number(given: Any) -> float:
    """A figure as it was typed, or as it came from JSON."""
    return typed_number(given) if isinstance(given, str) else float(given)


class _Body:
    """What a happening says, with an error that names what it lacks."""

    def __init__(self, happening: Happening) -> None:
        self.kind, self.body = happening.kind, happening.body

    def word(self, key: str) -> str:
        if not self.body.get(key):
            raise HappeningRefused(f"{self.kind}: {key} is not said", field=key)
        return str(self.body[key])

    def one_of(self, key: str, known: Iterable[str]) -> str:
        names = tuple(known)
        name = self.word(key)
        if name not in names:
            hint = nearest(name, names)
            raise HappeningRefused(f"{self.kind}: no {key} {name!r}. {hint}".strip(), field=key)
        return name

    def get(self, key: str) -> Any:
        return self.body.get(key)

    def hours(self) -> Hours:
        given: Any = self.body.get("hours")
        figures: list[Any] = list(given) if isinstance(given, list | tuple) else [given]
        try:
            numbers = [_number(f) for f in figures]
            low, likely, high = numbers if len(numbers) == 3 else numbers * 3
            fine = 0 <= low <= likely <= high < math.inf
        except (TypeError, ValueError, ValueFault):
            fine = False
        if not fine:
            raise HappeningRefused(
                f"{self.kind}: found hours {given!r}, expected one figure or low, likely, high",
                field="hours",
            )
        return Hours(low, likely, high)

    def figure(self, key: str) -> float:
        """A number that need not be said: 0 then."""
        given = self.body.get(key) or 0.0
        try:
            found = _number(given)
        except (TypeError, ValueError, ValueFault):
            found = math.nan
        if not 0 <= found < math.inf:
            raise HappeningRefused(
                f"{self.kind}: found {key} {given!r}, expected a number, such as 2.5"
            )
        return found

    def people(self) -> int:
        """How many hands a task wants; one where nothing is said."""
        found = self.figure("people") or 1.0
        if found != int(found) or found > MOST_PEOPLE:
            raise HappeningRefused(
                f"{self.kind}: found people {self.body['people']!r}, expected a whole number, "
                f"{MOST_PEOPLE} at the most"
            )
        return int(found)

    def quarter(self, problem: Problem, key: str) -> int:
        """The quarter of a date (its midnight) or of a moment."""
        text = self.word(key)
        try:
            when = datetime.fromisoformat(text)
        except ValueError:
            raise HappeningRefused(
                f"{self.kind}: found {key} {text!r}, expected a date yyyy-mm-dd"
            ) from None
        return round((when - problem.zero).total_seconds() / 900)

    def time_of_day(self, problem: Problem, key: str, session: Session) -> int:
        """The quarter at which a time of day falls on the day of a session."""
        text = self.word(key)
        try:
            moment = datetime.strptime(text, "%H:%M")
        except ValueError:
            raise HappeningRefused(
                f"{self.kind}: found {key} {text!r}, expected a time of day hh:mm"
            ) from None
        day: date = problem.at(session.start).date()
        midnight = datetime.combine(day, datetime.min.time(), problem.zero.tzinfo)
        hours = moment.hour + moment.minute / 60
        since = (midnight - problem.zero).total_seconds() / 900
        return round(since + hours * QUARTERS_AN_HOUR)


def _late(problem: Problem, body: _Body) -> Problem:
    job = problem.jobs[body.one_of("job", problem.jobs)]
    return _with_job(problem, replace(job, earliest=body.quarter(problem, "until")))


def _away(problem: Problem, body: _Body) -> Problem:
    session = problem.session(body.one_of("session", (s.id for s in problem.sessions)))
    person = body.one_of("person", (p.name for p in session.people))
    people = []
    for presence in session.people:
        if presence.name != person:
            people.append(presence)
        elif body.get("until"):
            back = body.time_of_day(problem, "until", session)
            if back < presence.end:
                people.append(replace(presence, start=max(back, presence.start)))
    return _with_session(problem, replace(session, people=tuple(people)))


def _shortened(problem: Problem, body: _Body) -> Problem:
    session = problem.session(body.one_of("session", (s.id for s in problem.sessions)))
    end = body.time_of_day(problem, "end", session) if body.get("end") else session.start
    end = min(max(end, session.start), session.end)
    people = tuple(
        replace(p, end=min(p.end, end)) for p in session.people if p.start < min(p.end, end)
    )
    return _with_session(problem, replace(session, end=end, people=people))


def _worked(problem: Problem, body: _Body) -> Problem:
    session = problem.session(body.one_of("session", (s.id for s in problem.sessions)))
    return with_sessions(problem, (s for s in problem.sessions if s.end > session.end))


def worked_ahead(
    problem: Problem, plan: Plan, session: str, done: Collection[str], *, now: datetime
) -> Happening | None:
    """That a session's plan is done before the session is over; None where it is not.

    done: keys of what is done beside what was done before. Its people do not work twice.
    """
    steps = plan.of(session)
    ahead = any(s.id == session and problem.at(s.end) > now for s in problem.sessions)
    if not steps or not ahead or any(step.key not in done for step in steps):
        return None
    return Happening("worked", {"session": session})


def _tool_gone(problem: Problem, body: _Body) -> Problem:
    tool = body.one_of("tool", sorted({t for s in problem.sessions for t in s.tools}))
    named = body.get("session")
    if named:
        body.one_of("session", (s.id for s in problem.sessions))
    sessions = tuple(
        replace(s, tools=s.tools - {tool}) if named in (None, "", s.id) else s
        for s in problem.sessions
    )
    return replace(problem, sessions=sessions)


def _extra(problem: Problem, body: _Body) -> Problem:
    name = body.word("id")
    if name in problem.jobs or name in problem.done:
        raise HappeningRefused(f"extra: there is a job {name!r} already")
    needs: tuple[Requirement, ...] = ()
    region = ""
    task = str(body.get("task") or "")
    kind, _, what = task.partition(":")
    if kind in ("take", "refit") and what in problem.components:
        needs = (((Condition("off", what),),),)
        region = problem.components[what].region
    elif kind == "job" and what in problem.jobs:
        needs = problem.jobs[what].work.needs
        region = problem.jobs[what].region
    elif task:
        raise HappeningRefused(_no_task("extra", problem, task))
    job = Job(
        name, str(body.get("title") or name), "fit", region,
        Work(body.hours(), body.people(), needs),
        earliest=body.quarter(problem, "until") if body.get("until") else 0,
        price=body.figure("price"),
    )  # fmt: skip
    return _with_job(problem, job)


def _longer(problem: Problem, body: _Body) -> Problem:
    task, hours = body.word("task"), body.hours()
    kind, _, what = task.partition(":")
    if kind == "job" and what in problem.jobs:
        job = problem.jobs[what]
        return _with_job(problem, replace(job, work=replace(job.work, hours=hours)))
    if kind in ("take", "refit") and what in problem.components:
        component: Component = problem.components[what]
        work = component.take if kind == "take" else component.refit
        changed = {kind: replace(work, hours=hours)}
        found = replace(component, **cast(Any, changed))
        return replace(problem, components={**problem.components, what: found})
    effect = problem.effects.get(what) if kind == "clear" else None
    if effect is None or effect.clearing is None:
        raise HappeningRefused(_no_task("longer", problem, task))
    return _with_clearing(problem, effect, effect.clearing, hours)


def _no_task(kind: str, problem: Problem, task: str) -> str:
    known = [f"job:{name}" for name in problem.jobs]
    known += [f"{verb}:{name}" for verb in ("take", "refit") for name in problem.components]
    known += [f"clear:{name}" for name, effect in problem.effects.items() if effect.clearing]
    return f"{kind}: no task {task!r}. {nearest(task, known)}".strip()


def _with_clearing(problem: Problem, effect: Effect, clearing: Job, hours: Hours) -> Problem:
    made = replace(clearing, work=replace(clearing.work, hours=hours))
    changed = replace(effect, clearing=made)
    return replace(problem, effects={**problem.effects, effect.id: changed})


def _dropped(problem: Problem, body: _Body) -> Problem:
    name = body.one_of("job", problem.jobs)
    if problem.jobs[name].fixed:
        raise HappeningRefused(
            f"dropped: {name} is never left out: bleeding, tightening, leak and road checks stay"
        )
    jobs = {
        k: replace(j, after=tuple(a for a in j.after if a.job != name))
        for k, j in problem.jobs.items()
        if k != name
    }
    clauses = tuple(
        replace(c, not_done=c.not_done - {name}) for c in problem.clauses if name not in c.done
    )
    return replace(problem, jobs=jobs, clauses=clauses)


def _moved(problem: Problem, body: _Body) -> Problem:
    job = problem.jobs[body.one_of("job", problem.jobs)]
    session = body.one_of("session", (s.id for s in problem.sessions))
    return _with_job(problem, replace(job, sessions=(session,)))


def _with_job(problem: Problem, job: Job) -> Problem:
    return replace(problem, jobs={**problem.jobs, job.id: job})


def _with_session(problem: Problem, changed: Session) -> Problem:
    sessions = tuple(changed if s.id == changed.id else s for s in problem.sessions)
    return replace(problem, sessions=sessions)


_MAKERS: Mapping[str, Callable[[Problem, _Body], Problem]] = MappingProxyType(
    {
        "late": _late, "away": _away, "shortened": _shortened, "tool_gone": _tool_gone,
        "extra": _extra, "longer": _longer, "dropped": _dropped, "moved": _moved,
        "worked": _worked,
    }
)  # fmt: skip

KINDS = tuple(_MAKERS)
"""Every kind of thing that can happen."""
