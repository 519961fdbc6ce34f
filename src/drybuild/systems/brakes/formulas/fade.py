"""Fade in repeated stops: temperature stop by stop, friction lost with it, what is left.

Lumped: one temperature for a disc, at the end of each stop. Plain functions in SI units.
"""

from __future__ import annotations

import numpy as np

from drybuild.values import Array


def stop_by_stop(
    *, rise: Array, stops: int, interval: Array, cooling: Array, start: Array = 0.0
) -> Array:
    """Rise of a disc above the air just after each of a row of equal stops, K: (stops, ...).

    rise K of one stop, interval s from stop to stop, cooling s its time constant while driving,
    start K above the air before the first. Between stops it cools as exp(−t/τ).
    Errors: ValueError below one stop.
    Source: Newton's law of cooling, stop after stop; Limpert, Brake Design and Safety, ch. 3
    (from memory). The last is `heat.after_stops` when it starts cold.
    """
    if stops < 1:
        raise ValueError("at least one stop")
    kept = np.exp(-np.asarray(interval, dtype=np.float64) / cooling)
    above: Array = start
    row = []
    for number in range(stops):
        above = (above * kept if number else above) + rise
        row.append(np.asarray(above, dtype=np.float64))
    return np.stack(np.broadcast_arrays(*row))


def friction_kept(*, friction: Array, friction_cold: Array) -> Array:
    """Share of the cold friction that is left when hot, 1.

    Both 1. The same pedal gives the same clamp, so that deceleration falls with it, and the stop
    grows by its inverse. Source: definition.
    """
    return friction / np.asarray(friction_cold)


def ideal_front_share(
    *, front_load: Array, rear_load: Array, cg_height: Array, wheelbase: Array, rate: Array
) -> Array:
    """Front share of the braking force that uses both axles' grip alike, 0..1.

    Loads N at rest, cg_height, wheelbase m, rate: deceleration over g. It rises with the rate,
    as load moves forward; brakes with a fixed share meet it at one rate only.
    Source: moment balance; ideal distribution in Gillespie, ch. 3 (from memory).
    """
    weight = front_load + np.asarray(rear_load)
    return (front_load + weight * rate * cg_height / wheelbase) / weight


def meeting_rate(
    *, share: Array, front_load: Array, rear_load: Array, cg_height: Array, wheelbase: Array
) -> Array:
    """Braking rate at which a fixed front share is the ideal one, 1; above it the rear locks first.

    share of the braking force in front 0..1, the rest as in `ideal_front_share`, solved for the
    rate. Source: moment balance.
    """
    weight = front_load + np.asarray(rear_load)
    return (share - front_load / weight) * wheelbase / cg_height
