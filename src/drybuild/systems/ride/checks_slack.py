"""The slacks of the ride checks: small functions from results and facts to room to spare, SI."""

from __future__ import annotations

from math import radians
from typing import Any

import numpy as np

from drybuild.findings import NOT_APPLICABLE, FormulaRefused, NotWorkedOut
from drybuild.systems.ride import alignment, coil
from drybuild.systems.ride.results_inputs import or_zero, same_part
from drybuild.values import Array

G = 9.80665

# Bands of common practice; the checks name where each stands.
DAMPING_LEAST, DAMPING_MOST = 0.20, 0.75
ROAD_FREQUENCY_MOST = 2.2
REAR_OVER_FRONT_LEAST = 1.0
MOTION_RATIO_LEAST, MOTION_RATIO_MOST = 0.3, 1.15
RATE_FIGURES_AGREE = 0.12
BALANCE_SHIFT_MOST = 0.05
LARGEST_ROAD_DROP = 0.045
STEER_TRAVEL = 0.030
STEER_MOST = radians(0.25)
LINK_FORCE_MOST = 250.0
CAMBER_APART_MOST = radians(0.5)
# At 10 degrees the bar's arm is 1.5 % shorter than when level: nobody feels it.
BAR_SWING_MOST = radians(10.0)
SIDES_APART_MOST = 0.006
DAMPING_KEPT_LEAST = 0.7


def as_it_is(*, value: Array) -> Array:
    """The room itself is the slack."""
    return value


def coil_bind(*, seats: Array, solid: Array, helper_solid: Array | None) -> Array:
    """Room between the coils with the bump stop solid, m."""
    return coil.coil_bind_room(
        length_at_bump=seats, solid=solid, helper_solid_length=or_zero(helper_solid)
    )


def captive(
    *, free_length: Array, seats: Array, helper_free: Array | None, energy: Array | None
) -> Array:
    """Squeeze left in the spring stack at full droop, m.

    The energy set free when the strut is opened makes no margin, for no figure is little enough;
    it comes along so that the workings show it.
    """
    return coil.captive_squeeze(
        free_length=free_length, held_length=seats, helper_free_length=or_zero(helper_free)
    )


def spring_stress(
    *,
    rate: Array,
    free_length: Array,
    seats: Array,
    helper_solid: Array | None,
    wire_diameter: Array,
    mean_diameter: Array,
    wire_strength: Array,
) -> Array:
    """Permitted less actual shear stress in the wire at full bump, Pa."""
    return stress_permitted(wire_strength) - stress_at_bump(
        rate, free_length, seats, helper_solid, wire_diameter, mean_diameter
    )


def stress_at_bump(
    rate: Array, free_length: Array, seats: Array, helper_solid: Array | None,
    wire_diameter: Array, mean_diameter: Array,
) -> Array:  # fmt: skip
    """Shear stress in the wire at full bump, Pa."""
    force = rate * (free_length + or_zero(helper_solid) - seats)
    return coil.coil_stress(
        force=force, wire_diameter=wire_diameter, mean_diameter=mean_diameter
    )


def stress_permitted(wire_strength: Array) -> Array:
    """Shear stress that the wire stands, Pa."""
    return coil.permitted_solid_stress(tensile_strength=wire_strength)


def stack_length(free_length: Array, helper_free: Array | None) -> Array:
    """Spring and helper, free, m."""
    return np.asarray(free_length + or_zero(helper_free))


def spring_figures(*, stated: Array, computed: Array) -> Array:
    """How much closer than the limit the stated rate is to that of the coil, share of it."""
    return RATE_FIGURES_AGREE - rates_apart(stated, computed)


def rates_apart(stated: Array, computed: Array) -> Array:
    """Share of the rate stated."""
    apart: Array = np.abs(computed / np.asarray(stated) - 1.0)
    return apart


def motion_ratio_plausible(*, motion_ratio: Array, rate: Array) -> Array:
    """Inside the band of cars: a wheel-over-spring figure falls out of it. The rate only arms."""
    return np.minimum(
        np.asanyarray(motion_ratio) - MOTION_RATIO_LEAST,
        MOTION_RATIO_MOST - np.asanyarray(motion_ratio),
    )


def above_damping_least(*, ratio: Array) -> Array:
    """Damping ratio over the least of road practice."""
    return ratio - DAMPING_LEAST


def below_damping_most(*, ratio: Array) -> Array:
    """Damping ratio under the most of road practice."""
    return DAMPING_MOST - ratio


def below_road_frequency(*, left: Array, right: Array) -> Array:
    """Ride frequency under what a road car is lived with, Hz; the stiffer side counts."""
    return ROAD_FREQUENCY_MOST - stiffer_side(left, right)


def stiffer_side(left: Array, right: Array) -> Array:
    """The greater of the two."""
    return np.maximum(left, right)


def flat_ride(
    *, front_left: Array, front_right: Array, rear_left: Array, rear_right: Array
) -> Array:
    """Rear over front ride frequency less one."""
    return rear_over_front(front_left, front_right, rear_left, rear_right) - REAR_OVER_FRONT_LEAST


def rear_over_front(
    front_left: Array, front_right: Array, rear_left: Array, rear_right: Array
) -> Array:
    """Of the two axles' ride frequencies."""
    return (rear_left + rear_right) / (front_left + front_right)


def drop_size(*, drop: Array) -> Array:
    """How much less than a very large drop for a road car, m."""
    return LARGEST_ROAD_DROP - drop


def even_sides(*, left: Array, right: Array) -> Array:
    """How far the sides came down alike, m under 6 mm apart."""
    return SIDES_APART_MOST - apart(left, right)


def apart(left: Array, right: Array) -> Array:
    """Difference of both sides, without its sign."""
    found: Array = np.abs(np.asarray(left) - right)
    return found


def link_reach(
    *, present: bool, wanted: Array, least: Array, most: Array, arm: Array
) -> Array | Any:
    """How far the link's range goes beyond the length wanted, with what swing the bar bears, m.

    All bump turns it much further: up to some degrees at rest it works as it did.
    """
    if not present:
        return NOT_APPLICABLE
    slack: Array = np.minimum(
        np.asarray(wanted) - link_shortest(least, arm), link_longest(most, arm) - wanted
    )
    return slack


def link_shortest(least: Array, arm: Array) -> Array:
    """What the link may be wanted at, less what swing the bar bears, m."""
    return np.asarray(least - np.asarray(arm) * np.sin(BAR_SWING_MOST))


def link_longest(most: Array, arm: Array) -> Array:
    """As the shortest, at the other end."""
    return np.asarray(most + np.asarray(arm) * np.sin(BAR_SWING_MOST))


def link_swing(
    *, stated: Array | None, present: bool | None, wanted: Array | None, least: Array | None,
    most: Array | None, arm: Array | None,
) -> Array | Any:  # fmt: skip
    """What the joints' stated swing leaves with the bar as the link can be set, rad."""
    if stated is None or not present:
        return NOT_APPLICABLE
    if wanted is None or least is None or most is None or arm is None:
        raise FormulaRefused("the link, the bar's arm and how far the car came down")
    return stated - bar_swing(wanted, least, most, arm)


def bar_swing(wanted: Array, least: Array, most: Array, arm: Array) -> Array:
    """How far from where it stood the link makes the bar stand, rad."""
    out = np.maximum(np.maximum(least - np.asarray(wanted), wanted - np.asarray(most)), 0.0)
    swing: Array = np.arcsin(np.minimum(out / arm, 1.0))
    return swing


def link_force(*, present: bool, force: Array) -> Array | Any:
    """Force left in the links under what one feels at the wheel, N."""
    if not present:
        return NOT_APPLICABLE
    return LINK_FORCE_MOST - force


def reach(
    *, aim: Array, without: Array, reach_each_way: Array, shim: Array | None, window: Array | None
) -> Array:
    """What the adjuster and a shim have left after reaching the aim's window, rad."""
    every = reach_with_shim(reach_each_way, shim, window)
    return alignment.reach_left(aim=aim, without=without, range_each_way=every)


def reach_with_shim(reach_each_way: Array, shim: Array | None, window: Array | None) -> Array:
    """What adjuster and shim can take up together, and how far off it may be, rad."""
    return np.asarray(reach_each_way + or_zero(shim) + or_zero(window))


def to_take_up(aim: Array, without: Array) -> Array:
    """From the angle without them to the aim, rad."""
    found: Array = np.abs(np.asarray(aim) - without)
    return found


def camber_apart(
    *, left: Array, right: Array, reach_left: Array, reach_right: Array,
    shim_left: Array | None, shim_right: Array | None,
) -> Array:  # fmt: skip
    """Camber difference of both sides under the limit, once what sets it took up its own, rad."""
    return CAMBER_APART_MOST - camber_left_apart(
        left, right, reach_left, reach_right, shim_left, shim_right
    )


def camber_left_apart(
    left: Array, right: Array, reach_left: Array, reach_right: Array, shim_left: Array | None,
    shim_right: Array | None,
) -> Array:  # fmt: skip
    """Camber difference that what sets it cannot take up, rad."""
    taken_up = reach_left + reach_right + or_zero(shim_left) + or_zero(shim_right)
    left_over: Array = np.maximum(apart(left, right) - taken_up, 0.0)
    return left_over


def bump_steer(*, change: alignment.AngleCurve | Array, travel: Array) -> Array:
    """Toe change of one wheel over 30 mm more bump under the limit, rad."""
    return STEER_MOST - steered(change, travel)


def steered(change: alignment.AngleCurve | Array, travel: Array) -> Array:
    """Toe change over 30 mm more bump, without its sign, rad."""
    moved = alignment.angle_change(
        change=change, start=travel, end=np.asarray(travel) + STEER_TRAVEL
    )
    amount: Array = np.abs(moved)
    return amount


def headlamps(*, adjusters: Array, pitch: Array) -> Array:
    """What the headlamps' adjusters have left after taking up the pitch, rad."""
    return adjusters - pitched(pitch)


def pitched(pitch: Array) -> Array:
    """The pitch without its sign, rad."""
    found: Array = np.abs(pitch)
    return found


def axle_load(*, limit: Array, load: Array) -> Array:
    """Permitted less actual axle load, N."""
    return load_limit(limit) - load


def load_limit(limit: Array) -> Array:
    """The weight of the mass permitted, N."""
    return limit * G


def gross_mass(*, limit: Array, mass: Array) -> Array:
    """Permitted less actual mass, kg."""
    return limit - mass


def rolls_no_more(*, now: Array, found: Array) -> Array:
    """Roll gradient as found, with 5 % for what the model leaves out, less that now."""
    return roll_limit(found) - now


def roll_limit(found: Array) -> Array:
    """As found, with 5 % for what the model leaves out."""
    return 1.05 * found


def balance_kept(*, now: Array, found: Array) -> Array:
    """Shift of the front share of load transfer under the limit, share."""
    return BALANCE_SHIFT_MOST - share_moved(now, found)


def share_moved(now: Array, found: Array) -> Array:
    """Shift since as found, without its sign."""
    return apart(now, found)


def stop_not_before(*, touch: Array, rest: Array) -> Array:
    """Wheel travel from rest, laden, until the bump stop touches, m."""
    return touch - rest


def damper_for_spring(
    *, damper: str | None, damper_found: str | None, ratio: Array, ratio_found: Array
) -> Array:
    """Damping kept when springs change and dampers stay: share of that as found, over 0.7."""
    if not same_part(damper, damper_found):
        return NOT_APPLICABLE  # type: ignore[return-value]
    if np.any(np.asarray(ratio_found) <= 0.0):
        raise NotWorkedOut("no damping as found")
    return damping_kept(ratio, ratio_found) - DAMPING_KEPT_LEAST


def damping_kept(ratio: Array, ratio_found: Array) -> Array:
    """Share of the damping as found."""
    return ratio / np.asarray(ratio_found)
