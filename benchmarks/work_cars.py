"""Large invented work problems: a car in regions, layer behind layer, and weeks of work on it.

``car(seed)`` is the same problem every time. Everything in it is invented. What is meant to be like
a real car: parts lie in layers and reach is through the layer in front; a few parts can be reached
two ways; low parts want the car raised; what is opened disturbs fluids, alignment or sensors, and
those are cleared by work of fixed length; parts arrive late; some jobs wait for others; people come
and go; the car is needed on most Mondays.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime
from random import Random

from drybuild.work.model import (
    After,
    Budget,
    Component,
    Condition,
    Effect,
    Hours,
    Job,
    JobKind,
    Need,
    Presence,
    Problem,
    Requirement,
    Session,
    Work,
)

HOUR = 4
DAY = 24 * HOUR
USES = {
    "move": frozenset({"move"}),
    "turn over": frozenset({"turn over"}),
    "run": frozenset({"run", "turn over"}),
    "creep": frozenset({"creep", "move", "run", "turn over"}),
    "drive": frozenset({"drive", "creep", "move", "run", "turn over"}),
    "full load": frozenset({"full load", "run", "turn over"}),
}
RAISED = "car.raised"
NAMES = ("Aune", "Brask", "Corvin", "Delsa", "Ebbo", "Fenja", "Gisle", "Harke")


@dataclass(frozen=True)
class Region:
    """What is alike in one part of the car. share: of all components; low: from underneath."""

    name: str
    share: float
    depth: int
    low: bool
    stops: tuple[tuple[str, float], ...]
    disturbs: tuple[tuple[str, float], ...] = ()


REGIONS = (
    Region("nose", 0.08, 3, False, (("drive", 0.5),), (("refrigerant", 0.04),)),
    Region("engine top", 0.12, 4, False, (("run", 0.8),), (("coolant", 0.08), ("fuel", 0.1))),
    Region("engine front", 0.09, 4, False, (("run", 0.9),), (("coolant", 0.15), ("oil", 0.05))),
    Region("engine rear", 0.08, 4, False, (("run", 0.8),), (("coolant", 0.1), ("sealant", 0.1))),
    Region("gearbox", 0.07, 4, True, (("move", 0.7), ("drive", 0.9)), (("gear oil", 0.15),)),
    Region("exhaust", 0.06, 3, True, (("run", 0.6),), (("sealant", 0.1),)),
    Region("front axle", 0.1, 3, True, (("move", 0.9),), (("brakes", 0.12), ("alignment", 0.25))),
    Region("rear axle", 0.1, 3, True, (("move", 0.9),), (("brakes", 0.12), ("alignment", 0.25))),
    Region("tank", 0.05, 3, True, (("run", 0.7),), (("fuel", 0.3),)),
    Region("underbody", 0.05, 2, True, (("drive", 0.3),)),
    Region("cabin", 0.11, 3, False, (("drive", 0.3),), (("sensors", 0.1),)),
    Region("boot", 0.05, 2, False, ()),
    Region("electrics", 0.04, 2, False, (("turn over", 0.7),), (("sensors", 0.3),)),
)


@dataclass
class _Car:
    """The car as it grows."""

    random: Random
    components: dict[str, Component] = field(default_factory=dict)
    layers: dict[str, list[list[str]]] = field(default_factory=dict)
    jobs: dict[str, Job] = field(default_factory=dict)


def _hours(random: Random, likely: float, doubt: float = 0.4) -> Hours:
    low = likely * (1 - doubt * random.uniform(0.3, 0.8))
    return Hours(round(low, 2), round(likely, 2), round(likely * (1 + doubt * 2), 2))


def _fixed(hours: float) -> Hours:
    return Hours(hours, hours, hours)


def _off(name: str) -> Condition:
    return Condition("off", name)


def _tool(name: str) -> Condition:
    return Condition("tool", name)


def _all(*conditions: Condition) -> tuple[Requirement, ...]:
    return tuple(((condition,),) for condition in conditions)


def _raised() -> Component:
    up = Work(_hours(Random(0), 0.25), needs=(((_tool("lift"),), (_tool("stands"),)),))
    return Component(RAISED, "car raised", "car", up, up, ("move",))


def _layer_sizes(total: int, depth: int) -> list[int]:
    weights = [depth + 1 - level for level in range(depth)]
    sizes = [max(1, round(total * weight / sum(weights))) for weight in weights]
    sizes[0] += total - sum(sizes)
    return sizes


def _access(random: Random, region: Region, front: list[str]) -> tuple[Requirement, ...]:
    """What stands in front: one or two of the layer before, now and then one of two ways."""
    needs: list[Requirement] = []
    if front:
        chosen = random.sample(front, min(len(front), random.choice((1, 1, 2))))
        if len(chosen) == 2 and random.random() < 0.3:
            needs.append(((_off(chosen[0]),), (_off(chosen[1]),)))
        elif random.random() < 0.1:
            needs.append(((_off(chosen[0]),), (_tool("short spanner"), _off(random.choice(front)))))
        else:
            needs += _all(*map(_off, chosen))
    if region.low:
        pit = (_tool("pit"),)
        needs.append(((_off(RAISED),), pit) if random.random() < 0.15 else ((_off(RAISED),),))
    return tuple(needs)


def _component(car: _Car, region: Region, name: str, front: list[str], level: int) -> Component:
    random = car.random
    needs = _access(random, region, front)
    likely = random.choice((0.1, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4)) * (1 + 0.15 * level)
    people = 2 if likely > 0.5 or random.random() < 0.07 else 1
    causes = tuple(e for e, chance in region.disturbs if level and random.random() < chance)
    refit_needs = needs
    if random.random() < 0.05:
        refit_needs = (*needs, ((_tool("press"),), (_tool("compressor"),)))
    take = Work(_hours(random, likely), people, needs, causes)
    refit = Work(_hours(random, likely * random.uniform(1.0, 1.6)), people, refit_needs)
    stops = tuple(use for use, chance in region.stops if random.random() < chance)
    return Component(name, name, region.name, take, refit, stops)


def _components(car: _Car, total: int) -> None:
    car.components[RAISED] = _raised()
    left = total - 1
    for index, region in enumerate(REGIONS):
        last = index == len(REGIONS) - 1
        size = left if last else min(left, max(2, round(total * region.share)))
        left -= size
        layers: list[list[str]] = []
        for level, count in enumerate(_layer_sizes(size, region.depth)):
            front = layers[-1] if layers else []
            names = [f"{region.name}.{level}.{n}" for n in range(count)]
            for name in names:
                car.components[name] = _component(car, region, name, front, level)
            layers.append(names)
        car.layers[region.name] = layers


def _clearing(effect: str, hours: float, work: Work | None = None) -> Job:
    work = work or Work(_fixed(hours))
    return Job(f"clear:{effect}", f"clear {effect}", "fill", "car", work, fixed=True)


def _effects() -> dict[str, Effect]:
    down = (((Condition("on", RAISED),),),)
    drive = (((Condition("use", "drive"),),),)
    bleed = Work(_fixed(1.0), 2)
    rack = Work(_fixed(1.0), 1, (*drive[0:1], ((_tool("rack"),), (_tool("trailer"),))))
    made = (
        Effect("coolant", "coolant out", ("run",), _clearing("coolant", 1.0)),
        Effect("oil", "oil out", ("run",), _clearing("oil", 0.5)),
        Effect("gear oil", "gear oil out", ("drive",), _clearing("gear oil", 0.5)),
        Effect("fuel", "fuel line open", ("run",), _clearing("fuel", 0.5)),
        Effect("brakes", "brake hydraulics open", ("move",), _clearing("brakes", 1.0, bleed)),
        Effect("refrigerant", "refrigerant out", (), _clearing("refrigerant", 1.0)),
        Effect("alignment", "alignment owed", ("full load",), _clearing("alignment", 1.0, rack)),
        Effect("sensors", "sensors to relearn", ("drive",), _clearing("sensors", 0.25)),
        Effect("sealant", "sealant curing", ("run",), None, lasting=2.0, owed=False),
        Effect(
            "wheels",
            "wheels to be tightened again",
            ("full load",),
            _clearing("wheels", 0.25, Work(_fixed(0.25), 1, down[0:1])),
            between=50.0,
        ),
        Effect(
            "map",
            "the map expects other injectors",
            ("run",),
            _clearing("map", 0.5, Work(_fixed(0.5), 1, down[0:1])),
        ),
    )
    return {effect.id: effect for effect in made}


def _job(car: _Car, number: int, region: Region) -> Job:
    random = car.random
    layers = car.layers[region.name]
    kind: JobKind = random.choice(("fit", "fit", "fit", "adjust", "inspect", "test"))
    likely = random.choice((0.25, 0.25, 0.5, 0.5, 0.75, 1.0, 1.5))
    if kind == "inspect":
        likely = 0.25
    level = random.choice(range(len(layers)))
    reach = random.sample(layers[level], min(len(layers[level]), random.choice((1, 1, 2))))
    needs = _all(*map(_off, reach))
    causes: tuple[str, ...] = ()
    if region.name in ("front axle", "rear axle") and random.random() < 0.3:
        causes = ("alignment", "wheels")
    elif region.name == "engine top" and random.random() < 0.1:
        causes = ("map",)
    tools = ("press",) if random.random() < 0.06 else ()
    if tools:
        needs = (*needs, ((_tool("press"),),))
    wait = random.choice((0.5, 1.0)) if random.random() < 0.08 else 0.0
    work = Work(
        _fixed(likely) if kind == "test" else _hours(random, likely),
        2 if random.random() < 0.15 else 1,
        needs,
        causes,
        tools,
        wait,
    )
    price = float(random.choice((0, 0, 40, 80, 150, 300, 600))) if kind == "fit" else 0.0
    name = f"job.{number}"
    return Job(name, name, kind, region.name, work, price=price, fixed=kind == "test")


def _linked(car: _Car, horizon: int) -> None:
    """Some jobs wait for others of their region, for their parts, or for one of two people."""
    random = car.random
    earlier: dict[str, list[str]] = {}
    for name, job in list(car.jobs.items()):
        before = earlier.setdefault(job.region, [])
        if before and random.random() < 0.2:
            lag = random.choice((0.0, 0.0, 0.5, 1.0))
            job = replace(job, after=(After(random.choice(before[-4:]), lag),))
        if job.kind == "fit" and random.random() < 0.4:
            job = replace(job, earliest=int(horizon * random.uniform(0, 0.6)))
        if job.work.people == 1 and random.random() < 0.08:
            job = replace(job, who=tuple(random.sample(NAMES[:3], 2)))
        before.append(name)
        car.jobs[name] = job


def _sessions(random: Random, count: int, people: int) -> tuple[Session, ...]:
    """Saturdays, most Sundays, some Wednesday evenings, from Saturday of week one on."""
    spans: list[tuple[int, int, str]] = []
    week = 0
    while len(spans) < count:
        monday = (7 * week - 5) * DAY
        if week and random.random() < 0.4:
            spans.append((monday + 2 * DAY + 18 * HOUR, 4 * HOUR, f"wed-{week}"))
        spans.append((monday + 5 * DAY + 9 * HOUR, 8 * HOUR, f"sat-{week}"))
        if random.random() < 0.7:
            spans.append((monday + 6 * DAY + 9 * HOUR, 8 * HOUR, f"sun-{week}"))
        week += 1
    made = []
    for start, length, name in spans[:count]:
        evening = name.startswith("wed")
        there = (
            random.randint(2, max(2, people // 2))
            if evening
            else random.randint(max(1, people - 2), people)
        )
        present = []
        for person in sorted(random.sample(NAMES[:people], min(there, people))):
            begin, end = start, start + length
            if not evening and random.random() < 0.25:
                half = start + length // 2
                begin, end = (start, half) if random.random() < 0.5 else (half, end)
            present.append(Presence(person, begin, end))
        if all(p.end - p.start < length for p in present):
            present[0] = Presence(present[0].name, start, start + length)
        tools = {"stands", "lift", "press", "compressor"}
        tools |= {
            t
            for t, p in (("pit", 0.3), ("rack", 0.4), ("short spanner", 0.5))
            if random.random() < p
        }
        made.append(Session(name, name, start, start + length, tuple(present), frozenset(tools)))
    made[-1] = replace(made[-1], tools=made[-1].tools | {"rack"})
    return tuple(made)


def _needs(random: Random, sessions: tuple[Session, ...]) -> tuple[Need, ...]:
    """*Drive* on most Mondays, and never a holiday of more than two weeks."""
    needs: list[Need] = []
    weekend = [s for s in sessions if not s.id.startswith("wed")]
    week_of = [session.id.split("-")[1] for session in weekend]
    away = 0
    for index, session in enumerate(weekend):
        if index + 1 < len(weekend) and week_of[index + 1] == week_of[index]:
            continue
        if away < 1 and random.random() < 0.3:
            away += 1
            continue
        away = 0
        monday = (session.start // DAY // 7 + 1) * 7 * DAY
        needs.append(Need("drive", session.id, max(session.end, monday + 2 * DAY + 7 * HOUR), 1))
    return tuple(needs)


def _budgets(problem: Problem) -> tuple[Budget, ...]:
    """A third of the sessions at a time, each with a little more than its share of the price."""
    total = sum(job.price for job in problem.jobs.values())
    names = [session.id for session in problem.sessions]
    third = max(1, len(names) // 3)
    return tuple(
        Budget(f"month {n}", tuple(names[: n * third]), round(total * share))
        for n, share in ((1, 0.5), (2, 0.85))
    )


def car(
    seed: int, *, components: int = 300, jobs: int = 150, sessions: int = 20, people: int = 6
) -> Problem:
    """An invented problem of this size; the same for the same seed."""
    random = Random(f"work {seed}")
    made = _Car(random)
    _components(made, components)
    weights = [region.share for region in REGIONS]
    for number in range(jobs):
        region = random.choices(REGIONS, weights)[0]
        made.jobs[f"job.{number}"] = _job(made, number, region)
    spans = _sessions(random, sessions, people)
    _linked(made, spans[-1].start)
    problem = Problem(
        zero=datetime(2027, 1, 2),
        components=made.components,
        effects=_effects(),
        jobs=made.jobs,
        sessions=spans,
        needs=_needs(random, spans),
        prerequisites=USES,
        tools={"press": 1},
    )
    return replace(problem, budgets=_budgets(problem))
