"""Reads the work of an open build: from its folder, its journal and the work library to a ToDo."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, time
from typing import Literal

from drybuild.build import Build, Fault
from drybuild.build.fixings import fixing_of
from drybuild.build.lines import line_of
from drybuild.build.state import instances_of
from drybuild.examine.opened import OpenBuild
from drybuild.examine.uses import records_owed
from drybuild.work import plan_file
from drybuild.work.doable import doable_faults
from drybuild.work.drafts import Draft, Drafting, parts_by_job
from drybuild.work.errors import WorkFaults
from drybuild.work.held import with_hands
from drybuild.work.library import Library, load, outline_of, outlines, overlaid
from drybuild.work.library.faults import library_faults
from drybuild.work.library.made import made, requirements, told
from drybuild.work.model import (
    Component,
    Effect,
    Hours,
    Job,
    Notes,
    Problem,
    Requirement,
    ToDo,
    WearItem,
    Work,
)
from drybuild.work.money import EXPECTED, Purse, read_amount, usual_currency
from drybuild.work.narrow import Narrow, narrowed
from drybuild.work.present import Stands, stands
from drybuild.work.times import Times, read_budgets, read_needs, read_times
from drybuild.work.todo import (
    after_loops,
    at_home,
    counted_tools,
    holding,
    holding_job,
    in_turn,
    map_clauses,
    maps_in_turn,
    order_of,
    prerequisites,
    sessions_with,
    set_to_suit,
    still_owed,
    tools_at_hand,
)

First = Literal["hours", "finish"]


def to_do(
    opened: OpenBuild,
    *,
    percentile: float | None = None,
    first: First | None = None,
    now: datetime | None = None,
) -> ToDo:
    """The work that an open build still has before it.

    percentile: chance, 0 to 1, with which a session's work fits into it; first: what matters
    first; both unset: as the build says. now: sessions that are over by then are not planned in;
    unset: as the build's ``as_of`` says, else all of them count. Raises WorkFaults with every fault
    of the library, of ``work.toml`` and of what ``build.toml`` says of the work.
    """
    build = opened.build
    faults: list[Fault] = []
    library = library_of(build)
    faults += library_faults(library)
    purse = purse_of(build)
    now = now or _as_of(build, faults)
    times = read_times(build, now, faults)
    hand = tools_at_hand(build, library, times, faults)
    if any(fault.file != "build.toml" for fault in faults):
        raise WorkFaults(faults)  # jobs cannot be read from a library that is not whole
    drafts = Drafting(build, library, times, purse, faults).drafts()
    needs = read_needs(build, times, faults)
    budgets = read_budgets(build, times, purse, faults)
    _past(opened, times, drafts, now, faults)
    rate = _money(build, purse, faults)
    if faults:
        raise WorkFaults(faults)
    whole = holding(made(library, purse))
    jobs = {name: holding_job(draft.job) for name, draft in drafts.items()}
    _loops(build, jobs, faults)
    jobs = set_to_suit(in_turn(jobs, whole.components, whole.effects))
    jobs = maps_in_turn(jobs, drafts)
    components, effects, jobs = at_home(build, whole.components, whole.effects, jobs)
    worked = [w for w in opened.journal.work() if w.of_task]
    car = _car(opened, components, effects, jobs)
    pending = car.pending
    small = narrowed(
        components, effects, jobs, tools=hand.all, off=car.off, pending=pending, done=car.done
    )
    sessions = sessions_with(times, hand)
    share = build.work.percentile / 100 if percentile is None else percentile
    if sessions:  # without any nothing is planned, and what is owed stays owed
        faults += doable_faults(build, library, small, sessions, times, share, car.done)
    if faults:
        raise WorkFaults(faults)
    problem = with_hands(Problem(
        zero=times.zero, components=small.components, effects=small.effects, jobs=small.jobs,
        sessions=sessions, needs=needs, prerequisites=prerequisites(),
        tools=counted_tools(small.components, small.effects, small.jobs), budgets=budgets,
        clauses=map_clauses(drafts), off=car.off, pending=pending,
        done=frozenset(n for n in car.done if n in small.jobs),
        percentile=share, first=order_of(first or build.work.first),
    ))  # fmt: skip
    return ToDo(
        problem, _notes(problem, whole.notes, drafts), parts_by_job(drafts), purse.currency,
        _age(build, times), rate, _wear(build, library, small, purse), build.work.odometer,
        build.work.yearly, _unpriced(drafts),
        _stated([w.task for w in worked], components, effects, jobs),
    )  # fmt: skip


def left_owed(opened: OpenBuild) -> dict[str, Effect]:
    """What finished work leaves owed on the car as it stands, whatever else is amiss with what is
    still to be planned. Raises WorkFaults of a library that is not whole."""
    build, faults = opened.build, list[Fault]()
    library, purse = library_of(build), purse_of(build)
    if library_faults(library):
        raise WorkFaults(library_faults(library))
    times = read_times(build, _as_of(build, faults), faults)
    drafts = Drafting(build, library, times, purse, faults).drafts()
    whole = made(library, purse)
    jobs = {name: holding_job(draft.job) for name, draft in drafts.items()}
    parts = at_home(build, whole.components, whole.effects, jobs)
    return {name: parts[1][name] for name in _car(opened, *parts).pending}


def _car(
    opened: OpenBuild,
    components: Mapping[str, Component],
    effects: Mapping[str, Effect],
    jobs: Mapping[str, Job],
) -> Stands:
    """The car as it stands, by tasks that were finished and deeds without them."""
    finished = [w.task for w in opened.journal.work() if w.what == "done"]
    car = stands(
        components, effects, jobs, finished,
        off=[c for c in opened.present.state.open if c in components], done=opened.present.done,
    )  # fmt: skip
    deeds = _owed_by_deeds(opened, jobs, components, effects, finished)
    return replace(car, pending=car.pending | deeds)


def _owed_by_deeds(
    opened: OpenBuild,
    jobs: Mapping[str, Job],
    components: Mapping[str, Component],
    effects: Mapping[str, Effect],
    finished: Sequence[str],
) -> frozenset[str]:
    """What jobs leave owed that somebody recorded as done without the tasks round them."""
    alone = [jobs[n] for n in opened.present.done if n in jobs and f"job:{n}" not in finished]
    if not alone:
        return frozenset()
    owed = {o.record for o in records_owed(opened.present.state, opened.registry)}
    cleared = {key.removeprefix("clear:") for key in finished if key.startswith("clear:")}
    return still_owed(alone, components, effects, owed) - cleared


def library_of(build: Build) -> Library:
    """The work library for a build, its own ``work.toml`` over it. Raises WorkFaults."""
    said = build.work.outline or outline_of(build.outline)
    if said not in outlines():
        text = build.files.get("build.toml", "")
        line = line_of(text, ("work", "outline")) or line_of(text, ("build",))
        found = repr(said) if said else f"none that goes with the car's, {build.outline!r}"
        raise WorkFaults([
            Fault("build.toml", line, "work.outline", found, f"one of: {', '.join(outlines())}")
        ])  # fmt: skip
    library = load(said, fixing_of(build.parts))
    if build.work_file is not None:
        text = build.files.get("work.toml", "")
        library = overlaid(library, build.work_file, file="work.toml", text=text)
    return library


def purse_of(build: Build) -> Purse:
    """The currency of the build's answers: as it says, else that of most of its prices."""
    texts = [part.price for part in build.parts.values()]
    texts += [job.price for job in build.jobs]
    return Purse(build.work.currency or usual_currency(texts), build.work.rates)


def _money(build: Build, purse: Purse, faults: list[Fault]) -> float | None:
    """The labour rate."""
    text = build.work.labour_rate
    where = line_of(build.files.get("build.toml", ""), ("work", "labour_rate"))
    try:
        amount = purse.amount(text)
    except ValueError:
        faults.append(Fault("build.toml", where, "work.labour_rate", repr(text)[:80], EXPECTED))
        return None
    if text and amount is None:
        currency = read_amount(text)[1]
        faults.append(Fault(
            "build.toml", where, "work.labour_rate", repr(text)[:80],
            f"an amount in {purse.currency}, or rates = {{ {currency} = … }}",
        ))  # fmt: skip
    return amount


def _as_of(build: Build, faults: list[Fault]) -> datetime | None:
    text = build.work.as_of
    if not text:
        return None
    try:
        return datetime.combine(date.fromisoformat(text), time())
    except ValueError:
        line = line_of(build.files.get("build.toml", ""), ("work", "as_of"))
        faults.append(Fault("build.toml", line, "work.as_of", repr(text), "a date, yyyy-mm-dd"))
        return None


def _past(
    opened: OpenBuild,
    times: Times,
    drafts: Mapping[str, Draft],
    now: datetime | None,
    faults: list[Fault],
) -> None:
    """Sessions before now are history once work has begun or a plan is kept, which was made when
    they lay ahead; else somebody mistook the year."""
    build = opened.build
    text = build.files.get("build.toml", "")
    index = {session.id: str(n) for n, session in enumerate(build.sessions)}
    if not times.past:
        return
    begun = bool(opened.present.done) or bool(opened.journal.work())
    expected = begun or (build.root / plan_file.NAME).is_file()
    worked = {w.task for w in opened.journal.work() if w.what == "done"}
    left = {n for n in drafts.keys() - opened.present.done if f"job:{n}" not in worked}
    if expected and not times.sessions and left:
        faults.append(_none_ahead(build, times, now))
    for session in times.past if not expected else ():
        number = index[session.id]
        path: tuple[str, ...] = ("session", number)
        day = build.sessions[int(number)].date
        faults.append(Fault(
            "build.toml", line_of(text, path), f"session.{number}.date",
            f"{session.id} on {day}, which is past on {now:%Y-%m-%d}",
            "a work session that lies ahead; what was done goes into the journal",
        ))  # fmt: skip
    ahead = {session.id for session in times.sessions}
    for place, job in enumerate(build.jobs):
        if begun and job.id in left and job.booked and not ahead & set(job.booked):
            path = ("job", str(place), "booked")
            faults.append(Fault(
                "build.toml", line_of(text, path), ".".join(path),
                f"{job.id} booked in {', '.join(job.booked)}, which is past",
                "a session that lies ahead, or the job recorded as done",
            ))  # fmt: skip


def _none_ahead(build: Build, times: Times, now: datetime | None) -> Fault:
    """Jobs are left, and no session to do them in."""
    last = times.past[-1].id
    number = next(n for n, session in enumerate(build.sessions) if session.id == last)
    day = build.sessions[number].date
    return Fault(
        "build.toml", line_of(build.files.get("build.toml", ""), ("session", str(number))),
        f"session.{number}.date",
        f"no work session ahead: the last, {last} on {day}, is past on {now:%Y-%m-%d}",
        "a work session that lies ahead; what was done goes into the journal",
    )  # fmt: skip


def _loops(build: Build, jobs: Mapping[str, Job], faults: list[Fault]) -> None:
    text = build.files.get("build.toml", "")
    index = {job.id: str(n) for n, job in enumerate(build.jobs)}
    for loop in after_loops(jobs):
        path = ("job", index[loop[0]], "after")
        faults.append(Fault(
            "build.toml", line_of(text, path), ".".join(path),
            "a loop: " + " after ".join((*loop, loop[0])), "jobs that one can begin with",
        ))  # fmt: skip


def _notes(
    problem: Problem, notes: Mapping[str, Notes], drafts: Mapping[str, Draft]
) -> dict[str, Notes]:
    """The words of the tasks that the problem has."""
    keys = [f"{kind}:{name}" for name in problem.components for kind in ("take", "refit")]
    keys += [f"clear:{name}" for name, e in problem.effects.items() if e.clearing is not None]
    found = {key: notes[key] for key in keys if key in notes}
    found |= {f"job:{name}": draft.notes for name, draft in drafts.items()}
    return found


def _age(build: Build, times: Times) -> float | None:
    """Age of the car, years: as said, else since its first registration."""
    if build.work.age is not None:
        return build.work.age
    stated = build.stated.get("registration.first_registered")
    text = str(getattr(stated.value, "value", stated.value)) if stated is not None else ""
    try:
        registered = date.fromisoformat(text[:10])
    except ValueError:
        return None
    return round((times.zero.date() - registered).days / 365.25, 1)


def _stated(
    finished: Sequence[str],
    components: Mapping[str, Component],
    effects: Mapping[str, Effect],
    jobs: Mapping[str, Job],
) -> dict[str, tuple[Work, str]]:
    """The work and region of tasks that the journal speaks of, as stated."""
    found: dict[str, tuple[Work, str]] = {}
    for key in finished:
        kind, _, what = key.partition(":")
        if kind in ("take", "refit") and what in components:
            component = components[what]
            work = component.take if kind == "take" else component.refit
            found[key] = work, component.region
        elif kind == "job" and what in jobs:
            found[key] = jobs[what].work, jobs[what].region
        elif kind == "clear" and what in effects:
            clearing = effects[what].clearing
            if clearing is not None:
                found[key] = clearing.work, clearing.region
    return found


def _unpriced(drafts: Mapping[str, Draft]) -> dict[str, tuple[str, ...]]:
    return {name: draft.unpriced for name, draft in drafts.items() if draft.unpriced}


def _wear(build: Build, library: Library, small: Narrow, purse: Purse) -> dict[str, WearItem]:
    """What might be renewed on the way: that which the plan's components, or none, lead to."""
    found: dict[str, WearItem] = {}
    for name, table in library.wear.items():
        needs = tuple(_open_ways(r, small) for r in requirements(library, table.open))
        if not all(needs):
            continue
        work = Work(
            Hours(*(table.hours or (0.0, 0.0, 0.0))), table.people, needs,
            tuple(e for e in table.upsets if e in small.effects), table.tools,
        )  # fmt: skip
        words = told(table, table.title, purse)
        job = Job(
            f"wear:{name}", table.title, "fit", table.region, work,
            price=purse.amount(table.price) or 0.0,
        )  # fmt: skip
        found[name] = WearItem(
            name, table.title, job, table.km, table.years, table.shape, table.life_doubt,
            table.renewed_km, table.renewed_years, purse.amount(table.damage) or 0.0, words.renew,
            _fitting(build, table.fitted_at), table.source,
        )  # fmt: skip
    return found


def _fitting(build: Build, places: Sequence[str]) -> tuple[str, ...]:
    """Jobs that fit a part to one of these places."""
    wanted = {i for place in places for i in instances_of(place)}
    return tuple(
        job.id for job in build.jobs if any(wanted & set(instances_of(t)) for t in job.fit)
    )


def _open_ways(requirement: Requirement, small: Narrow) -> Requirement:
    """The alternatives that want nothing off which is not among the plan's components."""
    return tuple(
        way
        for way in requirement
        if all(c.kind != "off" or c.name in small.components for c in way)
    )
