"""How the body moves on its springs: frequency and damping."""

from __future__ import annotations

import numpy as np

from drybuild.values import Array


def natural_frequency(*, rate: Array, mass: Array) -> Array:
    """Frequency of a mass on a spring, Hz: sqrt(k/m)/2π.

    rate in N/m and mass in kg, both above 0. For a car's corner the mass is the sprung mass and
    the rate that of spring at the wheel and tyre in series. Source: Gillespie, ch. 5.
    """
    frequency: Array = np.sqrt(rate / np.asarray(mass)) / (2.0 * np.pi)
    return frequency


def wheel_damping(*, bump: Array, rebound: Array, motion_ratio: Array) -> Array:
    """Damper rate felt at the wheel, N·s/m: mean of bump and rebound times MR².

    bump, rebound: slopes of the damper's force against shaft speed at low speed, N·s/m;
    motion_ratio is damper travel over wheel travel. Source: virtual work.
    """
    return 0.5 * (bump + rebound) * np.asarray(motion_ratio) ** 2


def damping_ratio(*, wheel_damping_rate: Array, rate: Array, mass: Array) -> Array:
    """Damping over critical damping of a sprung corner, dimensionless: c/(2·sqrt(k·m)).

    wheel_damping_rate N·s/m at the wheel, rate N/m of the spring at the wheel, mass kg sprung.
    The tyre is left out: the damper works across the suspension alone.
    Source: vibration textbooks; Gillespie, ch. 5.
    """
    ratio: Array = np.asarray(wheel_damping_rate) / (2.0 * np.sqrt(rate * np.asarray(mass)))
    return ratio
