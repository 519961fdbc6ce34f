"""What setting a car up reads: strings, toe gauge, turn plates, scales, and the windows wanted.

As found and as it stands now are told apart by the name: what ends in ``_now`` was taken with the
parts that are fitted now. Readings taken with one instrument share its bias, so that it leaves
the difference of before and after alone.
"""

from __future__ import annotations

from drybuild.build.model import Model, Section, fact
from drybuild.values.types import (
    Acceleration,
    Angle,
    Fraction,
    Inertia,
    Length,
    Mass,
    Ratio,
)

_STRINGS = "strings on both sides, level with the hubs, parallel; from "


class StringReading(Model):
    """One wheel against a string: two readings at the rim flange, and the hub's."""

    front: Length | None = fact(
        _STRINGS + "the string to the rim flange's front edge",
        catalogue="0.5 mm",
        measure=("rule", 5, "steel rule square to the string, flange at hub height, wheel ahead"),
        typical="40 to 160 mm",
    )
    rear: Length | None = fact(
        _STRINGS + "the string to the rim flange's rear edge",
        catalogue="0.5 mm",
        measure=("rule", 5, "as in front, without moving the string"),
        typical="40 to 160 mm",
    )
    over: Length | None = fact(
        "distance between those two places of the flange: toe in mm is nothing without it",
        catalogue="2 mm",
        measure=("tape", 2, "straight across the rim, flange edge to flange edge"),
        typical="360 to 520 mm",
    )
    hub: Length | None = fact(
        _STRINGS + "the string to the hub centre or cap",
        catalogue="0.5 mm",
        measure=("rule", 3, "to the same mark of each cap, all four"),
        typical="40 to 160 mm",
    )


class ToeGaugeReading(Model):
    """Both wheels of an axle with a toe gauge or two plates and tapes: total toe alone."""

    front: Length | None = fact(
        "across the axle in front of the wheels, at hub height",
        catalogue="1 mm",
        measure=("tape", 5, "plates on both wheels, slot to slot in front"),
    )
    rear: Length | None = fact(
        "the same behind the wheels",
        catalogue="1 mm",
        measure=("tape", 5, "the same plates and tape behind"),
    )
    over: Length | None = fact(
        "distance of the front from the rear places of one wheel: the diameter of the reading",
        catalogue="2 mm",
        measure=("tape", 2, "along one plate, slot to slot"),
    )


class TurnPlateReading(Model):
    """One steered wheel on a turn plate: camber at two equal steering angles."""

    steer: Angle | None = fact(
        "angle that the plate was turned to each side, usually 20 deg",
        catalogue="0.5 deg",
        measure=("protractor", 10, "scale of the turn plate, brake held, wheel turned both ways"),
    )
    camber_in: Angle | None = fact(
        "camber with the wheel's front turned inwards by that angle",
        catalogue="0.1 deg",
        measure=("camber gauge", 5, "gauge left on the wheel between the readings"),
    )
    camber_out: Angle | None = fact(
        "camber with the wheel's front turned outwards by that angle",
        catalogue="0.1 deg",
        measure=("camber gauge", 5, "the same gauge, not taken off"),
    )


class SettingCorner(Section):
    """One wheel as measured for its setting."""

    strings: StringReading | None = fact("string readings as found")
    strings_now: StringReading | None = fact("string readings with the parts now fitted")
    turn_plates: TurnPlateReading | None = fact("turn plate readings as found")
    turn_plates_now: TurnPlateReading | None = fact("turn plate readings with the parts now fitted")
    caster: Angle | None = fact(
        "caster as found, + the steering axis leans back at its top",
        catalogue="0.3 deg",
        typical="2 to 8 deg",
        possible="-10 to 20 deg",
    )
    caster_now: Angle | None = fact(
        "caster with the parts now fitted", catalogue="0.3 deg", possible="-10 to 20 deg"
    )
    camber_now: Angle | None = fact(
        "camber at the ride height with the parts now fitted",
        catalogue="0.15 deg",
        measure=("camber gauge", 5, "level floor, straight ahead, rolled and settled"),
        possible="-15 to 15 deg",
    )
    toe_now: Angle | None = fact(
        "toe of this wheel at the ride height with the parts now fitted",
        catalogue="0.05 deg",
        measure=("string", 20, "straight ahead, strings square to the car, rolled and settled"),
        possible="-5 to 5 deg",
    )
    load_now: Mass | None = fact(
        "load on this wheel with the parts now fitted, nobody in it",
        catalogue="1 %",
        measure=("corner scales", 30, "level pads, bars off, rolled and settled"),
    )


class SettingAxle(Section):
    """One axle as measured for its setting."""

    toe_gauge: ToeGaugeReading | None = fact("toe gauge readings as found")
    toe_gauge_now: ToeGaugeReading | None = fact("toe gauge readings with the parts now fitted")


class SettingCar(Section):
    """What setting a car up reads of the whole car."""

    wheelbase_left: Length | None = fact(
        "front to rear hub centre on the left, straight ahead",
        catalogue="1 mm",
        measure=("tape", 10, "plumb lines from both hub centres to the floor, between the marks"),
    )
    wheelbase_right: Length | None = fact(
        "front to rear hub centre on the right, straight ahead",
        catalogue="1 mm",
        measure=("tape", 10, "plumb lines from both hub centres to the floor, between the marks"),
    )
    pitch_inertia: Inertia | None = fact(
        "inertia of the sprung mass in pitch, about its own centre", catalogue="15 %"
    )
    roll_inertia: Inertia | None = fact(
        "inertia of the sprung mass in roll, about its own centre", catalogue="15 %"
    )


class SettingGoal(Section):
    """Windows for alignment and corner weights; what is left out is not asked about."""

    camber_window: Angle | None = fact("how far camber may be from the aim", catalogue="0 deg")
    toe_window: Angle | None = fact(
        "how far toe of one wheel may be from the aim", catalogue="0 deg"
    )
    caster_front: Angle | None = fact("caster wanted at the front wheels", catalogue="0 deg")
    caster_window: Angle | None = fact("how far caster may be from the aim", catalogue="0 deg")
    cross_camber_most: Angle | None = fact(
        "most that camber may differ left to right", catalogue="0 deg"
    )
    cross_caster_most: Angle | None = fact(
        "most that caster may differ left to right", catalogue="0 deg"
    )
    thrust_angle_most: Angle | None = fact("most that the thrust angle may be", catalogue="0 deg")
    set_back_most: Length | None = fact(
        "most that the wheelbase may differ left to right", catalogue="0 mm"
    )
    cross_share: Fraction | None = fact(
        "share of the weight wanted on front left and rear right together", catalogue="0 %"
    )
    cross_share_window: Fraction | None = fact(
        "how far that share may be from the aim", catalogue="0 %"
    )
    cornering: Acceleration | None = fact(
        "lateral acceleration at which load transfer is shown; 0.5 g where none is named",
        catalogue="0 g",
    )
    drop_front: Length | None = fact(
        "how far the body is to come down over the front wheels against as found",
        catalogue="0 mm",
    )
    drop_rear: Length | None = fact(
        "how far the body is to come down over the rear wheels against as found",
        catalogue="0 mm",
    )
    spring_preload_least: Ratio | None = fact(
        "least preload wanted at full droop, as a share of the corner's weight at the spring"
    )
