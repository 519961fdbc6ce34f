"""The work of a build put together: library, jobs, sessions, wanted uses and the present state."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from drybuild.build import Build, Fault
from drybuild.build.declared import expand
from drybuild.build.depends import depends
from drybuild.build.errors import nearest
from drybuild.build.lines import line_of
from drybuild.build.state import touched_by
from drybuild.findings.words import use_closure, uses
from drybuild.work.drafts import Draft
from drybuild.work.held import HANDS_IN, INTAKE, TO_ITSELF, WHOLE_CAR
from drybuild.work.library import Library
from drybuild.work.library.access import behind
from drybuild.work.library.faults import tool_faults
from drybuild.work.library.made import Made
from drybuild.work.library.reader import Where
from drybuild.work.model import (
    After,
    Clause,
    Component,
    Condition,
    Effect,
    Job,
    Requirement,
    Session,
    Work,
)
from drybuild.work.times import QUARTER, Times

OWN_PLACE = "own place"
"""Held by what moves or measures all of the car; where the car is, there it is."""

NO_TOOL = frozenset({OWN_PLACE, WHOLE_CAR, TO_ITSELF, INTAKE, HANDS_IN})
"""Said as tools to the planner, and nothing to lay on a bench or to borrow."""

TRAILER = "trailer"


@dataclass(frozen=True)
class Hand:
    """Tools: what is at hand in each session, by id, and everything that is in any of them."""

    by_session: Mapping[str, frozenset[str]]

    @property
    def all(self) -> frozenset[str]:
        """Every tool that some session has."""
        return frozenset(t for tools in self.by_session.values() for t in tools)


def tools_at_hand(build: Build, library: Library, times: Times, faults: list[Fault]) -> Hand:
    """What each session has: always at hand, borrowed for it, lent meanwhile."""
    text = build.files.get("build.toml", "")

    def where(*keys: str) -> Where:
        return Where("build.toml", line_of(text, keys), ".".join(keys))

    usual = frozenset(name for name, tool in library.tools.items() if tool.usual)
    always = usual if build.work.tools is None else frozenset(build.work.tools)
    always |= {WHOLE_CAR, TO_ITSELF, INTAKE}
    faults += tool_faults(library, build.work.tools or (), where("work", "tools"))
    outside = {s.id for s in build.sessions if s.outside}
    found: dict[str, frozenset[str]] = {}
    for session in times.sessions:
        found[session.id] = always & {TRAILER} if session.id in outside else always
        if outside and session.id not in outside:
            found[session.id] |= {OWN_PLACE}
    for index, written in enumerate(build.sessions):
        faults += tool_faults(library, written.tools, where("session", str(index), "tools"))
        if written.id in found:
            found[written.id] |= frozenset(written.tools)
    known = tuple(s.id for s in build.sessions)
    for index, lent in enumerate(build.lent):
        at = ("lent", str(index))
        faults += tool_faults(library, (lent.tool,), where(*at, "tool"))
        for name in lent.sessions:
            if name not in known:
                faults.append(where(*at, "sessions").fault(
                    repr(name), "the id of a work session", nearest(name, known)))  # fmt: skip
        for session in times.sessions:
            day = f"{times.zero + QUARTER * session.start:%Y-%m-%d}"
            named = session.id in lent.sessions
            between = bool(lent.since or lent.until) and (
                (lent.since or day) <= day <= (lent.until or day)
            )
            if named or between:
                found[session.id] |= {lent.tool}
    return Hand(found)


def at_home(
    build: Build,
    components: Mapping[str, Component],
    effects: Mapping[str, Effect],
    jobs: Mapping[str, Job],
) -> tuple[dict[str, Component], dict[str, Effect], dict[str, Job]]:
    """Where some sessions are elsewhere: own work stays at home, what is booked needs a way there.

    A job that is booked in sessions elsewhere only needs *drive* when it begins, or a trailer.
    """
    outside = {s.id for s in build.sessions if s.outside}
    if not outside:
        return dict(components), dict(effects), dict(jobs)
    home: Requirement = ((Condition("tool", OWN_PLACE),),)
    there: Requirement = ((Condition("use", "drive"),), (Condition("tool", TRAILER),))

    def needing(work: Work, requirement: Requirement) -> Work:
        return replace(work, needs=(*work.needs, requirement))

    moved = {}
    for name, job in jobs.items():
        away = bool(job.sessions) and set(job.sessions) <= outside
        moved[name] = replace(job, work=needing(job.work, there if away else home))
    clearings = {}
    for name, effect in effects.items():
        clearing = effect.clearing
        if clearing is not None:
            clearing = replace(clearing, work=needing(clearing.work, home))
        clearings[name] = replace(effect, clearing=clearing)
    own = {
        name: replace(c, take=needing(c.take, home), refit=needing(c.refit, home))
        for name, c in components.items()
    }
    return own, clearings, moved


def in_turn(
    jobs: Mapping[str, Job], components: Mapping[str, Component], effects: Mapping[str, Effect]
) -> dict[str, Job]:
    """Jobs that align come after every job whose work calls for it: alignment after ride height."""
    aligning = {n for n, e in effects.items() if e.clearing and e.clearing.kind == "align"}
    found = dict(jobs)
    for name, job in jobs.items():
        owed = aligning & set(job.clears)
        if not owed:
            continue
        before = [
            other for other in jobs.values()
            if other.id != name and owed & effects_of(other.work, components)
            and name not in {a.job for a in other.after}
        ]  # fmt: skip
        known = {a.job for a in job.after}
        found[name] = replace(
            job, after=(*job.after, *(After(o.id) for o in before if o.id not in known))
        )
    return found


def set_to_suit(jobs: Mapping[str, Job]) -> dict[str, Job]:
    """Jobs that set a figure to suit a part come after every job that changes it: nothing is put
    right for tyres that are not on the car. Not where the build has said otherwise."""
    found = dict(jobs)
    for name, job in jobs.items():
        figures = [t for c in job.changes if c.kind == "set" for t in expand(c.target)]
        if job.sessions or not figures or _changes_what_suits(job, figures):
            continue
        known = {a.job for a in job.after}
        before = [
            other for other in jobs
            if other != name and other not in known and _changes_what_suits(jobs[other], figures)
            and not _leads(found, other, name)
        ]  # fmt: skip
        found[name] = replace(job, after=(*job.after, *(After(other) for other in before)))
    return found


def _changes_what_suits(job: Job, figures: Iterable[str]) -> bool:
    """Whether a job changes a part that one of these figures is set to suit."""
    touched = [touched_by(c) for c in job.changes if c.kind in ("fit", "remove")]
    return any(depends(figure, names, "set_for") for figure in figures for names in touched)


def effects_of(work: Work, components: Mapping[str, Component]) -> frozenset[str]:
    """Effects of a work and of taking off what it wants off, however it is got at."""
    found, waiting, seen = set(work.causes), [work], set[str]()
    while waiting:
        for name in behind(waiting.pop().needs) - seen:
            seen.add(name)
            if name in components:
                component = components[name]
                found |= {*component.take.causes, *component.refit.causes}
                waiting.append(component.take)
    return frozenset(found)


def still_owed(
    jobs: Iterable[Job],
    components: Mapping[str, Component],
    effects: Mapping[str, Effect],
    records: Collection[str],
) -> frozenset[str]:
    """Effects of jobs that were recorded as done by themselves, whose records are still owed.

    records: ids of the records that the present state owes.
    """
    found = {e for job in jobs for e in effects_of(job.work, components) if e in effects}
    return frozenset(e for e in found if records_of(effects[e]) & set(records))


def records_of(effect: Effect) -> frozenset[str]:
    """The records that clearing it makes."""
    changes = effect.clearing.changes if effect.clearing is not None else ()
    return frozenset(c.target for c in changes if c.kind == "verify")


def maps_in_turn(jobs: Mapping[str, Job], drafts: Mapping[str, Draft]) -> dict[str, Job]:
    """Maps come after the parts that they expect: none is written for what is not on the car. Not
    where the build has said otherwise."""
    found = dict(jobs)
    parts = [name for name, draft in drafts.items() if draft.map and not draft.fits_map]
    for name in (name for name, draft in drafts.items() if draft.fits_map):
        job = found[name]
        known = {a.job for a in job.after}
        before = [o for o in parts if o not in known and not _leads(found, o, name)]
        if not job.sessions:
            found[name] = replace(job, after=(*job.after, *(After(o) for o in before)))
    return found


def map_clauses(drafts: Mapping[str, Draft]) -> tuple[Clause, ...]:
    """A part that its map does not expect, or a map that expects another part, stops a use."""
    found = []
    maps = [d.job for d in drafts.values() if d.fits_map]
    for draft in drafts.values():
        if draft.fits_map:
            continue
        for flash in maps:
            for use in draft.map:
                part, new = frozenset({draft.job.id}), frozenset({flash.id})
                why = f"{draft.job.title}: the map in the control unit expects other parts"
                found.append(Clause(use, part, new, why))
                why = f"{flash.title}: the map expects parts that are not fitted yet"
                found.append(Clause(use, new, part, why))
    return tuple(found)


def counted_tools(
    components: Mapping[str, Component], effects: Mapping[str, Effect], jobs: Mapping[str, Job]
) -> dict[str, int]:
    """There is one of each tool that a task holds."""
    works = [w for c in components.values() for w in (c.take, c.refit)]
    works += [e.clearing.work for e in effects.values() if e.clearing is not None]
    works += [j.work for j in jobs.values()]
    return {tool: 1 for work in works for tool in work.tools if tool != HANDS_IN}


def with_held_tools(
    needs: tuple[Requirement, ...], tools: Collection[str]
) -> tuple[Requirement, ...]:
    """A tool that is held must be in the session."""
    held: list[Requirement] = [((Condition("tool", tool),),) for tool in tools]
    return tuple(dict.fromkeys((*needs, *held)))


def holding(made: Made) -> Made:
    """The library with each held tool among the conditions of its task."""
    components = {
        n: replace(c, take=_holding(c.take), refit=_holding(c.refit))
        for n, c in made.components.items()
    }
    effects = {
        n: replace(e, clearing=replace(e.clearing, work=_holding(e.clearing.work)))
        if e.clearing is not None else e
        for n, e in made.effects.items()
    }  # fmt: skip
    return Made(components, effects, made.notes)


def _holding(work: Work) -> Work:
    return replace(work, needs=with_held_tools(work.needs, work.tools))


def holding_job(job: Job) -> Job:
    """The job with each held tool among its conditions."""
    return replace(job, work=_holding(job.work))


def sessions_with(times: Times, hand: Hand) -> tuple[Session, ...]:
    """The sessions ahead with the tools that are at hand in each."""
    return tuple(replace(s, tools=hand.by_session.get(s.id, frozenset())) for s in times.sessions)


def prerequisites() -> dict[str, frozenset[str]]:
    """Use → every use that it needs, itself included."""
    return {use.name: use_closure(use.name) for use in uses()}


def order_of(first: Literal["hours", "finish"]) -> tuple[Literal["hours", "finish"], ...]:
    """Both objectives, the one that matters first in front."""
    return ("hours", "finish") if first == "hours" else ("finish", "hours")


def after_loops(jobs: Mapping[str, Job]) -> Iterator[tuple[str, ...]]:
    """Loops of jobs that are to come after each other."""
    said: set[frozenset[str]] = set()
    for start in jobs:
        path, name = [start], start
        while True:
            following = [a.job for a in jobs[name].after if a.job in jobs]
            back = next((j for j in following if j == start), None)
            if back is not None:
                if frozenset(path) not in said:
                    said.add(frozenset(path))
                    yield tuple(path)
                break
            onward = [j for j in following if j not in path and _leads(jobs, j, start)]
            if not onward:
                break
            name = onward[0]
            path.append(name)


def _leads(jobs: Mapping[str, Job], name: str, goal: str) -> bool:
    """Whether following ``after`` from one job comes to another."""
    seen, waiting = {name}, [name]
    while waiting:
        for after in jobs[waiting.pop()].after:
            if after.job == goal:
                return True
            if after.job in jobs and after.job not in seen:
                seen.add(after.job)
                waiting.append(after.job)
    return False
