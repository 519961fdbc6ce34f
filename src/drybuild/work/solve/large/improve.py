"""A plan made better: some blocks or some regions of the car are filled anew, the rest stays.

What the coarse master offers is spread over the sessions of the blocks that it changed, and taken
only when every session's own schedule stands and the checker has nothing against it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Any

from drybuild.work.solve.large.choice import Choice
from drybuild.work.solve.large.laid import Laid
from drybuild.work.solve.large.master import Cut, Master
from drybuild.work.solve.large.shop import FINE_ROOM, Free, Shop
from drybuild.work.solve.large.spread import apart, reach, spread

SECONDS = 0.5
"""Deterministic seconds for one search of the coarse master."""
JUMPS = 0.6
"""Share of the attempts to end sooner that empty a whole session, or a block, at once."""
FULLER = 0.01
"""By how much more of the presence is tried to be filled after each attempt in vain."""
WIDE = 6
"""Sessions, at most, whose tasks are chosen anew session by session."""


@dataclass
class Improver:
    """Takes a plan and makes it better, step by step.

    idle: how many steps in a row brought nothing.
    """

    shop: Shop
    best: Laid
    idle: int = 0
    blocks_at_once: int = 3
    regions_at_once: int = 4

    def less(self) -> bool:
        """One attempt at less load. Whether it succeeded."""
        now, random = self.best.choice, self.shop.random
        kind = random.choice(("blocks", "blocks", "regions", "sessions"))
        if kind == "sessions":
            number = random.randrange(len(self.shop.blocks))
            found = self._apart(self._close_to(number), set(), now.load - 1)
        else:
            free = self._by_block() if kind == "blocks" else self._by_region()
            offer = self._offer(now, free, now.load - 1)
            found = None if offer is None else self._spread(offer)
        return self._take(found if found and found.choice.load < now.load else None)

    def sooner(self, *, most: int | None = None) -> bool:
        """One attempt to end sooner, or to move work out of the last session, with no more load
        than ``most`` (than now, unless told). Whether it succeeded."""
        now, random = self.best.choice, self.shop.random
        if now.finish == 0:
            return False
        most = now.load if most is None else most
        number = next(n for n, block in enumerate(self.shop.blocks) if now.finish - 1 in block)
        some = set(random.sample(range(number), min(number, self.blocks_at_once)))
        if random.random() < JUMPS:
            found = self._jump(number, some, most)
        else:
            late = _late(now)[1]
            wanted = random.choice((0, late // 2, late - 1))
            found = self._apart({number}, some, most, late=wanted)
        if found is not None and (found.choice.load > most or _late(found.choice) >= _late(now)):
            found = None
        return self._take(found)

    def _jump(self, number: int, others: set[int], most: int) -> Laid | None:
        """The last session, or its whole block, left empty by filling blocks anew."""
        shop, now = self.shop, self.best.choice
        before = shop.horizon
        shop.horizon = shop.random.choice((now.finish - 1, max(1, shop.blocks[number][0])))
        chosen = others | {n for n in range(number, len(shop.blocks))}
        try:
            offer = self._offer(now, lambda key, block: block in chosen, most)
            return None if offer is None else self._spread(offer)
        finally:
            shop.horizon = before

    def _take(self, found: Laid | None) -> bool:
        if found is None:
            self.idle += 1
            return False
        self.best, self.idle = found, 0
        return True

    # -- what is opened up -----------------------------------------------------------------------

    def _close_to(self, number: int) -> set[int]:
        """A block, and its neighbours for as long as they are few sessions together."""
        blocks, found = self.shop.blocks, {number}
        for other in (number + 1, number - 1):
            if 0 <= other < len(blocks) and sum(len(blocks[n]) for n in (*found, other)) <= WIDE:
                found.add(other)
        return found

    def _opened(self) -> dict[str, list[int]]:
        """Component → the blocks in which it is taken off."""
        found: dict[str, list[int]] = {}
        for number, block in enumerate(self.shop.blocks):
            for session in block:
                for key in self.best.choice.chosen[session]:
                    if key.startswith("take:"):
                        found.setdefault(key[5:], []).append(number)
        return found

    def _by_block(self) -> Free:
        """A few blocks: those that open the same components, more likely."""
        random, count = self.shop.random, len(self.shop.blocks)
        tasks = self.shop.shape.tasks
        start = random.randrange(count)
        weight = [1.0] * count
        for name, blocks in self._opened().items():
            if start in blocks:
                for other in blocks:
                    weight[other] += tasks[f"take:{name}"].load + tasks[f"refit:{name}"].load
        chosen = {start}
        while len(chosen) < min(self.blocks_at_once, count):
            weight = [0.0 if b in chosen else w for b, w in enumerate(weight)]
            chosen.add(random.choices(range(count), weight)[0])
        return lambda key, block: block in chosen

    def _by_region(self) -> Free:
        """A few regions of the car: those that are opened more than once, more likely."""
        shape, random = self.shop.shape, self.shop.random
        components = shape.problem.components
        weight: Counter[str] = Counter({job.region: 1 for job in shape.problem.jobs.values()})
        for name, blocks in self._opened().items():
            weight[components[name].region] += 3 * (len(blocks) - 1)
        chosen: set[str] = set()
        names = sorted(weight)
        while len(chosen) < min(self.regions_at_once, len(names)):
            chosen.add(random.choices(names, [weight[name] for name in names])[0])
        jobs = [n for n in shape.jobs if shape.problem.jobs[n].region in chosen]
        keys = reach(shape, [f"job:{name}" for name in jobs])
        return lambda key, block: key in keys

    # -- what is done with it --------------------------------------------------------------------

    def _rooms(self, now: Choice) -> list[float]:
        """What each block may hold: its share, or what it holds already."""
        shop = self.shop
        found = []
        for number, block in enumerate(shop.blocks):
            usable = [k for k in block if k < shop.horizon]
            share = self._fuller(shop.room[number] / max(1, shop.capacity(block)))
            held = sum(now.loads[k] for k in usable)
            found.append(max(share * shop.capacity(usable), held))
        return found

    def _fuller(self, share: float) -> float:
        """A share of presence to fill: the more, the longer nothing else has helped."""
        return min(1.0, share * (1 + FULLER * self.idle))

    def _twice(self, now: Choice, numbers: Iterable[int]) -> int:
        """Load of what is done twice in some blocks: the coarse master counts it once."""
        tasks, blocks = self.shop.shape.tasks, self.shop.blocks
        return sum(
            sum(now.loads[k] for k in blocks[n])
            - sum(tasks[key].load for key in {key for k in blocks[n] for key in now.chosen[k]})
            for n in numbers
        )

    def _offer(self, now: Choice, free: Free, most: int) -> Choice | None:
        shop = self.shop
        master = Master(
            shop.shape,
            shop.blocks,
            room=self._rooms(now),
            now=now,
            free=free,
            cuts=shop.cuts,
            until=shop.horizon,
        )
        kept = [n for n in range(len(shop.blocks)) if not any(free(k, n) for k in shop.shape.tasks)]
        master.model.add(master.load() <= most - self._twice(now, kept))
        return shop.search(master, seconds=SECONDS, hint=now).choice

    def _apart(
        self, single: set[int], others: set[int], most: int, *, late: int | None = None
    ) -> Laid | None:
        """Some blocks chosen anew session by session, others with them as whole blocks.

        The least load; or, with ``late``, the least that can be in the last session that is used
        now, no more than that.
        """
        shop, now = self.shop, self.best.choice
        blocks = apart(shop.blocks, single)
        mine = {k for n in single | others for k in shop.blocks[n]}
        rooms = dict(zip((b[0] for b in shop.blocks), self._rooms(now), strict=True))
        sessions = sorted(k for n in single for k in shop.blocks[n])
        for k in sessions:
            rooms[k] = max(self._fuller(FINE_ROOM) * shop.shape.capacity[k], now.loads[k])
        master = Master(
            shop.shape,
            blocks,
            room=[rooms[b[0]] for b in blocks],
            now=now,
            free=lambda key, b: blocks[b][0] in mine,
            cuts=shop.cuts,
            until=shop.horizon if late is None else now.finish,
        )
        left = set(range(len(shop.blocks))) - single
        master.model.add(master.load() <= most - self._twice(now, left))
        least = None if late is None else _late_load(master, blocks.index((now.finish - 1,)))
        if least is not None:
            master.model.add(least <= late)
        offer = shop.search(master, seconds=SECONDS, least=least, hint=now).choice
        laid = None if offer is None else self._spread(offer, without=single)
        if laid is None:
            return None
        found = shop.board.lay(laid.choice, sessions, laid.steps)
        if isinstance(found, Laid):
            return shop.board.holds(found)
        if found.clash is not None and not found.clash.stands:
            shop.cuts.append(Cut(found.session, found.clash.keys, found.clash.absent))
        return None

    def _spread(self, offer: Choice, *, without: Collection[int] = ()) -> Laid | None:
        """The offer with every changed block spread over its sessions."""
        shop, now = self.shop, self.best.choice
        laid = Laid(offer, self.best.steps)
        for number, block in enumerate(shop.blocks):
            old = {key for k in block for key in now.chosen[k]}
            new = {key for k in block for key in offer.chosen[k]}
            beyond = any(offer.chosen[k] for k in block if k >= shop.horizon)
            if number in without or (old == new and not beyond):
                continue
            enough = float(laid.choice.load)
            found = spread(shop, laid.choice, number, laid.steps, hint=now, enough=enough)
            if found is None:
                held = sum(now.loads[k] for k in block)
                offered = sum(offer.loads[k] for k in block)
                shop.room[number] = max(held, 0.98 * min(shop.room[number], offered))
                return None
            laid = found
        return laid if without else shop.board.holds(laid)


def _late_load(master: Master, block: int) -> Any:
    """What is done in a block, as an expression; a task without load counts as one."""
    tasks = master.shape.tasks
    mine = [(key, literal) for (key, b), literal in master.task.items() if b == block]
    return sum((1 + tasks[key].load) * literal for key, literal in mine)


def _late(choice: Choice) -> tuple[int, int]:
    """How late a plan ends: its last session, and what is done in that."""
    tasks = choice.shape.tasks
    keys = choice.chosen[choice.finish - 1] if choice.finish else ()
    return choice.finish, sum(1 + tasks[key].load for key in keys)
