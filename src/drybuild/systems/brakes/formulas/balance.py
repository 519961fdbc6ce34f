"""Braking forces, the loads they move, and which axle locks first.

Plain functions in SI units; arguments broadcast. Braking rate: deceleration over g.
"""

from __future__ import annotations

import numpy as np

from drybuild.values import Array

G = 9.80665


def force_per_pressure(*, torque_per_pressure: Array, rolling_radius: Array) -> Array:
    """Braking force at the road per unit of line pressure, N/Pa = m².

    torque_per_pressure: of the wheel or of the axle, N·m/Pa. rolling_radius: m.
    The same brake holds less on a larger tyre.
    Source: moment balance of the wheel.
    """
    return torque_per_pressure / rolling_radius


def axle_loads(
    *, front_load: Array, rear_load: Array, cg_height: Array, wheelbase: Array, rate: Array
) -> tuple[Array, Array]:
    """Loads of front and rear axle while braking, N.

    front_load, rear_load: at rest, N. cg_height, wheelbase: m. rate: braking rate, 1.
    Valid while both come out above zero. Lift of the body by air is left out.
    Source: moment balance; UN R13-H, annex 5, paragraph 2 (N1, N2; from memory).
    """
    moved = rate * cg_height / wheelbase * (front_load + rear_load)
    return front_load + moved, rear_load - moved


def pressure_for_rate(
    *,
    rate: Array,
    weight: Array,
    front_per_pressure: Array,
    rear_per_pressure: Array,
    knee: Array | None = None,
    slope: Array | None = None,
) -> Array:
    """Front line pressure that brakes the car at a rate, Pa gauge; no wheel locked.

    rate: 1. weight: N. front_per_pressure, rear_per_pressure: force of the axle per pressure,
    N/Pa. knee, slope: of a valve before the rear brakes (see ``hydraulics.rear_pressure``).
    Source: force balance, solved for the pressure on either side of the knee.
    """
    wanted = rate * weight
    plain = wanted / (front_per_pressure + rear_per_pressure)
    if knee is None or slope is None:
        return plain
    held = (wanted - rear_per_pressure * knee * (1 - slope)) / (
        front_per_pressure + slope * rear_per_pressure
    )
    return np.where(plain > knee, held, plain)


def adhesion_used(*, force: Array, load: Array) -> Array:
    """Adhesion that an axle uses: braking force over load, 1. The axle that uses more locks first.

    force: braking force of the axle, N. load: of the axle while braking, N. An axle without load
    locks at once: infinity.
    Source: UN R13-H, annex 5, paragraph 2: f = T / N (from memory).
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(np.asarray(load) > 0, force / np.asarray(load), np.inf)


def least_rate(*, adhesion: Array) -> Array:
    """Braking rate that a car must reach before an axle locks, 1.

    adhesion: tyre on road, 0.2 to 0.8. Below and above: nan.
    Source: UN R13-H, annex 5, paragraph 3.1: z >= 0.1 + 0.7 (k - 0.2) (from memory).
    """
    k = np.asarray(adhesion)
    return np.where((k >= 0.2 - 1e-12) & (k <= 0.8 + 1e-12), 0.1 + 0.7 * (k - 0.2), np.nan)


def longest_stop(*, speed: Array) -> Array:
    """Longest stopping distance allowed in the basic brake test of a passenger car, m.

    speed: m/s at the start; the rule is written for km/h: 0.1 v + 0.0060 v².
    Source: UN R13-H, annex 3, paragraph 2.1.1, type-0 test (from memory).
    """
    v = np.asarray(speed) * 3.6
    return 0.1 * v + 0.0060 * np.square(v)


def mean_deceleration(*, speed: Array, distance: Array) -> Array:
    """Mean fully developed deceleration, m/s²: between 0.8 and 0.1 of the speed.

    speed: at the start of braking, m/s. distance: travelled between these two speeds, m.
    Source: UN R13-H, annex 3, paragraph 1.1.1: (vb² - ve²) / (25.92 (se - sb)), in km/h and m.
    """
    return (0.8**2 - 0.1**2) * np.square(speed) / (2 * distance)


def deceleration(*, force: Array, mass: Array) -> Array:
    """Deceleration by the brakes alone, m/s². force: of both axles, N; mass: kg."""
    return force / mass


def front_share(*, front_force: Array, rear_force: Array) -> Array:
    """Share of the braking force that the front axle has, 0 to 1. Forces: N."""
    return front_force / (front_force + rear_force)


def side_difference(*, left: Array, right: Array) -> Array:
    """Difference of the braking forces of one axle, as a share of the greater, 0 to 1.

    left, right: forces or torques at one pressure, N or N·m.
    Source: Directive 2014/45/EU, annex I, 1.2.1: imbalance as % of the higher (from memory).
    """
    return np.abs(np.asarray(left) - right) / np.maximum(left, right)
