"""Invented builds to plan, drawn from a seed: for tests and for measuring.

No car is like them; the shapes are: components in front of each other by region of the car, a lift
that is a state of the car, effects that stop a use until they are cleared, a car that is needed
between sessions.

    small(seed)       at most 8 jobs and 3 sessions, quarters in ones and twos: for brute force
    demo_size(seed)   45 components, 25 jobs, 6 Saturdays, needed on Mondays
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import pairwise
from random import Random

from drybuild.work.model import (
    After,
    Budget,
    Component,
    Condition,
    Effect,
    Hours,
    Job,
    Need,
    Presence,
    Problem,
    Requirement,
    Session,
    Work,
)

DAY = 96
ZERO = datetime(2026, 12, 5)
USES = {
    "move": frozenset({"move"}),
    "run": frozenset({"run"}),
    "drive": frozenset({"move", "run", "drive"}),
}


def off(*names: str) -> Requirement:
    """Any one of these components is off."""
    return tuple((Condition("off", name),) for name in names)


def _exactly(quarters: int) -> Hours:
    return Hours(quarters / 4, quarters / 4, quarters / 4)


def _doubtful(dice: Random, likely: float) -> Hours:
    return Hours(
        round(likely * dice.uniform(0.6, 0.9), 2), likely, round(likely * dice.uniform(1.2, 2), 2)
    )


# ---- small ---------------------------------------------------------------------------------------


def small(seed: int) -> Problem:
    """A build so small that every plan of it can be tried."""
    dice = Random(seed)
    people = dice.choice((1, 1, 2))
    components = _small_components(dice, people)
    effects = _small_effects(dice)
    if effects:
        components = _causing(dice, components, list(effects))
    jobs = _small_jobs(dice, list(components), list(effects), people)
    sessions = _small_sessions(dice, people)
    needs = tuple(
        Need("drive", s.id, n.start) for s, n in pairwise(sessions) if dice.random() < 0.5
    )
    budgets: tuple[Budget, ...] = ()
    if dice.random() < 0.3:
        budgets = (Budget("first month", (sessions[0].id,), dice.choice((50, 100, 150))),)
    return Problem(
        zero=ZERO,
        components=components,
        effects=effects,
        jobs=jobs,
        sessions=sessions,
        needs=needs,
        prerequisites=USES,
        budgets=budgets,
        tools={"gauge": 1},
        off=frozenset(dice.sample(sorted(components), 1)) if dice.random() < 0.15 else frozenset(),
        first=dice.choice((("hours", "finish"), ("hours", "finish"), ("finish", "hours"))),
    )


def _small_components(dice: Random, people: int) -> dict[str, Component]:
    names = [f"c{k}" for k in range(dice.randint(1, 4))]
    found = {}
    for k, name in enumerate(names):
        needs: tuple[Requirement, ...] = ()
        if k and dice.random() < 0.6:
            needs = (off(*dice.sample(names[:k], min(k, dice.choice((1, 1, 2))))),)
        hands = 2 if people == 2 and dice.random() < 0.2 else 1
        take = Work(_exactly(dice.randint(1, 2)), hands, needs)
        refit = Work(
            _exactly(dice.randint(1, 2)), hands, needs, wait=dice.choice((0.0, 0.0, 0.0, 0.25, 3.0))
        )
        stops = dice.choice(((), ("drive",), ("run",), ("drive",)))
        found[name] = Component(name, name, "one", take, refit, stops)
    return found


def _small_effects(dice: Random) -> dict[str, Effect]:
    found = {}
    if dice.random() < 0.5:
        work = Work(
            _exactly(1), needs=((((Condition("on", "c0"),),)),) if dice.random() < 0.5 else ()
        )
        clearing = Job("clear:drained", "fill", "fill", "one", work, fixed=True)
        found["drained"] = Effect("drained", "drained", ("run",), clearing)
    if dice.random() < 0.3:
        found["hot"] = Effect("hot", "hot", ("drive",), None, lasting=0.5)
    if dice.random() < 0.25:
        clearing = Job("clear:settle", "tighten again", "adjust", "one", Work(_exactly(1)))
        found["settle"] = Effect("settle", "to be tightened again", (), clearing, between=50)
    return found


def _causing(
    dice: Random, components: dict[str, Component], effects: list[str]
) -> dict[str, Component]:
    name, effect = dice.choice(sorted(components)), dice.choice(effects)
    one = components[name]
    if effect == "settle":
        changed = replace(one, refit=replace(one.refit, causes=(effect,)))
    else:
        changed = replace(one, take=replace(one.take, causes=(effect,)))
    return {**components, name: changed}


def _small_jobs(
    dice: Random, components: list[str], effects: list[str], people: int
) -> dict[str, Job]:
    found: dict[str, Job] = {}
    for k in range(dice.randint(3, 8 if people == 1 else 6)):
        name = f"j{k}"
        needs: list[Requirement] = []
        if dice.random() < 0.7:
            needs.append(
                off(*dice.sample(components, min(len(components), dice.choice((1, 1, 2)))))
            )
        elif dice.random() < 0.4:
            needs.append(((Condition("use", dice.choice(("run", "drive"))),),))
        elif dice.random() < 0.3:
            needs.append(((Condition("on", dice.choice(components)),),))
        if effects and dice.random() < 0.1:
            needs.append(((Condition("clear", dice.choice(effects)),),))
        causes = (dice.choice(effects),) if effects and dice.random() < 0.12 else ()
        after = (
            (After(dice.choice(sorted(found)), dice.choice((0, 0, 0.5)), dice.choice((0, 0, 50))),)
            if found and dice.random() < 0.25
            else ()
        )
        hands = dice.choice((0, 2)) if people == 2 and dice.random() < 0.25 else 1
        work = Work(
            _exactly(dice.randint(1, 3)),
            hands,
            tuple(needs),
            causes,
            ("gauge",) if dice.random() < 0.15 else (),
            dice.choice((0.0, 0.0, 0.0, 0.5)),
        )
        found[name] = Job(
            name,
            name,
            "fit",
            "one",
            work,
            after,
            clears=("drained",) if "drained" in effects and dice.random() < 0.06 else (),
            earliest=7 * DAY + 36 if dice.random() < 0.1 else 0,
            price=dice.choice((0, 0, 25, 50)),
            who=("Ilse",) if people == 2 and dice.random() < 0.1 else (),
        )
    return found


def _small_sessions(dice: Random, people: int) -> tuple[Session, ...]:
    found = []
    for k in range(dice.randint(2, 3)):
        start = 7 * DAY * k + 36
        end = start + dice.randint(5, 12)
        here = [Presence("Ilse", start, end)]
        if people == 2:
            late = start + (dice.randint(1, 3) if dice.random() < 0.3 else 0)
            here.append(Presence("Odile", late, end))
        found.append(Session(f"s{k + 1}", f"session {k + 1}", start, end, tuple(here)))
    return tuple(found)


# ---- as large as the demo ------------------------------------------------------------------------


@dataclass
class _Car:
    """A car being made up."""

    dice: Random
    components: dict[str, Component] = field(default_factory=dict)
    jobs: dict[str, Job] = field(default_factory=dict)

    def part(
        self,
        name: str,
        region: str,
        hours: float,
        front: tuple[Requirement, ...] = (),
        stops: tuple[str, ...] = (),
        hands: int = 1,
        causes: tuple[str, ...] = (),
        caused: tuple[str, ...] = (),
        refit_needs: tuple[Requirement, ...] = (),
    ) -> None:
        take = Work(_doubtful(self.dice, hours), hands, front, causes)
        refit = Work(
            _doubtful(self.dice, round(hours * 1.3, 2)), hands, front + refit_needs, caused
        )
        self.components[name] = Component(name, name, region, take, refit, stops)


def demo_size(seed: int, *, sessions: int = 6) -> Problem:
    """A build as large as the demo: 45 components, 25 jobs, Saturdays, needed on Mondays."""
    car = _Car(Random(seed))
    _states(car)
    for region, drive in (
        ("front", 1.0),
        ("rear", 1.0),
        ("under", 0.6),
        ("bay", 0.7),
        ("cabin", 0.3),
    ):
        _region(car, region, drive)
    effects = _effects()
    _jobs(car)
    saturdays = []
    for k in range(sessions):
        start, end = 7 * DAY * k + 36, 7 * DAY * k + 68
        here = [Presence("Ilse", start, end), Presence("Marten", start, end)]
        if k == 2:
            here.append(Presence("Odile", start + 16, end))
        tools = {"lift", "stands", "compressor"} | ({"trailer"} if k == sessions - 2 else set())
        saturdays.append(
            Session(f"sat-{k + 1}", f"Saturday {k + 1}", start, end, tuple(here), frozenset(tools))
        )
    needs = tuple(Need("drive", s.id, s.end + 152) for s in saturdays)
    return Problem(
        zero=ZERO,
        components=car.components,
        effects=effects,
        jobs=car.jobs,
        sessions=tuple(saturdays),
        needs=needs,
        prerequisites=USES,
        budgets=(Budget("December", tuple(s.id for s in saturdays[:3]), 2200),),
    )


def _states(car: _Car) -> None:
    car.part("raised", "car", 0.2, ((((Condition("tool", "lift"),)),),), ("move",))
    raised = off("raised")
    car.part("wheels-front", "front", 0.3, (raised,), ("move",), caused=("settle",))
    car.part("wheels-rear", "rear", 0.3, (raised,), ("move",), caused=("settle",))
    car.part("undertray", "under", 0.3, (raised,), ())
    car.part("bonnet-cover", "bay", 0.1, (), ())


def _region(car: _Car, region: str, drive: float) -> None:
    """Eight components in front of each other, as a tree under what gives access to the region."""
    dice = car.dice
    first = {
        "front": "wheels-front",
        "rear": "wheels-rear",
        "under": "undertray",
        "bay": "bonnet-cover",
        "cabin": "",
    }[region]
    above = [first] if first else []
    for k in range(8):
        name = f"{region}-{k + 1}"
        front = []
        if above and (k or first):
            front.append(off(dice.choice(above)))
        if len(above) > 4 and dice.random() < 0.2:
            front.append(off(*dice.sample(above, 2)))
        stops = ("run",) if region in ("bay", "under") and dice.random() < 0.5 else ()
        if dice.random() < drive:
            stops = (*stops, "drive")
        causes: tuple[str, ...] = ()
        if region == "bay" and k in (2, 5):
            causes = ("coolant",)
        if region in ("front", "rear") and k == 3:
            causes = ("brakes",)
        caused = ("alignment",) if region in ("front", "rear") and k in (4, 6) else ()
        hours = dice.choice((0.1, 0.2, 0.25, 0.25, 0.3, 0.5, 0.6))
        hands = 2 if dice.random() < 0.12 else 1
        car.part(name, region, hours, tuple(front), stops, hands, causes, caused)
        above.append(name)


def _effects() -> dict[str, Effect]:
    tool = ((Condition("tool", "compressor"),),)
    fill = Work(Hours(0.5, 0.75, 1.0), needs=(tool,))
    bleed = Work(Hours(1.0, 1.0, 1.0), people=2)
    shop = Work(
        Hours(1.5, 1.5, 1.5),
        needs=(((Condition("use", "drive"),), (Condition("tool", "trailer"),)),),
    )
    return {
        "coolant": Effect(
            "coolant", "coolant is out", ("run",), _clearing("coolant", "fill", fill)
        ),
        "brakes": Effect(
            "brakes", "brake lines are open", ("drive",), _clearing("brakes", "fill", bleed)
        ),
        "alignment": Effect(
            "alignment", "alignment is owed", (), _clearing("alignment", "align", shop)
        ),
        "settle": Effect(
            "settle",
            "wheel bolts are to be tightened again",
            (),
            _clearing("settle", "adjust", Work(Hours(0.25, 0.25, 0.25))),
            between=50,
        ),
        "map": Effect("map", "the map expects other injectors", ("run",), _clearing(
            "map", "flash", Work(Hours(0.5, 0.5, 0.5)))),
    }  # fmt: skip


def _clearing(effect: str, kind: str, work: Work) -> Job:
    return Job(f"clear:{effect}", f"clear {effect}", kind, "car", work, fixed=True)  # type: ignore[arg-type]


def _jobs(car: _Car) -> None:
    dice = car.dice
    regions = ("front", "rear", "under", "bay", "cabin")
    places = [f"{region}-{k + 1}" for region in regions for k in range(2, 8)]
    for k, place in enumerate(dice.sample(places, 22)):
        name = f"job-{k + 1}"
        needs = [off(place)]
        if dice.random() < 0.15:
            needs.append(off(dice.choice(places)))
        work = Work(
            _doubtful(dice, dice.choice((0.25, 0.5, 0.5, 0.75, 1.0, 1.5, 2.0))),
            2 if dice.random() < 0.1 else 1,
            tuple(needs),
            ("map",) if k == 3 else (),
            wait=dice.choice((0.0, 0.0, 0.0, 0.5)),
        )
        after = (After(f"job-{dice.randint(1, k)}"),) if k and dice.random() < 0.15 else ()
        earliest = 7 * DAY * dice.randint(1, 3) if dice.random() < 0.2 else 0
        car.jobs[name] = Job(
            name,
            name,
            "fit",
            place.split("-")[0],
            work,
            after,
            earliest=earliest,
            price=float(dice.randint(0, 300)),
        )
    run, drive = ((Condition("use", "run"),),), ((Condition("use", "drive"),),)
    for name, need, hours in (("leak-check", run, 0.5), ("road-check", drive, 0.5)):
        car.jobs[name] = Job(
            name, name, "test", "car", Work(Hours(hours, hours, hours), needs=(need,)),
            tuple(After(f"job-{k + 1}") for k in range(22)), fixed=True,
        )  # fmt: skip
    car.jobs["first-start"] = Job(
        "first-start", "first-start", "test", "car",
        Work(Hours(0.5, 0.5, 0.5), needs=(run,)), (After("job-4"),), fixed=True,
    )  # fmt: skip
