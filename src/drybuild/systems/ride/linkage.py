"""Wheel travel and the spring: motion ratio, wheel rate, where the car comes to rest, travel left.

Wheel travel z is counted from the ride height at which the car was found (nobody in it),
+ with the wheel up into bump, − into droop. The motion ratio is spring travel over wheel travel,
and may change with travel: MR(z) = MR0 + slope·z. Lengths at the spring are along its axis.
"""

from __future__ import annotations

import numpy as np

from drybuild.values import Array

_NEWTON_STEPS = 12


def motion_ratio_from_travels(*, spring_travel: Array, wheel_travel: Array) -> Array:
    """Motion ratio, dimensionless: spring travel over wheel travel, both in m, same move.

    The other way round (wheel over spring) is common in print and wrong here: rates would come
    out four times too high on a usual car. Errors: wheel_travel must not be 0.
    Source: definition.
    """
    return spring_travel / wheel_travel


def motion_ratio_at(*, motion_ratio: Array, slope: Array, travel: Array) -> Array:
    """Motion ratio with the wheel moved by `travel` (m); slope in 1/m. Straight-line model."""
    return motion_ratio + slope * travel


def spring_squeeze(*, motion_ratio: Array, slope: Array, travel: Array) -> Array:
    """How much a wheel move shortens the spring, m: the motion ratio summed over the move.

    Shapes broadcast; negative travel lengthens the spring. Source: definition of motion ratio.
    """
    return motion_ratio * travel + 0.5 * slope * np.asarray(travel) ** 2


def wheel_rate(
    *, spring_rate: Array, motion_ratio: Array, spring_force: Array = 0.0, slope: Array = 0.0
) -> Array:
    """Rate of the spring felt at the wheel, N/m: k·MR² + F·dMR/dz.

    spring_rate in N/m, spring_force in N at the position asked about, slope dMR/dz in 1/m.
    The second term is nil for a motion ratio that does not change; a rising ratio stiffens.
    Source: virtual work; the first term as in chassis practice.
    """
    return spring_rate * np.asarray(motion_ratio) ** 2 + spring_force * slope


def spring_force_at_rest(*, sprung_weight: Array, motion_ratio: Array) -> Array:
    """Spring force that carries a sprung corner, N: weight at the wheel over motion ratio.

    sprung_weight in N (without wheel, tyre, brake and half the links), anti-roll bar relaxed.
    Source: virtual work.
    """
    return sprung_weight / motion_ratio


def seat_distance_found(
    *, free_length: Array, spring_rate: Array, sprung_weight: Array, motion_ratio: Array
) -> Array:
    """Distance between the spring seats at the ride height as found, m, from the fitted spring.

    free_length in m and rate in N/m of the spring on the car when its ride height was taken,
    sprung_weight in N, nobody in the car. Bump stop and bushes carry nothing.
    Source: statics.
    """
    force = spring_force_at_rest(sprung_weight=sprung_weight, motion_ratio=motion_ratio)
    return free_length - force / spring_rate


def squeeze_between_seats(
    *,
    free_length: Array,
    seat_distance: Array,
    perch_raise: Array = 0.0,
    helper_solid_length: Array = 0.0,
) -> Array:
    """How much a spring is shortened between its seats, m; below 0 it is loose.

    free_length of the spring, seat_distance with the standard perch, perch_raise (a seat moved so
    as to lift the car), helper_solid_length of a helper spring that lies solid under load; all m.
    Source: geometry.
    """
    return free_length + helper_solid_length + perch_raise - seat_distance


def rest_travel(
    *,
    spring_rate: Array,
    squeeze_at_zero: Array,
    sprung_weight: Array,
    motion_ratio: Array,
    slope: Array = 0.0,
) -> Array:
    """Wheel travel at which the spring carries the corner, m; + means the car sits lower.

    spring_rate N/m of the spring fitted, squeeze_at_zero m that it would have at zero travel,
    sprung_weight N, motion_ratio at zero travel, slope 1/m. Shapes broadcast.
    Solved by Newton's method on force balance; a draw that does not settle, or settles where the
    motion ratio or the squeeze is not positive, gives NaN. Range: the bump stop carries nothing,
    so a rest position beyond the stop overstates the drop.
    Source: virtual work and statics.
    """
    travel = (sprung_weight / (spring_rate * motion_ratio) - squeeze_at_zero) / motion_ratio
    ratio = motion_ratio_at(motion_ratio=motion_ratio, slope=slope, travel=travel)
    squeeze = squeeze_at_zero
    miss = travel
    with np.errstate(all="ignore"):
        for _ in range(_NEWTON_STEPS):
            squeeze = squeeze_at_zero + spring_squeeze(
                motion_ratio=motion_ratio, slope=slope, travel=travel
            )
            ratio = motion_ratio_at(motion_ratio=motion_ratio, slope=slope, travel=travel)
            steepness = wheel_rate(
                spring_rate=spring_rate,
                motion_ratio=ratio,
                spring_force=spring_rate * squeeze,
                slope=slope,
            )
            miss = (spring_rate * squeeze * ratio - sprung_weight) / steepness
            travel = travel - miss
            # NaN never settles, so it must not keep the loop alive.
            if not np.any(np.abs(miss) > 1e-12):
                break
        settled = (np.abs(miss) < 1e-9) & (np.asarray(ratio) > 0.0) & (np.asarray(squeeze) > 0.0)
    found: Array = np.where(settled, travel, np.nan)
    return found[()] if isinstance(found, np.ndarray) else found


def seat_distance_at(
    *,
    seat_distance: Array,
    motion_ratio: Array,
    slope: Array,
    travel: Array,
    perch_raise: Array = 0.0,
) -> Array:
    """Distance between the spring seats with the wheel moved by `travel`, m.

    seat_distance at zero travel, standard perch. Source: geometry.
    """
    return (
        seat_distance
        - perch_raise
        - spring_squeeze(motion_ratio=motion_ratio, slope=slope, travel=travel)
    )


def travel_with_parts(*, travel: Array, gained_at_damper: Array, motion_ratio: Array) -> Array:
    """Wheel travel to a damper's end when another damper or stop is fitted, m.

    travel m with the parts as found, gained_at_damper m along the damper (+ is more travel),
    motion_ratio of the damper near that end. Small changes only: the ratio is held constant over
    the gain. Source: definition of motion ratio.
    """
    return travel + gained_at_damper / motion_ratio


def travel_left(*, full_travel: Array, rest: Array) -> Array:
    """Wheel travel left from the rest position to an end of travel, m.

    full_travel from zero to that end and rest, the rest position, both counted towards that end.
    """
    return full_travel - rest


def series_rate(*, first: Array, second: Array) -> Array:
    """Rate of two springs in series (spring at the wheel, tyre), same unit as given.

    Both above 0. Source: statics; Gillespie, Fundamentals of Vehicle Dynamics, ch. 5.
    """
    return first * second / (first + second)
