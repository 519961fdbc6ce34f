"""Which tasks can never go on at the same time, and what that costs a work session.

While one person aligns the car, nobody may have it in the air: the others stand idle, or do what
does not touch it. Said as sums of work in yes and no, this spares the search for plans whose
sessions could hold the work by the hours, and not by the clock.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from drybuild.work.held import NEVER_AT_ONCE, sort_of
from drybuild.work.model import Problem
from drybuild.work.solve.tasks import Task, Tasks, sole_off


@dataclass(frozen=True)
class Asks:
    """What a task asks of the car in whatever way it is done."""

    off: frozenset[str]
    on: frozenset[str]
    clear: frozenset[str]


def asks_of(problem: Problem, task: Task, shut: frozenset[str]) -> Asks:
    """What a task asks of the car. Its own taking off, and what it causes itself, do not count.

    shut: components that are on before and after the session. One of them that has another of
    them off, when it comes off and when it is refitted, is off only while that is.
    """
    on: set[str] = set()
    clear: set[str] = set()
    for requirement in task.work.needs:
        for condition in requirement[0] if len(requirement) == 1 else ():
            if condition.kind == "on":
                on.add(condition.name)
            elif condition.kind == "clear":
                clear.add(condition.name)
            elif condition.kind == "use":
                stopping = problem.stopping(condition.name)
                on |= {n for n, c in problem.components.items() if set(c.stops) & stopping}
                clear |= {n for n, e in problem.effects.items() if set(e.stops) & stopping}
    own = {task.what} if task.kind == "take" else set()
    off, waiting = set(sole_off(task.work)), list(sole_off(task.work))
    while waiting:
        name = waiting.pop()
        if name in shut:
            component = problem.components[name]
            outer = sole_off(component.take) & sole_off(component.refit) & shut
            waiting += outer - off
            off |= outer
    return Asks(frozenset(off), frozenset(on - own), frozenset(clear - set(task.work.causes)))


def apart(tasks: Tasks, most: int, shut: frozenset[str]) -> dict[str, frozenset[str]]:
    """For each task, those that never go on while it does, in a session of so many people."""
    problem = tasks.problem
    asks = {key: asks_of(problem, task, shut) for key, task in tasks.all.items()}
    found: dict[str, set[str]] = {key: set() for key in tasks.all}
    every = [t for t in tasks.all.values() if t.length]
    for n, one in enumerate(every):
        for two in every[n + 1 :]:
            if (
                _parts(asks, one, two)
                or _parts(asks, two, one)
                or _hands(problem, one, two, most)
                or _waits(tasks, one, two)
                or _waits(tasks, two, one)
            ):
                found[one.key].add(two.key)
                found[two.key].add(one.key)
    return {key: frozenset(others) for key, others in found.items()}


def _parts(asks: dict[str, Asks], one: Task, two: Task) -> bool:
    """Whether what one asks of the car cannot be while the other goes on."""
    mine, other = asks[one.key], asks[two.key]
    moves = two.kind in ("take", "refit")
    if moves and two.what in mine.off | mine.on:
        return True
    if moves and one.kind in ("take", "refit") and one.what == two.what:
        return True
    if mine.on & other.off:
        return True
    dedicated = {two.what} if two.kind == "clear" else set()
    return bool(mine.clear & (set(two.work.causes) | dedicated))


def _hands(problem: Problem, one: Task, two: Task, most: int) -> bool:
    if one.people + two.people > most:
        return True
    held = set(one.work.tools) & set(two.work.tools)
    off = sort_of(two.work) in NEVER_AT_ONCE[sort_of(one.work)]
    return off or any(problem.tools.get(tool, 2) == 1 for tool in held)


def _waits(tasks: Tasks, one: Task, two: Task) -> bool:
    """Whether one comes after the other when both are in a session."""
    afters = one.job.after if one.job is not None and two.kind == "job" else ()
    return any(after.job == two.what for after in afters) or any(
        tasks.problem.effects[name].clearing is not None
        for name in one.clears & set(two.work.causes)
    )


@dataclass(frozen=True)
class Idle:
    """While one of ``alone`` goes on, none of ``others`` does, nor another of ``alone``."""

    alone: frozenset[str]
    others: frozenset[str]


def idle(tasks: Tasks, most: int, shut: frozenset[str]) -> Iterator[Idle]:
    """Sets of tasks that leave people idle, from each task as a beginning.

    Those with the most work that they keep from going on are taken first; a set is given at
    several sizes, for it is not known which tasks will share a session.
    """
    never = apart(tasks, most, shut)
    energy = {key: task.energy for key, task in tasks.all.items()}
    seen: set[Idle] = set()
    for begin, task in tasks.all.items():
        if not task.length or task.people >= most:
            continue
        alone, others = [begin], set(never[begin])
        while others:
            found = Idle(frozenset(alone), frozenset(others))
            if found not in seen and len(others) > 1:
                seen.add(found)
                yield found
            widest = max(others, key=lambda k: (_sum(energy, others & never[k]), k))
            if len(alone) > 11 or not others & never[widest]:
                break
            alone.append(widest)
            others &= never[widest]


def _sum(energy: dict[str, int], keys: Iterable[str]) -> int:
    return sum(energy[key] for key in keys)
