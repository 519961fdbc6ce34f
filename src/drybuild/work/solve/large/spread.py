"""Spread the tasks of one block over its sessions, so that each session's own schedule stands."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from drybuild.work.model import Step
from drybuild.work.solve.large.choice import Choice
from drybuild.work.solve.large.laid import Laid
from drybuild.work.solve.large.master import Cut, Master
from drybuild.work.solve.large.shape import Shape
from drybuild.work.solve.large.shop import FINE_ROOM, Shop

TRIES, AGAIN = 12, 3
SECONDS, ALL_SECONDS = 0.6, 1.8
"""Deterministic seconds for one search, and after which no other is begun."""


def spread(
    shop: Shop,
    wanted: Choice,
    block: int,
    kept: Sequence[tuple[Step, ...]],
    *,
    hint: Choice | None = None,
    enough: float | None = None,
    optional: bool = False,
) -> Laid | None:
    """A choice in which the sessions of ``block`` can be scheduled, and the schedule.

    Jobs stay in the block; what is opened for them is chosen anew. enough: the load of the whole
    choice that is hoped for. optional: a job that does not fit may be left out. None: not found.
    """
    sessions = shop.blocks[block]
    keys = within(shop.shape, wanted, sessions)
    blocks = apart(shop.blocks, [block])
    room = {k: FINE_ROOM * shop.shape.capacity[k] for k in sessions}
    inside = {b for b, mine in enumerate(blocks) if mine[0] in room}
    passing: list[Cut] = []
    refused: Counter[str] = Counter()
    spent = 0.0
    for _ in range(TRIES):
        if shop.clock.left <= 0 or spent > ALL_SECONDS:
            return None
        master = Master(
            shop.shape,
            blocks,
            room=[room.get(b[0], float("inf")) for b in blocks],
            now=wanted,
            free=lambda key, b: b in inside and key in keys,
            cuts=(*shop.cuts, *passing),
            optional=optional,
            until=shop.horizon,
        )
        least = _most_done(shop.shape, master, sessions) if optional else None
        found = shop.search(master, seconds=SECONDS, least=least, hint=hint, enough=enough)
        spent += found.spent
        if found.choice is None:
            if not found.none or all(room[k] >= shop.shape.capacity[k] for k in sessions):
                return None
            room = {k: float(shop.shape.capacity[k]) for k in sessions}
            continue
        laid = shop.board.lay(found.choice, sessions, kept)
        if isinstance(laid, Laid):
            return laid
        if laid.clash is None:
            room[laid.session] = 0.95 * found.choice.loads[laid.session]
            continue
        refused.update(laid.clash.keys)
        passing += _kept_apart(shop.shape, laid.session, laid.clash.keys, refused)
        cut = Cut(laid.session, laid.clash.keys, laid.clash.absent)
        (passing if laid.clash.stands else shop.cuts).append(cut)
    return None


def _kept_apart(
    shape: Shape, session: int, keys: Iterable[str], refused: Counter[str]
) -> list[Cut]:
    """A clearing that has clashed again and again is kept out of sessions with its causes."""
    found = []
    for key in sorted(keys):
        if refused[key] == AGAIN and key.startswith("clear:"):
            causes = shape.causing[key.removeprefix("clear:")]
            found += [Cut(session, frozenset({key, cause})) for cause in causes]
    return found


def _most_done(shape: Shape, master: Master, sessions: Iterable[int]) -> object:
    """The load, and far more for every job that is left out."""
    much = 1 + sum(task.load for task in shape.tasks.values())
    mine = set(sessions)
    done = sum(
        literal
        for (key, block), literal in master.task.items()
        if key.startswith("job:") and master.blocks[block][0] in mine
    )
    return master.load() - much * done


def apart(blocks: Sequence[tuple[int, ...]], which: Iterable[int]) -> tuple[tuple[int, ...], ...]:
    """The blocks with some of them taken apart into single sessions."""
    chosen = set(which)
    found: list[tuple[int, ...]] = []
    for number, block in enumerate(blocks):
        found += [(k,) for k in block] if number in chosen else [block]
    return tuple(found)


def within(shape: Shape, wanted: Choice, sessions: Sequence[int]) -> frozenset[str]:
    """What may be done in a block: its jobs, any clearing, and all that may be in their way."""
    before = wanted.off[sessions[0] - 1] if sessions[0] else shape.problem.off
    begun = {key for k in sessions for key in wanted.chosen[k]}
    return reach(shape, begun | {f"refit:{name}" for name in before})


def reach(shape: Shape, keys: Iterable[str]) -> frozenset[str]:
    """These tasks, any clearing, and the taking off and refitting of all that may be in the way."""
    seen: set[str] = set()
    waiting = [key for key in keys if key in shape.tasks]
    waiting += [f"clear:{name}" for name in shape.effects]
    while waiting:
        key = waiting.pop()
        if key in seen:
            continue
        seen.add(key)
        task = shape.tasks[key]
        names = {task.what} if task.kind in ("take", "refit") else set()
        for requirement in task.work.needs:
            names |= {c.name for way in requirement for c in way if c.kind == "off"}
        waiting += [
            f"{kind}:{n}"
            for n in names
            for kind in ("take", "refit")
            if f"{kind}:{n}" in shape.tasks
        ]
    return frozenset(seen)
