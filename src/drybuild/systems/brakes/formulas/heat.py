"""Heat of stops and descents in discs, pads and fluid. Lumped: one temperature for a disc.

Plain functions in SI units; arguments broadcast.
"""

from __future__ import annotations

import numpy as np

from drybuild.values import Array

G = 9.80665


def stop_energy(
    *,
    mass: Array,
    speed: Array,
    end_speed: Array = 0.0,
    rotating_mass: Array = 0.0,
    drag: Array = 0.0,
    distance: Array = 0.0,
) -> Array:
    """Energy that the brakes take in a stop, J.

    mass: kg. speed, end_speed: m/s. rotating_mass: inertia of wheels as mass at the tread, kg.
    drag: mean force of air and tyres, N; distance: m; what they take the brakes need not.
    Errors: none; more drag than energy gives a negative number.
    Source: energy balance.
    """
    moving = (mass + rotating_mass) * (np.square(speed) - np.square(end_speed)) / 2
    return moving - drag * distance


def one_stop_rise(
    *, energy: Array, share: Array, disc_mass: Array, discs: Array, heat_capacity: Array
) -> Array:
    """Rise of a disc's mean temperature in one stop, K: E·share / (n·m·c).

    energy: of the whole car, J. share: of the axle, 0 to 1. disc_mass: the friction ring of one
    disc, kg. discs: on the axle, 1. heat_capacity: J/(kg K).
    No heat is lost during the stop and none goes into pads: high by about a tenth for a stop of
    a few seconds. The face is hotter than the mean.
    Source: heat balance.
    """
    return energy * share / (discs * disc_mass * heat_capacity)


def cooling_time(*, disc_mass: Array, heat_capacity: Array, shed: Array) -> Array:
    """Time constant of a disc cooling in the air stream, s: m c / (h A).

    disc_mass: kg. heat_capacity: J/(kg K). shed: heat lost per kelvin above the air, W/K, at the
    speed driven between stops.
    Source: Newton's law of cooling.
    """
    return disc_mass * heat_capacity / shed


def after_stops(*, rise: Array, stops: Array, interval: Array, cooling: Array) -> Array:
    """Rise above the air just after the last of a row of equal stops, K.

    rise: of one stop, K. stops: how many, at least 1. interval: from stop to stop, s. cooling:
    time constant, s. After many stops it tends to rise / (1 - exp(-interval/cooling)).
    Source: sum of a geometric series; Limpert, Brake Design and Safety, ch. 3, repeated braking
    (from memory).
    """
    kept = np.exp(-np.asarray(interval, dtype=np.float64) / cooling)
    one = np.isclose(kept, 1.0)
    row = np.where(one, stops, (1 - kept**stops) / np.where(one, 1.0, 1 - kept))
    return np.asarray(rise * row)


def descent_rise(
    *,
    mass: Array,
    height: Array,
    road_length: Array,
    speed: Array,
    drag: Array,
    share: Array,
    discs: Array,
    shed: Array,
    cooling: Array,
) -> Array:
    """Rise of a disc above the air at the end of a descent held on the brakes alone, K.

    mass: kg. height: dropped, m. road_length: m. speed: held, m/s. drag: of air and tyres, N.
    share: of the axle, 0 to 1. discs: on the axle. shed: of one disc, W/K. cooling: s.
    Engine braking is left out, so that the answer is high for a driver who uses it.
    Errors: a road shorter than its height is refused with ValueError.
    Source: P = (m g sin θ - F)·v; T = P/(n hA)·(1 - exp(-t/τ)).
    """
    if np.any(np.asarray(road_length) <= np.asarray(height)):
        raise ValueError("the road is not longer than the height it drops")
    pull = np.maximum(mass * G * height / road_length - drag, 0.0)
    steady = pull * speed * share / (discs * shed)
    return np.asarray(steady * (1 - np.exp(-np.asarray(road_length) / speed / cooling)))


def fluid_temperature(*, air: Array, disc_rise: Array, passed_on: Array) -> Array:
    """Temperature of the fluid at the caliper, K.

    air: K. disc_rise: of the disc above the air, K. passed_on: share of that rise which reaches
    the fluid after the car has stood, 0 to 1: a measured property of caliper, pads and shields.
    Source: practice; the share is read from two thermometers on the caliper.
    """
    return air + passed_on * disc_rise
