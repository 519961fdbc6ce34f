"""What a dry clutch holds. Plain functions in SI units; arguments broadcast."""

from __future__ import annotations

import numpy as np

from drybuild.values import Array


def mean_radius_uniform_wear(*, outer_radius: Array, inner_radius: Array) -> Array:
    """Radius at which a bedded facing acts, m. The conservative one of the two: always smaller.

    outer_radius, inner_radius: of the facing, m, inner smaller than outer.
    Source: Shigley, Mechanical Engineering Design, ch. 16, uniform wear (from memory).
    """
    return (outer_radius + inner_radius) / 2


def mean_radius_uniform_pressure(*, outer_radius: Array, inner_radius: Array) -> Array:
    """Radius at which a new facing with even pressure acts, m. Greater than with uniform wear.

    outer_radius, inner_radius: of the facing, m, inner smaller than outer.
    Source: Shigley, Mechanical Engineering Design, ch. 16, uniform pressure (from memory).
    """
    ro, ri = np.asarray(outer_radius), np.asarray(inner_radius)
    return np.asarray(2 / 3 * (ro**3 - ri**3) / (ro**2 - ri**2))


def capacity(*, faces: Array, friction: Array, clamp: Array, mean_radius: Array) -> Array:
    """Torque at which a clutch slips, N·m: N μ F r.

    faces: rubbed faces, two for each disc. friction: 1. clamp: force of the cover at this wear,
    N. mean_radius: m. Bedded and cool; a hot or oily facing holds less.
    Source: Shigley, Mechanical Engineering Design, ch. 16 (from memory).
    """
    return faces * friction * clamp * mean_radius


def capacity_from_lining(
    *,
    faces: Array,
    friction: Array,
    clamp: Array,
    outer_diameter: Array,
    inner_diameter: Array,
) -> Array:
    """Torque at which a bedded clutch slips, N·m, from its facing and cover (uniform wear).

    faces: two for each disc. friction: 1. clamp: N. outer_diameter, inner_diameter: m.
    Source: as ``capacity`` with ``mean_radius_uniform_wear``.
    """
    radius = mean_radius_uniform_wear(
        outer_radius=outer_diameter / 2, inner_radius=inner_diameter / 2
    )
    return capacity(faces=faces, friction=friction, clamp=clamp, mean_radius=radius)


def clamp_at_pressure(*, pressure: Array, outer_radius: Array, inner_radius: Array) -> Array:
    """Clamp that loads the inner edge of a bedded facing to a pressure, N.

    pressure: greatest, at the inner edge, Pa. Radii: m.
    Source: uniform wear: F = 2 π p ri (ro - ri); Khurmi and Gupta, Theory of Machines, ch. 10.
    """
    return 2 * np.pi * pressure * inner_radius * (outer_radius - inner_radius)


def facing_pressure(
    *, clamp: Array, radius: Array, outer_radius: Array, inner_radius: Array
) -> Array:
    """Pressure on a bedded facing at a radius, Pa: falls as 1/r.

    clamp: N. radius: between inner and outer radius, m.
    Source: uniform wear, p·r constant; Khurmi and Gupta, Theory of Machines, ch. 10.
    """
    return clamp / (2 * np.pi * (outer_radius - inner_radius) * radius)


def power_held(*, torque: Array, rotation_speed: Array) -> Array:
    """Power that passes at a torque, W. torque: N·m; rotation_speed: rad/s."""
    return torque * rotation_speed
