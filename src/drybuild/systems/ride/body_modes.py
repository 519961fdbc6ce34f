"""How the body swings as a whole: bounce, pitch, roll; small angles, no damping."""

from __future__ import annotations

import numpy as np

from drybuild.systems.ride import roll
from drybuild.values import Array


def flat_ride_ratio(*, front: Array, rear: Array) -> Array:
    """Rear over front ride frequency, dimensionless; above 1 the pitch after a bump dies out.

    Frequencies Hz. Source: Olley's flat ride rule, as in Gillespie, ch. 5 (from memory).
    """
    return rear / np.asarray(front)


def flat_ride_speed(*, front: Array, rear: Array, wheelbase: Array) -> Array:
    """Speed at which the rear's swing catches the front's after one swing, m/s; inf if never.

    The wheels meet a bump wheelbase/v apart; after one period of the front the rear, faster, has
    caught up: L/v = 1/f_front − 1/f_rear. Frequencies Hz, wheelbase m. Undamped.
    Source: Olley's reasoning, as in Gillespie, ch. 5 (from memory).
    """
    gain = 1.0 / np.asarray(front) - 1.0 / np.asarray(rear)
    with np.errstate(divide="ignore", invalid="ignore"):
        speed: Array = np.where(gain > 0.0, wheelbase / gain, np.inf)[()]
    return speed


def bounce_and_pitch(
    *,
    front_rate: Array,
    rear_rate: Array,
    to_front: Array,
    to_rear: Array,
    sprung_mass: Array,
    pitch_inertia: Array,
) -> tuple[Array, Array]:
    """Frequencies of the body's two swings along the car, Hz: (slower, faster).

    front_rate, rear_rate N/m of both wheels of an axle, tyres in series; to_front, to_rear m from
    the sprung mass's centre; sprung_mass kg; pitch_inertia kg·m2 about that centre.
    α = (kf + kr)/m, β = (kr·c − kf·b)/m, γ = (kf·b² + kr·c²)/I;
    ω² = (α + γ)/2 ∓ sqrt(((α − γ)/2)² + β²·m/I). Source: Gillespie, ch. 5 (from memory).
    """
    inertia = np.asarray(pitch_inertia)
    alpha = (front_rate + rear_rate) / np.asarray(sprung_mass)
    beta = (rear_rate * to_rear - front_rate * to_front) / np.asarray(sprung_mass)
    gamma = (front_rate * np.square(to_front) + rear_rate * np.square(to_rear)) / inertia
    half = np.sqrt(np.square(0.5 * (alpha - gamma)) + np.square(beta) * sprung_mass / inertia)
    middle = 0.5 * (alpha + gamma)
    turn = 2.0 * np.pi
    return np.sqrt(middle - half) / turn, np.sqrt(middle + half) / turn


def roll_frequency(
    *,
    stiffness: Array,
    sprung_mass: Array,
    arm: Array,
    roll_inertia: Array,
    gravity: float = roll.GRAVITY,
) -> Array:
    """Frequency of the body rolling about the roll axis, Hz; NaN where it is not held up.

    stiffness N·m/rad of both axles, sprung_mass kg, arm m of its centre above the roll axis,
    roll_inertia kg·m2 about its own centre: sqrt((K − m·g·d)/(I + m·d²))/2π.
    Source: rigid-body dynamics, as in Gillespie, ch. 6 and 5.
    """
    held = np.asarray(stiffness - sprung_mass * gravity * arm, dtype=float)
    about_axis = roll_inertia + sprung_mass * np.square(arm)
    with np.errstate(invalid="ignore"):
        frequency: Array = np.sqrt(np.where(held > 0.0, held, np.nan) / about_axis)[()]
    return frequency / (2.0 * np.pi)
