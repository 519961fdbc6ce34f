"""What happened to the plan, in words: what one can say on screen, and what was said."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType
from typing import Any, Final, cast

from drybuild.show.cards_words import short_day
from drybuild.show.hours import hours_text, person_hours, two
from drybuild.show.work_list import when_text
from drybuild.work.fits import Misfit
from drybuild.work.handed import Handed
from drybuild.work.happened import Happening
from drybuild.work.model import Problem, Step, StepKind, ToDo
from drybuild.work.openings import title_of
from drybuild.work.replan import Moved, TasksMoved
from drybuild.work.turned import Turned


@dataclass(frozen=True, slots=True)
class Situation:
    """Something that can happen, as somebody at the car would say it. asks: what must be said."""

    kind: str
    words: str
    asks: tuple[str, ...]


SITUATIONS: Final = (
    Situation("late", "A part comes later, or the wrong one came", ("job", "until")),
    Situation("away", "Somebody is not there", ("person", "session", "clock")),
    Situation("shortened", "A session ends early or falls through", ("session", "end")),
    Situation("extra", "Something broke: there is more to do", ("title", "hours", "at", "comes")),
    Situation("longer", "A task takes longer than thought", ("at", "hours")),
    Situation("tool_gone", "A tool is not to be had", ("tool", "session")),
    Situation("moved", "A booking was moved", ("job", "session")),
    Situation("dropped", "A job is given up", ("job",)),
)


def happened_text(todo: ToDo, one: Happening) -> str:
    """One thing that happened as a sentence. What the work does not know any more is said by id."""
    said = _SAYERS.get(one.kind)
    return said(_Names(todo), one.body) if said is not None else str(one)


class _Names:
    """The names of the work, with an id where there is none."""

    def __init__(self, todo: ToDo) -> None:
        self.todo, self.problem = todo, todo.problem

    def job(self, name: Any) -> str:
        job = self.problem.jobs.get(str(name))
        return job.title if job is not None else str(name)

    def day(self, session: Any) -> str:
        found = next((s for s in self.problem.sessions if s.id == session), None)
        return short_day(self.problem.at(found.start)) if found is not None else str(session)

    def task(self, key: Any) -> str:
        notes = self.todo.notes.get(str(key))
        kind, _, what = str(key).partition(":")
        return notes.title if notes is not None and notes.title else (
            self.job(what) if kind == "job" else str(key)
        )  # fmt: skip

    def hours(self, given: Any) -> str:
        try:
            figures = [float(f) for f in (given if isinstance(given, list | tuple) else [given])]
        except (TypeError, ValueError):
            return str(given)
        if len(figures) == 3 and figures[0] < figures[2]:
            low, likely, high = (hours_text(f) for f in figures)
            return f"{likely}, {low} to {high}"
        return hours_text(figures[len(figures) // 2])


def _date(text: Any) -> str:
    try:
        return short_day(datetime.fromisoformat(str(text)))
    except ValueError:
        return str(text)


def _late(names: _Names, body: Mapping[str, Any]) -> str:
    return f"{names.job(body.get('job'))}: its part comes on {_date(body.get('until'))}"


def _away(names: _Names, body: Mapping[str, Any]) -> str:
    until = body.get("until")
    there = f"comes at {until}" if until else "is not there"
    return f"{body.get('person')} {there} on {names.day(body.get('session'))}"


def _shortened(names: _Names, body: Mapping[str, Any]) -> str:
    day, end = names.day(body.get("session")), body.get("end")
    return f"{day} ends at {end}" if end else f"{day} falls through"


def _worked(names: _Names, body: Mapping[str, Any]) -> str:
    return f"all that was planned for {names.day(body.get('session'))} is done"


def _tool_gone(names: _Names, body: Mapping[str, Any]) -> str:
    session = body.get("session")
    when = f" on {names.day(session)}" if session else ""
    return f"{body.get('tool')} is not to be had{when}"


def _extra(names: _Names, body: Mapping[str, Any]) -> str:
    said = f"more to do: {body.get('title') or body.get('id')}, {names.hours(body.get('hours'))}"
    if body.get("task"):
        said += f", found at: {names.task(body['task'])}"
    return f"{said}; its part comes on {_date(body['until'])}" if body.get("until") else said


def _longer(names: _Names, body: Mapping[str, Any]) -> str:
    return f"{names.task(body.get('task'))} takes {names.hours(body.get('hours'))}"


def _dropped(names: _Names, body: Mapping[str, Any]) -> str:
    return f"{names.job(body.get('job'))} is given up"


def _moved(names: _Names, body: Mapping[str, Any]) -> str:
    return f"{names.job(body.get('job'))} is booked for {names.day(body.get('session'))}"


_SAYERS: Mapping[str, Callable[[_Names, Mapping[str, Any]], str]] = MappingProxyType(
    {
        "late": _late, "away": _away, "shortened": _shortened, "tool_gone": _tool_gone,
        "extra": _extra, "longer": _longer, "dropped": _dropped, "moved": _moved,
        "worked": _worked,
    }
)  # fmt: skip


def moved_text(before: Problem, after: Problem, row: Moved) -> str:
    """A job that is in another session now, with the days and the reason."""
    jobs = after.jobs if row.job in after.jobs else before.jobs
    title = jobs[row.job].title if row.job in jobs else row.job
    was, now = _day(row.before, after, before), _day(row.now, after, before)
    if not row.before:
        where = f"new, on {now}"
    else:
        where = f"from {was} to {now}" if row.now else f"no longer on {was}"
    if not row.why:
        return f"{title}: {where}"
    return f"{title}: {where}, {row.why if row.why.startswith('to ') else f'because {row.why}'}"


NOTHING_MOVES = "Nothing moves to another session"

SAME = "for the same reason"
LONG = 60
"""Letters of a reason that is not said once more in the line under it."""


def moved_lines(before: Problem, after: Problem, rows: Iterable[Moved]) -> list[str]:
    """All that moved; a long reason that several have is said in full with the first of them."""
    said: set[str] = set()
    lines = []
    for row in rows:
        again = row.why in said and len(row.why) > LONG
        said.add(row.why)
        line = moved_text(before, after, row)
        lines.append(line.removesuffix(row.why).removesuffix("because ") + SAME if again else line)
    return lines


def turned_lines(before: Problem, after: Problem, found: Turned, anew: str) -> list[str]:
    """How far a new plan turns the one before it round, and what it costs. anew: how one is made
    that is not kept near, empty of one that is not."""

    def days(sessions: Iterable[str]) -> str:
        return ", ".join(_day(session, after, before) for session in sessions)

    counts = ((found.jobs, "job", "on another day"), (found.tasks, "task", "on another day"),
              (found.new, "job", "new"), (found.more, "task", "once more"))  # fmt: skip
    moves = [f"{n} {what}{'' if n == 1 else 's'} {where}" for n, what, where in counts if n]
    if found.jobs and found.tasks:
        moves[:2] = [f"{moves[0].removesuffix(' on another day')} and {moves[1]}"]
    if moves and found.of:
        near = "" if 2 * found.stay >= found.of else "not near: "
        moves = [f"{near}{found.stay} of {found.of} tasks keep their day", *moves]
    said = [*moves, f"other work than before on {days(found.changed)}"] if found.changed else moves
    said += [f"the same work on {days(found.same)}"] if found.same and found.changed else []
    more = found.hours - found.hours_before
    amount = f"{two(abs(more))} {'more' if more > 0 else 'fewer'} than" if more else "as many as"
    late = f", before on {days([found.finish_before])}" if found.finish_before else ""
    end = ", as before" if found.finish == found.finish_before else late
    lines = ["; ".join(said)] if said else []
    if found.finish:
        lines.append(f"{person_hours(found.hours)} left, {amount} in the plan before; "
                     f"finished on {days([found.finish])}{end}")  # fmt: skip
    return [*lines, _anew_text(found, anew)] if found.worse and anew else lines


def _anew_text(found: Turned, anew: str) -> str:
    """What is known of a plan that is not kept near, which was not looked for."""
    if found.least is None:
        return f"whether a plan made anew does with less is not known: {anew}"
    if found.hours <= found.least + 1e-9:
        return f"no plan does with fewer hours; whether one is over earlier is not known: {anew}"
    return (
        f"a plan made anew takes {person_hours(found.least)} at least; whether fewer than this one "
        f"is not known: {anew}"
    )


MOST_TASKS = 4
"""Tasks of one way that are named before the rest is counted."""


def moved_tasks_lines(before: Problem, after: ToDo, rows: Iterable[TasksMoved]) -> list[str]:
    """What moved beside jobs: ``tasks from Sat 5 Dec to Sat 12 Dec: front wheels on``."""
    lines = []
    for row in rows:
        titles = [task_title(after, key) for key in row.keys]
        more = len(titles) - MOST_TASKS
        said = "; ".join(titles[:MOST_TASKS] if more > 1 else titles)
        said += f"; {more} more" if more > 1 else ""
        was, now = _day(row.before, after.problem, before), _day(row.now, after.problem, before)
        tasks = "task" if len(titles) == 1 else "tasks"
        where = f"{tasks} from {was} to {now}" if row.before else f"once more, on {now}"
        why = row.why if row.why.startswith("for ") or not row.why else f"because {row.why}"
        lines.append(f"{where}: {said}" + (f", {why}" if why else ""))
    return lines


MOST_HANDED = 6
"""Changes of hands that are said before the rest is counted."""


def handed_lines(todo: ToDo, rows: Sequence[Handed]) -> list[str]:
    """Who does otherwise what stays in its session: ``Sat 5 Dec: Marten in place of Ilse: feed line
    and filter``."""
    lines = []
    for row in rows[:MOST_HANDED]:
        titles = [task_title(todo, key) for key in row.keys]
        more = len(titles) - MOST_TASKS
        said = "; ".join(titles[:MOST_TASKS] if more > 1 else titles)
        said += f"; {more} more" if more > 1 else ""
        before, now = (" and ".join(who) or "nobody" for who in (row.before, row.now))
        lines.append(f"{_day(row.session, todo.problem)}: {now} in place of {before}: {said}")
    rest = sum(len(row.keys) for row in rows[MOST_HANDED:])
    return [*lines, f"{rest} more task{'s' * (rest > 1)} in other hands"] if rest else lines


def task_title(todo: ToDo, key: str) -> str:
    """What a task of the work is, by its key."""
    kind, _, what = key.partition(":")
    return title_of(todo.problem, Step(cast(StepKind, kind), what, "", 0, 0), todo.notes)


def misfit_text(problem: Problem, found: Misfit) -> str:
    """Where a plan no longer fits the sessions, in words."""
    day, many = short_day(problem.at(found.at)), found.tasks
    tasks = f"{many} task{'s' if many != 1 else ''}"
    if found.kind == "gone":
        return f"{tasks} planned for {day}, and the session {found.session} is gone"
    if found.kind == "away":
        return f"{tasks} planned with {found.who} on {day}, who is not there then"
    session = next(s for s in problem.sessions if s.id == found.session)
    if session.start == session.end:
        return f"{tasks} planned for {day}, which falls through"
    now = when_text(problem, session)
    return f"{tasks} planned for {day}, outside the session as it is now: {now}"


def _day(session: str, *problems: Problem) -> str:
    for problem in problems:
        for one in problem.sessions:
            if one.id == session:
                return short_day(problem.at(one.start))
    return session
