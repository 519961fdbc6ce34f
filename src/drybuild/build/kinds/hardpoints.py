"""Hardpoints of a corner: where its joints are, as the car was found at its ride height.

Axes of a corner, alike on both sides: x forward from the axle, y outboard from the car's middle
plane, z up from the ground. What stands for a whole axle serves both sides.
"""

from __future__ import annotations

from typing import Literal

from drybuild.build.model import Model, Section, fact
from drybuild.values.types import Length

_FLOOR = "car level on its wheels, plumb to the floor, mark, measure from the middle line"


class HardPoint(Model):
    """Centre of one joint."""

    x: Length | None = fact(
        "forward of the axle line (behind it −)",
        catalogue="2 mm",
        measure=("plumb line", 10, _FLOOR + " and from the line under the hubs"),
    )
    y: Length | None = fact(
        "outboard of the car's middle plane",
        catalogue="2 mm",
        measure=("plumb line", 10, _FLOOR),
    )
    z: Length | None = fact(
        "above the ground",
        catalogue="2 mm",
        measure=("tape", 5, "car level on its wheels, joint centre straight down to the floor"),
    )


class Hardpoints(Model):
    """The joints of one corner. Only those of its layout are read."""

    layout: Literal["double wishbone", "strut", "five links", "trailing arm"] | None = fact(
        "how the upright is held; the points below are read accordingly"
    )
    wheel_centre: HardPoint | None = fact("middle of the wheel on its axis")
    lower_front: HardPoint | None = fact("lower arm, front joint on the body")
    lower_rear: HardPoint | None = fact("lower arm, rear joint on the body")
    lower_outer: HardPoint | None = fact("lower ball joint on the upright")
    upper_front: HardPoint | None = fact("upper arm, front joint on the body")
    upper_rear: HardPoint | None = fact("upper arm, rear joint on the body")
    upper_outer: HardPoint | None = fact("upper ball joint on the upright")
    strut_top: HardPoint | None = fact("middle of the strut's top mount")
    strut_foot: HardPoint | None = fact("any point of the strut's axis low on its body")
    strut_bolt: HardPoint | None = fact("lower bolt of strut to upright, about which it tilts")
    tie_inner: HardPoint | None = fact("tie rod or toe link, joint on rack or body")
    tie_outer: HardPoint | None = fact("tie rod or toe link, joint on the upright")
    link_1_inner: HardPoint | None = fact("five links: first link, joint on the body")
    link_1_outer: HardPoint | None = fact("five links: first link, joint on the upright")
    link_2_inner: HardPoint | None = fact("five links: second link, joint on the body")
    link_2_outer: HardPoint | None = fact("five links: second link, joint on the upright")
    link_3_inner: HardPoint | None = fact("five links: third link, joint on the body")
    link_3_outer: HardPoint | None = fact("five links: third link, joint on the upright")
    link_4_inner: HardPoint | None = fact("five links: fourth link, joint on the body")
    link_4_outer: HardPoint | None = fact("five links: fourth link, joint on the upright")
    arm_inner: HardPoint | None = fact("trailing arm: inner bush on the body")
    arm_outer: HardPoint | None = fact("trailing arm: outer bush on the body")
    spring_body: HardPoint | None = fact("spring's upper seat, middle")
    spring_foot: HardPoint | None = fact("spring's lower seat, middle")
    spring_on: Literal["upright", "lower arm", "upper arm"] | None = fact(
        "what the spring's foot rides on"
    )
    damper_body: HardPoint | None = fact("damper's joint on the body")
    damper_foot: HardPoint | None = fact("damper's moving joint")
    damper_on: Literal["upright", "lower arm", "upper arm"] | None = fact(
        "what the damper's moving joint rides on"
    )
    bar_pivot: HardPoint | None = fact("anti-roll bar: on the axis of its twisting part")
    bar_end: HardPoint | None = fact("anti-roll bar: end of its arm, at the link")
    bar_joint: HardPoint | None = fact("anti-roll bar: the link's other joint")
    bar_on: Literal["upright", "lower arm", "upper arm"] | None = fact(
        "what the link's other joint rides on"
    )
    shaft_inner: HardPoint | None = fact("driveshaft: centre of the joint at the final drive")
    shaft_outer: HardPoint | None = fact("driveshaft: centre of the joint in the upright")
    camber_adjuster: (
        Literal["upper arm in and out", "lower arm in and out", "strut top", "strut bolt"] | None
    ) = fact("what sets camber: eccentrics or plates that move an arm's or strut's joints")


class HardpointCorner(Section):
    """Hardpoints, from which camber, toe and motion ratios follow over the whole travel."""

    hardpoints: Hardpoints | None = fact("where the joints are; unset, curves serve instead")
