"""Checks and records of the brakes."""

from __future__ import annotations

from typing import Any

import numpy as np

from drybuild.findings import PRACTICE, Along, Room, Source, matches, not_above, not_below
from drybuild.systems.brakes.formulas import balance, hydraulics
from drybuild.values import Array

R13H_BASIC = Source("UN R13-H", edition="01 series", clause="annex 3, 2.1.1", how="memory")
R13H_SHARE = Source("UN R13-H", edition="01 series", clause="annex 5, 3.1", how="memory")
SIDES = Source("Directive 2014/45/EU", clause="annex I, 1.2.1", how="memory")
MARKED = Source("the maker's mark on the part", how="practice")
FLUID = Source("ISO 4925 and US 49 CFR 571.116: wet boiling point at 3.7 % water", how="memory")

RATES = np.linspace(0.15, 0.8, 14)[:, None]  # braking rates that annex 5 names, (K, 1)
GRIPS = np.linspace(0.2, 0.8, 13)[:, None]

LEAST_RATE = 6.43
"""Of the basic test at 500 N on the pedal, m/s²."""

HURT = (
    "Brakes decide whether the car stops. Follow the vehicle maker's manual; have the work seen by "
    "a second person; first stops slowly, on private ground, with room ahead."
)
HOT = "Brakes burn and fluid that has boiled gives no pedal: stop and let them cool."


def _forces(
    rates: Any, front: Array, rear: Array, weight: Array, knee: Array | None, slope: Array | None
) -> tuple[Array, Array]:
    pressure = balance.pressure_for_rate(
        rate=rates, weight=weight, front_per_pressure=front, rear_per_pressure=rear, knee=knee,
        slope=slope,
    )  # fmt: skip
    behind = hydraulics.rear_pressure(front_pressure=pressure, knee=knee, slope=slope)
    return front * pressure, rear * behind


def rear_locks_last(
    *, front: Array, rear: Array, load_front: Array, load_rear: Array, cg_height: Array,
    wheelbase: Array, knee: Array | None, slope: Array | None,
) -> Along:  # fmt: skip
    """Adhesion used in front less adhesion used at the rear, along the braking rate."""
    forces = _forces(RATES, front, rear, load_front + load_rear, knee, slope)
    loads = balance.axle_loads(
        front_load=load_front, rear_load=load_rear, cg_height=cg_height, wheelbase=wheelbase,
        rate=RATES,
    )  # fmt: skip
    used = [balance.adhesion_used(force=f, load=n) for f, n in zip(forces, loads, strict=True)]
    return Along(
        slack=np.asarray(used[0] - used[1]), at=RATES[:, 0], kind="ratio", found=used[1],
        high=used[0],
    )  # fmt: skip


def uses_grip(
    *, front: Array, rear: Array, load_front: Array, load_rear: Array, cg_height: Array,
    wheelbase: Array, knee: Array | None, slope: Array | None,
) -> Along:  # fmt: skip
    """Grip less the adhesion used at the braking rate that is wanted on it, along the grip.

    Where it is positive no axle has locked before the wanted rate is reached.
    """
    rates = np.asarray(balance.least_rate(adhesion=GRIPS))
    forces = _forces(rates, front, rear, load_front + load_rear, knee, slope)
    loads = balance.axle_loads(
        front_load=load_front, rear_load=load_rear, cg_height=cg_height, wheelbase=wheelbase,
        rate=rates,
    )  # fmt: skip
    used = [
        np.asarray(balance.adhesion_used(force=f, load=n))
        for f, n in zip(forces, loads, strict=True)
    ]
    most = np.maximum(used[0], used[1])
    return Along(slack=GRIPS - most, at=GRIPS[:, 0], kind="ratio", found=most, high=GRIPS)


def tyre_effect(
    *,
    fl: Array,
    fr: Array,
    rl: Array,
    rr: Array,
    fl_before: Array,
    fr_before: Array,
    rl_before: Array,
    rr_before: Array,
) -> Array:
    """A twentieth less the change of front against rear braking force that the tyres bring."""
    return 0.05 - _moved_by_tyres(fl, fr, rl, rr, fl_before, fr_before, rl_before, rr_before)


def _moved_by_tyres(
    fl: Array, fr: Array, rl: Array, rr: Array, fl_before: Array, fr_before: Array,
    rl_before: Array, rr_before: Array,
) -> Array:  # fmt: skip
    front = (np.asarray(fl_before) + fr_before) / (np.asarray(fl) + fr)
    rear = (np.asarray(rl_before) + rr_before) / (np.asarray(rl) + rr)
    moved: Array = np.abs(rear / front - 1)
    return moved


def balance_shift(*, now: Array, before: Array) -> Array:
    """A tenth less the move of the front share."""
    return 0.10 - _share_moved(now, before)


def _share_moved(now: Array, before: Array) -> Array:
    moved: Array = np.abs(np.asarray(now) - before)
    return moved


def deceleration_slack(*, available: Array) -> Array:
    """Deceleration at 500 N less the 6.43 m/s² of the basic test."""
    return np.asarray(available) - LEAST_RATE


def below(*, limit: Array, temperature: Array) -> Array:
    """Limit less temperature, K."""
    return np.asarray(limit) - temperature


def more_than(*, have: Array, least: Array) -> Array:
    """What is there less the least."""
    return np.asarray(have) - least


def pedal_longer(*, now: Array, before: Array) -> Array:
    """A quarter more stroke than as found, less the stroke now, as a share of as found."""
    return 1.25 - _stroke_share(now, before)


def _stroke_share(now: Array, before: Array) -> Array:
    return np.asarray(now) / before


def made_for(
    *, diameter: Array, thickness: Array, thickness_min: Array | None, for_diameter: Array,
    for_thickness: Array,
) -> Any:  # fmt: skip
    """Whether the disc is the one that the caliper is made for: 1 mm in diameter and thickness.

    A worn disc is thinner than new, but not below its own least thickness (its own check).
    """
    least = for_thickness - 1e-3 if thickness_min is None else thickness_min
    return matches(
        (np.abs(np.asarray(diameter) - for_diameter) <= 1e-3)
        & (np.asarray(thickness) <= for_thickness + 1e-3)
        & (np.asarray(for_thickness) >= least)
    )


def same_word(*, one: str, other: str) -> Any:
    """Whether two names are the same."""
    return matches(one.strip().casefold() == other.strip().casefold())


def side_slack(*, left: Array, right: Array) -> Array:
    """Three tenths less the difference of left and right."""
    return 0.30 - np.asarray(balance.side_difference(left=left, right=right))


def register(room: Room) -> None:
    """Offer the checks and records."""
    _balance(room)
    _heat(room)
    _fit(room)
    _pedal(room)
    _records(room)


def _balance(room: Room) -> None:
    loads = {
        "front": "brakes.force_per_pressure.front",
        "rear": "brakes.force_per_pressure.rear",
        "load_front": "~ride.axle_load.front",
        "load_rear": "~ride.axle_load.rear",
        "cg_height": "~ride.cg_height",
        "wheelbase": "~car.wheelbase",
        "knee": "?brake_valve.knee",
        "slope": "?brake_valve.slope",
    }
    room.check(
        "brakes.rear_locks_last", title="front wheels lock before the rear ones", kind="ratio",
        share_of="the load on the axle",
        slack=rear_locks_last, needs=loads, gap_wanted=0.0, consequence="injury",
        stops=("drive", "compete"), source=R13H_SHARE,
        formula="F_f/N_f − F_r/N_r, loads moved by z·h/L, worst over z",
        pose="straight on, laden, braking rate 0.15 to 0.8, without help of an anti-lock system",
        when_short="the rear wheels lock first and the car turns round",
        do="less bite at the rear: pads, pistons, or a valve that holds pressure back", safety=HURT,
    )  # fmt: skip
    room.check(
        "brakes.uses_grip", title="grip used before an axle locks", kind="ratio",
        share_of="the load on the axle",
        slack=uses_grip, needs=loads, gap_wanted=0.0, consequence="injury",
        stops=("drive", "compete"), source=R13H_SHARE,
        formula="k − greatest adhesion used at z = 0.1 + 0.7·(k − 0.2)",
        pose="straight on, laden, grip 0.2 to 0.8, without help of an anti-lock system",
        when_short="one axle locks long before the other is used: the way to stop grows",
        do="bring the front and rear brakes back into step", safety=HURT,
    )  # fmt: skip
    room.check(
        "brakes.balance_shift", title="brake balance against as found", kind="fraction",
        between=not_above(_share_moved, 0.10), share_of="all braking force",
        slack=balance_shift,
        needs={"now": "brakes.share_front", "before": "~base:brakes.share_front"},
        consequence="injury", stops=("drive",), source=PRACTICE,
        formula="0.10 − |front share now − as found|",
        pose="braking rate 0.65; anti-lock systems are set up for the balance as found",
        when_short="the balance has left what the car was set up for",
        do="choose pistons, disc or pads nearer to the balance as found", safety=HURT,
    )  # fmt: skip
    room.check(
        "brakes.tyre_effect", title="brake balance by the tyres alone", kind="ratio",
        between=not_above(_moved_by_tyres, 0.05), share_of="the front to rear balance as found",
        slack=tyre_effect,
        needs={
            **{
                f"{side}{'' if at == '' else '_before'}": f"{at}corners.rolling_radius.{corner}"
                for at in ("", "~base:")
                for side, corner in (
                    ("fl", "front.left"), ("fr", "front.right"),
                    ("rl", "rear.left"), ("rr", "rear.right"),
                )
            },
        },
        consequence="injury", stops=("drive",), source=PRACTICE,
        formula="0.05 − |change of r_front/r_rear|",
        pose="same brakes; a larger rolling radius takes braking force off its axle",
        when_short="the tyres shift the brake balance from what the car was set up for",
        do="tyres whose rolling radii keep the ratio of front to rear", safety=HURT,
    )  # fmt: skip
    room.check(
        "brakes.left_right", title="left brake against right brake", per="axle", kind="fraction",
        between=not_above(balance.side_difference, 0.30), share_of="the stronger side",
        slack=side_slack,
        needs={
            "left": "brakes.torque_per_pressure.{axle}.left",
            "right": "brakes.torque_per_pressure.{axle}.right",
        },
        gap_wanted=0.1, consequence="injury", stops=("creep",), source=SIDES,
        formula="0.30 − |left − right|/greater", pose="one line pressure on both sides",
        when_short="the car pulls to one side when braked",
        do="the same disc, caliper and pads on both sides", safety=HURT,
    )  # fmt: skip


def _heat(room: Room) -> None:
    wanted = (
        (
            "road",
            "on the road",
            "",
            ("drive",),
            "three stops from 100 km/h, or the longest descent, laden",
        ),
        (
            "event",
            "stops in a row at an event",
            "_event",
            ("compete",),
            "the stops of the event in a row (three from 100 km/h where none are stated), laden",
        ),
    )
    for which, words, ending, stops, pose in wanted:
        room.check(
            f"brakes.pad_temperature{ending}", title=f"pad temperature, {words}", per="axle",
            kind="temperature_difference", slack=below,
            needs={
                "limit": "pads.{axle}.temperature_limit",
                "temperature": f"brakes.{which}_disc_temperature.{{axle}}",
            },
            between=not_above("temperature", "limit", kind="temperature"),
            # The face runs hotter than the mean of the ring, which is what is reckoned.
            gap_wanted=50.0, consequence="injury", stops=stops, source=PRACTICE,
            formula="pad limit − mean disc temperature", pose=pose,
            when_short="the pads fade", do="more disc mass or cooling air, or pads for more heat",
            safety=f"{HURT} {HOT}",
        )  # fmt: skip
        room.check(
            f"brakes.fluid_boil{ending}", title=f"brake fluid temperature, {words}", per="axle",
            kind="temperature_difference", slack=below,
            needs={
                "limit": "brake_fluid.boil_wet",
                "temperature": f"brakes.{which}_fluid_temperature.{{axle}}",
            },
            between=not_above("temperature", "limit", kind="temperature"),
            gap_wanted=20.0, consequence="injury", stops=stops, source=FLUID,
            formula="wet boiling point − fluid temperature", pose=pose,
            when_short="the fluid may boil and the pedal goes to the floor",
            do="fluid with a higher wet boiling point, renewed, or more disc mass or cooling air",
            safety=f"{HURT} {HOT}",
        )  # fmt: skip


def _fit(room: Room) -> None:
    room.check(
        "brakes.disc_thickness", title="disc thickness left", per="corner", kind="length",
        between=not_below("have", "least"),
        slack=more_than,
        needs={
            "have": "disc.{corner}.thickness",
            "least": "disc.{corner}.thickness_min",
        },
        gap_wanted=0.3e-3, consequence="injury", stops=("drive",), source=MARKED,
        formula="thickness − least thickness", pose="thinnest place of the swept ring",
        when_short="the disc is worn out", do="new discs on both sides", safety=HURT,
    )  # fmt: skip
    room.check(
        "brakes.pad_thickness", title="friction material left", per="axle", kind="length",
        between=not_below("have", "least"),
        slack=more_than,
        needs={
            "have": "pads.{axle}.pad_thickness",
            "least": "pads.{axle}.pad_thickness_min",
        },
        gap_wanted=1e-3, consequence="injury", stops=("drive",), source=MARKED,
        formula="material − least material", pose="thinner pad of the axle",
        when_short="the pads are worn out", do="new pads on both sides", safety=HURT,
    )  # fmt: skip
    room.check(
        "brakes.disc_in_caliper", title="disc and caliper belong together", per="corner",
        kind="match", slack=made_for,
        needs={
            "diameter": "disc.{corner}.outer_diameter",
            "thickness": "disc.{corner}.thickness",
            "thickness_min": "?disc.{corner}.thickness_min",
            "for_diameter": "caliper.{corner}.disc_diameter",
            "for_thickness": "caliper.{corner}.disc_thickness",
        },
        consequence="injury", stops=("creep",), source=MARKED,
        formula="diameter within 1 mm; thickness between the least and 1 mm over new",
        pose="as fitted", when_short="this caliper is made for another disc",
        do="the disc that caliper and bracket are made for, or caliper and bracket for this disc",
        safety=HURT,
    )  # fmt: skip
    room.check(
        "brakes.pads_in_caliper", title="pads and caliper belong together", per="axle",
        kind="match", slack=same_word,
        needs={"one": "pads.{axle}.pad_shape", "other": "caliper.{axle}.left.pad_shape"},
        consequence="injury", stops=("creep",), source=MARKED, formula="the same pad shape",
        pose="as fitted", when_short="these pads are made for another caliper",
        do="pads of the shape that the caliper takes", safety=HURT,
    )  # fmt: skip
    room.check(
        "brakes.fluid_base", title="fluid and seals belong together", kind="match",
        slack=same_word,
        needs={"one": "brake_fluid.base", "other": "master_cylinder.fluid_base"},
        consequence="injury", stops=("creep",), source=MARKED, formula="the same base",
        pose="whole system", when_short="this fluid swells or wastes the seals",
        do="fluid of the base that the cap names; flush what was mixed", safety=HURT,
    )  # fmt: skip
    room.check(
        "brakes.hose_reach", title="brake hose long enough", per="corner", kind="length",
        between=not_below("have", "least"),
        slack=more_than,
        needs={
            "have": "brake_hose.{corner}.hose_length",
            "least": "corner.{corner}.hose_reach",
        },
        gap_wanted=15e-3, consequence="injury", stops=("creep",), source=PRACTICE,
        formula="hose − path", pose="worst of full droop and full lock",
        when_short="the hose is stretched at full droop or full lock",
        do="a longer hose, or another bracket for it", safety=HURT,
    )  # fmt: skip


def _pedal(room: Room) -> None:
    room.check(
        "brakes.deceleration", title="deceleration at 500 N on the pedal", kind="acceleration",
        between=not_below("available", LEAST_RATE),
        slack=deceleration_slack, needs={"available": "brakes.deceleration_available"},
        # Fade, seal friction and a weaker servo at altitude are not in the sum.
        gap_wanted=1.0, consequence="injury", stops=("drive",), source=R13H_BASIC,
        formula="a − 6.43 m/s²", pose="laden, brakes cold, tyres holding",
        when_short="the foot cannot slow the car enough",
        do="larger pistons, larger disc, or a smaller master cylinder", safety=HURT,
    )  # fmt: skip
    room.check(
        "brakes.pedal_reserve", title="brake pedal travel in reserve", kind="length",
        between=not_above("least", "have"),
        slack=more_than,
        needs={"have": "master_cylinder.stroke", "least": "brakes.stroke_used"},
        gap_wanted="brakes.stroke_kept", consequence="injury", stops=("creep",), source=PRACTICE,
        formula="stroke − ΣV/A at 100 bar; a third of the stroke is to be left",
        pose="both circuits whole, bled, 100 bar",
        when_short="the pedal comes near the floor",
        do="a larger master cylinder, or calipers that take less fluid", safety=HURT,
    )  # fmt: skip
    room.check(
        "brakes.pedal_longer", title="brake pedal travel against as found", kind="ratio",
        between=not_above(_stroke_share, 1.25), share_of="the travel as found",
        slack=pedal_longer,
        needs={"now": "brakes.stroke_used", "before": "~base:brakes.stroke_used"},
        consequence="nuisance", stops=(), source=PRACTICE,
        formula="1.25 − stroke now/as found", pose="100 bar",
        when_short="the pedal is clearly longer than it was",
        do="a larger master cylinder, or live with it knowingly",
    )  # fmt: skip


def _records(room: Room) -> None:
    opened = ("caliper.*", "brake_hose.*", "brake_fluid", "master_cylinder", "brake_valve")
    room.record(
        "brakes.bled", title="brakes bled, pedal firm, no leak under pressure", changed=opened,
        stops=("creep",), second_person=True,
        do="bleed in the maker's order; hold 500 N on the pedal for a minute; look at every joint",
        safety=f"{HURT} Fluid takes off paint and harms eyes.", source=PRACTICE,
    )  # fmt: skip
    room.record(
        "brakes.fastened", title="caliper and bracket bolts tightened", second_person=True,
        changed=("caliper.*", "disc.*", "pads.*", "stub_shim.*"), stops=("creep",),
        do="tighten by the maker's figure, or LOOK UP; new bolts where the maker says so",
        safety=HURT, source=PRACTICE,
    )  # fmt: skip
    room.record(
        "brakes.hose_free", title="brake hoses free at full droop and full lock",
        changed=("brake_hose.*", "caliper.*", "damper.*", "arm.*"), stops=("creep",),
        second_person=True,
        do="wheel hanging, steering from lock to lock: no hose twisted, taut or rubbing",
        safety=f"{HURT} Nobody under a car that stands on a jack alone.", source=PRACTICE,
        hanging=True,
    )  # fmt: skip
    room.record(
        "brakes.first_stops", title="first stops on private ground",
        changed=(*opened, "disc.*", "pads.*"), stops=("drive",), second_person=True,
        do="from walking pace, then 30 km/h: straight, firm pedal, no noise; look for leaks again",
        safety=HURT, source=PRACTICE,
    )  # fmt: skip
    room.record(
        "brakes.bedded", title="pads bedded in", changed=("disc.*", "pads.*"),
        stops=("compete",), evidence=("value", "name"),
        do="bed in as the pad maker says; let the brakes cool",
        safety=f"{HURT} {HOT}", source=PRACTICE,
    )  # fmt: skip
