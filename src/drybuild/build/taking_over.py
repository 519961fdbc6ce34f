"""What becomes of the open jobs when a draft is kept that changes what one of them fits.

Two jobs that fit the same place would both be planned, and done. So what a draft puts at a place
for which there is a job already goes into that job, in place of the part that it would have fitted.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from drybuild.build.folder import Job
from drybuild.build.kinds import room_of
from drybuild.build.state import Change, instances_of
from drybuild.findings import AXLES


@dataclass(frozen=True, slots=True)
class TakenOver:
    """fit: id of a job → all that it fits from now on, place → part; with_it: Changes that join the
    first of these, where what it fits is changed in it alone; rest: Changes that make a job of
    their own; instead: id of a job → the parts that it no longer fits."""

    fit: Mapping[str, Mapping[str, str]]
    with_it: tuple[Change, ...]
    rest: tuple[Change, ...]
    instead: Mapping[str, tuple[str, ...]]


def taken_over(jobs: Sequence[Job], changes: Iterable[Change]) -> TakenOver:
    """Where the Changes of a draft go. jobs: those still open, in the order in which they are done.

    Where one job is changed, the rest of the draft goes into it; where several are, or none, what
    no job fits yet makes a job of its own. A part of another room of the car (a turbocharger beside
    injectors) does not go along: it goes into the job that is at work in its room, else into one of
    its own.
    """
    last = {i: job.id for job in jobs for place in job.fit for i in instances_of(place)}
    new: dict[str, dict[str, str]] = {}
    rest: list[Change] = []
    for change in changes:
        if change.kind != "fit":
            rest.append(change)
            continue
        left = {}
        for instance in instances_of(change.target):
            if instance in last:
                new.setdefault(last[instance], {})[instance] = str(change.value)
            else:
                left[instance] = str(change.value)
        rest += [Change("fit", place, part) for place, part in together(left).items()]
    if len(new) != 1:
        return _taken(jobs, new, {}, (), rest)
    (changed,) = (job for job in jobs if job.id in new)
    with_it, own = [], []
    added: dict[str, dict[str, str]] = {}
    for change in rest:
        if change.kind != "fit" or _room(change.target) in _rooms(changed):
            with_it.append(change)
        elif other := _of_room(jobs, _room(change.target)):
            added.setdefault(other, {})[change.target] = str(change.value)
        else:
            own.append(change)
    return _taken(jobs, new, added, with_it, own)


def _taken(
    jobs: Sequence[Job],
    new: Mapping[str, Mapping[str, str]],
    added: Mapping[str, Mapping[str, str]],
    with_it: Sequence[Change],
    rest: Sequence[Change],
) -> TakenOver:
    """new: id of a job → what it fits instead; added: id of a job → what it fits as well."""
    touched = [job for job in jobs if job.id in new] + [job for job in jobs if job.id in added]
    return TakenOver(
        {job.id: {**_fit_anew(job, new.get(job.id, {})), **added.get(job.id, {})}
         for job in touched},
        tuple(with_it), tuple(rest),
        {job.id: _instead(job, new.get(job.id, {})) for job in touched},
    )  # fmt: skip


def _room(target: str) -> str:
    return room_of().get(target.partition(".")[0], "")


def _rooms(job: Job) -> set[str]:
    return {_room(place) for place in job.fit}


def _of_room(jobs: Sequence[Job], room: str) -> str:
    """The job that fits most of a room; empty where none does."""
    many = {job.id: sum(_room(place) == room for place in job.fit) for job in jobs}
    best = max(many, key=lambda name: many[name], default="")
    return best if best and many[best] else ""


def together(parts: Mapping[str, str]) -> dict[str, str]:
    """Parts by instance, written by place or axle where all that belongs to it has the same one."""
    left, found = dict(parts), {}
    for instance in parts:
        root = instance.partition(".")[0]
        for group in (root, *(f"{root}.{axle}" for axle in AXLES), instance):
            of_it = _instances(group)
            if instance in left and of_it and {left.get(i) for i in of_it} == {left[instance]}:
                found[group] = left[instance]
                for one in of_it:
                    del left[one]
    return found


def _instances(group: str) -> tuple[str, ...]:
    root = group.partition(".")[0]
    return tuple(i for i in instances_of(root) if i == group or f"{i}.".startswith(f"{group}."))


def _fit_anew(job: Job, new: Mapping[str, str]) -> dict[str, str]:
    """What a job fits: keys of which nothing changes, or all to the same part, stay as written."""
    made: dict[str, str] = {}
    for place, part in job.fit.items():
        parts = {i: new.get(i, part) for i in instances_of(place)}
        made |= {place: next(iter(parts.values()))} if len(set(parts.values())) == 1 else (
            together(parts)
        )  # fmt: skip
    return made


def _instead(job: Job, new: Mapping[str, str]) -> tuple[str, ...]:
    gone = [p for place, p in job.fit.items() for i in instances_of(place) if new.get(i, p) != p]
    return tuple(dict.fromkeys(gone))
