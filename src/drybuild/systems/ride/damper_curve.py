"""Dampers by their measured force against shaft speed, in bump and in rebound."""

from __future__ import annotations

import numpy as np

from drybuild.systems.ride.stacks import ForceCurve
from drybuild.values import Array

_QUADRATURE = 65


def damping_at_speed(*, force: Array, shaft_speed: Array, motion_ratio: Array) -> Array:
    """Damper rate felt at the wheel at one shaft speed, N·s/m: F/v·MR².

    force N and shaft_speed m/s of the same point of the curve, both +; motion_ratio is damper
    travel over wheel travel. It is the rate of a straight damper through that point.
    Source: virtual work; definition of a secant rate.
    """
    secant: Array = np.asarray(force) / np.asarray(shaft_speed)
    return secant * np.asarray(motion_ratio) ** 2


def equivalent_damping(*, curve: ForceCurve, peak_speed: float) -> Array:
    """Rate of the straight damper that takes as much energy out of one swing, N·s/m.

    curve: force N against shaft speed m/s, from 0 or its first point (straight to nothing below
    it) to at least peak_speed; peak_speed m/s, the fastest of a sinusoidal stroke. One direction:
    take bump and rebound each, then their mean. Gives a float, or (N,) for drawn forces.
    c = 4/(π·V)·∫ F(V·sin θ)·sin θ dθ over a quarter turn, by Gauss-Legendre between the points.
    NaN beyond the curve. Source: equivalent viscous damping, energy per cycle, as in vibration
    textbooks (Den Hartog, Mechanical Vibrations, ch. 8, from memory).
    """
    x = np.asarray(curve.x, dtype=np.float64)
    if peak_speed <= 0.0 or peak_speed > x[-1]:
        return float("nan") if np.ndim(curve.y) == 1 else np.full(np.shape(curve.y)[1], np.nan)
    ends = np.arcsin(np.clip(np.append(x[(x > 0.0) & (x < peak_speed)], peak_speed) / peak_speed,
                             0.0, 1.0))  # fmt: skip
    nodes, weights = np.polynomial.legendre.leggauss(_QUADRATURE)
    total: Array = 0.0
    start = 0.0
    for end in ends:
        angle = 0.5 * (end - start) * (nodes + 1.0) + start
        speed = peak_speed * np.sin(angle)
        force = np.asarray(curve.at(np.maximum(speed, x[0])), dtype=np.float64)
        below = np.minimum(speed / x[0], 1.0) if x[0] > 0.0 else np.ones_like(speed)
        factor = weights * below * np.sin(angle)
        part = np.tensordot(factor, force, axes=(0, 0)) * 0.5 * (end - start)
        total = total + part
        start = float(end)
    rate: Array = 4.0 / (np.pi * peak_speed) * total
    return float(rate) if np.ndim(rate) == 0 else rate


def rebound_over_bump(*, rebound: Array, bump: Array) -> Array:
    """Rebound force over bump force at one speed, dimensionless. Same unit for both.

    Road dampers have about 2 to 3 at low speed (common practice). Source: definition.
    """
    return rebound / np.asarray(bump)
