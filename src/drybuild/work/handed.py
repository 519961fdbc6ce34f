"""Who does otherwise what a new plan keeps in its session: tasks that went to other hands."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from drybuild.work.model import Plan, Step


@dataclass(frozen=True, slots=True)
class Handed:
    """Tasks of a session, as ``Step.key``, that others do now: by whom before, and by whom now."""

    session: str
    before: tuple[str, ...]
    now: tuple[str, ...]
    keys: tuple[str, ...]


def handed(left: Collection[Step], new: Plan) -> tuple[Handed, ...]:
    """Tasks that keep their session and change hands, those of one change together. left: of the
    plan before, what was not done."""
    were: dict[tuple[str, str], list[Step]] = {}
    for step in left:
        were.setdefault((step.session, step.key), []).append(step)
    found: dict[tuple[str, tuple[str, ...], tuple[str, ...]], list[str]] = {}
    for step in new.steps:
        same = were.get((step.session, step.key), [])
        before = same.pop(0) if same else step
        if set(before.who) != set(step.who):
            found.setdefault((step.session, before.who, step.who), []).append(step.key)
    return tuple(Handed(*change, tuple(keys)) for change, keys in found.items())
