"""Leaves out of a library what a build's jobs can never need, so that its problem stays small."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace

from drybuild.work.library.access import behind, reachable
from drybuild.work.library.made import ASIDE
from drybuild.work.model import Component, Condition, Effect, Job, Requirement, Work

NEVER: Requirement = ((Condition("tool", "what no session has"),),)
"""Stands for a requirement that nothing on this car can meet."""


@dataclass(frozen=True)
class Narrow:
    """What is left. lacking: ``job:x`` or ``effect:x`` → what it cannot have, and why."""

    components: Mapping[str, Component]
    effects: Mapping[str, Effect]
    jobs: Mapping[str, Job]
    lacking: Mapping[str, tuple[str, ...]]


def narrowed(
    components: Mapping[str, Component],
    effects: Mapping[str, Effect],
    jobs: Mapping[str, Job],
    *,
    tools: Collection[str],
    off: Collection[str] = (),
    pending: Collection[str] = (),
    done: Collection[str] = (),
) -> Narrow:
    """Only what the open jobs, what is off and what is pending can lead to.

    tools: those that some session has. An alternative that wants another leads nowhere, but it
    stays where it leads to nothing new: a trailer that one could hire is worth knowing of.
    """
    having = {n: _with_tools(c, tools) for n, c in components.items()}
    possible = reachable(having) | frozenset(off)
    why = _Why(components, frozenset(tools), possible)
    asked = {f"job:{n}": j.work for n, j in jobs.items() if n not in done}
    asked |= {f"effect:{n}": e.clearing.work for n, e in effects.items() if e.clearing is not None}
    had = {
        n: replace(c, take=_work(c.take, tools, possible), refit=_work(c.refit, tools, possible))
        for n, c in components.items()
        if n in possible
    }
    clearings = {n: _effect(e, tools, possible) for n, e in effects.items()}
    wanted = [_work(j.work, tools, possible) for n, j in jobs.items() if n not in done]
    kept, owed = _reached(had, clearings, wanted, off, pending)
    lacking = {
        name: why.lacking(work)
        for name, work in asked.items()
        if name.startswith("job:") or name.removeprefix("effect:") in owed
    }
    trim = _Trim(kept, owed)
    return Narrow(
        {n: trim.component(c) for n, c in components.items() if n in kept},
        {n: trim.effect(e, components) for n, e in effects.items() if n in owed},
        {n: trim.job(j) for n, j in jobs.items()},
        {name: words for name, words in lacking.items() if words},
    )


def _with_tools(component: Component, tools: Collection[str]) -> Component:
    return replace(
        component,
        take=replace(component.take, needs=_ways(component.take.needs, tools, None)),
        refit=replace(component.refit, needs=_ways(component.refit.needs, tools, None)),
    )


def _work(work: Work, tools: Collection[str], possible: Collection[str]) -> Work:
    return replace(work, needs=_ways(work.needs, tools, possible))


def _ways(
    needs: Iterable[Requirement], tools: Collection[str], possible: Collection[str] | None
) -> tuple[Requirement, ...]:
    """The requirements with those alternatives only that can be had; one without any stays."""
    found = []
    for requirement in needs:
        ways = tuple(w for w in requirement if all(_had(c, tools, possible) for c in w))
        found.append(ways)
    return tuple(found)


def _had(c: Condition, tools: Collection[str], possible: Collection[str] | None) -> bool:
    if c.kind == "tool":
        return c.name in tools
    return possible is None or c.kind != "off" or c.name in possible


def _effect(effect: Effect, tools: Collection[str], possible: Collection[str]) -> Effect:
    if effect.clearing is None:
        return effect
    work = _work(effect.clearing.work, tools, possible)
    return replace(effect, clearing=replace(effect.clearing, work=work))


def _reached(
    components: Mapping[str, Component],
    effects: Mapping[str, Effect],
    wanted: Iterable[Work],
    off: Collection[str],
    pending: Collection[str],
) -> tuple[frozenset[str], frozenset[str]]:
    """Components and effects that the work leads to, through every alternative."""
    kept: set[str] = set()
    owed: set[str] = set()
    waiting: list[Work] = list(wanted)
    _add(off, components, kept, waiting)
    _add_effects(pending, effects, owed, waiting)
    while waiting:
        work = waiting.pop()
        _add(behind(_plain(work.needs)), components, kept, waiting)
        _add_effects(work.causes, effects, owed, waiting)
    return frozenset(kept), frozenset(owed)


def _plain(needs: tuple[Requirement, ...]) -> tuple[Requirement, ...]:
    """Without the alternatives that take off what may as well be moved aside.

    Moving aside is never dearer (library.faults sees to it), so that taking off is worth looking
    at only where it is wanted for something else.
    """
    found = []
    for requirement in needs:
        ways = set(requirement)
        found.append(tuple(w for w in requirement if not any(v in ways for v in _asides(w))))
    return tuple(found)


def _asides(way: tuple[Condition, ...]) -> Iterable[tuple[Condition, ...]]:
    for index, c in enumerate(way):
        if c.kind == "off" and not c.name.endswith(ASIDE):
            yield (*way[:index], Condition("off", c.name + ASIDE), *way[index + 1 :])


def _add(
    names: Iterable[str],
    components: Mapping[str, Component],
    kept: set[str],
    waiting: list[Work],
) -> None:
    for name in names:
        if name in components and name not in kept:
            kept.add(name)
            waiting += (components[name].take, components[name].refit)


def _add_effects(
    names: Iterable[str], effects: Mapping[str, Effect], owed: set[str], waiting: list[Work]
) -> None:
    for name in names:
        if name in effects and name not in owed:
            owed.add(name)
            clearing = effects[name].clearing
            if clearing is not None:
                waiting.append(clearing.work)


@dataclass(frozen=True)
class _Why:
    """Says in words why a requirement cannot be met: the tool, or the way in, that is not there."""

    components: Mapping[str, Component]
    tools: frozenset[str]
    possible: frozenset[str]

    def lacking(self, work: Work) -> tuple[str, ...]:
        """What of its requirements nothing meets."""
        return tuple(self._words(r, ()) for r in self._unmet(work.needs))

    def _unmet(self, needs: Iterable[Requirement]) -> list[Requirement]:
        return [
            r for r in needs
            if not any(all(_had(c, self.tools, self.possible) for c in way) for way in r)
        ]  # fmt: skip

    def _words(self, requirement: Requirement, seen: tuple[str, ...]) -> str:
        ways = {
            " and ".join(
                self._one(c, seen) for c in way if not _had(c, self.tools, self.possible)
            ): None
            for way in requirement
        }
        return ", or ".join(ways) or "a way in"

    def _one(self, c: Condition, seen: tuple[str, ...]) -> str:
        if c.kind == "tool":
            return f"a session with the tool {c.name!r}"
        component = self.components.get(c.name)
        if component is None or c.name in seen:
            return f"a way to take off {c.name!r}"
        unmet = self._unmet((*component.take.needs, *component.refit.needs))
        if not unmet:
            return f"{component.title} off"
        return f"{component.title} off (for it: {self._words(unmet[0], (*seen, c.name))})"


@dataclass(frozen=True)
class _Trim:
    """Leaves out conditions on what is not there: it is never off and never pending."""

    kept: frozenset[str]
    owed: frozenset[str]

    def component(self, component: Component) -> Component:
        return replace(component, take=self.work(component.take), refit=self.work(component.refit))

    def job(self, job: Job) -> Job:
        """Without what it clears that nothing is left to cause."""
        clears = tuple(name for name in job.clears if name in self.owed)
        return replace(job, work=self.work(job.work), clears=clears)

    def work(self, work: Work) -> Work:
        return replace(
            work, needs=self.needs(work.needs),
            causes=tuple(e for e in work.causes if e in self.owed),
        )  # fmt: skip

    def needs(self, needs: Iterable[Requirement]) -> tuple[Requirement, ...]:
        found: dict[Requirement, None] = {}
        for requirement in needs:
            ways: dict[tuple[Condition, ...], None] = {}
            for way in requirement:
                if all(c.kind != "off" or c.name in self.kept for c in way):
                    ways[tuple(c for c in way if not self._idle(c))] = None
            if () not in ways:
                found[_least(tuple(ways)) or NEVER] = None
        return tuple(found)

    def _idle(self, c: Condition) -> bool:
        return (c.kind == "on" and c.name not in self.kept) or (
            c.kind == "clear" and c.name not in self.owed
        )

    def effect(self, effect: Effect, components: Mapping[str, Component]) -> Effect:
        """Its clearing comes when everything that causes it is back on the car."""
        clearing = effect.clearing
        if clearing is None:
            return effect
        work = self.work(clearing.work)
        opened = behind(work.needs)
        shut: tuple[Requirement, ...] = tuple(
            ((Condition("on", name),),)
            for name in components
            if name in self.kept and name not in opened
            and effect.id in (*components[name].take.causes, *components[name].refit.causes)
        )  # fmt: skip
        needs = tuple(dict.fromkeys((*work.needs, *shut)))
        clearing = self.job(clearing)
        return replace(effect, clearing=replace(clearing, work=replace(work, needs=needs)))


def _least(ways: Requirement) -> Requirement:
    """Without alternatives that ask for all that another one asks for, and more."""
    return tuple(w for w in ways if not any(set(v) < set(w) for v in ways))
