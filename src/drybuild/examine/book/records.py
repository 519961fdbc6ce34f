"""What the record holds of hand checks, tightenings, fills and work, and what it still lacks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from drybuild.build.folder import Job
from drybuild.examine.opened import OpenBuild
from drybuild.examine.uses import Owed, records_owed
from drybuild.journal import Deed


@dataclass(frozen=True, slots=True)
class Made:
    """A hand check that was written down. again: it is owed again, for what was changed since."""

    entry: int
    record: str
    title: str
    when: str
    who: str
    evidence: dict[str, Any]
    again: bool


def made(opened: OpenBuild) -> tuple[Made, ...]:
    """Hand checks, oldest first."""
    state, specs = opened.present.state, opened.registry.records
    found = []
    for lift in opened.journal.lifts():
        spec = specs.get(lift.record)
        owed = bool(state.owed(spec.changed, spec.id)) if spec is not None else False
        title = spec.title if spec is not None else lift.record
        found.append(
            Made(lift.id, lift.record, title, lift.at[:10], lift.who, dict(lift.evidence), owed)
        )
    return tuple(found)


def owed(opened: OpenBuild) -> tuple[Owed, ...]:
    """Hand checks that the car as built still lacks."""
    return records_owed(opened.present.state, opened.registry)


def done(opened: OpenBuild) -> tuple[Deed, ...]:
    """Work that was done, oldest first; hand checks are listed by themselves."""
    return tuple(
        deed for deed in opened.journal.deeds() if any(c.kind != "verify" for c in deed.changes)
    )


def still_open(opened: OpenBuild) -> tuple[Job, ...]:
    """Jobs that are planned and not done: no part of what was built."""
    return tuple(job for job in opened.build.jobs if job.id not in opened.present.done)
