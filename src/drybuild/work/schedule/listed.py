"""A quick schedule of one session: ways chosen first, then task after task as early as it goes.

A task is given the persons who have the least else to do. It finds most schedules that exist and
proves nothing where it finds none.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import accumulate, pairwise
from random import Random

import numpy as np
from numpy.typing import NDArray

from drybuild.work.held import NEVER_AT_ONCE
from drybuild.work.model import Condition, Session
from drybuild.work.schedule.conditions import HERE, Link, Options
from drybuild.work.schedule.laid import Laid, Task

Ways = dict[tuple[int, int], tuple[Condition, ...]]
Array = NDArray[np.int64]
NEVER = -(10**9)
"""Between two tasks that no links hang together; sums with it stay below LINKED."""
LINKED = NEVER // 2


@dataclass(frozen=True)
class Placed:
    """Start and persons of each task, and the way that was chosen for each requirement."""

    starts: tuple[int, ...]
    who: tuple[tuple[str, ...], ...]
    ways: Ways


class Net:
    """Least distances between the starts of tasks, quarter 0 last; links are added one by one."""

    def __init__(self, count: int, far: Array, links: list[Link]) -> None:
        self.count, self.far, self.links = count, far, links

    @classmethod
    def of(cls, laid: Laid) -> Net | None:
        """What the links of a session ask; None when a circle of them cannot be.

        Longest ways by pivots (R. W. Floyd, Algorithm 97, CACM 5, 1962, with the signs turned).
        """
        count, links = len(laid.tasks), [*_bounds(laid), *laid.links]
        far = np.full((count + 1, count + 1), NEVER)
        np.fill_diagonal(far, 0)
        one, other, by = np.array(links, dtype=np.int64).reshape(-1, 3).T
        np.maximum.at(far, (one, other), by)
        for n in range(count + 1):
            if far.diagonal().max() > 0:
                return None
            np.maximum(far, far[:, n, None] + far[n], out=far)
        return None if far.diagonal().max() > 0 else cls(count, far, links)

    def copy(self) -> Net:
        """The same, to try something on."""
        return Net(self.count, self.far.copy(), list(self.links))

    def add(self, links: tuple[Link, ...]) -> bool:
        """Add them all; False, and of no more use, when a circle of them cannot be."""
        far = self.far
        for a, b, w in links:
            self.links.append((a, b, w))
            if far[b, a] + w > 0:
                return False
            if far[a, b] < w:
                np.maximum(far, far[:, a, None] + (far[b] + w), out=far)
        return True


class _Open:
    """What is to be chosen, each with its options, as arrays: which can still be added."""

    def __init__(self, open_: list[Options]) -> None:
        links = [(*link, k) for k, o in enumerate(o for many in open_ for o in many) for link in o]
        self.many = [len(options) for options in open_]
        table = np.array(links, dtype=np.int64).reshape(-1, 4)
        self.one, self.other, self.by, self.option = table.T

    def left(self, net: Net) -> list[list[bool]]:
        """Of each option of each choice, whether each of its links can still be added alone."""
        can = np.ones(sum(self.many), dtype=bool)
        can[self.option[net.far[self.other, self.one] + self.by > 0]] = False
        ends = list(accumulate(self.many, initial=0))
        flat: list[bool] = can.tolist()
        return [flat[a:b] for a, b in pairwise(ends)]


def _bounds(laid: Laid) -> Iterator[Link]:
    """Each task within its own time, as links."""
    for n, task in enumerate(laid.tasks):
        yield HERE, n, task.release
        yield n, HERE, task.length - task.deadline


def list_schedule(
    laid: Laid, session: Session, *, tries: int = 12, seed: int = 0, base: Net | None = None
) -> Placed | None:
    """A schedule, or None when none of some tries gave one. base: of these tasks, if there."""
    base = base or Net.of(laid)
    if laid.broken or base is None:
        return None
    random = Random(seed)
    for attempt in range(tries):
        net, ways = base.copy(), dict(laid.fixed)
        if not _choose(laid, net, ways, random if attempt else None):
            if not laid.choices and not laid.picks:
                return None
            continue
        placed = _place(laid, session, net, random if attempt else None)
        if placed is not None:
            return Placed(placed[0], placed[1], ways)
        if len(laid.tasks) < 2:
            return None
    return None


def _choose(laid: Laid, net: Net, ways: Ways, random: Random | None) -> bool:
    """Choose an option for everything that has several; what has one left goes first."""
    open_: list[Options] = list(laid.choices)
    picks = list(laid.picks)
    if random is not None:
        random.shuffle(open_)
        random.shuffle(picks)
    if not _settle(open_, net, random):
        return False
    for pick in picks:
        order = list(pick.ways)
        if random is not None and random.random() < 0.5:
            random.shuffle(order)
        for way in order:
            trial = net.copy()
            if _settle(list(way.asked), trial, random):
                net.far, net.links = trial.far, trial.links
                ways[pick.task, pick.number] = way.conditions
                break
        else:
            return False
    return True


def _settle(open_: list[Options], net: Net, random: Random | None) -> bool:
    """Choose one option of each: what has fewest left goes first."""
    if not open_:
        return True
    seen, waiting = _Open(open_), list(range(len(open_)))
    while waiting:
        can = seen.left(net)
        least = min(waiting, key=lambda k: sum(can[k]))
        options = [o for o, free in zip(open_[least], can[least], strict=True) if free]
        if not options:
            return False
        pick = options[0]
        if len(options) > 1 and random is not None:
            pick = random.choice(options)
        if not net.add(pick):
            return False
        waiting.remove(least)
    return True


def _place(
    laid: Laid, session: Session, net: Net, random: Random | None
) -> tuple[tuple[int, ...], tuple[tuple[str, ...], ...]] | None:
    """Place tasks by their latest start, those before them first."""
    count, far = net.count, net.far.tolist()
    weight = [float(-far[n][count]) for n in range(count)]  # latest start
    if random is not None:
        weight = [w - random.random() * 6 * laid.tasks[n].length for n, w in enumerate(weight)]
    order = list(_topological(net, weight))
    return _serial(laid, session, net, order) if len(order) == count else None


def _topological(net: Net, weight: list[float]) -> Iterator[int]:
    """Every task after those that it is linked to; fewer where links go in a circle."""
    after: list[set[int]] = [set() for _ in range(net.count)]
    waiting = [0] * net.count
    for a, b, _ in net.links:
        if a != HERE and b != HERE and b not in after[a]:
            after[a].add(b)
            waiting[b] += 1
    ready = [n for n in range(net.count) if not waiting[n]]
    while ready:
        best = min(ready, key=lambda n: (weight[n], n))
        ready.remove(best)
        yield best
        for later in after[best]:
            waiting[later] -= 1
            if not waiting[later]:
                ready.append(later)


def free_quarters(session: Session) -> dict[str, int]:
    """Person → the quarters of the session in which they are there, as bits."""
    free: dict[str, int] = {}
    for here in session.people:
        start, end = max(here.start, session.start), min(here.end, session.end)
        if start < end:
            bits = ((1 << (end - start)) - 1) << (start - session.start)
            free[here.name] = free.get(here.name, 0) | bits
    return free


def _serial(
    laid: Laid, session: Session, net: Net, order: list[int]
) -> tuple[tuple[int, ...], tuple[tuple[str, ...], ...]] | None:
    count, far, zero = net.count, net.far.tolist(), session.start
    early = [far[count][n] for n in range(count)]
    late = [-far[n][count] for n in range(count)]
    free = free_quarters(session)
    held = {tool: [0] * most for tool, most in laid.tools.items()}
    at_it = dict.fromkeys(NEVER_AT_ONCE, 0)  # quarters in which a task of that sort goes on
    starts: list[int] = [0] * count
    who: list[tuple[str, ...]] = [()] * count
    wanted = [name for task in laid.tasks for name in task.who]
    for n in order:
        task = laid.tasks[n]
        for at in range(early[n], late[n] + 1):
            bits = ((1 << task.length) - 1) << (at - zero)
            names = _names(task, free, bits or 1 << (at - zero), wanted)
            shut = (at_it[sort] for sort in NEVER_AT_ONCE[task.sort])
            if names is not None and not any(b & bits for b in (*shut, *_full(held, task))):
                break
        else:
            return None
        starts[n], who[n] = at, names or ()
        for name in who[n]:
            free[name] &= ~bits
        for tool in task.tools:
            _hold(held[tool], bits)
        at_it[task.sort] |= bits
        for k in range(count):
            if far[n][k] > LINKED:
                early[k] = max(early[k], at + far[n][k])
            if far[k][n] > LINKED:
                late[k] = min(late[k], at - far[k][n])
    return tuple(starts), tuple(who)


def _names(
    task: Task, free: dict[str, int], bits: int, wanted: list[str]
) -> tuple[str, ...] | None:
    """Persons who are free for it, those first who can do the least else; None: too few."""
    if not task.people:
        return ()
    can = [name for name, quarters in free.items() if quarters & bits == bits]
    can.sort(key=lambda name: (wanted.count(name), free[name].bit_count()))
    if task.who and task.all_of_them:
        can = [name for name in can if name in task.who]
    elif task.who:
        first = next((name for name in can if name in task.who), None)
        can = [] if first is None else [first, *(name for name in can if name != first)]
    return tuple(can[: task.people]) if len(can) >= task.people else None


def _full(held: dict[str, list[int]], task: Task) -> Iterator[int]:
    """Quarters in which a tool that it holds has no piece left."""
    return (held[tool][-1] for tool in task.tools)


def _hold(levels: list[int], bits: int) -> None:
    """Take one of a tool for some quarters: level k holds where more than k are taken."""
    for k, level in enumerate(levels):
        levels[k], bits = level | bits, level & bits
