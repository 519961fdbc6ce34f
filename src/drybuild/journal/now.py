"""The car now: the car as found, the deeds of the journal, and the readings that still hold."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, Literal

from drybuild.build import Build, Change, ChangeRefused, Fault, State, in_order, job_changes
from drybuild.build.declared import declaration
from drybuild.build.drawn import stated
from drybuild.build.folder import Job
from drybuild.build.state import ends_as_found, read_setting, spoils, touched_by
from drybuild.journal.entries import Deed, Reading
from drybuild.journal.history import deeds_of, readings_of
from drybuild.journal.journal import Journal
from drybuild.values import HowKnown, Value


@dataclass(frozen=True)
class Stale:
    """A reading that does not hold, and the Change that is to blame.

    how: the Change came ``after`` it; or it came ``before`` it, and the address stands for the
    figure as found; or it was recorded before it and has been ``undone`` since.
    """

    reading: Reading
    change: Change
    how: Literal["after", "before", "undone"] = "after"

    def __str__(self) -> str:
        why = {
            "after": f"{self.change} came after it",
            "before": f"it is the figure as found, and {self.change} came before it",
            "undone": f"{self.change} was recorded before it and is taken back since",
        }
        return why[self.how]


@dataclass(frozen=True)
class Clash:
    """A reading that contradicts what a file states as measured. filed: that, and value: what was
    read, which counts until one of the two is corrected."""

    file: str
    reading: Reading
    filed: Value
    value: Value


@dataclass(frozen=True)
class Present:
    """Now, with what was left out on the way.

    clashes: readings that contradict what a file states as measured, and faults where a reading
    cannot be what its address takes.
    """

    state: State
    stale: tuple[Stale, ...]
    clashes: tuple[Clash | Fault, ...]
    done: frozenset[str]


def present(build: Build, journal: Journal) -> Present:
    """The car as it stands now. Raises ChangeRefused when a deed no longer suits the files."""
    entries = journal.entries()
    deeds = deeds_of(entries)
    state = replace(build.base_state, name="now")
    for deed in deeds:
        try:
            state = state.after(deed.changes)
        except ChangeRefused as error:
            raise ChangeRefused(
                f"entry {deed.id} of the journal ({deed.at[:10]}) does not suit the files: {error}"
            ) from None
    values: dict[str, Any] = {}
    as_found: dict[str, Any] = {}
    stale: list[Stale] = []
    clashes: list[Clash | Fault] = []
    for reading in readings_of(entries):
        try:
            value = read_setting(reading.address, reading.raw)
        except ChangeRefused as error:
            raw = reading.raw.get("is") if isinstance(reading.raw, dict) else reading.raw
            found = Fault("journal.db", reading.id, reading.address, str(raw), str(error))
            clashes.append(found)
            continue
        fault = _taken_amiss(reading, deeds)
        if fault is not None:
            stale.append(fault)
            continue
        if _spoiler(_changes(deeds, upto=reading.after), reading.address) is None:
            as_found[reading.address] = value
        spoiler = _spoiler(_changes(deeds, since=reading.after), reading.address)
        if spoiler is not None:
            stale.append(Stale(reading, spoiler))
            values.pop(reading.address, None)
            continue
        clash = _clash(build, state, reading, value)
        if clash is not None:
            clashes.append(clash)
        values[reading.address] = value
    values = {**_taught(state), **values}
    return Present(
        replace(state, readings=values, base_readings=as_found),
        tuple(stale),
        tuple(clashes),
        frozenset(d.job for d in deeds if d.job),
    )


def finished(build: Build, now: Present) -> State:
    """Now and every job that is still open, in the order of the sessions they are planned for.

    What stands open today is closed by then: a car on its stands is not finished.
    """
    done = now.state.after(_changes_of(open_jobs(build, now)))
    return done.after([Change("close", component) for component in done.open], "finished")


def after_session(build: Build, now: Present, session: str) -> State:
    """Now and the open jobs of all sessions up to and including this one."""
    order = [s.id for s in build.sessions]
    upto = set(order[: order.index(session) + 1])
    jobs = [job for job in open_jobs(build, now) if job.session in upto]
    return now.state.after(_changes_of(jobs), f"after:{session}")


def planned_by_hand(build: Build) -> tuple[str, ...]:
    """Work sessions up to which some job names its own: only of them is the car known afterwards.

    Where a plan says what is done when, the build's file names none.
    """
    named = {job.session for job in build.jobs if job.session}
    order = [s.id for s in build.sessions]
    return tuple(name for n, name in enumerate(order) if named & set(order[: n + 1]))


def open_jobs(build: Build, now: Present) -> list[Job]:
    return [job for job in in_order(build.jobs, build.sessions) if job.id not in now.done]


NUTS = "corners.nuts_tightened"
"""The hand check that its nuts hold a wheel: value, tool, two names."""


def _taught(state: State) -> dict[str, Any]:
    """What a wheel that hangs on its tightened nuts says of its hub, and of itself: as many studs
    or bolt holes as the wheel has. A tick that it is on says nothing; the hand check of its nuts
    does."""
    owed = state.owed(("wheel.*",), NUTS)
    touched = {place for change in state.changes for place in touched_by(change)}
    found = {}
    for place in sorted(touched):
        table, _, corner = place.partition(".")
        part = state.build.parts.get(state.fitted.get(place) or "")
        count = getattr(part, "bolt_count", None) if table == "wheel" else None
        if count is not None and place not in owed:
            for address in (f"corner.{corner}.bolt_count", f"{place}.bolt_count"):
                found[address] = read_setting(address, count)
    return found


def _changes_of(jobs: Iterable[Job]) -> list[Change]:
    return [change for job in jobs for change in job_changes(job)]


def _changes(deeds: Iterable[Deed], *, upto: int | None = None, since: int = 0) -> list[Change]:
    """Changes of the deeds after ``since``, as far as ``upto``."""
    chosen = (d for d in deeds if d.id > since and (upto is None or d.id <= upto))
    return [change for deed in chosen for change in deed.changes]


def _taken_amiss(reading: Reading, deeds: tuple[Deed, ...]) -> Stale | None:
    """Why the reading never was, or no longer is, one of the car that the record describes."""
    undone = _spoiler((c for d in reading.undone for c in d.changes), reading.address)
    if undone is not None:
        return Stale(reading, undone, "undone")
    before = not_as_found(_changes(deeds, upto=reading.after), reading.address)
    return Stale(reading, before, "before") if before is not None else None


def _spoiler(changes: Iterable[Change], address: str) -> Change | None:
    """The first of these Changes that a reading at that address depends on."""
    return next((c for c in changes if spoils(c, address)), None)


def not_as_found(changes: Iterable[Change], address: str) -> Change | None:
    """The first of these Changes after which the figure as found can no longer be read."""
    return next((c for c in changes if ends_as_found(c, address)), None)


def _clash(build: Build, state: State, reading: Reading, value: Any) -> Clash | None:
    """A file that says *measured* and a reading that disagrees beyond the doubt of both."""
    declared = declaration(reading.address)
    if declared is None or not isinstance(value, Value):
        return None
    there = stated(replace(state, readings={}, settings={}), declared)
    if there is None or not isinstance(there.value, Value):
        return None
    filed = there.value
    if filed.how < HowKnown.MEASURED:
        return None
    (a_low, a_high), (b_low, b_high) = filed.interval, value.interval
    if a_low <= b_high and b_low <= a_high:
        return None
    return Clash(there.file, reading, filed, value)
