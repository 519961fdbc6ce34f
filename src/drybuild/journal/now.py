"""The car now: the car as found, the deeds of the journal, and the readings that still hold."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, replace
from fnmatch import fnmatchcase
from functools import cache
from importlib.resources import files
from typing import Any

from drybuild.build import Build, Change, ChangeRefused, Fault, State, job_changes
from drybuild.build.declared import declaration
from drybuild.build.drawn import stated
from drybuild.build.state import _touched_by, read_setting
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
    stale: list[Stale] = []
    clashes: list[Fault] = []
    for reading in journal.readings():
        spoiler = _spoiled_by(reading, deeds)
        if spoiler is not None:
            stale.append(Stale(reading, spoiler))
            values.pop(reading.address, None)
            continue
        try:
            value = read_setting(reading.address, reading.raw)
        except ChangeRefused as error:
            clashes.append(
                Fault("journal.db", reading.id, reading.address, str(reading.raw), str(error))
            )
            continue
        clash = _clash(build, state, reading, value)
        if clash is not None:
            clashes.append(clash)
        values[reading.address] = value
    return Present(
        replace(state, readings=values), tuple(stale), tuple(clashes),
        frozenset(d.job for d in deeds if d.job),
    )  # fmt: skip


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


@cache
def dependence() -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Address pattern → place patterns whose Change makes a reading of it stale."""
    text = files(__package__).joinpath("depends.toml").read_text(encoding="utf-8")
    return tuple((row["reading"], tuple(row["on"])) for row in tomllib.loads(text)["depends"])


def _spoiled_by(reading: Reading, deeds: tuple[Deed, ...]) -> Change | None:
    declared = declaration(reading.address)
    owner = declared.owner if declared is not None else reading.address
    patterns = [owner, reading.address]
    words = owner.split(".")
    axle = words[1] if len(words) > 1 else "*"
    for pattern, on in dependence():
        if fnmatchcase(reading.address, pattern):
            patterns += [p.replace("{axle}", axle) for p in on]
    for deed in deeds:
        if deed.id <= reading.after:
            continue
        for change in deed.changes:
            if change.kind in ("open", "close", "verify"):
                continue
            if any(fnmatchcase(t, p) for t in _touched_by(change) for p in patterns):
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
