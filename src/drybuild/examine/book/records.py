"""What the record holds of hand checks, tightenings, fills and work, and what it still lacks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from drybuild.build import Change
from drybuild.build.folder import Job
from drybuild.examine.opened import OpenBuild
from drybuild.examine.recording import undone_by
from drybuild.examine.uses import Owed, records_owed
from drybuild.journal.together import with_deeds


@dataclass(frozen=True, slots=True)
class Worked:
    """Something that was done. people: who did it; wrote: who wrote it down. task: as the journal
    has it, or empty. changes: what it made of the car. title: of more to do that was found on the
    way and stands in no file."""

    entries: tuple[int, ...]
    when: str
    people: tuple[str, ...]
    wrote: str
    task: str
    changes: tuple[Change, ...]
    title: str = ""


@dataclass(frozen=True, slots=True)
class Made:
    """A hand check that was written down. again: the check is owed as the car stands. void: the
    entry of the first work after it on what it looked at, by which it holds no more; 0 for none."""

    entry: int
    record: str
    title: str
    when: str
    who: str
    evidence: dict[str, Any]
    again: bool
    void: int = 0


def made(opened: OpenBuild) -> tuple[Made, ...]:
    """Hand checks, oldest first."""
    state, specs = opened.present.state, opened.registry.records
    gone = undone_by(opened.journal.deeds(), specs)
    found = []
    for lift in opened.journal.lifts():
        spec = specs.get(lift.record)
        owed = bool(state.owed(spec.changed, spec.id)) if spec is not None else False
        title = spec.title if spec is not None else lift.record
        by = gone.get((lift.id, lift.record))
        found.append(Made(
            lift.id, lift.record, title, lift.at[:10], lift.who, dict(lift.evidence), owed,
            by.id if by is not None else 0,
        ))  # fmt: skip
    return tuple(found)


def owed(opened: OpenBuild) -> tuple[Owed, ...]:
    """Hand checks that the car as built still lacks."""
    return records_owed(opened.present.state, opened.registry)


def done(opened: OpenBuild) -> tuple[Worked, ...]:
    """What was done, oldest first: finished tasks, each with what it made of the car, and deeds
    that were written down by themselves. Hand checks are listed apart."""
    deeds = {deed.id: deed for deed in opened.journal.deeds()}
    more = {
        f"job:{e.more['id']}": str(e.more.get("title", "")) for e in opened.journal.work()
        if e.what == "extra" and e.more.get("id")
    }  # fmt: skip
    found = []
    for entry, mate in with_deeds(opened.journal.standing()):
        deed = deeds.get(entry.id if mate is None else mate.id)
        changes = tuple(c for c in deed.changes if c.kind != "verify") if deed is not None else ()
        ids = (entry.id, *([mate.id] if mate is not None else []))
        if entry.kind == "work" and entry.body["what"] == "done":
            people = tuple(entry.body.get("people") or (entry.who,))
            task = str(entry.body.get("task", ""))
            title = more.get(task, "")
            found.append(Worked(ids, entry.at[:10], people, entry.who, task, changes, title))
        elif changes and deed is not None:
            task = f"job:{deed.job}" if deed.job else ""
            found.append(Worked(ids, entry.at[:10], (entry.who,), entry.who, task, changes))
    return tuple(sorted(found, key=lambda one: (one.when, one.entries)))


def still_open(opened: OpenBuild) -> tuple[Job, ...]:
    """Jobs that are planned and not done: no part of what was built."""
    return tuple(job for job in opened.build.jobs if job.id not in opened.present.done)
