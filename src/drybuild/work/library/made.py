"""The library's tables as the planner's words: components, effects, the notes of their tasks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from drybuild.build import Change
from drybuild.build.work_file import Aside, Clearing, ComponentTable, EffectTable, Renewed, Told
from drybuild.work.library.conditions import Term, read_way
from drybuild.work.library.reader import Library
from drybuild.work.model import (
    Component,
    Condition,
    Effect,
    Hours,
    Job,
    Notes,
    Renewable,
    Requirement,
    Work,
)
from drybuild.work.money import Purse

ASIDE = "~aside"
Ways = tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Made:
    """Every component and effect of a library. notes: by ``Step.key``."""

    components: Mapping[str, Component]
    effects: Mapping[str, Effect]
    notes: Mapping[str, Notes]


def made(library: Library, purse: Purse) -> Made:
    """All of a library that has no faults (see ``library.faults``)."""
    components: dict[str, Component] = {}
    notes: dict[str, Notes] = {}
    for name, table in library.components.items():
        components[name] = _component(library, name, table)
        notes[f"take:{name}"], notes[f"refit:{name}"] = _component_notes(table, purse)
        if table.aside is not None:
            beside = _aside(library, name, table, table.aside)
            components[beside.id] = beside
            notes[f"take:{beside.id}"], notes[f"refit:{beside.id}"] = _aside_notes(
                table, table.aside, purse
            )
    effects = {n: _effect(library, n, table, purse) for n, table in library.effects.items()}
    for name, effect_table in library.effects.items():
        if effect_table.clear is not None:
            notes[f"clear:{name}"] = told(effect_table.clear, effect_table.clear.title, purse)
    return Made(components, effects, notes)


def requirements(library: Library, *ways: Ways) -> tuple[Requirement, ...]:
    """Conditions as written, as the planner takes them: aside and what is relied on written out."""
    found = dict.fromkeys(_requirement(library, entry) for entry in _merged(ways))
    return tuple(requirement for requirement in found if requirement and requirement != ((),))


def refitted_after(needs: tuple[Requirement, ...]) -> tuple[Requirement, ...]:
    """What one job asks for at several places: what one of them has off goes on again after it,
    so that another cannot have it on meanwhile (fluid, where the job takes the calipers off)."""
    away = {_whole(c.name) for r in needs for c in r[0] if c.kind == "off" and _in_all(r, c.name)}
    if not away:
        return needs
    left = (
        tuple(tuple(c for c in way if c.kind != "on" or _whole(c.name) not in away) for way in r)
        for r in needs
    )
    return tuple(dict.fromkeys(r for r in left if () not in r))


def _in_all(requirement: Requirement, name: str) -> bool:
    """Whether every way of it has a component off, or moved aside."""
    whole = _whole(name)
    return all(any(c.kind == "off" and _whole(c.name) == whole for c in way) for way in requirement)


def _whole(name: str) -> str:
    return name.removesuffix(ASIDE)


def _merged(ways: Iterable[Ways]) -> Iterator[tuple[str, ...]]:
    for entries in ways:
        yield from entries


def _requirement(library: Library, entry: tuple[str, ...]) -> Requirement:
    found: dict[tuple[Condition, ...], None] = {}
    for way in entry:
        try:
            terms = read_way(way)
        except ValueError:  # reported by library.faults with its line
            continue
        for chosen in product(*(options(library, term) for term in terms)):
            found[tuple(dict.fromkeys(c for conditions in chosen for c in conditions))] = None
    return tuple(found)


def options(library: Library, term: Term) -> list[tuple[Condition, ...]]:
    """The ways in which one term can hold."""
    table = library.components.get(term.name)
    if term.name in library.without and term.kind in ("off", "aside", "on"):
        return [()]
    if term.kind == "off":
        return _off(library, term.name, table)
    if term.kind == "aside":
        return [*_off(library, term.name + ASIDE, table), *_off(library, term.name, table)]
    if term.kind == "on":
        fitted: tuple[Condition, ...] = (Condition("on", term.name),)
        if table is not None and table.aside is not None:
            fitted += (Condition("on", term.name + ASIDE),)
        return [fitted]
    return [(Condition(term.kind, term.name),)]


def _off(library: Library, name: str, table: ComponentTable | None) -> list[tuple[Condition, ...]]:
    alone: list[tuple[Condition, ...]] = [(Condition("off", name),)]
    if table is None:
        return alone
    for requirement in requirements(library, table.relies):
        alone = [(*held, *way) for held in alone for way in requirement]
    return alone


def hours(figures: tuple[float, float, float] | None) -> Hours:
    """Hours as written; none where nobody said any."""
    return Hours(*(figures or (0.0, 0.0, 0.0)))


def _component(library: Library, name: str, table: ComponentTable) -> Component:
    take = Work(
        hours(table.take), table.people, requirements(library, table.behind, table.take_needs),
        table.upsets, table.tools, table.take_wait, table.engine, table.take_first, table.apart,
    )  # fmt: skip
    back = table.people if table.refit_people is None else table.refit_people
    refit = Work(
        hours(table.refit), back, requirements(library, table.behind, table.refit_needs),
        table.refit_upsets, table.tools, table.refit_wait, "", table.refit_first, table.apart,
        table.refit_not_before,
    )  # fmt: skip
    return Component(name, table.title, table.region, take, refit, table.stops, table.night)


def _aside(library: Library, name: str, table: ComponentTable, aside: Aside) -> Component:
    behind = table.behind if aside.behind is None else aside.behind
    needs = (*requirements(library, behind), ((Condition("on", name),),))
    people = table.people if aside.people is None else aside.people
    stops = table.stops if aside.stops is None else aside.stops
    title = aside.title or f"{table.title}, moved aside"
    return Component(
        name + ASIDE, title, table.region,
        Work(hours(aside.take), people, needs, aside.upsets, engine=table.engine),
        Work(hours(aside.refit), people, needs), stops,
    )  # fmt: skip


def _effect(library: Library, name: str, table: EffectTable, purse: Purse) -> Effect:
    clearing = _clearing(library, name, table, table.clear, purse) if table.clear else None
    return Effect(
        name, table.title, table.stops, clearing, table.lasting, table.owed, table.between
    )


def _clearing(
    library: Library, name: str, table: EffectTable, clear: Clearing, purse: Purse
) -> Job:
    work = Work(
        hours(clear.hours), clear.people, requirements(library, clear.needs), clear.upsets,
        clear.tools, clear.wait, clear.engine, clear.first, clear.apart, clear.not_before,
    )  # fmt: skip
    return Job(
        f"clear:{name}", clear.title or table.title, clear.kind, table.region, work,
        clears=(name,), changes=tuple(Change("verify", record) for record in clear.records),
        price=purse.amount(clear.price) or 0.0, fixed=True, fails=clear.fails,
    )  # fmt: skip


def told(table: Told, title: str, purse: Purse) -> Notes:
    """What a table tells the person at the car."""
    renew = _renewables(table.renew, purse)
    return Notes(
        title, table.bench, renew, table.cautions, table.steps, table.verify, table.photograph,
        table.bag, table.tags, table.joints, table.beforehand, watched=table.watched,
    )  # fmt: skip


def _renewables(renewed: Iterable[Renewed], purse: Purse) -> tuple[Renewable, ...]:
    return tuple(Renewable(r.name, r.quantity, r.unit, purse.amount(r.price)) for r in renewed)


def _component_notes(table: ComponentTable, purse: Purse) -> tuple[Notes, Notes]:
    """What is told taking it off, and refitting it: what is renewed and tightened belongs there."""
    whole = told(table, "", purse)
    take = Notes(
        table.take_title or f"{table.title} off", whole.bench, (), whole.cautions, whole.steps,
        (), whole.photograph, whole.bag, whole.tags, beforehand=whole.beforehand,
    )  # fmt: skip
    refit = Notes(
        table.refit_title or f"{table.title} on", whole.bench, whole.renew, whole.cautions,
        table.refit_steps, whole.verify, joints=whole.joints, records=table.records,
    )  # fmt: skip
    return take, refit


def _aside_notes(table: ComponentTable, aside: Aside, purse: Purse) -> tuple[Notes, Notes]:
    title = aside.title or f"{table.title} moved aside"
    cautions = aside.cautions or table.cautions
    bench = aside.bench or table.bench
    return (
        Notes(title, bench, (), cautions, aside.steps),
        Notes(
            f"{table.title} back in place", bench, _renewables(aside.renew, purse), cautions,
            aside.refit_steps, aside.verify, records=aside.records,
        ),
    )
