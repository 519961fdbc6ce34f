"""What the ride room reads: springs, dampers, bars and arms, and the car's masses and linkage.

Wheel travel is counted from the ride height as found with nobody in the car, + with the wheel up.
Camber is − with the top of the wheel inwards; toe is per wheel, + with its front edge inwards.
"""

from __future__ import annotations

from typing import Literal

from drybuild.build.kinds.hardpoints import HardpointCorner
from drybuild.build.kinds.ride_setting import (
    SettingAxle,
    SettingCar,
    SettingCorner,
    SettingGoal,
)
from drybuild.build.model import Part, Place, Section, fact
from drybuild.values.types import (
    Angle,
    AnglePerLength,
    CurveOf,
    Damping,
    Fraction,
    Length,
    Mass,
    Number,
    PerLength,
    Ratio,
    SpringRate,
    Stress,
)


class Spring(Part):
    """A coil spring. Two springs in one stack: the main one, with the helper's lengths beside."""

    kind: Literal["spring"] = "spring"
    rate: SpringRate | None = fact(
        "rate of the main spring",
        catalogue="3 %",
        measure=("spring tester", 15, "or a press on scales: force at two lengths, 50 mm apart"),
        typical="15 to 60 N/mm",
        possible="1 to 500 N/mm",
    )
    free_length: Length | None = fact(
        "length with no load, end to end",
        catalogue="2 mm",
        measure=("tape", 5, "spring off the car, upright on the floor"),
        typical="200 to 400 mm",
        possible="40 to 800 mm",
    )
    solid_length: Length | None = fact(
        "length with all coils touching", catalogue="1 mm", possible="10 to 500 mm"
    )
    wire_diameter: Length | None = fact(
        "thickness of the wire, paint off",
        catalogue="0.1 mm",
        measure=("vernier", 2, "on the bare wire in three places"),
        typical="9 to 15 mm",
    )
    mean_diameter: Length | None = fact(
        "coil diameter from wire centre to wire centre: outside diameter less one wire",
        catalogue="0.5 mm",
        measure=("vernier", 3, "outside diameter less the wire"),
        typical="60 to 140 mm",
    )
    active_coils: Number | None = fact(
        "coils that work: all coils less those lying on the seats", typical="4 to 9"
    )
    total_coils: Number | None = fact("all coils, with the dead end coils")
    wire_strength: Stress | None = fact("tensile strength of the wire", catalogue="5 %")
    stated_drop: Length | None = fact(
        "how far the car comes down against the standard spring, by the spring's maker",
        catalogue="8 mm",
        possible="-150 to 200 mm",
    )
    helper_free_length: Length | None = fact("unloaded length of a helper spring in the stack")
    helper_solid_length: Length | None = fact("length of the helper spring squeezed solid")
    helper_rate: SpringRate | None = fact(
        "rate of the helper spring; both springs give until it is solid", catalogue="10 %"
    )
    force_curve: CurveOf("length", "force") | None = fact(  # type: ignore[valid-type]
        "progressive spring: force against how far it is squeezed from its free length",
        measure=("spring tester", 20, "or a press on scales: force every 10 mm, from free length"),
    )


class Damper(Part):
    """A damper, alone or as the body of a coil-over."""

    kind: Literal["damper"] = "damper"
    bump_damping: Damping | None = fact(
        "force over speed in bump at low speed (about 0.1 m/s)", catalogue="15 %"
    )
    rebound_damping: Damping | None = fact(
        "force over speed in rebound at low speed (about 0.1 m/s)", catalogue="15 %"
    )
    extended_length: Length | None = fact(
        "eye to eye, fully drawn out",
        catalogue="2 mm",
        measure=("tape", 5, "damper off the car, drawn out by hand, eye to eye"),
        possible="100 to 1000 mm",
    )
    closed_length: Length | None = fact(
        "eye to eye, fully pushed in, bump stop off",
        catalogue="2 mm",
        measure=("tape", 5, "damper off the car, pushed in by hand, eye to eye"),
        possible="80 to 800 mm",
    )
    perch_raise: Length | None = fact(
        "how far the lower spring seat stands above that of the damper as found, + lifts the car",
        catalogue="1 mm",
        measure=("vernier", 3, "from the body's end to the seat, both sides alike"),
        possible="-200 to 200 mm",
    )
    bump_curve: CurveOf("speed", "force") | None = fact(  # type: ignore[valid-type]
        "force against shaft speed in bump, from a damper dyno; gas force taken off"
    )
    rebound_curve: CurveOf("speed", "force") | None = fact(  # type: ignore[valid-type]
        "force against shaft speed in rebound, both counted +"
    )


class BumpStop(Part):
    """A rubber or foam stop that ends the travel into bump."""

    kind: Literal["bump_stop"] = "bump_stop"
    free_length: Length | None = fact(
        "length with no load",
        catalogue="1 mm",
        measure=("tape", 3, "in hand, end to end"),
        typical="20 to 90 mm",
        possible="5 to 250 mm",
    )
    solid_height: Length | None = fact(
        "height when it gives no further", catalogue="2 mm", typical="10 to 35 mm"
    )
    force_curve: CurveOf("length", "force") | None = fact(  # type: ignore[valid-type]
        "force against how far it is squeezed, from its first touch",
        measure=("spring tester", 10, "or a press on scales: force every 5 mm"),
    )


class AntiRollBar(Part):
    """An anti-roll bar of round section."""

    kind: Literal["anti_roll_bar"] = "anti_roll_bar"
    diameter: Length | None = fact(
        "outside diameter",
        catalogue="0.2 mm",
        measure=("vernier", 2, "paint off, middle of the bar"),
        typical="12 to 30 mm",
    )
    bore: Length | None = fact("inside diameter of a tube; 0 when solid", catalogue="0.2 mm")
    centre_length: Length | None = fact("length that twists, between the arms", catalogue="10 mm")
    arm: Length | None = fact("arm, square to the twisting part, to the link", catalogue="5 mm")
    arm_length: Length | None = fact("length along the arm, to the link", catalogue="5 mm")
    end_rate: SpringRate | None = fact(
        "rate at one link with the other held, by its maker", catalogue="10 %"
    )


class BarLink(Part):
    """The link between an anti-roll bar and an arm."""

    kind: Literal["bar_link"] = "bar_link"
    length: Length | None = fact(
        "centre to centre of its joints",
        catalogue="1 mm",
        measure=("tape", 3, "joint centre to joint centre"),
    )
    length_least: Length | None = fact(
        "shortest setting, centre to centre",
        plain="shortest setting",
        catalogue="1 mm",
        measure=("tape", 3, "screwed in as far as it goes: joint centre to joint centre"),
        typical="40 to 250 mm",
    )
    length_most: Length | None = fact(
        "longest setting that leaves the thread its depth",
        plain="longest setting",
        catalogue="1 mm",
        measure=("tape", 3, "screwed out to the thread's mark: joint centre to joint centre"),
        typical="60 to 350 mm",
    )
    swing_most: Angle | None = fact(
        "how far its joints let the bar stand round from where it stood, at rest, by its maker; "
        "unset: no limit is reckoned with",
        plain="swing of its joints at rest",
        catalogue="0.5 deg",
        typical="3 to 15 deg",
    )


class ControlArm(Part):
    """The arm of a corner that sets camber, and toe where it can."""

    kind: Literal["control_arm"] = "control_arm"
    camber_range: Angle | None = fact(
        "camber that its adjuster can add either way from the middle",
        catalogue="0.1 deg",
        measure=("camber gauge", 20, "car on its wheels: adjuster from end to end, half of it"),
    )
    camber_change: Angle | None = fact(
        "camber that its adjuster adds as set now, − tips the top in", catalogue="0.1 deg"
    )
    toe_range: Angle | None = fact(
        "toe of the wheel that its adjuster can add either way", catalogue="0.05 deg"
    )
    toe_change: Angle | None = fact(
        "toe that its adjuster adds as set now, + front in", catalogue="0.05 deg"
    )
    caster_range: Angle | None = fact(
        "caster that its adjuster can add either way from the middle", catalogue="0.1 deg"
    )
    caster_change: Angle | None = fact(
        "caster that its adjuster adds as set now, + leans the axis back", catalogue="0.1 deg"
    )


class StubShim(Part):
    """A tapered shim between axle and stub axle: it tips one wheel for good."""

    kind: Literal["stub_shim"] = "stub_shim"
    camber_range: Angle | None = fact(
        "camber that shims of this kind can add either way",
        catalogue="0.1 deg",
        typical="0.5 to 1.5 deg",
    )
    camber_change: Angle | None = fact(
        "camber that it adds as it lies there, − tips the top in", catalogue="0.1 deg"
    )
    toe_range: Angle | None = fact(
        "toe of the wheel that shims of this kind can add either way",
        catalogue="0.05 deg",
        typical="0.3 to 1 deg",
    )
    toe_change: Angle | None = fact(
        "toe that it adds as it lies there, + front in", catalogue="0.05 deg"
    )
    thickness: Length | None = fact(
        "thickness in its middle: the bolts lose as much thread",
        catalogue="0.1 mm",
        measure=("vernier", 2, "thickest and thinnest edge, mean of both"),
        typical="1 to 4 mm",
    )


class Car(Section):
    """The whole car as found."""

    wheelbase: Length | None = fact(
        "front to rear axle", catalogue="3 mm", possible="1.5 to 4.5 m"
    )
    drive: Literal["front", "rear", "all"] | None = fact("driven axles")
    kerb_mass: Mass | None = fact(
        "mass with all fluids, nobody in it",
        catalogue="2 %",
        measure=("scales", 30, "weighbridge, fluids full, nobody in it"),
        typical="900 to 1900 kg",
        possible="300 to 5000 kg",
    )
    cg_height: Length | None = fact(
        "height of the centre of gravity, nobody in it", catalogue="15 mm", typical="450 to 650 mm"
    )
    cg_test_lift: Length | None = fact("weighing with one axle lifted: how far it was lifted")
    cg_test_gain: Mass | None = fact("weighing with one axle lifted: gain on the other axle")
    cg_test_radius: Length | None = fact("weighing with one axle lifted: loaded radius")
    load_front_share: Fraction | None = fact(
        "share of people and luggage that the front axle carries", catalogue="4 %"
    )
    load_height: Length | None = fact("height of people and luggage above ground", catalogue="5 %")
    gross_limit: Mass | None = fact("permitted total mass by the plate", catalogue="0 kg")
    headlamp_range: Angle | None = fact(
        "how far the headlamps' adjusters reach up or down from where they stand",
        catalogue="0.2 deg",
        measure=("angle gauge", 15, "beam on a wall at 10 m, screw to both ends: 17 cm is 1 deg"),
        typical="1 to 3 deg",
    )
    ground_clearance_mid: Length | None = fact(
        "lowest point between the axles, nobody in it",
        catalogue="5 mm",
        measure=("rule", 5, "or stacked boards, level floor, tyres at pressure"),
        typical="110 to 200 mm",
    )
    lowest_mid_behind_front: Length | None = fact(
        "how far behind the front axle that point lies", catalogue="50 mm"
    )


class Axle(Section):
    """One axle as found."""

    track_width: Length | None = fact(
        "between the tyre centres on the ground, with the wheels as found",
        catalogue="3 mm",
        measure=("plumb line", 10, "tyre centre to tyre centre, front and back mean"),
        typical="1350 to 1650 mm",
        possible="900 to 2200 mm",
    )
    load_kerb: Mass | None = fact(
        "load on both wheels, nobody in it",
        catalogue="2 %",
        measure=("scales", 15, "weighbridge: one axle on the plate, level, nobody in it"),
        possible="100 to 3500 kg",
    )
    load_limit: Mass | None = fact("permitted axle load by the plate", catalogue="0 kg")
    unsprung_mass: Mass | None = fact(
        "mass that moves with one wheel: wheel, tyre, brake, half the links", catalogue="10 %"
    )
    motion_ratio: Ratio | None = fact(
        "spring travel over wheel travel at ride height as found (below 1 on most cars)",
        catalogue="0.01",
        typical="0.5 to 1.05",
    )
    test_wheel_travel: Length | None = fact(
        "motion ratio by two tapes: how far the wheel was jacked",
        catalogue="1 mm",
        measure=("tape", 10, "hub to arch lip, about 20 mm either side of ride height"),
        typical="30 to 60 mm",
    )
    test_spring_travel: Length | None = fact(
        "motion ratio by two tapes: how much the spring shortened in that move",
        catalogue="1 mm",
        measure=("tape", 10, "seat to seat along the spring, before and after"),
        typical="20 to 60 mm",
    )
    motion_ratio_slope: PerLength | None = fact(
        "change of the motion ratio per wheel travel, + rises into bump; unset reads as constant"
    )
    damper_motion_ratio: Ratio | None = fact(
        "damper travel over wheel travel, where it is not that of the spring", catalogue="0.01"
    )
    bar_motion_ratio: Ratio | None = fact(
        "bar end travel over wheel travel", catalogue="0.01", typical="0.4 to 0.9"
    )
    bar_link_points: Literal["down", "up"] | None = fact(
        "from the bar's end, the link goes down or up to the arm"
    )
    roll_centre_height: Length | None = fact(
        "roll centre above ground as found", catalogue="15 mm", typical="0 to 150 mm"
    )
    roll_centre_fall: Ratio | None = fact(
        "how far the roll centre falls per drop of the body; wishbones 1 to 3", catalogue="20 %"
    )
    camber_curve: CurveOf("length", "angle") | None = fact(  # type: ignore[valid-type]
        "camber against wheel travel, any zero",
        measure=(
            "camber gauge",
            40,
            "spring out, wheel jacked in 20 mm steps, tape to the arch lip",
        ),
    )
    camber_gain: AnglePerLength | None = fact(
        "change of camber per wheel travel into bump, − tips the top in",
        typical="-0.03 to 0 deg/mm",
    )
    toe_curve: CurveOf("length", "angle") | None = fact(  # type: ignore[valid-type]
        "toe of one wheel against wheel travel, any zero",
        measure=(
            "dial gauge",
            60,
            "two on a straightedge, spring out, wheel jacked in 20 mm steps",
        ),
    )
    toe_gain: AnglePerLength | None = fact(
        "change of toe of one wheel per wheel travel into bump", typical="-0.005 to 0.005 deg/mm"
    )
    toe_range: Angle | None = fact(
        "toe of one wheel that the track rod or link can add either way", catalogue="0.2 deg"
    )
    ground_clearance: Length | None = fact(
        "lowest point near this axle, nobody in it",
        catalogue="5 mm",
        measure=("rule", 5, "or stacked boards, level floor, tyres at pressure"),
        typical="110 to 200 mm",
    )


class RideCorner(Section):
    """One corner's travel, spring and wheel angles as found."""

    load_kerb: Mass | None = fact(
        "load on this wheel, nobody in it",
        catalogue="2 %",
        measure=(
            "corner scales",
            30,
            "level pads, tyres at pressure, bars off, rolled and settled",
        ),
    )
    spring_length: Length | None = fact(
        "distance between the spring seats at ride height as found",
        catalogue="3 mm",
        measure=("tape", 5, "car on its wheels, nobody in it, seat to seat along the spring"),
        typical="150 to 300 mm",
        possible="50 to 700 mm",
    )
    bump_travel: Length | None = fact(
        "wheel travel from ride height as found up to the solid bump stop",
        catalogue="4 mm",
        measure=("tape", 25, "spring out, hub to arch lip, stop squeezed solid"),
        typical="50 to 120 mm",
        possible="0 to 350 mm",
    )
    bump_stop_travel: Length | None = fact(
        "wheel travel from ride height as found until the bump stop touches",
        catalogue="4 mm",
        measure=("tape", 10, "spring out, hub to arch lip, stop just touching"),
        typical="20 to 80 mm",
        possible="0 to 350 mm",
    )
    droop_travel: Length | None = fact(
        "wheel travel from ride height as found down to full droop",
        catalogue="4 mm",
        measure=("tape", 5, "body lifted until the wheel hangs, hub to arch lip"),
        typical="50 to 130 mm",
        possible="0 to 400 mm",
    )
    measured_drop: Length | None = fact(
        "how far the body came down over this wheel against as found, hub to arch lip",
        plain="drop as measured, hub to arch lip",
        catalogue="2 mm",
        measure=("tape", 3, "rolled and settled, nobody in it, hub centre to arch lip"),
        possible="-200 to 250 mm",
    )
    camber: Angle | None = fact(
        "camber at ride height as found",
        catalogue="0.25 deg",
        measure=("camber gauge", 5, "level floor, straight ahead, nobody in it"),
        typical="-2 to 0.5 deg",
        possible="-15 to 15 deg",
    )
    toe: Angle | None = fact(
        "toe of this wheel at ride height as found",
        catalogue="0.05 deg",
        measure=("string", 20, "straight ahead, strings square to the car"),
        typical="-0.2 to 0.3 deg",
        possible="-5 to 5 deg",
    )
    toe_length: Length | None = fact(
        "toe of this wheel as a difference of lengths, + front in; means nothing without the next",
        catalogue="0.5 mm",
    )
    toe_measured_over: Length | None = fact(
        "distance between the two points of that reading, e.g. the rim flange", catalogue="2 mm"
    )


class RideGoal(Section):
    """What the owner wants of ride and alignment, and what the car carries."""

    load: Mass | None = fact("people and luggage it must carry", catalogue="0 kg")
    camber_front: Angle | None = fact("camber wanted at the front wheels", catalogue="0 deg")
    camber_rear: Angle | None = fact("camber wanted at the rear wheels", catalogue="0 deg")
    toe_front: Angle | None = fact("toe wanted of each front wheel", catalogue="0 deg")
    toe_rear: Angle | None = fact("toe wanted of each rear wheel", catalogue="0 deg")


# What one sets up by comes last, so that the draw columns of the other facts stay where they are.
class _Car(SettingCar, Car):
    """The whole car as found."""


class _Axle(SettingAxle, Axle):
    """One axle as found."""


class _Corner(HardpointCorner, SettingCorner, RideCorner):
    """One corner's travel, spring and wheel angles as found."""


class _Goal(SettingGoal, RideGoal):
    """What the owner wants of ride and alignment, and what the car carries."""


PLACES = (
    Place("spring", kind="spring", per="corner", title="spring", without=("move",)),
    Place("damper", kind="damper", per="corner", title="damper", without=("move",)),
    Place("bump_stop", kind="bump_stop", per="corner", optional=True, title="bump stop"),
    Place("anti_roll_bar", kind="anti_roll_bar", per="axle", optional=True, title="anti-roll bar"),
    Place("bar_link", kind="bar_link", per="corner", optional=True, title="anti-roll bar link"),
    Place("arm", kind="control_arm", per="corner", title="control arm", without=("move",)),
    Place("stub_shim", kind="stub_shim", per="corner", optional=True, title="stub axle shim"),
)

SECTIONS = {"car": _Car, "axle": _Axle, "corner": _Corner, "goal": _Goal}
