"""What the tasks of one session ask of each other's times.

Everything becomes links ``(a, b, w)``: task b starts at least w quarters after task a starts, with
HERE as quarter 0. Where more than one thing would do, the links stand in options.

A world says which tasks are in the session, which are known not to be, and how the car stands at
its start, if that is known. What is not known is taken to be the best it could be: a world that
cannot be done stays so whatever is found out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

from drybuild.work.durations import quarters
from drybuild.work.model import Clause, Condition, Session
from drybuild.work.schedule.stand import Facts, Stand

HERE = -1
Link = tuple[int, int, int]
Option = tuple[Link, ...]
Options = tuple[Option, ...]
"""Any one option, all of its links; none at all: it cannot be; an empty option: nothing asked."""

CANNOT: Options = ()
NOTHING: Options = ((),)


@dataclass(frozen=True)
class World:
    """The tasks ``keys`` are in the session; ``absent`` are not (None: nothing else is).

    vague: what of the stand is left out of account, as ``off:NAME``, ``pending:NAME`` or
    ``done:NAME`` of a job.
    """

    facts: Facts
    session: Session
    keys: tuple[str, ...]
    absent: frozenset[str] | None = None
    stand: Stand | None = None
    vague: frozenset[str] = frozenset()

    def off(self, name: str) -> bool | None:
        """Whether a component is off at the start; None: not known."""
        if self.stand is None or f"off:{name}" in self.vague:
            return None
        return name in self.stand.off

    def pending(self, name: str) -> bool | None:
        """Whether an effect is pending at the start; None: not known."""
        if self.stand is None or f"pending:{name}" in self.vague:
            return None
        return name in self.stand.pending

    def done(self, job: str) -> bool | None:
        """Whether a job was done before; None: not known."""
        if self.stand is None or f"done:{job}" in self.vague:
            return None
        return job in self.stand.done

    def number(self, key: str) -> int | None:
        """Where a task stands among those in the session."""
        return self.keys.index(key) if key in self.keys else None

    def may(self, key: str) -> bool:
        """Whether a task that is not among ``keys`` may be in the session after all."""
        return self.absent is not None and key not in self.absent and key not in self.keys

    def either(self, key: str) -> tuple[bool, ...]:
        """Whether a task is in the session: what is possible."""
        if key in self.keys:
            return (True,)
        return (False, True) if self.may(key) else (False,)

    def length(self, key: str) -> int:
        """Its planned quarters."""
        return self.facts.lengths[key]

    def ready(self, key: str) -> int:
        """Quarters from its start until what it brings about is there."""
        return self.length(key) + self.facts.wait(key)

    def before(self, key: str) -> int | None:
        """The quarter at which what a task of an earlier session brought about is there."""
        ended = self.stand.ended.get(key) if self.stand is not None else None
        return None if ended is None else ended + self.facts.wait(key)

    def since(self, task: int, keys: tuple[str, ...]) -> Option:
        """The task starts when those of earlier sessions are over, and their waits."""
        quarters_ = [q for q in map(self.before, keys) if q is not None]
        return ((HERE, task, max(quarters_)),) if quarters_ else ()


def options_for(world: World, task: int, condition: Condition) -> tuple[Options, ...]:
    """What a condition of a task asks: every one of these, each in any of its options."""
    name, problem = condition.name, world.facts.problem
    if condition.kind == "tool":
        return () if name in world.session.tools else (CANNOT,)
    if condition.kind == "off":
        return (open_for(world, task, name),) if name in problem.components else (CANNOT,)
    if condition.kind == "on":
        return (shut_for(world, task, name),) if name in problem.components else (CANNOT,)
    if condition.kind == "clear":
        return tuple(clear_for(world, task, name)) if name in problem.effects else (CANNOT,)
    components, effects = world.facts.stopping.get(name, ((), ()))
    asked = [shut_for(world, task, other) for other in components]
    asked += [options for other in effects for options in clear_for(world, task, other)]
    below = problem.stopping(name)
    asked += [_unless(world, task, c) for c in problem.clauses if c.use in below]
    return tuple(asked)


def courses(world: World, name: str) -> Iterator[tuple[bool, bool, bool]]:
    """(off at the start, taken off, refitted) in the session: what is possible."""
    known = world.off(name)
    away = (False, True) if known is None else (known,)
    takes, refits = world.either(f"take:{name}"), world.either(f"refit:{name}")
    for off, take, refit in product(away, takes, refits):
        possible = not take if off else take or not refit
        if possible:
            yield off, take, refit


def open_for(world: World, task: int, name: str) -> Options:
    """A component is off throughout a task."""
    take, refit = f"take:{name}", f"refit:{name}"
    if world.keys[task] in (take, refit):
        return CANNOT
    found: list[Option] = []
    for off, taken, refitted in courses(world, name):
        if not (off or taken):
            continue
        links = list(world.since(task, (take,))) if off else []
        if (first := world.number(take)) is not None and taken:
            links.append((first, task, world.ready(take)))
        if (last := world.number(refit)) is not None and refitted:
            links.append((task, last, world.length(world.keys[task])))
        found.append(tuple(links))
    return _least(found)


def shut_for(world: World, task: int, name: str) -> Options:
    """A component is on throughout a task, but for its own taking off."""
    take, refit = f"take:{name}", f"refit:{name}"
    own, length = world.keys[task], world.length(world.keys[task])
    if own == refit:
        return CANNOT
    found: list[Option] = []
    for off, taken, refitted in courses(world, name):
        first, last = world.number(take), world.number(refit)
        if not off:
            since = world.since(task, (refit,))
            if not taken or own == take:
                found.append(since)
            elif first is not None:
                found.append((*since, (task, first, length)))
            elif last is not None:
                found.append((*since, (task, last, length + world.length(take))))
            else:
                found.append(since)
        if refitted and own != take:
            if last is not None:
                found.append(((last, task, world.ready(refit)),))
            elif first is not None and taken:
                found.append(((first, task, world.length(take) + world.ready(refit)),))
            else:
                found.append(())
    return _least(found)


def clear_for(world: World, task: int, name: str) -> Iterator[Options]:
    """An effect is not pending during a task, but for what the task itself causes."""
    if world.facts.problem.effects[name].clearing is None:
        yield from _passed_for(world, task, name)
        return
    length = world.length(world.keys[task])
    causes, clears = world.facts.causing[name], world.facts.clearing[name]
    known = world.pending(name)
    hanging = (False, True) if known is None else (known,)
    mine = [n for key in causes if (n := world.number(key)) is not None and n != task]
    found: list[Option] = []
    if False in hanging:
        found.append((*world.since(task, clears), *((task, n, length) for n in mine)))
    caused = bool(mine) or True in hanging or any(world.may(key) for key in causes)
    if caused:
        found += _after_clearing(world, task, name, mine)
    yield _least(found)


def _after_clearing(world: World, task: int, name: str, mine: list[int]) -> Iterator[Option]:
    clears = world.facts.clearing[name]
    here = [n for key in clears if (n := world.number(key)) is not None and n != task]
    for n in here:
        ends = world.length(world.keys[n])
        first = tuple((n, m, ends - world.length(world.keys[m])) for m in here if m != n)
        yield ((n, task, world.ready(world.keys[n])), *first)
    others = [world.ready(key) for key in clears if world.may(key)]
    if others:
        yield tuple((n, task, world.length(world.keys[n]) + min(others)) for n in mine)


def _passed_for(world: World, task: int, name: str) -> Iterator[Options]:
    """What passes by itself: each cause for itself."""
    lasting = quarters(world.facts.problem.effects[name].lasting)
    length, clears = world.length(world.keys[task]), world.facts.clearing[name]
    here = [n for key in clears if (n := world.number(key)) is not None and n != task]
    cleared = any(world.may(key) for key in clears)
    if world.stand is not None and name in world.stand.passing:
        over: list[Option] = [((HERE, task, world.stand.passing[name]),)]
        over += [((n, task, world.ready(world.keys[n])),) for n in here]
        yield NOTHING if cleared else _least(over)
    for key in world.facts.causing[name]:
        cause = world.number(key)
        if cause is None or cause == task:
            continue
        ends = world.length(key)
        ways: list[Option] = [((task, cause, length),), ((cause, task, ends + lasting),)]
        ways += [((cause, n, ends), (n, task, world.ready(world.keys[n]))) for n in here]
        if cleared:
            ways.append(((cause, task, ends),))
        yield _least(ways)


def _unless(world: World, task: int, clause: Clause) -> Options:
    """What an examination taught does not stop the use when the task begins."""
    found: list[Option] = []
    for name in sorted(clause.done):
        key = f"job:{name}"
        if world.done(name):
            continue
        n = world.number(key)
        if n is None or n == task:
            return NOTHING  # it is not done by then, or it may not be
        found.append(((task, n, 1 - world.length(key)),))
    for name in sorted(clause.not_done):
        key = f"job:{name}"
        n = world.number(key)
        if world.done(name) or (n is None and world.may(key)):
            return NOTHING
        if n is not None and n != task:
            found.append(((n, task, world.length(key)),))
        elif n is None and world.done(name) is None:
            return NOTHING
    return _least(found)


def _least(found: list[Option]) -> Options:
    """Without what is said twice, and nothing but nothing where one option asks nothing."""
    return NOTHING if () in found else tuple(dict.fromkeys(found))
