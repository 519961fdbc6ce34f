"""The first complete plan: blocks filled by the coarse master, then spread one after another."""

from __future__ import annotations

from collections.abc import Callable

from drybuild.work.solve.large.choice import Choice, choice
from drybuild.work.solve.large.laid import Laid
from drybuild.work.solve.large.master import Cut, Master, singles
from drybuild.work.solve.large.shop import Shop
from drybuild.work.solve.large.spread import spread

SECONDS = 1.0
"""Deterministic seconds for filling the blocks the first time."""

FEW = 2000
"""Tasks times sessions up to which every session is chosen at once when blocks do not help."""

WHOLE_SECONDS, WHOLE_TRIES = 20.0, 60
"""Deterministic seconds for, and number of, searches of every session at once."""


def first(shop: Shop, *, stop: Callable[[], bool] = lambda: False) -> Laid | None:
    """A plan that the checker takes, or None in the time. stop: asked now and then."""
    seconds, failed = SECONDS, 0
    few = len(shop.shape.tasks) * len(shop.shape.sessions) <= FEW
    while not shop.over() and not stop():
        if failed == 2 and few:
            few = False
            laid = _whole(shop)
            if laid is not None or shop.none:
                return laid
        filled = _fill(shop, None, -1, seconds)
        if filled is None:
            seconds *= 2
            if not _loosen(shop):
                return _whole(shop)
            continue
        laid = _spread_all(shop, filled)
        if laid is not None:
            return laid
        shop.seed, failed = shop.seed + 1, failed + 1
    return None


def _whole(shop: Shop) -> Laid | None:
    """Every session chosen at once: slow, but it shuts nothing out that a block's rules do.

    Where that shows that there is no plan, ``shop.none`` says so.
    """
    shape = shop.shape
    sessions = range(len(shape.sessions))
    passing: list[Cut] = []
    for _ in range(WHOLE_TRIES):
        if shop.over():
            return None
        room = [float(load) for load in shape.capacity]
        master = Master(shape, singles(shape), room=room, cuts=(*shop.cuts, *passing))
        found = shop.search(master, seconds=WHOLE_SECONDS)
        if found.choice is None:
            shop.none = found.none and not passing
            return None
        laid = shop.board.lay(found.choice, sessions, [()] * len(shape.sessions))
        if isinstance(laid, Laid):
            return shop.board.holds(laid)
        if laid.clash is None:
            return None
        cut = Cut(laid.session, laid.clash.keys, laid.clash.absent)
        (passing if laid.clash.stands else shop.cuts).append(cut)
    return None


def _loosen(shop: Shop) -> bool:
    """More room in every block; whether there was any left to give."""
    full = [float(shop.capacity(block)) for block in shop.blocks]
    if all(room >= whole for room, whole in zip(shop.room, full, strict=True)):
        return False
    shop.room = [min(whole, 1.1 * room) for room, whole in zip(shop.room, full, strict=True)]
    return True


def _fill(shop: Shop, now: Choice | None, done: int, seconds: float) -> Choice | None:
    """Jobs for every block after ``done``; those up to it are as they are now."""
    master = Master(
        shop.shape,
        shop.blocks,
        room=shop.room,
        now=now,
        free=(lambda key, block: block > done) if now is not None else None,
        cuts=shop.cuts,
    )
    return shop.search(master, seconds=seconds).choice


def _spread_all(shop: Shop, filled: Choice) -> Laid | None:
    """Every block in turn. What does not fit into one goes into later ones."""
    laid = Laid(filled, tuple(() for _ in shop.shape.sessions))
    for block in range(len(shop.blocks)):
        enough = float(laid.choice.load)
        found = spread(shop, laid.choice, block, laid.steps, enough=enough)
        if found is None:
            found = _without(shop, laid, block)
        if found is None:
            shop.room[block] *= 0.93
            return None
        laid = found
    return shop.board.holds(laid)


def _without(shop: Shop, laid: Laid, block: int) -> Laid | None:
    """A block with the jobs that fit into it, and the rest put into later blocks."""
    found = spread(shop, laid.choice, block, laid.steps, optional=True)
    if found is None or block == len(shop.blocks) - 1:
        return None
    kept = {k for b in shop.blocks[: block + 1] for k in b}
    now = choice(
        shop.shape,
        (keys if k in kept else () for k, keys in enumerate(found.choice.chosen)),
    )
    again = _fill(shop, now, block, SECONDS)
    return None if again is None else Laid(again, found.steps)
