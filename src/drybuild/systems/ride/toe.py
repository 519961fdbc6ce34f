"""Toe and caster by hand: strings, toe gauge, turn plates; thrust angle, set-back, cross values.

Toe is per wheel and + with the front edge inwards; camber − with the top inwards; caster + with
the axis leaning back. Angles rad, lengths m, shapes broadcast.
"""

from __future__ import annotations

import numpy as np

from drybuild.systems.ride import alignment
from drybuild.values import Array


def toe_length(*, toe: Array, measured_over: Array) -> Array:
    """Toe as a difference of lengths at a diameter, m: measured_over·sin(toe).

    toe rad of one wheel or in total; measured_over m, the diameter that must be said with it.
    Source: geometry; the inverse of `alignment.toe_angle`.
    """
    length: Array = measured_over * np.sin(toe)
    return length


def toe_by_string(*, front_gap: Array, rear_gap: Array, over: Array, lean: Array = 0.0) -> Array:
    """Toe of one wheel from its two gaps to a string outboard of it, rad.

    front_gap, rear_gap m from the string to the rim flange, over m between those places of the
    flange, lean rad of the string from the car's own line, as `string_lean`, + where it adds to
    this wheel (left +, right −). What is wrong with the rule leaves the difference alone; a rim
    that is bent does not: turn the wheel half a turn and take the mean.
    Source: geometry, string method of workshop practice.
    """
    return alignment.toe_angle(toe_length=front_gap - rear_gap, measured_over=over) + lean


def string_lean(
    *,
    front_left: Array,
    front_right: Array,
    rear_left: Array,
    rear_right: Array,
    wheelbase: Array,
) -> Array:
    """How far a pair of parallel strings leans against the car's own line, rad.

    Gaps m from the strings to the hub centres, wheelbase m. The car's line runs through the
    middles of both pairs of hubs. Add it to the toe of the left wheels, take it from the right.
    Source: geometry.
    """
    front = 0.5 * (front_right - np.asarray(front_left))
    rear = 0.5 * (rear_right - np.asarray(rear_left))
    lean: Array = np.arctan((front - rear) / wheelbase)
    return lean


def toe_by_gauge(*, front: Array, rear: Array, over: Array) -> Array:
    """Total toe of an axle from lengths across it, rad.

    front, rear m between the wheels before and behind the hubs, over m between those places along
    one wheel. What the tape or gauge reads wrong the same way falls out. It cannot tell the two
    wheels apart: with the steering centred each has half.
    Source: geometry, gauge method of workshop practice.
    """
    return alignment.toe_angle(toe_length=rear - np.asarray(front), measured_over=over)


def caster_by_plates(*, camber_in: Array, camber_out: Array, steer: Array) -> Array:
    """Caster from camber at two equal steering angles, rad.

    tan c = (tan γ_out − tan γ_in)/(2·sin δ).
    camber_in with the wheel's front turned inwards, camber_out outwards, steer rad of each as the
    plate shows it, above 0. An error of the gauge's zero falls out. At 20 deg the factor is 1.46,
    which gauges print as 1.5. Exact without kingpin inclination; with 12 deg of it and 1 deg of
    camber within 3 %. Source: rotation about a leaning axis, as gauge makers' sheets derive it.
    """
    change = np.tan(camber_out) - np.tan(camber_in)
    caster: Array = np.arctan(change / (2.0 * np.sin(steer)))
    return caster


def thrust_angle(*, left: Array, right: Array) -> Array:
    """Direction in which the rear wheels push, rad from the car's line, + to the right.

    left, right: toe of each rear wheel. Zero when they are alike, whatever their sum.
    Source: definition: half the difference.
    """
    return 0.5 * (left - np.asarray(right))


def total_toe(*, left: Array, right: Array) -> Array:
    """Toe of both wheels of an axle together, rad. Source: definition."""
    return left + right


def set_back(*, left: Array, right: Array, track_width: Array) -> Array:
    """Angle by which the front axle's line is out of square with the rear's, rad.

    left, right: wheelbase m of each side; track_width m. + when the right front wheel stands
    further back. It holds the skew of either axle: strings tell which. Source: geometry.
    """
    angle: Array = np.arctan((left - np.asarray(right)) / track_width)
    return angle


def cross(*, left: Array, right: Array) -> Array:
    """Cross-camber or cross-caster, rad: left less right. Source: definition."""
    return left - np.asarray(right)


def caster_with_pitch(*, found: Array, pitch: Array, set_by: Array = 0.0) -> Array:
    """Caster after the body pitched and the adjuster was moved, rad.

    found as measured, pitch rad with the nose up +, set_by what the adjuster adds now less then.
    Nose up leans the axis further back. What the linkage adds over its own travel is left out.
    Source: rotation of the body about the transverse axis.
    """
    return found + pitch + set_by
