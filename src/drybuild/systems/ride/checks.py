"""Checks of the ride room, first part: travel, springs, damping, frequency."""

from __future__ import annotations

from drybuild.findings import LEFT, PRACTICE, Source, inside, not_above, not_below
from drybuild.systems.ride import checks_slack as slack
from drybuild.systems.ride.results import (
    EN_13906,
    GEOMETRY,
    GILLESPIE_5,
    RATE,
    RATIO,
    room,
)

LADEN = "at rest, with the load of the goal, level ground"
EMPTY = "at rest, nobody in it, level ground"
AT_BUMP = "wheel at full bump, bump stop solid"
AT_DROOP = "body lifted, wheel hanging"
SPRING_SAFETY = (
    "A squeezed spring can kill. Restrain it with compressors made for it, whatever the number, "
    "follow the vehicle maker's procedure, and keep out of its line."
)
MILLIKEN_16 = Source("Milliken and Milliken, Race Car Vehicle Dynamics", "1995", "ch. 16")
OLLEY = Source("Olley's flat ride rule, as in Gillespie ch. 5", how="memory")


def _travel() -> None:
    room.check(
        "ride.bump_travel",
        between=LEFT,
        title="bump travel left",
        per="corner",
        kind="length",
        needs={"value": "ride.bump_travel.{corner}"},
        slack=slack.as_it_is,
        formula="slack = full bump − rest, laden",
        gap_wanted=0.035,
        consequence="damage",
        stops=("drive", "compete"),
        source=PRACTICE,
        pose=LADEN,
        when_short="too little bump travel left: the body lands on the stops",
        do="less drop, a shorter bump stop that its damper allows, or a stiffer spring",
    )
    room.check(
        "ride.bump_stop_gap",
        between=LEFT,
        title="travel before the bump stop touches",
        per="corner",
        kind="length",
        needs={
            "touch": "ride.stop_touch.{corner}",
            "rest": "ride.laden_travel.{corner}",
        },
        slack=slack.stop_not_before,
        formula="slack = stop touches − rest, laden",
        gap_wanted=0.008,
        consequence="nuisance",
        stops=("compete",),
        source=PRACTICE,
        pose=LADEN,
        when_short="the car rides on its bump stops",
        do="a shorter bump stop that its damper allows, or less drop",
    )
    room.check(
        "ride.droop_travel",
        between=LEFT,
        title="droop travel left",
        per="corner",
        kind="length",
        needs={"value": "ride.droop_travel.{corner}"},
        slack=slack.as_it_is,
        formula="slack = full droop + drop",
        gap_wanted=0.040,
        consequence="damage",
        stops=("drive", "compete"),
        source=PRACTICE,
        pose=EMPTY,
        when_short="the damper tops out on every dip",
        do="a longer damper, or less lift",
    )
    room.check(
        "ride.coil_bind",
        between=LEFT,
        title="bump stop ends the travel before the coils touch",
        per="corner",
        kind="length",
        needs={
            "seats": "ride.seats_at_bump.{corner}",
            "solid": "spring.{corner}.solid_length|ride.coil_solid_length.{corner}",
            "helper_solid": "?spring.{corner}.helper_solid_length",
        },
        slack=slack.coil_bind,
        formula="slack = seats at full bump − solid length",
        gap_wanted=0.006,
        consequence="damage",
        stops=("drive", "compete"),
        source=EN_13906,
        pose=AT_BUMP,
        when_short="the spring goes solid before the bump stop does",
        do="a spring of fewer coils or thinner wire, or a taller bump stop",
    )
    room.check(
        "ride.spring_captive",
        between=not_below(slack.stack_length, "seats"),
        title="spring held between its seats at full droop",
        per="corner",
        kind="length",
        needs={
            "free_length": "spring.{corner}.free_length",
            "seats": "ride.seats_at_droop.{corner}",
            "helper_free": "?spring.{corner}.helper_free_length",
            "energy": "~?ride.spring_energy.{corner}",
        },
        slack=slack.captive,
        formula="slack = free length (with helper) − seats at full droop",
        gap_wanted=0.0,
        consequence="injury",
        stops=("drive", "compete"),
        source=GEOMETRY,
        pose=AT_DROOP,
        when_short="the spring is loose at full droop and may leave its seat",
        do="a helper spring, a longer spring, or a shorter damper",
        safety=SPRING_SAFETY,
    )
    room.check(
        "ride.drop",
        between=not_above("drop", slack.LARGEST_ROAD_DROP),
        title="size of the drop",
        per="corner",
        kind="length",
        needs={"drop": "ride.ride_height_drop.{corner}"},
        slack=slack.drop_size,
        formula="slack = 45 mm − drop",
        consequence="nuisance",
        stops=("compete",),
        source=PRACTICE,
        pose=EMPTY,
        when_short="about 20 mm is mild, 30 to 40 mm large for a road car; this is more",
        do="longer springs or a raised perch",
    )
    room.check(
        "ride.sides_even",
        between=not_above(slack.apart, slack.SIDES_APART_MOST),
        title="both sides came down alike",
        per="axle",
        kind="length",
        needs={
            "left": "ride.ride_height_drop.{axle}.left",
            "right": "ride.ride_height_drop.{axle}.right",
        },
        slack=slack.even_sides,
        formula="slack = 6 mm − |drop left − drop right|",
        consequence="nuisance",
        stops=("compete",),
        source=PRACTICE,
        pose=EMPTY,
        when_short="the sides stand at different heights: spring seats, or left and right mixed up",
        do="look at the seats and at the marks on the springs",
    )


def _springs() -> None:
    room.check(
        "ride.spring_stress",
        between=not_above(slack.stress_at_bump, slack.stress_permitted),
        title="stress in the spring at full bump",
        per="corner",
        kind="stress",
        needs={
            "rate": RATE,
            "free_length": "spring.{corner}.free_length",
            "seats": "ride.seats_at_bump.{corner}",
            "helper_solid": "?spring.{corner}.helper_solid_length",
            "wire_diameter": "spring.{corner}.wire_diameter",
            "mean_diameter": "spring.{corner}.mean_diameter",
            "wire_strength": "spring.{corner}.wire_strength",
        },
        slack=slack.spring_stress,
        formula="slack = 0.56·Rm − 8·D·F/(π·d³)",
        consequence="damage",
        stops=("compete",),
        source=EN_13906,
        pose=AT_BUMP,
        when_short="the spring will sag: its wire is stressed beyond what it stands",
        do="a spring of more or thicker wire",
    )
    room.check(
        "ride.spring_figures",
        between=not_above(slack.rates_apart, slack.RATE_FIGURES_AGREE), share_of="the rate stated",
        title="spring rate agrees with the coil",
        per="corner",
        kind="ratio",
        needs={
            "stated": "spring.{corner}.rate",
            "computed": "ride.coil_rate.{corner}",
        },
        slack=slack.spring_figures,
        formula="slack = 0.12 − |rate from coil/stated rate − 1|",
        consequence="nuisance",
        stops=("compete",),
        source=EN_13906,
        pose="spring on the bench",
        when_short="stated rate and coil do not belong to one spring: mixed up, or misread",
        do="measure wire, coil and free length, or have it tested",
    )
    room.check(
        "ride.motion_ratio",
        between=inside("motion_ratio", slack.MOTION_RATIO_LEAST, slack.MOTION_RATIO_MOST),
        share_of="the wheel's travel",
        title="motion ratio is written the right way round",
        per="corner",
        kind="ratio",
        needs={"motion_ratio": RATIO, "rate": RATE},
        slack=slack.motion_ratio_plausible,
        formula="slack = inside 0.3 to 1.15",
        consequence="nuisance",
        stops=("compete",),
        source=PRACTICE,
        pose="ride height as found",
        when_short="the motion ratio looks written the wrong way round (wheel over spring)",
        do="measure it: lift the wheel 40 mm, read how much the spring shortens",
    )


def _motion() -> None:
    ratio = {"ratio": "ride.damping_ratio.{corner}"}
    room.check(
        "ride.damping_low",
        between=not_below("ratio", slack.DAMPING_LEAST), share_of="critical damping",
        title="enough damping",
        per="corner",
        kind="ratio",
        needs=ratio,
        slack=slack.above_damping_least,
        formula="slack = ζ − 0.20",
        consequence="damage",
        stops=("drive", "compete"),
        source=GILLESPIE_5,
        pose=LADEN,
        when_short="the damper cannot hold this spring: the body goes on swinging",
        do="a damper valved for the spring rate",
    )
    room.check(
        "ride.damping_high",
        between=not_above("ratio", slack.DAMPING_MOST), share_of="critical damping",
        title="not too much damping",
        per="corner",
        kind="ratio",
        needs=ratio,
        slack=slack.below_damping_most,
        formula="slack = 0.75 − ζ",
        consequence="nuisance",
        stops=("compete",),
        source=MILLIKEN_16,
        pose=LADEN,
        when_short="the damper is stiffer than race practice for this spring",
        do="a softer setting or valving",
    )
    room.check(
        "ride.damper_kept",
        between=not_below(slack.damping_kept, slack.DAMPING_KEPT_LEAST),
        share_of="the damping as found",
        title="old dampers suit the new springs",
        per="corner",
        kind="ratio",
        needs={
            "damper": "?damper.{corner}.part",
            "damper_found": "?base:damper.{corner}.part",
            "ratio": "ride.damping_ratio.{corner}",
            "ratio_found": "base:ride.damping_ratio.{corner}",
        },
        slack=slack.damper_for_spring,
        formula="slack = ζ now/ζ as found − 0.7",
        consequence="nuisance",
        stops=("compete",),
        source=PRACTICE,
        pose=LADEN,
        when_short="the old damper has lost too much of its hold with the stiffer spring",
        do="a damper valved for the spring rate",
    )
    room.check(
        "ride.frequency_high",
        between=not_above(slack.stiffer_side, slack.ROAD_FREQUENCY_MOST),
        title="ride frequency for the road",
        per="axle",
        kind="frequency",
        needs={
            "left": "ride.frequency.{axle}.left",
            "right": "ride.frequency.{axle}.right",
        },
        slack=slack.below_road_frequency,
        formula="slack = 2.2 Hz − f",
        consequence="nuisance",
        stops=("drive",),
        source=MILLIKEN_16,
        pose=LADEN,
        when_short="stiffer than a road car is lived with: tyres leave rough ground",
        do="a softer spring",
    )
    room.check(
        "ride.flat_ride",
        between=not_below(slack.rear_over_front, slack.REAR_OVER_FRONT_LEAST),
        share_of="the front's frequency",
        title="rear rides no slower than the front",
        kind="ratio",
        needs={
            f"{axle}_{side}": f"ride.frequency.{axle}.{side}"
            for axle in ("front", "rear")
            for side in ("left", "right")
        },
        slack=slack.flat_ride,
        formula="slack = f_rear/f_front − 1",
        consequence="nuisance",
        stops=("compete",),
        source=OLLEY,
        pose=LADEN,
        when_short="the front rides faster than the rear: the body pitches after a bump",
        do="a stiffer rear or a softer front spring",
    )


_travel()
_springs()
_motion()
