"""What a plan leaves half done between work sessions while the car is driven.

No rule forbids it, and no use that is needed is stopped by it: one axle has its new springs and the
other not yet, a joint was opened and its test waits for a later day, a day went by without the
drive that is to be logged. The owner should know.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from drybuild.build.state import instances_of
from drybuild.findings.words import use_closure
from drybuild.work.model import Effect, Job, Problem
from drybuild.work.standing import Standing

AXLES = ("front", "rear")
DRIVEN = ("creep", "drive")


@dataclass(frozen=True, slots=True)
class HalfDone:
    """One thing, from the end of a session to the session that finishes it (empty: none does).

    effect: what was opened and waits for its check; or done, left: the jobs of one axle and those
    of the other that change the same parts.
    """

    since: str
    until: str
    effect: str = ""
    done: tuple[str, ...] = ()
    left: tuple[str, ...] = ()


def half_done(problem: Problem, ends: Mapping[str, Standing]) -> tuple[HalfDone, ...]:
    """Everything that is half done when the car may be driven. ends: of sessions, in order."""
    names = list(ends)
    at = [_at(problem, car) for car in ends.values()]
    for k in range(1, len(at)):
        if _driven(problem, names[k - 1], ends[names[k - 1]]):
            before = ends[names[k - 1]].pending
            waits = [
                HalfDone("", "", e) for e in ends[names[k]].pending
                if e in before and _waits_for_driving(problem.effects[e])
            ]  # fmt: skip
            for day in (k - 1, k):  # the car is in use from the end of the session before
                at[day] += [one for one in waits if one not in at[day]]
    found: list[HalfDone] = []
    for k, name in enumerate(names):
        if not _driven(problem, name, ends[name]):
            continue
        for one in at[k]:
            until = next((names[i] for i in range(k + 1, len(at)) if one not in at[i]), "")
            last = replace(one, since="", until=until)
            if not any(replace(f, since="") == last for f in found):
                found.append(replace(last, since=name))
    return tuple(found)


def half_done_after(
    found: Iterable[HalfDone], session: str, order: Iterable[str]
) -> list[HalfDone]:
    """Of these, what is half done when a session is over. order: the sessions in theirs."""
    number = {name: k for k, name in enumerate(order)}
    at, end = number[session], len(number)
    return [one for one in found if number[one.since] <= at < number.get(one.until, end)]


def _driven(problem: Problem, session: str, car: Standing) -> bool:
    """Whether the car is needed after a session, or may be driven then."""
    return any(n.session == session for n in problem.needs) or "drive" not in car.stopped


def _at(problem: Problem, car: Standing) -> list[HalfDone]:
    waits = [HalfDone("", "", e) for e in car.pending if _waits_at_home(problem.effects[e])]
    return waits + list(dict.fromkeys(_one_axle(problem, frozenset(car.done))))


def _waits_at_home(effect: Effect) -> bool:
    """Whether it waits for a check that could have been made before the car was driven, and does
    not keep it from that."""
    return _keeps_nobody(effect) and not _asks_to_drive(effect)


def _waits_for_driving(effect: Effect) -> bool:
    """Whether it waits for a drive of its own (a log, a bedding) and does not keep it from any."""
    return _keeps_nobody(effect) and _asks_to_drive(effect)


def _keeps_nobody(effect: Effect) -> bool:
    cleared = effect.clearing is not None and not effect.between
    return cleared and not use_closure("drive") & set(effect.stops)


def _asks_to_drive(effect: Effect) -> bool:
    return effect.clearing is not None and any(
        all(any(c.kind == "use" and c.name in DRIVEN for c in way) for way in requirement)
        for requirement in effect.clearing.work.needs
    )


def _one_axle(problem: Problem, done: frozenset[str]) -> Iterable[HalfDone]:
    """Jobs of one axle that are done, while those of the other with the same parts are not."""
    jobs: dict[str, dict[str, list[str]]] = {}
    for job in problem.jobs.values():
        for root, axle in _axles(job):
            jobs.setdefault(root, {}).setdefault(axle, []).append(job.id)
    for ends in jobs.values():
        for one, other in (AXLES, AXLES[::-1]):
            mine, theirs = ends.get(one, []), ends.get(other, [])
            left = tuple(name for name in theirs if name not in done)
            if mine and left and done.issuperset(mine):
                yield HalfDone("", "", done=tuple(mine), left=left)


def _axles(job: Job) -> Iterable[tuple[str, str]]:
    """Parts that a job changes, by the first word of their place, each with its axle."""
    places = (p for c in job.changes if c.kind in ("fit", "remove") for p in instances_of(c.target))
    words = (place.split(".") for place in places)
    return dict.fromkeys((w[0], w[1]) for w in words if len(w) > 1 and w[1] in AXLES)
