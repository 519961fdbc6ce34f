"""A small ToDo and a plan of it by hand, for the cards: three Saturdays on the invented Plover.

Nothing plans here: the plan is written down, so that what is drawn from it can be said beforehand.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from pathlib import Path

import drybuild
from drybuild.build import Change
from drybuild.findings.words import use_closure, uses
from drybuild.work.durations import planned
from drybuild.work.ends import ends_of, work_of
from drybuild.work.model import (
    After,
    Aim,
    Component,
    Condition,
    Effect,
    Hours,
    Job,
    Need,
    Notes,
    Plan,
    Presence,
    Problem,
    Renewable,
    Session,
    Step,
    ToDo,
    Work,
)
from drybuild.work.sheets import Sheets, sheets

WEEK = 7 * 24 * 4
ILSE, MARTEN = "Ilse", "Marten"


def off(*names: str) -> tuple[tuple[tuple[Condition, ...], ...], ...]:
    return tuple(((Condition("off", name),),) for name in names)


def tool(*names: str) -> tuple[tuple[tuple[Condition, ...], ...], ...]:
    return tuple(((Condition("tool", name),),) for name in names)


def hours(likely: float) -> Hours:
    """Of fixed length, so that the plan's quarters can be read off it."""
    return Hours(likely, likely, likely)


RAISED = Component(
    "raised", "the car on axle stands", "whole car",
    Work(hours(0.5), people=2, needs=tool("axle stands")), Work(hours(0.25), people=2),
    stops=("move", "creep"),
)  # fmt: skip
WHEELS = Component(
    "wheels_front", "front wheels", "front corners",
    Work(hours(0.25), needs=off("raised")), Work(hours(0.25), needs=off("raised"),
    causes=("wheels_settle",)), stops=("move", "creep"),
)  # fmt: skip
BUMPER = Component(
    "bumper_front", "front bumper", "nose", Work(hours(0.5)), Work(hours(0.5)), stops=("drive",)
)
PIPES = Component(
    "charge_pipes", "charge pipes", "engine bay, front",
    Work(hours(0.5), needs=off("bumper_front")), Work(hours(0.5)), stops=("run",),
)  # fmt: skip
RAIL = Component(
    "fuel_rail", "fuel rail", "engine bay, left",
    Work(hours(0.5), causes=("fuel_open",)), Work(hours(0.5)), stops=("run",),
)  # fmt: skip

BLEED = Job(
    "clear:brakes_open", "fill and bleed the brakes", "fill", "front corners",
    Work(hours(1.0), people=2), clears=("brakes_open",), fixed=True,
    changes=(Change("verify", "brakes.bled"), Change("verify", "driveline.flywheel_fastened")),
)  # fmt: skip
LEAKS = Job(
    "clear:fuel_open", "fuel pressure up, look for leaks", "inspect", "engine bay, left",
    Work(hours(0.5), needs=(((Condition("on", "fuel_rail"),),),)), clears=("fuel_open",),
    fixed=True,
)  # fmt: skip
AGAIN = Job(
    "clear:wheels_settle", "wheel nuts again", "inspect", "front corners", Work(hours(0.25)),
    clears=("wheels_settle",), fixed=True,
)  # fmt: skip

EFFECTS = (
    Effect("brakes_open", "brake circuit open", ("creep", "move"), BLEED),
    Effect("fuel_open", "fuel system opened", ("turn over",), LEAKS),
    Effect("wheels_settle", "wheels to be tightened again", (), AGAIN, between=50.0),
    Effect("sealant", "sealant curing", ("run",), None, lasting=12.0),
)

JOBS = (
    Job(
        "springs-front", "front springs and dampers", "fit", "front corners",
        Work(hours(2.0), needs=(*off("wheels_front"), *tool("spring compressor"))),
        changes=(
            Change("fit", "spring.front", "tolland_spring_42"),
            Change("fit", "damper.front", "tolland_damper_front"),
        ),
        price=910.0,
    ),
    Job(
        "front-brakes", "larger front brakes", "fit", "front corners",
        Work(hours(2.0), needs=off("wheels_front"), causes=("brakes_open",)),
        changes=(
            Change("fit", "disc.front", "tolland_disc_310"),
            Change("fit", "caliper.front", "tolland_caliper_4"),
        ),
        earliest=20, price=1460.0,
    ),
    Job(
        "charge-cooler", "front core of the charge cooler", "fit", "nose",
        Work(hours(1.0), needs=off("bumper_front", "charge_pipes"), causes=("sealant",)),
        changes=(Change("fit", "charge_cooler", "quern_core"),),
    ),
    Job(
        "injectors", "fuel rail and injectors", "fit", "engine bay, left",
        Work(hours(1.0), needs=off("fuel_rail")),
        changes=(Change("fit", "injectors", "brack_980"),), price=540.0,
    ),
    Job(
        "first-map", "first map flashed", "flash", "cabin", Work(hours(0.5)),
        after=(After("injectors"),), changes=(Change("fit", "map", "map_first"),), price=480.0,
    ),
    Job(
        "alignment", "alignment at the shop, booked", "outside", "whole car",
        Work(hours(1.5), people=1, needs=tool("trailer")), after=(After("springs-front"),),
        sessions=("sat-2",), price=160.0,
    ),
)  # fmt: skip

SESSIONS = (
    Session(
        "sat-1", "Saturday 5 December", 36, 68,
        (Presence(ILSE, 36, 68), Presence(MARTEN, 36, 68)),
        frozenset({"axle stands", "spring compressor"}),
    ),
    Session(
        "sat-2", "Saturday 12 December", WEEK + 36, WEEK + 68,
        (Presence(ILSE, WEEK + 36, WEEK + 68), Presence(MARTEN, WEEK + 52, WEEK + 68)),
        frozenset({"axle stands", "trailer"}),
    ),
    Session(
        "sat-3", "Saturday 19 December", 2 * WEEK + 40, 2 * WEEK + 48,
        (Presence(MARTEN, 2 * WEEK + 40, 2 * WEEK + 48),), frozenset({"axle stands"}),
    ),
)  # fmt: skip

NOTES = {
    "take:raised": Notes(
        "raise the car",
        bench=("trolley jack", "axle stands on firm level floor", "wheel chocks"),
        cautions=("Stands under the maker's points on firm level floor; rock it before anybody "
                  "reaches under. Never under a car on a jack.",),
        steps=("chock the rear wheels, hand brake on", "jack at the maker's point",
               "stands under, weight on them, jack left just touching"),
        photograph=("the four jacking points",),
    ),
    "refit:raised": Notes("lower the car", steps=("nobody under, nothing left under", "lower")),
    "take:wheels_front": Notes(
        "front wheels off", bench=("breaker bar",), steps=("nuts off, wheel off, under the sill",),
        bag=("wheel nuts, left and right",), joints=("wheel_nuts.front",),
    ),
    "refit:wheels_front": Notes(
        "front wheels on", bench=("torque wrench",),
        steps=("faces clean and dry", "nuts by hand, then crosswise in two steps"),
        verify=("wheel turned by hand: nothing touches",), joints=("wheel_nuts.front",),
        tags=("TIGHTEN THE WHEELS AGAIN: after 50 to 100 km",),
    ),
    "job:springs-front": Notes(
        "front springs and dampers", bench=("spring compressor", "torque wrench"),
        renew=(Renewable("top mount nut, one-time", 2, price=4.5),),
        cautions=("A spring under load is never pointed at anybody: restrain it, whatever the "
                  "number says.",),
        steps=("mark the top mount's position", "compress in even turns, both hooks seated",
               "change spring and damper", "bush bolts by hand only until the car stands"),
        verify=("spring ends seated in both pans",), photograph=("top mount before undoing",),
        bag=("old top mount nuts: do not use again",), joints=("damper_bolts.front",),
    ),
    "job:front-brakes": Notes(
        "larger front brakes", bench=("hose clamps", "catch bottle", "gloves, goggles"),
        renew=(Renewable("copper washer, hose", 4, price=0.8), Renewable("brake fluid", 0.5, "L",
                                                                        price=18.0)),
        cautions=("Brake fluid strips paint and burns eyes. Nobody presses the pedal while a "
                  "caliper is off.",),
        steps=("hose off at the caliper, plug both ends", "caliper and bracket off",
               "new disc, face cleaned", "new caliper, new hose, new washers"),
        verify=("hose free at full lock and full droop",), joints=("caliper_bolts.front",),
        tags=("DO NOT MOVE: brake circuit open",),
    ),
    "clear:brakes_open": Notes(
        "fill and bleed the brakes", bench=("bleed hose and bottle",),
        renew=(Renewable("brake fluid", 1.0, "L", price=18.0),),
        cautions=("Never let the reservoir run dry.",),
        steps=("bleed in the maker's order until no air comes", "firm pedal held for 60 s"),
        verify=("every nipple shut and dry", "pedal firm, engine running and not"),
    ),
    "take:bumper_front": Notes("front bumper off", steps=("arch screws, top clips, two people",),
                               bag=("12 clips, 6 screws: bumper",)),
    "refit:bumper_front": Notes("front bumper on", verify=("lamps and horn work",)),
    "take:charge_pipes": Notes("charge pipes off", steps=("clamps off, pipes off, ports plugged",),
                               photograph=("clamp positions",)),
    "refit:charge_pipes": Notes("charge pipes on", steps=("plugs out and counted", "clamps seated"),
                                verify=("nothing left inside",)),
    "job:charge-cooler": Notes(
        "front core of the charge cooler", renew=(Renewable("hose clamp", 4, price=3.2),),
        steps=("old core out", "new core in, brackets sealed"),
        cautions=("Sharp fins: gloves.",),
    ),
    "take:fuel_rail": Notes(
        "fuel rail off", bench=("fire extinguisher", "rags, drain tray"),
        cautions=("Petrol under pressure: pressure let off, battery earth off, no flame, no lamp "
                  "that gets hot, air moving.",),
        steps=("pump fuse out, run until it stops, cap off", "battery earth off",
               "rail bolts, rail up with the injectors"),
        tags=("DO NOT CRANK: fuel system open",),
    ),
    "refit:fuel_rail": Notes("fuel rail on", steps=("new seals oiled", "rail down evenly"),
                             renew=(Renewable("injector seal", 8, price=1.1),),
                             joints=("fuel rail bolts",)),
    "job:injectors": Notes(
        "injectors changed", steps=("old out, ports plugged", "new in, plugs the same way round"),
        tags=("DO NOT CRANK: map expects other injectors",),
    ),
    "clear:fuel_open": Notes(
        "fuel pressure up, look for leaks", bench=("lamp, mirror", "fire extinguisher"),
        steps=("ignition on for 3 s, three times", "every joint looked at and felt dry"),
        verify=("dry after 10 min under pressure",),
        cautions=("Stop at the first smell of petrol.",),
    ),
    "job:first-map": Notes("first map flashed", bench=("battery charger", "cable"),
                           steps=("battery held above 12.5 V", "old map read and kept", "flash"),
                           cautions=("Nothing here raises boost or ignition: the calibrator "
                                     "decides on the dyno.",)),
    "job:alignment": Notes("alignment at the shop", steps=("tyres at pressure, tank half full",)),
    "clear:wheels_settle": Notes("wheel nuts again", bench=("torque wrench",),
                                 steps=("cold, car on its wheels, same wrench, same figure",),
                                 joints=("wheel_nuts.front",)),
}  # fmt: skip

ROWS = (
    ("take", "raised", "sat-1", 0, (ILSE, MARTEN)),
    ("take", "wheels_front", "sat-1", 2, (ILSE,)),
    ("job", "springs-front", "sat-1", 3, (ILSE,)),
    ("take", "bumper_front", "sat-1", 2, (MARTEN,)),
    ("take", "charge_pipes", "sat-1", 4, (MARTEN,)),
    ("job", "charge-cooler", "sat-1", 6, (MARTEN,)),
    ("refit", "charge_pipes", "sat-1", 10, (MARTEN,)),
    ("refit", "bumper_front", "sat-1", 12, (MARTEN,)),
    ("job", "front-brakes", "sat-1", 11, (ILSE,)),
    ("take", "fuel_rail", "sat-1", 14, (MARTEN,)),
    ("job", "injectors", "sat-1", 16, (MARTEN,)),
    ("clear", "brakes_open", "sat-1", 20, (ILSE, MARTEN)),
    ("refit", "wheels_front", "sat-1", 24, (ILSE,)),
    ("refit", "raised", "sat-1", 25, (ILSE, MARTEN)),
    ("refit", "fuel_rail", "sat-2", 0, (ILSE,)),
    ("clear", "fuel_open", "sat-2", 2, (ILSE,)),
    ("job", "first-map", "sat-2", 4, (ILSE,)),
    ("job", "alignment", "sat-2", 16, (MARTEN,)),
    ("clear", "wheels_settle", "sat-3", 0, (MARTEN,)),
)


def problem() -> Problem:
    """Three Saturdays, five components, six jobs; the car is wanted on its wheels on Monday."""
    return Problem(
        zero=datetime(2026, 12, 5),
        components={c.id: c for c in (RAISED, WHEELS, BUMPER, PIPES, RAIL)},
        effects={e.id: e for e in EFFECTS},
        jobs={j.id: j for j in JOBS},
        sessions=SESSIONS,
        needs=(Need("move", "sat-1", 2 * 96 + 28), Need("run", "sat-2", WEEK + 2 * 96 + 28)),
        prerequisites={use.name: use_closure(use.name) for use in uses()},
    )


def plan(rows: Iterable[tuple[str, str, str, int, tuple[str, ...]]] = ROWS) -> Plan:
    """The rows as a plan; a row's number counts quarters from its session's start."""
    facts = problem()
    steps = []
    for kind, what, session, start, who in rows:
        step = Step(kind, what, session, facts.session(session).start + start, 0, who)  # type: ignore[arg-type]
        length = planned(work_of(facts, step).hours, facts.percentile)
        steps.append(Step(step.kind, what, session, step.start, step.start + length, who))
    steps.sort(key=lambda s: s.start)
    total = sum(len(s.who) * (s.end - s.start) for s in steps) / 4
    return Plan(
        tuple(steps), ends_of(facts, steps),
        (Aim("hours", total, total, "h"), Aim("finish", 3, 3, "session")),
    )  # fmt: skip


def todo() -> ToDo:
    """The problem with its words."""
    return ToDo(
        problem(), NOTES,
        parts={
            "springs-front": ("tolland_spring_42", "tolland_damper_front"),
            "front-brakes": ("tolland_disc_310", "tolland_caliper_4"),
            "charge-cooler": ("quern_core",), "injectors": ("brack_980",),
            "first-map": ("map_first",),
        },
        currency="AUD",
    )  # fmt: skip


MADE = datetime(2026, 11, 28, 9, 30)


def made_sheets() -> Sheets:
    """All that is printed of the plan, as if made at ``MADE``."""
    example = Path(__file__).parents[2] / "examples" / "plover"
    return sheets(drybuild.open_build(example), todo(), plan(), made=MADE)


def named(made, title):
    """The card of that title."""
    return next(card for card in made if card.title == title)
