"""Small functions between the facts and the formulas: what is not stated, what did not change.

They are the functions that results register; the physics is in the formula modules.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from drybuild.findings import FormulaRefused, NotWorkedOut
from drybuild.systems.ride import alignment, linkage, masses, roll
from drybuild.systems.ride.results_masses import CornerMasses
from drybuild.values import Array

G = masses.GRAVITY


def or_zero(value: Any) -> Any:
    """An adjuster or length that nobody stated adds nothing."""
    return 0.0 if value is None else value


def itself(*, value: Array) -> Array:
    """The first of several ways in which a figure may be known."""
    return value


def mean_of(*, left: Array, right: Array) -> Array:
    """Mean of both sides of an axle."""
    return 0.5 * (left + right)


def both(*, left: Array, right: Array) -> Array:
    """Sum of both sides of an axle."""
    return left + right


def half_axle(*, axle_load: Array) -> Array:
    """Load on one wheel when only the axle was weighed: half of it, kg."""
    return 0.5 * axle_load


def same_part(part: str | None, base_part: str | None) -> bool:
    """Whether the part fitted is the one fitted as found; unknown to both counts as the same."""
    return part == base_part


def unsprung_now(*, found: Array, change: CornerMasses) -> Array:
    """Unsprung mass of one corner with the parts now fitted, kg."""
    return found + change.unsprung


def kerb_mass_on(*, found: Array, change: CornerMasses, body_change: Array) -> Array:
    """Mass on one wheel with the parts now fitted, nobody in the car, kg."""
    return found + change.all + 0.5 * body_change


def laden_mass_on(*, kerb: Array, load_on_axle: Array) -> Array:
    """Mass on one wheel with the load of the goal, kg; both sides alike."""
    return kerb + 0.5 * load_on_axle


def load_on_front(*, load: Array, front_share: Array) -> Array:
    """Part of the load that the front axle carries, kg."""
    return load * front_share


def load_on_rear(*, load: Array, front_share: Array) -> Array:
    """Part of the load that the rear axle carries, kg."""
    return load * (1.0 - front_share)


def weight(*, mass: Array) -> Array:
    """Weight of a mass, N."""
    return mass * G


def sprung_weight(*, mass: Array, unsprung: Array) -> Array:
    """Weight that the spring carries, as felt at the wheel, N."""
    return (mass - unsprung) * G


def total_mass(*, front: Array, rear: Array) -> Array:
    """Mass of the car from both axle loads, kg."""
    return (front + rear) / G


def rest_on_same_spring(
    *,
    spring: str | None,
    spring_found: str | None,
    rate: Array,
    weight: Array,
    weight_found: Array,
    motion_ratio: Array,
    slope: Array | None,
    perch: Array | None,
    perch_found: Array | None,
) -> Array:
    """Rest position when the spring was not changed, m: only weight and perch move it."""
    if not same_part(spring, spring_found):
        raise NotWorkedOut("another spring is fitted")
    squeeze = weight_found / (motion_ratio * rate) + or_zero(perch) - or_zero(perch_found)
    return linkage.rest_travel(
        spring_rate=rate,
        squeeze_at_zero=squeeze,
        sprung_weight=weight,
        motion_ratio=motion_ratio,
        slope=or_zero(slope),
    )


def rest_on_new_spring(
    *,
    rate: Array,
    free_length: Array,
    seat_distance: Array,
    weight: Array,
    motion_ratio: Array,
    slope: Array | None,
    perch: Array | None,
    perch_found: Array | None,
    helper_solid: Array | None,
) -> Array:
    """Rest position on another spring, from lengths, rates and weight, m."""
    return linkage.rest_travel(
        spring_rate=rate,
        squeeze_at_zero=linkage.squeeze_between_seats(
            free_length=free_length,
            seat_distance=seat_distance,
            perch_raise=or_zero(perch) - or_zero(perch_found),
            helper_solid_length=or_zero(helper_solid),
        ),
        sprung_weight=weight,
        motion_ratio=motion_ratio,
        slope=or_zero(slope),
    )


def no_drop(
    *,
    spring: str | None,
    spring_found: str | None,
    damper: str | None,
    damper_found: str | None,
    perch: Array | None,
    perch_found: Array | None,
) -> Array:
    """Nothing that sets ride height was changed: the car stands as it stood."""
    if not (same_part(spring, spring_found) and same_part(damper, damper_found)):
        raise NotWorkedOut("spring or damper is another one")
    if not np.array_equal(or_zero(perch), or_zero(perch_found)):
        raise NotWorkedOut("the spring perch was moved")
    return 0.0


def laden_travel(
    *,
    drop: Array,
    rate: Array,
    weight: Array,
    laden_weight: Array,
    motion_ratio: Array,
    slope: Array | None,
) -> Array:
    """Rest position with the load of the goal, m from ride height as found."""
    bend = or_zero(slope)
    here = linkage.motion_ratio_at(motion_ratio=motion_ratio, slope=bend, travel=drop)
    return drop + linkage.rest_travel(
        spring_rate=rate,
        squeeze_at_zero=weight / (here * rate),
        sprung_weight=laden_weight,
        motion_ratio=here,
        slope=bend,
    )


def wheel_rate_laden(
    *, rate: Array, travel: Array, laden_weight: Array, motion_ratio: Array, slope: Array | None
) -> Array:
    """Wheel rate at rest, laden, with the term of the changing motion ratio, N/m."""
    bend = or_zero(slope)
    here = linkage.motion_ratio_at(motion_ratio=motion_ratio, slope=bend, travel=travel)
    force = linkage.spring_force_at_rest(sprung_weight=laden_weight, motion_ratio=here)
    return linkage.wheel_rate(spring_rate=rate, motion_ratio=here, spring_force=force, slope=bend)


def end_of_travel(
    *,
    travel: Array,
    motion_ratio: Array,
    part: str | None,
    part_found: str | None,
    length: Array | None,
    length_found: Array | None,
    stop: str | None = None,
    stop_found: str | None = None,
    stop_length: Array | None = None,
    stop_length_found: Array | None = None,
    outwards: bool,
) -> Array:
    """Wheel travel to an end with the parts now fitted, m from ride height as found.

    outwards: longer is more travel (droop); otherwise shorter is (bump).
    """
    gained: Array = 0.0
    if not same_part(part, part_found):
        if length is None or length_found is None:
            raise FormulaRefused("another damper: its length and that of the one before")
        gained = length - length_found if outwards else length_found - length
    if not same_part(stop, stop_found):
        if stop_length is None or stop_length_found is None:
            raise FormulaRefused("another bump stop: its height and that of the one before")
        gained = gained + stop_length_found - stop_length
    return linkage.travel_with_parts(
        travel=travel, gained_at_damper=gained, motion_ratio=motion_ratio
    )


def full_bump(
    *,
    travel: Array,
    motion_ratio: Array,
    damper: str | None,
    damper_found: str | None,
    closed: Array | None,
    closed_found: Array | None,
    stop: str | None,
    stop_found: str | None,
    solid: Array | None,
    solid_found: Array | None,
) -> Array:
    """Wheel travel to the solid bump stop, m from ride height as found."""
    return end_of_travel(
        travel=travel, motion_ratio=motion_ratio, part=damper, part_found=damper_found,
        length=closed, length_found=closed_found, stop=stop, stop_found=stop_found,
        stop_length=solid, stop_length_found=solid_found, outwards=False,
    )  # fmt: skip


def full_droop(
    *,
    travel: Array,
    motion_ratio: Array,
    damper: str | None,
    damper_found: str | None,
    extended: Array | None,
    extended_found: Array | None,
) -> Array:
    """Wheel travel to full droop, m downwards from ride height as found."""
    return end_of_travel(
        travel=travel, motion_ratio=motion_ratio, part=damper, part_found=damper_found,
        length=extended, length_found=extended_found, outwards=True,
    )  # fmt: skip


def droop_left(*, full: Array, drop: Array) -> Array:
    """Droop travel left at rest with nobody in the car, m."""
    return linkage.travel_left(full_travel=full, rest=-np.asarray(drop))


def seats_at(
    *,
    seat_distance: Array,
    travel: Array,
    motion_ratio: Array,
    slope: Array | None,
    perch: Array | None,
    perch_found: Array | None,
) -> Array:
    """Distance between the spring seats with the wheel moved, m."""
    return linkage.seat_distance_at(
        seat_distance=seat_distance,
        motion_ratio=motion_ratio,
        slope=or_zero(slope),
        travel=travel,
        perch_raise=or_zero(perch) - or_zero(perch_found),
    )


def seats_at_droop(
    *,
    seat_distance: Array,
    travel: Array,
    motion_ratio: Array,
    slope: Array | None,
    perch: Array | None,
    perch_found: Array | None,
) -> Array:
    """Distance between the spring seats at full droop, m; travel counts downwards."""
    return seats_at(
        seat_distance=seat_distance, travel=-np.asarray(travel), motion_ratio=motion_ratio,
        slope=slope, perch=perch, perch_found=perch_found,
    )  # fmt: skip


def bar_end_rate(
    *,
    diameter: Array,
    bore: Array | None,
    centre_length: Array,
    arm: Array,
    arm_length: Array | None,
) -> Array:
    """Rate of a bar's end with the other held, N/m; arms bend when their length is stated."""
    return roll.bar_end_rate(
        diameter=diameter,
        bore=or_zero(bore),
        centre_length=centre_length,
        arm=arm,
        arm_length=arm_length,
    )


def no_bar(*, present: bool) -> Array:
    """No bar is fitted: it adds no roll stiffness."""
    if present:
        raise NotWorkedOut("a bar is fitted")
    return 0.0


def link_length_wanted(
    *, length_found: Array, drop: Array, motion_ratio: Array, points: str
) -> Array:
    """Link length that leaves the bar where it stood, free of load, at the new height, m.

    The arm's end rises towards a bar above it when the car comes down, and away from one below.
    """
    moved = motion_ratio * drop
    return length_found - moved if points == "down" else length_found + moved


def bar_link_force(*, end_rate: Array, motion_ratio: Array, left: Array, right: Array) -> Array:
    """Force in links of one length when the sides came down by different amounts, N."""
    return roll.bar_link_force(
        end_rate=end_rate, motion_ratio=motion_ratio, travel_left=left, travel_right=right
    )


def axle_roll_stiffness(
    *, wheel_rate: Array, bar: Array, tyre_rate: Array, track_width: Array
) -> Array:
    """Roll stiffness of an axle from body to ground, N·m/rad."""
    return roll.axle_roll_stiffness(
        springs=roll.spring_roll_stiffness(wheel_rate=wheel_rate, track_width=track_width),
        bar=bar,
        tyre_rate=tyre_rate,
        track_width=track_width,
    )


def roll_centre(*, found: Array, fall: Array, drop: Array, body_down: Array) -> Array:
    """Roll centre height at the new ride height, m: it falls with the linkage, rises with tyres."""
    return found - fall * drop + (drop - body_down)


def roll_arm(
    *,
    cg_height: Array,
    front_mass: Array,
    rear_mass: Array,
    roll_centre_front: Array,
    roll_centre_rear: Array,
) -> Array:
    """Height of the sprung mass above the roll axis, m."""
    return roll.roll_arm(
        cg_height=cg_height,
        front_share=front_mass / (front_mass + rear_mass),
        roll_centre_front=roll_centre_front,
        roll_centre_rear=roll_centre_rear,
    )


def roll_gradient(
    *, front_mass: Array, rear_mass: Array, arm: Array, front: Array, rear: Array
) -> Array:
    """Roll gradient of the car, rad/(m/s²)."""
    return roll.roll_gradient(sprung_mass=front_mass + rear_mass, arm=arm, stiffness=front + rear)


def cg_height(
    *,
    found: Array,
    front_down: Array,
    rear_down: Array,
    total: Array,
    load: Array,
    load_height: Array,
    front_load: Array,
) -> Array:
    """Height of the centre of gravity, laden, at the new ride height, m.

    Masses of changed parts are taken at the height of the whole.
    """
    share = front_load / (total * G)
    down = share * front_down + (1.0 - share) * rear_down
    return masses.mixed_height(masses=(total - load, load), heights=(found - down, load_height))


def sprung_cg_height(
    *,
    cg_height: Array,
    total: Array,
    front: Array,
    rear: Array,
    front_height: Array,
    rear_height: Array,
) -> Array:
    """Height of the sprung mass alone, m: the whole less the unsprung masses at hub height."""
    return masses.mixed_height(
        masses=(total, -np.asarray(front), -np.asarray(rear)),
        heights=(cg_height, front_height, rear_height),
    )


def clearance_by_axle(*, found: Array, down: Array) -> Array:
    """Ground clearance near an axle, m."""
    return masses.clearance_left(
        clearance_found=found, front_down=down, rear_down=down, front_share=1.0
    )


def clearance_mid(
    *,
    found: Array,
    behind_front: Array,
    wheelbase: Array,
    front_down: Array,
    rear_down: Array,
) -> Array:
    """Ground clearance of the lowest point between the axles, m."""
    return masses.clearance_left(
        clearance_found=found,
        front_down=front_down,
        rear_down=rear_down,
        front_share=masses.axle_share_at(behind_front_axle=behind_front, wheelbase=wheelbase),
    )


def angle_now(
    *,
    found: Array,
    change: alignment.AngleCurve | Array,
    travel: Array,
    set_by: Array | None,
    set_by_found: Array | None,
) -> Array:
    """Camber or toe with the wheel moved by `travel` and the adjuster as it is now, rad."""
    return alignment.angle_after(
        found=found,
        change=alignment.angle_change(change=change, start=0.0, end=travel),
        set_by=or_zero(set_by),
        was_set_by=or_zero(set_by_found),
    )


def angle_at(
    *,
    found: Array,
    change: alignment.AngleCurve | Array,
    at: Array,
    travel: Array | None,
    set_by: Array | None,
    set_by_found: Array | None,
    measured_now: Array | None,
) -> Array:
    """Camber or toe with the wheel moved by `at` from ride height as found, rad.

    measured_now: as read with the parts fitted now, at their ride height (`travel`); where it is
    known the angle is reckoned from there, else from that as found and the adjuster.
    """
    if measured_now is None or travel is None:
        return angle_now(
            found=found, change=change, travel=at, set_by=set_by, set_by_found=set_by_found
        )
    return measured_now + alignment.angle_change(change=change, start=travel, end=at)


def angle_in_bump(*, bump: Array, **given: Any) -> Array:
    """Camber or toe at full bump, rad: see `angle_at`."""
    return angle_at(at=bump, **given)


def angle_without(
    *,
    found: Array,
    change: alignment.AngleCurve | Array,
    travel: Array,
    set_by_found: Array | None,
) -> Array:
    """Camber or toe with the wheel moved and the adjuster at its middle, rad."""
    return angle_now(
        found=found, change=change, travel=travel, set_by=None, set_by_found=set_by_found
    )
