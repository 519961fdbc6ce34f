"""What is wrong with a library: words it does not know, figures that are missing, loops of access.

Everything is looked at and all faults are returned; nothing is refused at the first one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from drybuild.build.errors import Fault, nearest
from drybuild.build.kinds import places
from drybuild.build.work_file import (
    Aside,
    Clearing,
    ComponentTable,
    EffectTable,
    JobTable,
    PlaceTable,
    Setting,
    Told,
    WearTable,
)
from drybuild.findings import AXLES
from drybuild.findings.words import uses
from drybuild.work.library.access import loop_of, reachable
from drybuild.work.library.conditions import FORMS, Term, read_way
from drybuild.work.library.made import made
from drybuild.work.library.reader import Library, Where
from drybuild.work.money import EXPECTED, Purse, read_amount

Ways = tuple[tuple[str, ...], ...]
FIRST = ("take", "refit", "clear")


def library_faults(library: Library) -> list[Fault]:
    """Every fault of the tables; loops are looked for once all names in them are known."""
    faults = list(_table_faults(library))
    return faults or list(_loops(library))


def _table_faults(library: Library) -> Iterator[Fault]:
    for name, where in library.without.items():
        if not library.has_had(name):
            known = (*library.components, *library.wear)
            yield where.fault(
                repr(name), "a component or wear of the work library", nearest(name, known)
            )
    for name, component in library.components.items():
        yield from _component(library, name, component)
    for name, effect in library.effects.items():
        yield from _effect(library, name, effect)
    for name, place in library.places.items():
        yield from _place(library, name, place)
    for name, job in library.jobs.items():
        yield from _job(library, name, job)
    for name, wear in library.wear.items():
        yield from _wear(library, name, wear)


def _component(library: Library, name: str, table: ComponentTable) -> Iterator[Fault]:
    kind = "component"
    yield from _stated(library, kind, name, table, ("title", "region", "take", "refit"))
    for key in ("behind", "take_needs", "refit_needs", "relies"):
        yield from ways_faults(library, getattr(table, key), library.where(kind, name, key))
    for key in ("upsets", "refit_upsets", "refit_not_before"):
        yield from effect_faults(library, getattr(table, key), library.where(kind, name, key))
    yield from tool_faults(library, table.tools, library.where(kind, name, "tools"))
    for key in ("take_first", "refit_first"):
        yield from first_faults(library, getattr(table, key), library.where(kind, name, key))
    yield from _prices(library, kind, name, table)
    if table.aside is not None:
        yield from _aside(library, name, table, table.aside)


def _aside(library: Library, name: str, table: ComponentTable, aside: Aside) -> Iterator[Fault]:
    where = library.where("component", name, "aside")
    if aside.behind is not None:
        yield from ways_faults(library, aside.behind, where)
    yield from effect_faults(library, aside.upsets, where)
    yield from _prices(library, "component", name, aside, "aside")
    for key in ("take", "refit"):
        figures, whole = getattr(aside, key), getattr(table, key)
        if figures is None:
            yield where.fault(f"no {key}", f"hours in aside.{key}")
        elif whole is not None and any(a > b for a, b in zip(figures, whole, strict=True)):
            yield where.fault(
                f"{key} {list(figures)}", f"no more than the {list(whole)} of taking it off"
            )


def _effect(library: Library, name: str, table: EffectTable) -> Iterator[Fault]:
    yield from _stated(library, "effect", name, table, ("title",))
    if table.clear is None:
        if table.lasting <= 0:
            where = library.where("effect", name)
            yield where.fault(
                "neither a clearing job nor a time", "[effect.….clear], or lasting in hours"
            )
        return
    yield from _clearing(library, name, table.clear)


def _clearing(library: Library, name: str, clear: Clearing) -> Iterator[Fault]:
    where = library.where("effect", name, "clear")
    if clear.hours is None:
        yield where.fault("no hours", "one figure: it is never shortened")
    elif clear.hours[0] != clear.hours[2]:
        yield where.fault(f"hours {list(clear.hours)}", "one figure: it is never shortened")
    yield from ways_faults(library, clear.needs, where)
    yield from effect_faults(library, (*clear.upsets, *clear.not_before), where)
    yield from tool_faults(library, clear.tools, where)
    yield from first_faults(library, clear.first, where)
    yield from _prices(library, "effect", name, clear)


def _place(library: Library, name: str, table: PlaceTable) -> Iterator[Fault]:
    known = places()
    root, _, axle = name.partition(".")
    where = library.where("place", name)
    if root not in known or (axle and axle not in AXLES):
        yield where.fault(repr(name), "a place of the car", nearest(root, tuple(known)))
        return
    per_car = known[root].per == "car"
    for each in ("",) if per_car else (axle,) if axle else AXLES:
        whole = library.place(root, each)
        if whole is None:
            continue
        yield from _opening(library, "place", name, whole)
        if whole.hours is None and "hours" not in table.model_fields_set and not axle:
            yield where.fault("no hours", "hours of one, or of the pair of an axle")
        if whole.setting is not None:
            yield from _setting(library, name, whole.setting)
    yield from _prices(library, "place", name, table)


def _setting(library: Library, name: str, setting: Setting) -> Iterator[Fault]:
    where = library.where("place", name, "setting")
    yield from ways_faults(library, setting.open, where)
    yield from effect_faults(library, setting.upsets, where)
    if setting.hours is None:
        yield where.fault("no hours", "hours in setting.hours")


def _opening(
    library: Library, kind: str, name: str, table: PlaceTable | JobTable | WearTable
) -> Iterator[Fault]:
    yield from ways_faults(library, table.open, library.where(kind, name, "open"))
    yield from effect_faults(library, table.upsets, library.where(kind, name, "upsets"))
    yield from tool_faults(library, table.tools, library.where(kind, name, "tools"))
    if not isinstance(table, WearTable):
        yield from first_faults(library, table.first, library.where(kind, name, "first"))
        where = library.where(kind, name, "not_before")
        yield from effect_faults(library, table.not_before, where)


def _job(library: Library, name: str, table: JobTable) -> Iterator[Fault]:
    yield from _opening(library, "job", name, table)
    yield from effect_faults(library, table.clears, library.where("job", name, "clears"))
    yield from _prices(library, "job", name, table)


def _wear(library: Library, name: str, table: WearTable) -> Iterator[Fault]:
    yield from _stated(library, "wear", name, table, ("title", "region", "hours"))
    yield from _opening(library, "wear", name, table)
    yield from _prices(library, "wear", name, table)
    for place in table.fitted_at:
        root = place.partition(".")[0]
        if root not in places():
            hint = nearest(root, tuple(places()))
            yield library.where("wear", name, "fitted_at").fault(
                repr(place), "a place of the car", hint
            )
    if table.km is None and table.years is None:
        yield library.where("wear", name).fault("neither km nor years", "a life by one of them")


def _stated(
    library: Library, kind: str, name: str, table: object, keys: Iterable[str]
) -> Iterator[Fault]:
    for key in keys:
        if getattr(table, key) in (None, ""):
            yield library.where(kind, name).fault(f"no {key}", f"a value for {key!r}")


def _prices(
    library: Library, kind: str, name: str, table: Told | Aside, under: str = ""
) -> Iterator[Fault]:
    texts = [(getattr(table, key, ""), key) for key in ("price", "damage")]
    texts += [(renewed.price, "renew") for renewed in table.renew]
    for text, key in texts:
        yield from amount_faults(text, library.where(kind, name, under or key))


def amount_faults(text: str, where: Where) -> Iterator[Fault]:
    """A fault when the text is no amount of money."""
    try:
        if text:
            read_amount(text)
    except ValueError:
        yield where.fault(repr(text)[:80], EXPECTED)


def ways_faults(library: Library, ways: Ways, where: Where) -> Iterator[Fault]:
    """Faults of conditions as written: their form, and every name in them."""
    for way in (way for entry in ways for way in entry):
        try:
            terms = read_way(way)
        except ValueError:
            yield where.fault(repr(way)[:80], FORMS)
            continue
        for term in terms:
            yield from _term(library, term, where)


def _term(library: Library, term: Term, where: Where) -> Iterator[Fault]:
    if term.kind == "tool":
        yield from tool_faults(library, (term.name,), where)
    elif term.kind == "clear":
        yield from effect_faults(library, (term.name,), where)
    elif term.kind == "use":
        known = tuple(use.name for use in uses())
        if term.name not in known:
            yield where.fault(f"use {term.name!r}", f"one of: {', '.join(known)}")
    elif term.name in library.without:
        return
    elif term.name not in library.components:
        yield where.fault(
            f"component {term.name!r}", "a component of the work library or of work.toml",
            nearest(term.name, tuple(library.components)),
        )  # fmt: skip
    elif term.kind == "aside" and library.components[term.name].aside is None:
        yield where.fault(f"{term.name}:aside", f"an aside table for {term.name!r}, or it off")


def effect_faults(library: Library, names: Iterable[str], where: Where) -> Iterator[Fault]:
    """Faults of effects that the library does not have."""
    yield from _unknown("effect", names, library.effects, where)


def first_faults(library: Library, keys: Iterable[str], where: Where) -> Iterator[Fault]:
    """Faults of tasks that had better come first: their form, and what they are of."""
    for key in keys:
        kind, _, name = key.partition(":")
        if kind not in FIRST or not name:
            yield where.fault(repr(key), "take:COMPONENT, refit:COMPONENT or clear:EFFECT")
        elif kind == "clear":
            yield from effect_faults(library, (name,), where)
        elif name not in library.components and not library.has_had(name):
            hint = nearest(name, tuple(library.components))
            yield where.fault(f"component {name!r}", "a component of the work library", hint)


def tool_faults(library: Library, names: Iterable[str], where: Where) -> Iterator[Fault]:
    """Faults of tools that neither the library nor work.toml knows."""
    yield from _unknown("tool", names, library.tools, where)


def _unknown(
    kind: str, names: Iterable[str], known: Mapping[str, object], where: Where
) -> Iterator[Fault]:
    for name in names:
        if name not in known:
            yield where.fault(
                f"{kind} {name!r}", f"a {kind} of the work library, or a [{kind}.…] in work.toml",
                nearest(name, tuple(known)),
            )  # fmt: skip


def _loops(library: Library) -> Iterator[Fault]:
    components = made(library, Purse()).components
    reached = reachable(components)
    stuck = {n: c for n, c in components.items() if n not in reached}
    said: set[frozenset[str]] = set()
    for name in stuck:
        loop = loop_of(name, stuck, reached)
        if frozenset(loop) in said:
            continue
        said.add(frozenset(loop))
        own = [library.where("component", n.partition("~")[0], "behind") for n in loop]
        where = next((w for w in own if not w.file.startswith("work library")), own[0])
        yield where.fault(
            "a loop: " + " behind ".join((*loop, loop[0])), "a way in that ends at the outside"
        )
