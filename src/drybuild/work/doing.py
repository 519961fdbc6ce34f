"""What was worked, written down: the work itself, and what it makes of the car, all or none.

The command line and the screen write through here, so that both mean the same by *done*.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from drybuild.build import Build, Change, ChangeRefused, UnknownName, job_changes
from drybuild.examine import OpenBuild
from drybuild.journal import Entry, Journal, present
from drybuild.journal.entries import change_rows
from drybuild.work.model import Problem

Judge = Callable[[Journal], None]


class DoneRefused(Exception):
    """What is told cannot be written down, or taken back; the text says why. field: which part of
    what was told is amiss, or empty where it is the plan, the name or the work."""

    def __init__(self, said: str, *, field: str = "") -> None:
        super().__init__(said)
        self.field = field


@dataclass(frozen=True)
class Told:
    """One task as it was told. started, ended: ISO, or empty. hours: of the clock, None unless
    somebody said so. left: hours still wanted when it was stopped, None when it is done."""

    task: str
    started: str
    ended: str
    people: tuple[str, ...]
    hours: float | None = None
    left: float | None = None
    words: str = ""


def day_told(text: str, *, now: datetime) -> date:
    """A day that somebody says work was done on. Raises DoneRefused for one that has not come."""
    try:
        day = date.fromisoformat(text.strip())
    except ValueError:
        raise DoneRefused(
            f"found {text.strip()!r}, expected a day: yyyy-mm-dd", field="day"
        ) from None
    if day > now.date():
        raise DoneRefused(
            f"found {day}, expected the day it was done, today, {now.date()}, or before",
            field="day",
        )
    return day


def ended_at(
    planned: datetime, *, now: datetime, day: date | None = None, as_planned: bool = False
) -> datetime:
    """When a task that is done counts as ended: now, or when the plan has it end, on the day that
    was told or, where as_planned, on its own. Never later than now: a plan is no record."""
    if day is None and not as_planned:
        return now
    return min(planned if day is None else datetime.combine(day, planned.time()), now)


def write_done(
    opened: OpenBuild,
    problem: Problem,
    told: Sequence[Told],
    *,
    who: str,
    judge: Judge | None = None,
) -> tuple[Entry, ...]:
    """Write all of it or none; returns the entries of the work.

    judge: looks at the journal when nobody else can write any more, and raises what stands against
    it. Raises ChangeRefused where the car does not take what was done, EntryRefused.
    """
    written = []
    with opened.journal.together() as journal:
        if judge is not None:
            judge(journal)
        state = present(opened.build, journal).state
        for one in told:
            changes = changes_of(opened.build, problem, one)
            state = state.after(changes)
            written.append(_worked(journal, one, changes, who))
    return tuple(written)


def _worked(journal: Journal, one: Told, changes: tuple[Change, ...], who: str) -> Entry:
    stopped = one.left is not None
    day = one.ended[:10]
    entry = journal.worked(
        one.task, who=who, people=one.people, started=one.started,
        ended="" if stopped else one.ended, hours=one.hours,
        what="stopped" if stopped else "done", left=one.left, words=one.words, at=day,
    )  # fmt: skip
    if changes:
        job = one.task.removeprefix("job:") if one.task.startswith("job:") else ""
        journal.did(changes, who=who, job=job, at=day)
    return entry


def changes_of(build: Build, problem: Problem, told: Told) -> tuple[Change, ...]:
    """What a finished task makes of the car, so that ``check --state now`` knows of it.

    A component that stops nothing while it is off is not worth a word there.
    """
    if told.left is not None:
        return ()
    kind, _, name = told.task.partition(":")
    if kind in ("take", "refit"):
        component = problem.components[name]
        if not component.stops:
            return ()
        said = {"title": component.title, "stops": list(component.stops)}
        return (Change("open", name, said) if kind == "take" else Change("close", name),)
    try:
        return job_changes(build.job(name)) if kind == "job" else ()
    except UnknownName:  # extra work that only the journal knows of
        return ()


def fitted_by(build: Build, told: Iterable[Told]) -> tuple[Change, ...]:
    """What finished jobs among tasks made of the car."""
    jobs = {job.id for job in build.jobs}
    names = [one.task.removeprefix("job:") for one in told if one.left is None]
    return tuple(change for n in names if n in jobs for change in job_changes(build.job(n)))


def take_back(
    opened: OpenBuild, problem: Problem, entry: int, *, who: str, why: str = ""
) -> tuple[Entry, ...]:
    """Take back work that was written down, and the deed that was written with it.

    Both stay readable; the entries that take them back are returned. Raises DoneRefused when the
    entry is no work that stands, or later work rests on it; EntryRefused.
    """
    with opened.journal.together() as journal:
        standing = journal.standing()
        work = next((e for e in standing if e.id == entry), None)
        if work is None or work.kind != "work" or not work.body.get("task"):
            raise DoneRefused(f"entry {entry} is no work that stands: it was taken back already")
        found = [work, *_deed_of(opened.build, problem, work, standing)]
        undone = [journal.undo(e.id, who=who, why=why) for e in reversed(found)]
        try:
            present(opened.build, journal)
        except ChangeRefused as error:
            said = "what was written down after it rests on it: take that back first"
            raise DoneRefused(f"{said} ({error})") from None
    return tuple(undone)


def _deed_of(build: Build, problem: Problem, work: Entry, standing: Iterable[Entry]) -> list[Entry]:
    """The deed that ``_worked`` wrote after this work."""
    told = Told(str(work.body["task"]), "", "", ())
    if work.body.get("what") != "done":
        return []
    meant = change_rows(changes_of(build, problem, told))
    return [
        e for e in standing
        if e.id == work.id + 1 and e.kind == "deed" and e.body["changes"] == meant
    ]  # fmt: skip
