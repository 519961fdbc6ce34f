"""The tasks of one session laid out for scheduling: lengths, people, tools, and links in time.

What order the tasks of one component and of one effect keep, which jobs wait for others, and what
must be over when a use is needed after the session, follow the same rules as the checker's.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from drybuild.work.durations import quarters
from drybuild.work.held import Sort, sort_of
from drybuild.work.model import After, Condition
from drybuild.work.schedule.conditions import (
    CANNOT,
    HERE,
    NOTHING,
    Link,
    Options,
    World,
    courses,
    options_for,
)


@dataclass(frozen=True, slots=True)
class Task:
    """One task: quarters, persons, who may, what it holds, earliest start and latest end.

    sort: what it is to others at the car.
    """

    key: str
    length: int
    people: int
    who: tuple[str, ...]
    tools: tuple[str, ...]
    release: int
    deadline: int
    sort: Sort = ""

    @property
    def all_of_them(self) -> bool:
        """Whether every person on it must be one of ``who``, and not the first alone."""
        return len(self.who) >= self.people


@dataclass(frozen=True, slots=True)
class Way:
    """An alternative of a requirement and what it asks: each of these in any of its options."""

    conditions: tuple[Condition, ...]
    asked: tuple[Options, ...]


@dataclass(frozen=True, slots=True)
class Pick:
    """A requirement of a task with the ways that are open to it; any one will do."""

    task: int
    number: int
    ways: tuple[Way, ...]


@dataclass(frozen=True, slots=True)
class Broken:
    """What cannot be, without looking at any times. missing: conditions that nothing provides."""

    keys: tuple[str, ...]
    words: str
    missing: tuple[Condition, ...] = ()


@dataclass(frozen=True)
class Laid:
    """A session's tasks. choices: of each, any option. fixed: (task, requirement) → its way.

    tools: how many there are of each that is counted and used.
    """

    tasks: tuple[Task, ...]
    tools: dict[str, int]
    links: tuple[Link, ...]
    choices: tuple[Options, ...]
    picks: tuple[Pick, ...]
    fixed: dict[tuple[int, int], tuple[Condition, ...]]
    broken: tuple[Broken, ...]


def lay(world: World) -> Laid:
    """The tasks of a world, laid out."""
    asked: list[Options] = [(((a, b, w),),) for a, b, w in (*_orders(world), *_ends(world))]
    asked += _passing(world)
    broken = [*_courses(world), *_clearings(world), *_bookings(world)]
    picks: list[Pick] = []
    fixed: dict[tuple[int, int], tuple[Condition, ...]] = {}
    for n, key in enumerate(world.keys):
        for after in _afters(world, key):
            options = _after(world, n, after)
            if options == CANNOT:
                broken.append(Broken((key,), f"{key} comes after job:{after.job}"))
            asked.append(options)
        for number, requirement in enumerate(world.facts.work(key).needs):
            ways = [Way(w, _asked(world, n, w)) for w in requirement]
            can = [way for way in ways if CANNOT not in way.asked]
            free = [way for way in can if not way.asked]
            if not can:
                broken.append(_nothing_provides(key, ways))
            elif free or len(can) == 1:
                asked += (free or can)[0].asked
                fixed[n, number] = (free or can)[0].conditions
            else:
                picks.append(Pick(n, number, tuple(can)))
    single = [options[0] for options in asked if len(options) == 1]
    several = (options for options in asked if len(options) > 1)
    tasks = tuple(_task(world, key) for key in world.keys)
    used = dict.fromkeys(tool for task in tasks for tool in task.tools)
    return Laid(
        tasks=tasks,
        tools={tool: world.facts.problem.tools[tool] for tool in used},
        links=tuple(dict.fromkeys(link for option in single for link in option)),
        choices=tuple(dict.fromkeys(several)),
        picks=tuple(picks),
        fixed=fixed,
        broken=tuple(broken),
    )


def _asked(world: World, task: int, way: tuple[Condition, ...]) -> tuple[Options, ...]:
    found = [options for c in way for options in options_for(world, task, c)]
    return tuple(options for options in found if options != NOTHING)


def _nothing_provides(key: str, ways: list[Way]) -> Broken:
    missing = tuple(dict.fromkeys(c for way in ways for c in way.conditions))
    words = " or ".join(" and ".join(map(str, way.conditions)) for way in ways)
    return Broken((key,), f"{key} needs {words}", missing)


def _task(world: World, key: str) -> Task:
    work, job, session = world.facts.work(key), world.facts.job(key), world.session
    return Task(
        key=key,
        length=world.length(key),
        people=work.people,
        who=job.who if job is not None else (),
        tools=tuple(t for t in dict.fromkeys(work.tools) if t in world.facts.problem.tools),
        release=max(session.start, job.earliest if job is not None else 0),
        deadline=session.end,
        sort=sort_of(work),
    )


def _orders(world: World) -> Iterator[Link]:
    """What one component and one effect ask of their own tasks."""
    numbers = {key: n for n, key in enumerate(world.keys)}
    for key, n in numbers.items():
        kind, name = key.split(":", 1)
        if kind == "take" and (refit := numbers.get(f"refit:{name}")) is not None:
            yield n, refit, world.length(key)
        for effect in world.facts.work(key).not_before:
            if (clear := numbers.get(f"clear:{effect}")) not in (None, n):
                yield clear, n, world.length(f"clear:{effect}")
        for effect in world.facts.clears(key):
            if kind == "clear" and effect == name:
                # it closes the effect, so nothing else has done so before
                for other in world.facts.clearing[effect]:
                    if other in numbers and other != key:
                        last = world.length(key) + 1 - world.length(other)
                        yield n, numbers[other], last
            if world.facts.problem.effects[effect].clearing is None:
                continue
            for cause in world.facts.causing[effect]:
                if cause in numbers and cause != key:
                    yield numbers[cause], n, world.length(cause)


def _stopped_by(world: World) -> Iterator[tuple[int, tuple[str, ...], tuple[str, ...]]]:
    """(until, components, effects) of each use that is needed after the session."""
    for need in world.facts.problem.needs:
        if need.session == world.session.id and need.use in world.facts.stopping:
            yield need.until, *world.facts.stopping[need.use]


def _ends(world: World) -> Iterator[Link]:
    """What is refitted or cleared is there when a use is needed."""
    for until, components, effects in _stopped_by(world):
        for name in components:
            if (n := world.number(f"refit:{name}")) is not None:
                yield n, HERE, world.ready(world.keys[n]) - until
        for name in effects:
            if not world.pending(name) and not any(
                k in world.keys for k in world.facts.causing[name]
            ):
                continue
            closing = [k for k in world.facts.clearing[name] if k in world.keys]
            if closing and world.facts.problem.effects[name].clearing is not None:
                # with more than one, the first to be over closes it; that it is over is enough
                least = min(closing, key=lambda k: (not k.startswith("clear:"), k))
                yield world.keys.index(least), HERE, world.ready(least) - until


def _passing(world: World) -> Iterator[Options]:
    """What passes by itself has passed when a use is needed."""
    for until, _, effects in _stopped_by(world):
        for name in effects:
            effect = world.facts.problem.effects[name]
            if effect.clearing is not None:
                continue
            clears = world.facts.clearing[name]
            if any(world.may(key) for key in clears):
                continue
            here = [n for key in clears if (n := world.number(key)) is not None]
            for key in world.facts.causing[name]:
                if (cause := world.number(key)) is not None:
                    ends = world.length(key)
                    passes = ((cause, HERE, ends + quarters(effect.lasting) - until),)
                    cleared = (
                        ((cause, n, ends), (n, HERE, world.ready(world.keys[n]) - until))
                        for n in here
                        if n != cause
                    )
                    yield (passes, *cleared)


def _courses(world: World) -> Iterator[Broken]:
    names = dict.fromkeys(k.split(":", 1)[1] for k in world.keys if k[0] in "tr")
    for name in names:
        if not any(courses(world, name)):
            mine = tuple(k for k in (f"take:{name}", f"refit:{name}") if k in world.keys)
            off = world.off(name)
            words = f"{' and '.join(mine)}: it is {'off' if off else 'on'} at the start"
            yield Broken(mine, words)


def _clearings(world: World) -> Iterator[Broken]:
    keys = frozenset(world.keys)
    for key in world.keys:
        for name in world.facts.clears(key):
            causes = [k for k in world.facts.causing[name] if k != key]
            here = [k for k in causes if k in keys]
            if world.facts.problem.effects[name].between > 0:
                for cause in here:
                    words = f"{key} comes in a later session than {cause}: the car is driven first"
                    yield Broken((key, cause), words)
            hanging = world.pending(name) is not False
            caused = hanging or bool(here) or any(world.may(cause) for cause in causes)
            if key == f"clear:{name}" and not caused:
                yield Broken((key,), f"{key}: it is not pending")


def _bookings(world: World) -> Iterator[Broken]:
    there = {person.name for person in world.session.people}
    for key in world.keys:
        work, job = world.facts.work(key), world.facts.job(key)
        if job is not None and job.sessions and world.session.id not in job.sessions:
            yield Broken((key,), f"{key} is booked for {', '.join(job.sessions)}")
        if work.people > len(there):
            yield Broken((key,), f"{key} takes {work.people} people, {len(there)} are there")
        for tool in work.tools:
            if world.facts.problem.tools.get(tool, 1) < 1:
                yield Broken((key,), f"{key} holds {tool}, of which there is none")


def _afters(world: World, key: str) -> tuple[After, ...]:
    job = world.facts.job(key)
    return job.after if job is not None else ()


def _after(world: World, task: int, after: After) -> Options:
    """The job that comes before is over, and its lag and wait."""
    first, lag = f"job:{after.job}", quarters(after.lag)
    number = world.number(first)
    if number is not None:
        if after.between > 0 or number == task:
            return CANNOT
        rest = max(lag, world.facts.wait(first))
        return (((number, task, world.length(first) + rest),),)
    stand, done = world.stand, world.done(after.job)
    if stand is None or done is None:
        return NOTHING
    if done:
        ended = stand.ended.get(first)
        rest = max(lag, world.facts.wait(first)) if ended is not None else 0
        return NOTHING if ended is None else (((HERE, task, ended + rest),),)
    return NOTHING if world.may(first) and after.between <= 0 else CANNOT
