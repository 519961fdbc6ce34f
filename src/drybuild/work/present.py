"""How the car stands, from the tasks that were finished: what is off, owed and done."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from drybuild.work.model import Component, Effect, Job


@dataclass(frozen=True, slots=True)
class Stands:
    """off: components; pending: effects; done: jobs."""

    off: frozenset[str]
    pending: frozenset[str]
    done: frozenset[str]


def stands(
    components: Mapping[str, Component],
    effects: Mapping[str, Effect],
    jobs: Mapping[str, Job],
    finished: Iterable[str],
    *,
    off: Collection[str] = (),
    done: Collection[str] = (),
) -> Stands:
    """The state after finished tasks, named as ``Step.key``, in the order they were finished.

    off, done: what the journal's deeds say besides. A task that the library no longer knows is
    passed over: it can leave nothing open that anybody could close.
    """
    apart, made = set(off), set(done)
    pending: dict[str, None] = {}
    for key in finished:
        kind, _, what = key.partition(":")
        work = None
        if kind in ("take", "refit") and what in components:
            component = components[what]
            work = component.take if kind == "take" else component.refit
            (apart.add if kind == "take" else apart.discard)(what)
        elif kind == "job" and what in jobs:
            work = jobs[what].work
            made.add(what)
        elif kind == "clear" and what in effects:
            clearing = effects[what].clearing
            work = clearing.work if clearing is not None else None
        if work is None:
            continue
        pending |= dict.fromkeys(work.causes)
        for effect in _cleared(kind, what, effects, jobs):
            pending.pop(effect, None)
    return Stands(frozenset(apart), frozenset(pending), frozenset(made))


def _cleared(
    kind: str, what: str, effects: Mapping[str, Effect], jobs: Mapping[str, Job]
) -> tuple[str, ...]:
    if kind == "job":
        return jobs[what].clears
    if kind == "clear":
        clearing = effects[what].clearing
        return (what, *(clearing.clears if clearing is not None else ()))
    return ()
