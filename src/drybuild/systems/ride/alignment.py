"""Camber, toe and headlamps after a change of ride height.

Camber is − with the top of the wheel inwards; toe is per wheel and + with the front edge inwards.
"""

from __future__ import annotations

from typing import Any, Protocol

import numpy as np

from drybuild.values import Array


class AngleCurve(Protocol):
    """A drawn curve of angle (rad) against wheel travel (m); nan outside its points."""

    def at(self, xq: Any) -> Any:
        """Angle at a travel."""
        ...


def toe_angle(*, toe_length: Array, measured_over: Array) -> Array:
    """Toe as an angle, rad, from a difference of lengths: asin(toe / diameter).

    toe_length m, front minus rear distance counted + when the fronts are closer; measured_over m,
    the diameter at whose ends it was taken (often the rim flange). A toe in mm without that
    diameter says nothing: 2 mm at a 16 in rim and at a tyre's tread are different angles.
    Gives total toe for a total length, toe of one wheel for that of one. NaN outside ±diameter.
    Source: geometry, as in workshop practice.
    """
    ratio = np.asarray(toe_length) / measured_over
    with np.errstate(invalid="ignore"):
        angle: Array = np.arcsin(ratio)
    return angle


def angle_change(*, change: AngleCurve | Array, start: Array, end: Array) -> Array:
    """How a wheel angle (camber or toe) changes between two wheel travels, rad.

    change: a curve of the angle against wheel travel, measured by jacking the wheel with the
    spring out, or a plain change per travel (rad/m), taken as straight.
    start, end: wheel travel m, + in bump. NaN where the curve was not measured.
    Source: definition; the straight form is good for small moves only.
    """
    if hasattr(change, "at"):
        difference: Array = change.at(end) - change.at(start)
        return difference
    return change * (np.asarray(end) - start)


def angle_after(
    *, found: Array, change: Array, set_by: Array = 0.0, was_set_by: Array = 0.0
) -> Array:
    """A wheel angle after a change of height and of its adjuster, rad.

    found: angle measured before, with the adjuster at was_set_by; change: from `angle_change`;
    set_by: what the adjuster adds now. Source: sum of small angles.
    """
    return found + change + set_by - was_set_by


def reach_left(*, aim: Array, without: Array, range_each_way: Array) -> Array:
    """What an adjuster has left after reaching an aim, rad; below 0 it does not reach.

    aim: angle wanted; without: angle with the adjuster at its middle; range_each_way: what it
    can add either way. Source: arithmetic.
    """
    return range_each_way - np.abs(np.asarray(aim) - without)


def body_pitch(*, front_down: Array, rear_down: Array, wheelbase: Array) -> Array:
    """Pitch of the body from a change of height front and rear, rad; + with the nose up.

    front_down, rear_down: how far the body came down over each axle, m, tyres included;
    wheelbase m. Equal drops leave the headlamps where they were: only the difference counts.
    Source: geometry.
    """
    pitch: Array = np.arctan((np.asarray(rear_down) - front_down) / wheelbase)
    return pitch


def beam_fall(*, pitch: Array) -> Array:
    """Change of a headlamp beam's slope from body pitch: rise over distance, + up.

    pitch rad, nose up +. 0.01 is 10 cm at 10 m. Source: geometry; a slope in per cent as in
    UN Regulation 48.
    """
    slope: Array = np.tan(pitch)
    return slope
