"""Gears, tyre and road speed. Plain functions in SI units; arguments broadcast."""

from __future__ import annotations

import numpy as np

from drybuild.values import Array


def turns_per_metre(*, rolling_radius: Array) -> Array:
    """Turns of a wheel per metre of road, 1/m. rolling_radius: m, not the free one.

    Source: geometry.
    """
    return 1 / (2 * np.pi * rolling_radius)


def road_speed(
    *, rotation_speed: Array, gear_ratio: Array, final_ratio: Array, rolling_radius: Array
) -> Array:
    """Road speed, m/s, without slip.

    rotation_speed: of the engine, rad/s. gear_ratio, final_ratio: engine turns over output turns,
    1. rolling_radius: of the driven tyres, m; the free radius makes it 2 to 4 % too fast.
    Source: geometry.
    """
    return rotation_speed / (gear_ratio * final_ratio) * rolling_radius


def engine_speed(
    *, speed: Array, gear_ratio: Array, final_ratio: Array, rolling_radius: Array
) -> Array:
    """Speed of the engine at a road speed, rad/s; clutch shut, no slip. See ``road_speed``."""
    return speed / rolling_radius * gear_ratio * final_ratio


def speed_ratio(*, turns_new: Array, turns_old: Array, correction: Array = 1.0) -> Array:
    """Signal of the speed sensor now over as found, at one true speed, 1.

    turns_new, turns_old: wheel turns per metre, 1/m. correction: what a changed setting of the
    instrument multiplies the reading by. Below 1 the speed shown falls. This is the change only:
    the instrument's own error stands beside it.
    Source: geometry; UN R39 judges the sum of both.
    """
    return turns_new / turns_old * correction


def indicated_speed(
    *, true_speed: Array, original_indicated: Array, original_true: Array, ratio: Array
) -> Array:
    """Speed that the instrument shows now, m/s.

    true_speed: m/s. original_indicated: shown as found when the true speed by a reference was
    original_true, m/s; the error is taken as proportional. ratio: from ``speed_ratio``.
    Source: geometry; the proportional error holds near the speed of the reading.
    """
    return true_speed * original_indicated / original_true * ratio
