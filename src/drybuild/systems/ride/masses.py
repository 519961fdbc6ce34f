"""Masses, loads on axles and corners, centre of gravity, ground clearance."""

from __future__ import annotations

import numpy as np

from drybuild.values import Array

GRAVITY = 9.80665


def axle_share_at(*, behind_front_axle: Array, wheelbase: Array) -> Array:
    """Share of a mass carried by the front axle, from where it sits; may leave 0..1 in overhangs.

    behind_front_axle m, + to the rear; wheelbase m. Source: statics.
    """
    return 1.0 - behind_front_axle / wheelbase


def corner_sprung_mass(
    *, corner_load: Array, unsprung_mass: Array, gravity: float = GRAVITY
) -> Array:
    """Sprung mass of one corner, kg: what the tyre carries less wheel, brake and half the links.

    corner_load N, unsprung_mass kg. Source: statics.
    """
    return corner_load / gravity - unsprung_mass


def cg_height_by_lifting(
    *,
    mass: Array,
    wheelbase: Array,
    lift: Array,
    load_gain: Array,
    loaded_radius: Array,
) -> Array:
    """Height of the centre of gravity, m, from weighing with one axle lifted.

    mass kg of the car, wheelbase m, lift m of the raised axle, load_gain kg more on the axle that
    stays down, loaded_radius m of the wheels on the scales. Suspension blocked, tyres hard, fuel
    full or empty. A kilogram of error moves the answer by about a centimetre.
    NaN unless lift is between 0 and the wheelbase. Source: statics, as in body builders' guides:
    h = r + L·(ΔW/W)/tan(θ), sin(θ) = H/L.
    """
    with np.errstate(invalid="ignore"):
        angle = np.arcsin(np.asarray(lift) / wheelbase)
        height: Array = loaded_radius + wheelbase * (load_gain / mass) / np.tan(angle)
    return height


def mixed_height(*, masses: tuple[Array, ...], heights: tuple[Array, ...]) -> Array:
    """Height of the centre of several masses, m: Σm·h/Σm. Masses in kg, one may be negative."""
    total: Array = sum(masses[1:], start=masses[0])
    moment: Array = sum(
        (m * h for m, h in zip(masses[1:], heights[1:], strict=True)), start=masses[0] * heights[0]
    )
    return moment / total


def body_down(*, suspension_down: Array, loaded_radius: Array, loaded_radius_found: Array) -> Array:
    """How far the body came down over an axle, m: suspension drop less what the tyres lift.

    suspension_down m between hub and body; loaded radii m now and as found. Source: geometry.
    """
    return suspension_down - (loaded_radius - loaded_radius_found)


def clearance_left(
    *, clearance_found: Array, front_down: Array, rear_down: Array, front_share: Array
) -> Array:
    """Ground clearance of a point under the body, m, after the body came down.

    clearance_found m as found; front_down, rear_down m over each axle; front_share: 1 for a point
    under the front axle, 0 under the rear, in between by distance. Level ground, at rest.
    Source: geometry of a rigid body.
    """
    return clearance_found - (front_share * front_down + (1.0 - front_share) * rear_down)
