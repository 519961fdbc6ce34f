"""The graph of access: what can be reached at all, and the loop where something cannot."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from drybuild.work.model import Component, Requirement


def behind(requirements: tuple[Requirement, ...]) -> frozenset[str]:
    """Every component that one of the alternatives wants off."""
    return frozenset(
        c.name for requirement in requirements for way in requirement for c in way
        if c.kind == "off"
    )  # fmt: skip


def can_open(requirements: tuple[Requirement, ...], reached: Collection[str]) -> bool:
    """Whether each requirement has an alternative whose components can all be taken off."""
    return all(
        any(all(c.kind != "off" or c.name in reached for c in way) for way in requirement)
        for requirement in requirements
    )


def reachable(components: Mapping[str, Component]) -> frozenset[str]:
    """Components that can be taken off one after the other, and refitted, from a closed car."""
    reached: set[str] = set()
    waiting = dict(components)
    while True:
        found = [
            name for name, component in waiting.items()
            if can_open(component.take.needs, reached) and can_open(component.refit.needs, reached)
        ]  # fmt: skip
        if not found:
            return frozenset(reached)
        reached.update(found)
        for name in found:
            del waiting[name]


def loop_of(name: str, stuck: Mapping[str, Component], reached: Collection[str]) -> tuple[str, ...]:
    """A loop of components, each behind the next, that one of the unreachable ones leads to.

    stuck: the components that cannot be reached; each has one of them in every way in. reached:
    all others.
    """
    path: list[str] = []
    while name not in path:
        path.append(name)
        needs = (*stuck[name].take.needs, *stuck[name].refit.needs)
        shut = next(r for r in needs if not can_open((r,), reached))
        inside = sorted(n for n in behind((shut,)) if n in stuck)
        if not inside:  # behind something that the library does not have
            return tuple(path)
        name = inside[0]
    return tuple(path[path.index(name) :])
