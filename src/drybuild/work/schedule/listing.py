"""Good schedules quickly: activities placed one by one in the order of a list, and lists bred.

Each list is decoded by the serial scheme (each activity as early as the resources allow), then
pushed to the right and to the left again, which often shortens it (double justification: V.
Valls, F. Ballestín, S. Quintanilla, Justification and RCPSP: a technique that pays, European
Journal of Operational Research 165 (2005) 375-386, *from memory*). Lists are crossed at two
points (S. Hartmann, Naval Research Logistics 45 (1998) 733-750, *from memory*).

What is free of all resources at one time is one whole number, a field of bits for each resource
with a guard bit on top, so that one subtraction compares them all.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from random import Random

from drybuild.work.schedule.activities import Activities
from drybuild.work.schedule.critical import critical

SHAKEN = 0.05
"""Share of neighbours in a list that change places when it is bred."""


@dataclass(frozen=True)
class Packed:
    """Activities with their demands packed. turned: the same project backwards."""

    durations: tuple[int, ...]
    demands: tuple[int, ...]
    before: tuple[tuple[int, ...], ...]
    after: tuple[tuple[int, ...], ...]
    full: int
    guard: int
    horizon: int

    def turned(self) -> Packed:
        """The same project backwards in time."""
        return Packed(
            self.durations, self.demands, self.after, self.before,
            self.full, self.guard, self.horizon,
        )  # fmt: skip


def pack(activities: Activities) -> Packed:
    """The activities, packed."""
    shift, places = 0, []
    guard = full = 0
    for capacity in activities.capacities:
        places.append(shift)
        full |= capacity << shift
        shift += capacity.bit_length() + 1
        guard |= 1 << (shift - 1)
    demands = tuple(
        sum(demand << place for demand, place in zip(row, places, strict=True)) if length else 0
        for row, length in zip(activities.demands, activities.durations, strict=True)
    )
    return Packed(
        durations=activities.durations,
        demands=demands,
        before=activities.predecessors(),
        after=tuple(tuple(sorted(set(row))) for row in activities.successors),
        full=full | guard,
        guard=guard,
        horizon=activities.horizon,
    )


def place(packed: Packed, order: Sequence[int]) -> tuple[list[int], int]:
    """Starts and end of all when each activity of the list starts as early as it can.

    order: every activity, after all that come before it.
    """
    free = [packed.full] * (packed.horizon + 1)
    durations, demands, before, guard = (
        packed.durations, packed.demands, packed.before, packed.guard,
    )  # fmt: skip
    starts = [0] * len(order)
    ends = [0] * len(order)
    last = 0
    for activity in order:
        start = 0
        for earlier in before[activity]:
            if ends[earlier] > start:
                start = ends[earlier]
        end = start + durations[activity]
        demand = demands[activity]
        if demand:
            at = start
            while at < end:
                if (free[at] - demand) & guard != guard:
                    start = at + 1
                    end = start + durations[activity]
                at += 1
            for at in range(start, end):
                free[at] -= demand
        starts[activity], ends[activity] = start, end
        if end > last:
            last = end
    return starts, last


def justified(packed: Packed, back: Packed, order: Sequence[int]) -> tuple[list[int], int]:
    """As ``place``, then all pushed late and early again for as long as it gets shorter."""
    starts, last = place(packed, order)
    durations = packed.durations
    while True:
        # from the right: what ends last is placed first, seen backwards
        late = sorted(order, key=lambda a: -(starts[a] + durations[a]))
        turned, _ = place(back, _settled(back, late))
        end = max(turned[a] + durations[a] for a in order)
        begin = sorted(order, key=lambda a: end - turned[a] - durations[a])
        again, shorter = place(packed, _settled(packed, begin))
        if shorter >= last:
            return (again, shorter) if shorter == last else (starts, last)
        starts, last = again, shorter


def _settled(packed: Packed, order: list[int]) -> list[int]:
    """The order, with what has no length put after all before it."""
    if all(packed.durations):
        return order
    placed = [False] * len(order)
    found: list[int] = []
    waiting = order
    while waiting:
        left = []
        for activity in waiting:
            if all(placed[earlier] for earlier in packed.before[activity]):
                placed[activity] = True
                found.append(activity)
            else:
                left.append(activity)
        waiting = left
    return found


Member = tuple[int, tuple[int, ...], tuple[int, ...]]
"""When all is done, the starts, and the list in order of start."""


class Pool:
    """Lists that are bred with each other. tried: how many have been."""

    def __init__(self, activities: Activities, *, seed: int = 0, size: int = 100) -> None:
        self.packed = pack(activities)
        self.back = self.packed.turned()
        self.random = Random(seed)
        self.rule = critical(activities).latest
        self.size, self.tried = size, 0
        self.members: list[Member] = []
        self.add(_sampled(self.packed, self.rule, None))

    @property
    def best(self) -> Member:
        """The member that is done first."""
        return self.members[0]

    def add(self, order: Sequence[int]) -> Member:
        """Decode a list and keep it when there is no other like it."""
        self.tried += 1
        starts, last = justified(self.packed, self.back, order)
        member = (last, tuple(starts), tuple(in_order(self.packed, starts)))
        if all(member[1] != other[1] for other in self.members if other[0] == last):
            self.members.append(member)
            self.members.sort(key=lambda one: one[0])
        return member

    def put(self, starts: Sequence[int]) -> Member:
        """Add a schedule that was found elsewhere."""
        return self.add(in_order(self.packed, starts))

    def breed(self, *, lists: int, goal: int, stop: Callable[[], bool]) -> None:
        """Try so many lists, or until ``goal`` is reached or ``stop`` says so."""
        limit = self.tried + lists
        while self.best[0] > goal and self.tried < limit and not stop():
            if len(self.members) < self.size and self.tried < 2 * self.size:
                self.add(_sampled(self.packed, self.rule, self.random))
                continue
            parents = self.members[:]
            self.random.shuffle(parents)
            for mother, father in zip(parents, [*parents[1:], parents[0]], strict=True):
                order = _crossed(mother[2], father[2], self.random)
                self.add(_shaken(self.packed, order, self.random))
            del self.members[self.size :]


def in_order(packed: Packed, starts: Sequence[int]) -> list[int]:
    """The activities in order of start."""
    return _settled(packed, sorted(range(len(starts)), key=lambda a: (starts[a], a)))


def _sampled(packed: Packed, rule: Sequence[int], random: Random | None) -> list[int]:
    """A list by latest start, with luck in proportion to the regret (none where random is None)."""
    waiting = [len(row) for row in packed.before]
    ready = [a for a, count in enumerate(waiting) if not count]
    found = []
    while ready:
        if random is None:
            pick = min(ready, key=lambda a: (rule[a], a))
        else:
            worst = max(rule[a] for a in ready)
            pick = random.choices(ready, [(worst - rule[a] + 1) ** 2 for a in ready])[0]
        ready.remove(pick)
        found.append(pick)
        for later in packed.after[pick]:
            waiting[later] -= 1
            if not waiting[later]:
                ready.append(later)
    return found


def _crossed(mother: Sequence[int], father: Sequence[int], random: Random) -> list[int]:
    """The mother's list as far as a point, then the father's to another, then hers again."""
    one, two = sorted((random.randrange(len(mother)), random.randrange(len(mother))))
    found = list(mother[:one])
    taken = set(found)
    found += [a for a in father if a not in taken][: two - one]
    taken = set(found)
    return [*found, *(a for a in mother if a not in taken)]


def _shaken(packed: Packed, order: list[int], random: Random) -> list[int]:
    """Some neighbours in the list changed over."""
    for at in range(len(order) - 1):
        if random.random() < SHAKEN and order[at] not in packed.before[order[at + 1]]:
            order[at], order[at + 1] = order[at + 1], order[at]
    return order
