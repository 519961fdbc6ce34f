"""What the road asks and what is left over. Plain functions in SI units; arguments broadcast."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from drybuild.values import Array

G = 9.80665


def load_coefficients(
    *, mass: Array, rolling: Array, drag_area: Array, air_density: Array
) -> tuple[Array, Array, Array]:
    """Coefficients A (N), B (N s/m), C (N s²/m²) of the road load from mass, tyre and shape.

    mass: kg. rolling: coefficient of rolling resistance, 1. drag_area: cd·A, m². air_density:
    kg/m³. Level road, no wind.
    Source: Bosch Automotive Handbook, driving resistances (from memory).
    """
    return rolling * mass * G, 0.0, 0.5 * air_density * drag_area


def road_force(*, speed: Array, a: Array, b: Array, c: Array) -> Array:
    """Road load, N: A + B v + C v². speed: m/s; a: N; b: N s/m; c: N s²/m².

    Source: the coast-down form of 40 CFR 1066 and of the US EPA's published target coefficients.
    """
    return a + b * speed + c * np.square(speed)


def rotating_mass_factor(*, overall_ratio: Array) -> Array:
    """Mass that the engine feels over the mass of the car, 1: 1 + 0.04 + 0.0025 N².

    overall_ratio: gearbox times final ratio, 1. For passenger cars with a manual gearbox.
    Source: Gillespie, Fundamentals of Vehicle Dynamics, eq. 2-12 (from memory).
    """
    return 1.04 + 0.0025 * np.square(overall_ratio)


def wheel_power(
    *, mass: Array, factor: Array, acceleration: Array, force: Array, speed: Array
) -> Array:
    """Power at the wheels, W: (m·factor·a + F)·v.

    mass: kg. factor: rotating mass factor, 1. acceleration: m/s². force: road load, N. speed: m/s.
    Source: Newton's second law.
    """
    return (mass * factor * acceleration + force) * speed


def crank_power(*, wheel_power: Array, efficiency: Array) -> Array:
    """Power at the crank, W. wheel_power: W. efficiency: of the driveline, 0..1."""
    return wheel_power / efficiency


def top_speed(
    *,
    engine_speed: npt.NDArray[np.float64],
    power: Array,
    efficiency: Array,
    gear_ratios: tuple[float, ...],
    final_ratio: Array,
    rolling_radius: Array,
    rev_limit: Array,
    a: Array,
    b: Array,
    c: Array,
) -> Array:
    """Greatest steady speed on the level over all gears, m/s, per draw.

    engine_speed: (K,) rad/s rising. power: at the crank, W, (K, 1) or (K, N). efficiency: of the
    driveline, 0..1. gear_ratios: all gears. final_ratio, rolling_radius (m), rev_limit (rad/s):
    float or (N,). a, b, c: road load, see ``load_coefficients``.

    In each gear the surplus of wheel power over road load is followed along the engine speed; the
    speed is where it last falls through zero (linear between the points), or the rev limit, or
    the end of the curve. A gear with no surplus anywhere gives nothing; nan where none has.
    Source: power balance, Gillespie, Fundamentals of Vehicle Dynamics, ch. 2 (from memory).
    """
    omega = np.asarray(engine_speed, dtype=np.float64)[:, None]
    at_wheel = np.asarray(power) * efficiency
    best: npt.NDArray[np.float64] | None = None
    for ratio in gear_ratios:
        per_rad = np.asarray(rolling_radius / (ratio * np.asarray(final_ratio)))
        speed = omega * per_rad
        surplus = at_wheel - road_force(speed=speed, a=a, b=b, c=c) * speed
        allowed = np.where(omega <= np.asarray(rev_limit) + 1e-9, surplus, -np.inf)
        limit = np.minimum(rev_limit, omega[-1, 0]) * per_rad
        found = _last_crossing(speed, surplus, allowed, np.asarray(limit))
        best = found if best is None else np.fmax(best, found)
    if best is None:
        raise ValueError("no gears are given")
    return best if best.size > 1 else float(best.reshape(-1)[0])


def _last_crossing(
    speed: npt.NDArray[np.float64],
    surplus: npt.NDArray[np.float64],
    allowed: npt.NDArray[np.float64],
    limit: npt.NDArray[np.float64],
) -> npt.NDArray[np.float64]:
    speed, surplus, allowed = np.broadcast_arrays(speed, surplus, allowed)
    k, n = surplus.shape
    enough = allowed >= 0
    last = k - 1 - np.argmax(enough[::-1], axis=0)
    following = np.minimum(last + 1, k - 1)
    column = np.arange(n)
    here, there = surplus[last, column], surplus[following, column]
    falls = (there < 0) & (here >= 0)
    part = np.where(falls, here / np.where(falls, here - there, 1.0), 1.0)
    crossing = speed[last, column] + part * (speed[following, column] - speed[last, column])
    # Where the surplus is still there at the next point, only the rev limit ends the gear.
    crossing = np.where(falls, crossing, np.inf)
    return np.where(enough.any(axis=0), np.minimum(crossing, limit), np.nan)
