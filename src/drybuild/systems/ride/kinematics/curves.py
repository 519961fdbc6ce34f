"""The curves of a corner over travel and steer, from its motion. Arrays are (K, S, N)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybuild.systems.ride.kinematics import wheel
from drybuild.systems.ride.kinematics.linkage import Floats, unit
from drybuild.systems.ride.kinematics.motion import Motion, column
from drybuild.values import Array


@dataclass(frozen=True)
class WheelCurves:
    """Angles and points of the wheel; rates are per wheel travel."""

    axis: Floats  # (3, K, S, N) wheel axis
    contact: Floats  # (3, K, S, N) m
    camber: Floats  # rad
    toe: Floats  # rad, one wheel; over steer it is the wheel's steer angle
    camber_rate: Floats  # rad/m
    toe_rate: Floats  # rad/m, bump steer
    half_track_change: Floats  # m
    roll_centre_height: Floats  # m above the ground
    front_instant_centre: Floats  # (2, K, S, N) y, z m
    side_instant_centre: Floats  # (2, K, S, N) x, z m
    contact_slope: Floats  # forward per up of the contact point, brakes on the upright
    centre_slope: Floats  # forward per up of the wheel centre


def wheel_curves(*, motion: Motion, camber: Array, toe: Array, loaded_radius: Array) -> WheelCurves:
    """All curves of a wheel that need no further points.

    camber, toe: rad, in the drawn position; loaded_radius m. Both sides are taken alike and the
    ground level under them. Rigid: what bushes give is left out.
    Source: definitions in `wheel`.
    """
    drawn = column(wheel.wheel_axis(camber=camber, toe=toe))
    axis = motion.turned(drawn)
    contact = wheel.contact_point(centre=motion.centre, axis=axis, radius=loaded_radius)
    start = wheel.contact_point(centre=motion.drawn, axis=drawn, radius=loaded_radius)
    speed = motion.speed_of(contact)
    return WheelCurves(
        axis=axis,
        contact=contact,
        camber=wheel.camber_of(axis=axis),
        toe=wheel.toe_of(axis=axis),
        camber_rate=wheel.camber_rate(axis=axis, spin=motion.spin),
        toe_rate=wheel.toe_rate(axis=axis, spin=motion.spin),
        half_track_change=contact[1] - start[1],
        roll_centre_height=wheel.roll_centre_height(contact=contact, velocity=speed),
        front_instant_centre=wheel.front_instant_centre(
            centre=motion.centre, velocity=motion.velocity, spin=motion.spin
        ),
        side_instant_centre=wheel.side_instant_centre(
            centre=motion.centre, velocity=motion.velocity, spin=motion.spin
        ),
        contact_slope=wheel.path_slope(velocity=speed),
        centre_slope=wheel.path_slope(velocity=motion.velocity),
    )


@dataclass(frozen=True)
class SteeringCurves:
    """Where the steering axis stands."""

    caster: Floats  # rad
    kingpin_inclination: Floats  # rad
    scrub_radius: Floats  # m
    mechanical_trail: Floats  # m
    by: str  # how the axis was found


def steering_by_joints(*, curves: WheelCurves, lower: Floats, upper: Floats) -> SteeringCurves:
    """Steering axis through two joints: lower and upper ball joint, or joint and strut top.

    lower, upper: where they are, m, (3, …) against (3, K, S, N); one on the body may be (3, 1, 1,
    N). Source: definition.
    """
    return _steering(curves, lower, unit(upper - lower), "through its joints")


def steering_by_motion(
    *,
    motion: Motion,
    curves: WheelCurves,
    spring_ratio: Floats | None = None,
    spring_steer_ratio: Floats | None = None,
) -> SteeringCurves:
    """Steering axis of a corner without one, such as five links: the line it turns about.

    spring_ratio, spring_steer_ratio: shortening of the spring per wheel travel and per rack
    travel; given both, the spring is held, as on the road; else the wheel centre's height is.
    Source: instantaneous axis of rotation; Matschinsky, Road Vehicle Suspensions (from memory).
    """
    if motion.steer_velocity is None or motion.steer_spin is None:
        raise ValueError("nothing steers this corner")
    velocity, spin = motion.steer_velocity, motion.steer_spin
    held = "wheel height held"
    if spring_ratio is not None and spring_steer_ratio is not None:
        rise = -spring_steer_ratio / spring_ratio
        velocity, spin = velocity + rise * motion.velocity, spin + rise * motion.spin
        held = "spring held"
    point, direction = wheel.turning_axis(centre=motion.centre, velocity=velocity, spin=spin)
    return _steering(curves, point, direction, f"line it turns about, {held}")


def _steering(curves: WheelCurves, point: Floats, direction: Floats, by: str) -> SteeringCurves:
    scrub, trail = wheel.ground_offsets(
        point=point, direction=direction, contact=curves.contact, axis=curves.axis
    )
    shape = np.shape(curves.camber)
    return SteeringCurves(
        caster=np.broadcast_to(wheel.caster_angle(direction=direction), shape),
        kingpin_inclination=np.broadcast_to(wheel.kingpin_inclination(direction=direction), shape),
        scrub_radius=scrub,
        mechanical_trail=trail,
        by=by,
    )
