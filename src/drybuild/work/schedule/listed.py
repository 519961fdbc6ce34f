"""A quick schedule of one session: ways chosen first, then task after task as early as it goes.

A task is given the persons who have the least else to do. It finds most schedules that exist and
proves nothing where it finds none.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from random import Random

from drybuild.work.model import Condition, Session
from drybuild.work.schedule.conditions import HERE, Link, Options
from drybuild.work.schedule.laid import Laid, Task

Ways = dict[tuple[int, int], tuple[Condition, ...]]
LEAST = -(10**9)


@dataclass(frozen=True)
class Placed:
    """Start and persons of each task, and the way that was chosen for each requirement."""

    starts: tuple[int, ...]
    who: tuple[tuple[str, ...], ...]
    ways: Ways


class Net:
    """Least distances between the starts of tasks, quarter 0 last; links are added one by one."""

    def __init__(self, laid: Laid) -> None:
        self.count = len(laid.tasks)
        self.far = [[LEAST] * (self.count + 1) for _ in range(self.count + 1)]
        for n in range(self.count + 1):
            self.far[n][n] = 0
        self.links: list[Link] = []

    def allows(self, links: tuple[Link, ...]) -> bool:
        """Whether each of these can still be added alone."""
        return all(self.far[b][a] + w <= 0 for a, b, w in links)

    def add(self, links: tuple[Link, ...]) -> bool:
        """Add them all; False, and of no more use, when a circle of them cannot be."""
        far = self.far
        for a, b, w in links:
            self.links.append((a, b, w))
            if far[b][a] + w > 0:
                return False
            if far[a][b] >= w:
                continue
            out = [(k, w + d) for k, d in enumerate(far[b]) if d > LEAST]
            for row in far:
                if row[a] > LEAST:
                    reach = row[a]
                    for k, d in out:
                        if reach + d > row[k]:
                            row[k] = reach + d
        return True


def bounds(laid: Laid) -> tuple[Link, ...]:
    """Each task within its own time, as links."""
    found: list[Link] = []
    for n, task in enumerate(laid.tasks):
        found += [(HERE, n, task.release), (n, HERE, task.length - task.deadline)]
    return tuple(found)


def list_schedule(laid: Laid, session: Session, *, tries: int = 12, seed: int = 0) -> Placed | None:
    """A schedule, or None when none of some tries gave one."""
    base = Net(laid)
    if laid.broken or not base.add((*bounds(laid), *laid.links)):
        return None
    random = Random(seed)
    for attempt in range(tries):
        net, ways = _copy(base), dict(laid.fixed)
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


def _copy(net: Net) -> Net:
    copy = object.__new__(Net)
    copy.count, copy.far, copy.links = net.count, [row[:] for row in net.far], list(net.links)
    return copy


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
            trial = _copy(net)
            if _settle(list(way.asked), trial, random):
                net.far, net.links = trial.far, trial.links
                ways[pick.task, pick.number] = way.conditions
                break
        else:
            return False
    return True


def _settle(open_: list[Options], net: Net, random: Random | None) -> bool:
    while open_:
        left = [[o for o in options if net.allows(o)] for options in open_]
        least = min(range(len(open_)), key=lambda k: len(left[k]))
        options = left[least]
        if not options:
            return False
        pick = options[0]
        if len(options) > 1 and random is not None:
            pick = random.choice(options)
        if not net.add(pick):
            return False
        del open_[least]
    return True


def _place(
    laid: Laid, session: Session, net: Net, random: Random | None
) -> tuple[tuple[int, ...], tuple[tuple[str, ...], ...]] | None:
    """Place tasks by their latest start, those before them first."""
    count, far = net.count, net.far
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
    count, far, zero = net.count, net.far, session.start
    early = [far[count][n] for n in range(count)]
    late = [-far[n][count] for n in range(count)]
    free = free_quarters(session)
    held = {tool: [0] * most for tool, most in laid.tools.items()}
    starts: list[int] = [0] * count
    who: list[tuple[str, ...]] = [()] * count
    wanted = [name for task in laid.tasks for name in task.who]
    for n in order:
        task = laid.tasks[n]
        for at in range(early[n], late[n] + 1):
            bits = ((1 << task.length) - 1) << (at - zero)
            names = _names(task, free, bits or 1 << (at - zero), wanted)
            if names is not None and not any(held[t][-1] & bits for t in task.tools):
                break
        else:
            return None
        starts[n], who[n] = at, names or ()
        for name in who[n]:
            free[name] &= ~bits
        for tool in task.tools:
            _hold(held[tool], bits)
        for k in range(count):
            if far[n][k] > LEAST:
                early[k] = max(early[k], at + far[n][k])
            if far[k][n] > LEAST:
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


def _hold(levels: list[int], bits: int) -> None:
    """Take one of a tool for some quarters: level k holds where more than k are taken."""
    for k, level in enumerate(levels):
        levels[k], bits = level | bits, level & bits
