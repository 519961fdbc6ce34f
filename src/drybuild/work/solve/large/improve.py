"""A plan made better: some blocks or some regions of the car are filled anew, the rest stays.

What the coarse master offers is spread over the sessions of the blocks that it changed, and taken
only when every session's own schedule stands and the checker has nothing against it.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from drybuild.work.solve.large.choice import Choice
from drybuild.work.solve.large.laid import Laid
from drybuild.work.solve.large.master import Master
from drybuild.work.solve.large.shop import Free, Shop
from drybuild.work.solve.large.spread import reach, spread

SECONDS = 0.5
"""Deterministic seconds for one search of the coarse master."""


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
    _tries: Counter[str] = field(default_factory=Counter)

    def step(self, *, most: int | None = None, sessions: int | None = None) -> bool:
        """One attempt at less load; or, with ``sessions``, at a plan that ends by then with no
        more than ``most`` load. Whether it succeeded."""
        now = self.best.choice
        free = self._free() if sessions is None else self._late(sessions)
        offer = self._offer(now, free, now.load - 1 if most is None else most, sessions)
        found = None if offer is None else self._spread(offer, sessions)
        if found is None or self._worse(found.choice, most, sessions):
            self.idle += 1
            return False
        self.best, self.idle = found, 0
        return True

    def _worse(self, found: Choice, most: int | None, sessions: int | None) -> bool:
        if sessions is not None and found.finish > sessions:
            return True
        return found.load > (self.best.choice.load - 1 if most is None else most)

    # -- what is opened up -----------------------------------------------------------------------

    def _free(self) -> Free:
        random = self.shop.random
        kind = random.choice(("blocks", "blocks", "regions"))
        self._tries[kind] += 1
        if kind == "regions":
            return self._by_region()
        return self._by_block()

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

    def _late(self, sessions: int) -> Free:
        """The last blocks that are used, and one or two others."""
        blocks, random = self.shop.blocks, self.shop.random
        last = [b for b, block in enumerate(blocks) if block[-1] >= sessions]
        earlier = [b for b in range(len(blocks)) if b not in last]
        chosen = set(last) | set(random.sample(earlier, min(len(earlier), 3)))
        return lambda key, block: block in chosen

    # -- what is done with it --------------------------------------------------------------------

    def _offer(self, now: Choice, free: Free, most: int, sessions: int | None) -> Choice | None:
        shop, horizon = self.shop, self.shop.horizon if sessions is None else sessions
        room = []
        for number, block in enumerate(shop.blocks):
            usable = [k for k in block if k < horizon]
            held = sum(now.loads[k] for k in usable)
            share = shop.room[number] / max(1, shop.capacity(block))
            room.append(max(share * shop.capacity(usable), held))
        master = Master(
            shop.shape, shop.blocks, room=room, now=now, free=free, cuts=shop.cuts, until=horizon
        )
        # what is opened twice in a block that stays counts twice in the plan, once in the master
        twice = now.load - sum(
            sum(shop.shape.tasks[key].load for key in {k for s in block for k in now.chosen[s]})
            for block in shop.blocks
        )
        master.model.add(master.load() <= most - (0 if sessions is None else twice))
        return shop.search(master, seconds=SECONDS, hint=now).choice

    def _spread(self, offer: Choice, sessions: int | None) -> Laid | None:
        """The offer with every changed block spread over its sessions."""
        shop, now = self.shop, self.best.choice
        laid = Laid(offer, self.best.steps)
        before, shop.horizon = shop.horizon, sessions if sessions is not None else shop.horizon
        try:
            for number, block in enumerate(shop.blocks):
                old = {key for k in block for key in now.chosen[k]}
                if old == {key for k in block for key in offer.chosen[k]} and not (
                    sessions is not None and block[-1] >= sessions
                ):
                    continue
                enough = float(laid.choice.load)
                found = spread(shop, laid.choice, number, laid.steps, hint=now, enough=enough)
                if found is None:
                    shop.room[number] = max(
                        sum(now.loads[k] for k in block),
                        0.98 * min(shop.room[number], sum(offer.loads[k] for k in block)),
                    )
                    return None
                laid = found
        finally:
            shop.horizon = before
        return shop.board.holds(laid)
