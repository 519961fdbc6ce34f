"""Wheel angles, contact point, steering axis and instant centres from a corner's motion.

Camber − tips the top in, toe + turns the front edge in, caster + leans the steering axis back at
the top, kingpin inclination + leans it in at the top. Vectors have their three components first:
x forward, y outboard, z up.
"""

from __future__ import annotations

import numpy as np

from drybuild.systems.ride.kinematics.linkage import Floats, cross, dot, unit
from drybuild.values import Array


def wheel_axis(*, camber: Array, toe: Array) -> Floats:
    """Unit vector along the wheel's axis, outboard, (3, …), from camber and toe, rad."""
    camber, toe = np.broadcast_arrays(np.asarray(camber, float), np.asarray(toe, float))
    return np.stack([np.cos(camber) * np.sin(toe), np.cos(camber) * np.cos(toe), -np.sin(camber)])


def camber_of(*, axis: Floats) -> Floats:
    """Camber, rad, of a wheel whose axis points along `axis` (3, …), unit length.

    Source: ISO 8855 camber as the angle of the wheel plane to the vertical; sign as above.
    """
    angle: Floats = -np.arcsin(np.clip(axis[2], -1.0, 1.0))
    return angle


def toe_of(*, axis: Floats) -> Floats:
    """Toe of one wheel, rad, from its axis (3, …): + with the front edge in."""
    angle: Floats = np.arctan2(axis[0], axis[1])
    return angle


def camber_rate(*, axis: Floats, spin: Floats) -> Floats:
    """Change of camber per wheel travel, rad/m, from the spin of the upright (3, …), rad/m."""
    swing = cross(spin, axis)
    rate: Floats = -swing[2] / np.sqrt(1.0 - axis[2] ** 2)
    return rate


def toe_rate(*, axis: Floats, spin: Floats) -> Floats:
    """Change of toe per wheel travel (bump steer), rad/m, from the spin of the upright."""
    swing = cross(spin, axis)
    rate: Floats = (swing[0] * axis[1] - swing[1] * axis[0]) / (axis[0] ** 2 + axis[1] ** 2)
    return rate


def contact_point(*, centre: Floats, axis: Floats, radius: Array) -> Floats:
    """Where the wheel meets level ground, m, (3, …): lowest point of its middle plane.

    centre (3, …) m, axis (3, …) unit, radius m: the loaded radius, taken along the wheel plane.
    The tyre's width and its give to the side are left out. Source: geometry.
    """
    level = np.sqrt(axis[0] ** 2 + axis[1] ** 2)
    up = np.stack([-axis[2] * axis[0], -axis[2] * axis[1], level**2]) / level
    point: Floats = centre - up * radius
    return point


def caster_angle(*, direction: Floats) -> Floats:
    """Caster, rad, of a steering axis that points upwards along `direction` (3, …).

    Seen from the side; + with the top towards the rear. Source: definition, ISO 8855.
    """
    angle: Floats = np.arctan2(-direction[0], direction[2])
    return angle


def kingpin_inclination(*, direction: Floats) -> Floats:
    """Kingpin inclination, rad: the steering axis seen from the front, + with the top inboard."""
    angle: Floats = np.arctan2(-direction[1], direction[2])
    return angle


def ground_offsets(
    *, point: Floats, direction: Floats, contact: Floats, axis: Floats
) -> tuple[Floats, Floats]:
    """Scrub radius and mechanical trail, m: where the steering axis meets the ground.

    point, direction (3, …): any point of the steering axis and its direction; contact (3, …): the
    wheel's contact point; axis (3, …): the wheel's axis. Measured along the wheel's own heading:
    scrub + with the axis inboard of the contact, trail + with the axis ahead of it.
    Validity: level ground. Source: definition, ISO 8855 (kingpin offset at ground, castor trail).
    """
    with np.errstate(all="ignore"):
        along = (contact[2] - point[2]) / direction[2]
        ground = point + direction * along - contact
        level = np.sqrt(axis[0] ** 2 + axis[1] ** 2)
        outboard = axis[0] / level, axis[1] / level
        scrub: Floats = -(ground[0] * outboard[0] + ground[1] * outboard[1])
        # the wheel heads square to its axis, on the ground
        trail: Floats = ground[0] * outboard[1] - ground[1] * outboard[0]
    return scrub, trail


def turning_axis(*, centre: Floats, velocity: Floats, spin: Floats) -> tuple[Floats, Floats]:
    """Point and upward direction of the axis about which a body turns, (3, …) each.

    centre: where `velocity` was taken; spin: angular rate. What the body moves along that axis is
    left out. Errors: a body that does not turn gives inf or NaN. Source: Chasles' theorem.
    """
    with np.errstate(all="ignore"):
        point = centre + cross(spin, velocity) / dot(spin, spin)
        direction = unit(spin)
        upwards: Floats = direction * np.where(direction[2] < 0.0, -1.0, 1.0)
    return point, upwards


def roll_centre_height(*, contact: Floats, velocity: Floats) -> Floats:
    """Height of the roll centre above the ground, m, both sides alike.

    contact (3, …): contact point, y from the car's middle; velocity (3, …): of the upright's
    material there, per wheel travel. The line square to that velocity is followed to the middle
    of the car. Validity: both wheels moved alike, straight ahead; level ground; rigid tyres.
    Source: instant centre construction; Gillespie, Fundamentals of Vehicle Dynamics, ch. 7.
    """
    with np.errstate(all="ignore"):
        height: Floats = contact[1] * velocity[1] / velocity[2]
    return height


def front_instant_centre(*, centre: Floats, velocity: Floats, spin: Floats) -> Floats:
    """Instant centre seen from the front, (y, z) m as (2, …), in the plane of the wheel centre.

    Without camber change it is infinitely far (inf). Source: velocity analysis.
    """
    with np.errstate(all="ignore"):
        place: Floats = np.stack(
            [centre[1] - velocity[2] / spin[0], centre[2] + velocity[1] / spin[0]]
        )
    return place


def side_instant_centre(*, centre: Floats, velocity: Floats, spin: Floats) -> Floats:
    """Instant centre seen from the side, (x, z) m as (2, …), in the plane of the wheel centre.

    Without a turn seen from the side it is infinitely far (inf). Source: velocity analysis.
    """
    with np.errstate(all="ignore"):
        place: Floats = np.stack(
            [centre[0] + velocity[2] / spin[1], centre[2] - velocity[0] / spin[1]]
        )
    return place


def path_slope(*, velocity: Floats) -> Floats:
    """How far a point goes forward per wheel travel: x over z of its velocity, dimensionless.

    Taken at the contact point for forces of outboard brakes (and of a live axle's drive), at the
    wheel centre for drive through a body-mounted final drive and for inboard brakes.
    """
    with np.errstate(all="ignore"):
        slope: Floats = velocity[0] / velocity[2]
    return slope


def anti_dive(*, slope: Array, brake_share: Array, wheelbase: Array, cg_height: Array) -> Array:
    """Anti-dive of a front axle, fraction of the dive that the links take: share·slope·L/h.

    slope: from `path_slope` at the contact point (outboard brakes); brake_share of this axle 0 to
    1; wheelbase, cg_height m. + resists. Validity: level road, small pitch, tyres left out.
    Source: Gillespie ch. 7; Milliken and Milliken ch. 17.
    """
    fraction: Array = np.asarray(brake_share) * slope * wheelbase / np.asarray(cg_height)
    return fraction


def anti_lift(*, slope: Array, brake_share: Array, wheelbase: Array, cg_height: Array) -> Array:
    """Anti-lift of a rear axle under braking, fraction: −share·slope·L/h.

    slope at the contact point (outboard brakes); brake_share of the rear axle. + resists.
    Source: as `anti_dive`, mirrored.
    """
    fraction: Array = -np.asarray(brake_share) * slope * wheelbase / np.asarray(cg_height)
    return fraction


def anti_squat(*, slope: Array, drive_share: Array, wheelbase: Array, cg_height: Array) -> Array:
    """Anti-squat of a driven rear axle, fraction: −share·slope·L/h.

    slope at the wheel centre where the final drive is on the body, at the contact point of a live
    axle; drive_share of this axle 0 to 1; wheelbase, cg_height m. + resists.
    Source: Gillespie ch. 7; Milliken and Milliken ch. 17.
    """
    fraction: Array = -np.asarray(drive_share) * slope * wheelbase / np.asarray(cg_height)
    return fraction


def angle_between(*, first: Floats, second: Floats) -> Floats:
    """Angle between two directions (3, …), rad, 0 to π; exact for small angles too."""
    sine = cross(first, second)
    angle: Floats = np.arctan2(np.sqrt(dot(sine, sine)), dot(first, second))
    return angle


def ackermann_outer(*, inner: Array, kingpin_track: Array, wheelbase: Array) -> Array:
    """Steer angle of the outer wheel for pure rolling, rad: cot(outer) = cot(inner) + w/L.

    inner: angle of the inner wheel, rad, above 0; kingpin_track w and wheelbase L in m.
    Source: Ackermann's condition.
    """
    outer: Array = np.arctan(1.0 / (1.0 / np.tan(inner) + np.asarray(kingpin_track) / wheelbase))
    return outer
