"""How many pieces of a part a job fits: one at each place, of wheel nuts as many as the hub has."""

from __future__ import annotations

from drybuild.build import Build
from drybuild.build.errors import ChangeRefused
from drybuild.build.state import instances_of
from drybuild.work.model import Job

BY_THE_HUB = ("wheel_nut", "wheel_stud")
"""Kinds of which a part stands for all that one corner has."""


def counted(job: Job, part: str, build: Build | None = None) -> int:
    """Pieces that a job fits of a part; 1 where its Changes do not say. build: for how many studs
    a hub has; without it, or where nobody stated it, a corner's are counted as one."""
    several = build is not None and of_a_corner(build, part)
    pieces = 0
    for change in job.changes:
        if change.kind == "fit" and change.value == part:
            try:
                places = instances_of(change.target)
            except ChangeRefused:
                places = (change.target,)
            pieces += sum(_at(build, place) if build and several else 1 for place in places)
    return max(1, pieces)


def of_a_corner(build: Build, part: str) -> bool:
    """Whether a part stands for all the nuts or studs of one corner: its price is for those."""
    return getattr(build.parts.get(part), "kind", "") in BY_THE_HUB


def _at(build: Build, place: str) -> int:
    corner = place.partition(".")[2]
    stated = build.stated.get(f"corner.{corner}.bolt_count")
    found = stated.value if stated is not None else 1
    return found if isinstance(found, int) else 1
