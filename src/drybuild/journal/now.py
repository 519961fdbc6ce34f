"""The car now: the car as found, the deeds of the journal, and the readings that still hold."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from drybuild.build import Build, Change, ChangeRefused, Fault, State, job_changes
from drybuild.build.declared import declaration
from drybuild.build.depends import spoils
from drybuild.build.drawn import stated
from drybuild.build.state import read_setting, touched_by
from drybuild.journal.journal import Deed, Journal, Reading
from drybuild.values import HowKnown, Value


@dataclass(frozen=True)
class Stale:
    """A reading that no longer holds, and the Change that made it so."""

    reading: Reading
    change: Change


@dataclass(frozen=True)
class Present:
    """Now, with what was left out on the way.

    clashes: readings that contradict what a file states as measured, as faults to report.
    """

    state: State
    stale: tuple[Stale, ...]
    clashes: tuple[Fault, ...]
    done: frozenset[str]


def present(build: Build, journal: Journal) -> Present:
    """The car as it stands now. Raises ChangeRefused when a deed no longer suits the files."""
    deeds = journal.deeds()
    try:
        state = build.base_state.after((c for d in deeds for c in d.changes), "now")
    except ChangeRefused as error:
        raise ChangeRefused(f"the journal does not suit the files: {error}") from None
    values: dict[str, Any] = {}
    as_found: dict[str, Any] = {}
    stale: list[Stale] = []
    clashes: list[Fault] = []
    for reading in journal.readings():
        try:
            value = read_setting(reading.address, reading.raw)
        except ChangeRefused as error:
            found = Fault("journal.db", reading.id, reading.address, str(reading.raw), str(error))
            clashes.append(found)
            continue
        if _spoiler(reading, [d for d in deeds if d.id <= reading.after]) is None:
            as_found[reading.address] = value
        spoiler = _spoiler(reading, [d for d in deeds if d.id > reading.after])
        if spoiler is not None:
            stale.append(Stale(reading, spoiler))
            values.pop(reading.address, None)
            continue
        clash = _clash(build, state, reading, value)
        if clash is not None:
            clashes.append(clash)
        values[reading.address] = value
    return Present(
        replace(state, readings=values, base_readings=as_found),
        tuple(stale),
        tuple(clashes),
        frozenset(d.job for d in deeds if d.job),
    )


def finished(build: Build, now: Present) -> State:
    """Now and every job that is still open."""
    changes = [c for job in build.jobs if job.id not in now.done for c in job_changes(job)]
    return now.state.after(changes, "finished")


def after_session(build: Build, now: Present, session: str) -> State:
    """Now and the open jobs of all sessions up to and including this one."""
    order = [s.id for s in build.sessions]
    upto = set(order[: order.index(session) + 1])
    jobs = [j for j in build.jobs if j.id not in now.done and j.session in upto]
    return now.state.after((c for j in jobs for c in job_changes(j)), f"after:{session}")


def _spoiler(reading: Reading, deeds: list[Deed]) -> Change | None:
    """The first Change of these deeds that what was read depends on."""
    for deed in deeds:
        for change in deed.changes:
            if change.kind in ("open", "close", "verify"):
                continue
            if spoils(touched_by(change), reading.address):
                return change
    return None


def _clash(build: Build, state: State, reading: Reading, value: Any) -> Fault | None:
    """A file that says *measured* and a reading that disagrees beyond the doubt of both."""
    declared = declaration(reading.address)
    if declared is None or not isinstance(value, Value):
        return None
    there = stated(replace(state, readings={}), declared)
    if there is None or not isinstance(there.value, Value):
        return None
    filed = there.value
    if filed.how < HowKnown.MEASURED:
        return None
    (a_low, a_high), (b_low, b_high) = filed.interval, value.interval
    if a_low <= b_high and b_low <= a_high:
        return None
    return Fault(
        there.file, None, reading.address, f"measured {filed.text}",
        f"as in entry {reading.id} of the journal, {reading.raw!r} on {reading.at[:10]}",
        "two measurements disagree beyond their doubt: measure again, then correct one of them",
    )  # fmt: skip
