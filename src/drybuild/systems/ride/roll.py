"""Roll: anti-roll bar, roll stiffness, roll gradient, load transfer."""

from __future__ import annotations

import numpy as np

from drybuild.values import Array

GRAVITY = 9.80665
# Steel of anti-roll bars (from memory).
BAR_SHEAR_MODULUS = 79.5e9
BAR_YOUNG_MODULUS = 206e9


def polar_second_moment(*, diameter: Array, bore: Array = 0.0) -> Array:
    """Polar second moment of area of a round bar or tube, m4. diameter and bore in m."""
    polar: Array = np.pi * (np.asarray(diameter) ** 4 - np.asarray(bore) ** 4) / 32.0
    return polar


def bar_end_rate(
    *,
    diameter: Array,
    bore: Array = 0.0,
    centre_length: Array,
    arm: Array,
    arm_length: Array | None = None,
    shear_modulus: Array = BAR_SHEAR_MODULUS,
    young_modulus: Array = BAR_YOUNG_MODULUS,
) -> Array:
    """Rate at one end of an anti-roll bar with the other end held, N/m.

    diameter, bore m; centre_length m of the twisting part; arm m, square to the twisting part;
    arm_length m along the arm: given, the bending of both arms is counted (same section as the
    bar); None leaves the arms rigid, which overstates the rate. Moduli Pa.
    For equal and opposite motion of both ends the rate per end is twice this.
    Source: mechanics: 1/k = L·a²/(G·J) + 2·C³/(3·E·I); the form with bending as in Puhn, How to
    Make Your Car Handle (1976), from memory.
    """
    polar = polar_second_moment(diameter=diameter, bore=bore)
    give = centre_length * np.asarray(arm) ** 2 / (shear_modulus * polar)
    if arm_length is not None:
        give = give + 2.0 * np.asarray(arm_length) ** 3 / (3.0 * young_modulus * polar / 2.0)
    rate: Array = 1.0 / give
    return rate


def bar_roll_stiffness(*, end_rate: Array, motion_ratio: Array, track_width: Array) -> Array:
    """Roll stiffness of an axle from its anti-roll bar, N·m/rad: k_end·MR²·t².

    end_rate N/m with the other end held, motion_ratio is bar end travel over wheel travel,
    track_width m. Source: mechanics; Staniforth gives the same in inch units.
    """
    at_wheel: Array = end_rate * np.asarray(motion_ratio) ** 2
    return at_wheel * np.asarray(track_width) ** 2


def spring_roll_stiffness(*, wheel_rate: Array, track_width: Array) -> Array:
    """Roll stiffness of an axle with independent wheels from its springs, N·m/rad: k·t²/2.

    wheel_rate N/m of one wheel, track_width m. Source: Gillespie, ch. 6; Milliken and Milliken.
    """
    return 0.5 * wheel_rate * np.asarray(track_width) ** 2


def axle_roll_stiffness(
    *, springs: Array, bar: Array, tyre_rate: Array, track_width: Array
) -> Array:
    """Roll stiffness of an axle from body to ground, N·m/rad: springs and bar, then the tyres.

    springs, bar N·m/rad; tyre_rate N/m of one tyre; track_width m. Source: rates in series.
    """
    tyres = spring_roll_stiffness(wheel_rate=tyre_rate, track_width=track_width)
    suspension = springs + bar
    return suspension * tyres / (suspension + tyres)


def roll_arm(
    *, cg_height: Array, front_share: Array, roll_centre_front: Array, roll_centre_rear: Array
) -> Array:
    """Height of the sprung mass above the roll axis, m.

    cg_height m of the sprung mass, front_share of its weight on the front axle (0..1), roll
    centre heights m. Source: geometry, roll axis straight between the roll centres.
    """
    return cg_height - (roll_centre_front * front_share + roll_centre_rear * (1.0 - front_share))


def roll_gradient(
    *, sprung_mass: Array, arm: Array, stiffness: Array, gravity: float = GRAVITY
) -> Array:
    """Roll angle per lateral acceleration, rad/(m/s²): ms·d/(K − ms·g·d).

    sprung_mass kg, arm m above the roll axis, stiffness N·m/rad of both axles. NaN where the
    stiffness does not hold the body up (K <= ms·g·d). Small angles.
    Source: Barton and Fieldhouse, Automotive Chassis Engineering (2018), eq. 3.18.
    """
    left = np.asarray(stiffness - sprung_mass * gravity * arm, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(left > 0.0, sprung_mass * arm / left, np.nan)[()]


def axle_load_transfer(
    *,
    gradient: Array,
    axle_stiffness: Array,
    axle_sprung_mass: Array,
    roll_centre_height: Array,
    axle_unsprung_mass: Array,
    unsprung_height: Array,
    track_width: Array,
) -> Array:
    """Load moved across one axle per lateral acceleration, N per m/s².

    gradient rad/(m/s²), axle_stiffness N·m/rad, masses kg of both sides of that axle, heights m,
    track_width m. Three parts: body roll through springs and bar, sprung mass through the roll
    centre, unsprung mass at its own height. Source: Milliken and Milliken, Race Car Vehicle
    Dynamics, ch. 18 (from memory); Gillespie, ch. 6.
    """
    moment = (
        gradient * axle_stiffness
        + axle_sprung_mass * roll_centre_height
        + axle_unsprung_mass * unsprung_height
    )
    return moment / track_width


def total_load_transfer(
    *, mass: Array, acceleration: Array, cg_height: Array, track_width: Array
) -> Array:
    """Load moved from the inner to the outer side of a rigid car, N: m·a·h/t. Source: statics."""
    return mass * acceleration * cg_height / track_width


def front_share(*, front: Array, rear: Array) -> Array:
    """Front part of the load transfer of both axles, 0..1. Same unit for both."""
    return front / (front + rear)


def bar_link_force(
    *, end_rate: Array, motion_ratio: Array, travel_left: Array, travel_right: Array
) -> Array:
    """Force left in the bar's links at rest when the two sides stand at different heights, N.

    end_rate N/m (other end held), motion_ratio bar end over wheel travel, travels m of each
    wheel since the links were last free of load. Links of fixed length.
    Source: statics: the ends twist the bar by their difference.
    """
    force: Array = end_rate * np.abs(motion_ratio * (np.asarray(travel_left) - travel_right))
    return force
