"""Twist beam: two trailing arms joined by a beam that twists but does not bend.

Both wheels together turn about the line through the two front bushes. In roll each side turns
about the line from its own bush to the beam's shear centre in the middle of the car, as a
semi-trailing arm would. Both together are the pose.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybuild.systems.ride.kinematics.linkage import Floats, Point, cross, dot, unit
from drybuild.systems.ride.kinematics.motion import Motion, column
from drybuild.systems.ride.kinematics.solve import SETTLED, TRIES
from drybuild.values import Array


@dataclass(frozen=True)
class BeamMotion:
    """One side of a twist beam. `heave`: rates per travel of both wheels alike; `roll_velocity`,
    `roll_spin`: per travel of this wheel with the other going the other way."""

    heave: Motion
    roll_velocity: Floats  # (3, K, S, N)
    roll_spin: Floats


def twist_beam_motion(
    *,
    pivot: Point,
    shear_centre: Point,
    wheel_centre: Point,
    travel: Array,
    roll_travel: Array = 0.0,
) -> BeamMotion:
    """Poses of this side's wheel of a twist beam over both wheels' travel × roll.

    pivot: front bush of this side; shear_centre: of the beam's section, in the middle of the car
    (y = 0); wheel_centre: all m, as drawn, (3,) or (3, N). travel (K,): mean of both wheels, m;
    roll_travel (S,): this wheel's travel beyond the mean, the other's below it, m.
    Errors: heights that are not reached are NaN. Validity: the beam gives in twist alone, bushes
    are ball joints, both sides alike. Source: equivalent semi-trailing arm of a twist beam;
    Matschinsky, Road Vehicle Suspensions (from memory); Newton's method on both heights.
    """
    points = np.stack(
        np.broadcast_arrays(column(pivot), column(shear_centre), column(wheel_centre))
    )
    mean = np.atleast_1d(np.asarray(travel, dtype=float))[:, None, None]
    roll = np.atleast_1d(np.asarray(roll_travel, dtype=float))[None, :, None]
    draws = points.shape[2]
    shape = (mean.shape[0], roll.shape[1], draws)
    reach = (points[2] - points[0])[:, None, None]
    hinge = unit(points[1] - points[0])[:, None, None]
    across = np.array([0.0, 1.0, 0.0])[:, None, None, None]
    wanted = np.broadcast_to(mean + roll, shape), np.broadcast_to(mean - roll, shape)
    swing, twist = np.zeros(shape), np.zeros(shape)
    with np.errstate(all="ignore"):
        for _ in range(TRIES):
            axis = _about(hinge, across, swing)
            level = _about(reach, across, swing)
            arms = _about(level, axis, twist), _about(level, axis, -twist)
            misses = [w - (a - reach)[2] for w, a in zip(wanted, arms, strict=True)]
            matrix = _matrix(arms, axis, across)
            det = matrix[0] * matrix[3] - matrix[1] * matrix[2]
            turns = (
                (misses[0] * matrix[3] - misses[1] * matrix[1]) / det,
                (misses[1] * matrix[0] - misses[0] * matrix[2]) / det,
            )
            swing, twist = swing + turns[0], twist + turns[1]
            move = np.maximum(np.abs(turns[0]), np.abs(turns[1]))
            if not np.any(move > SETTLED):
                break
        bad = ~(move <= SETTLED)
        swing, twist = np.where(bad, np.nan, swing), np.where(bad, np.nan, twist)
        axis = _about(hinge, across, swing)
        level = _about(reach, across, swing)
        arms = _about(level, axis, twist), _about(level, axis, -twist)
        matrix = _matrix(arms, axis, across)
        det = matrix[0] * matrix[3] - matrix[1] * matrix[2]

        def rates(left: float, right: float) -> Floats:
            """Spin of this side for heights of both wheels that change so."""
            return across * ((left * matrix[3] - right * matrix[1]) / det) + axis * (
                (right * matrix[0] - left * matrix[2]) / det
            )

        spin, roll_spin = rates(1.0, 1.0), rates(1.0, -1.0)
    columns = [_about(_about(np.eye(3)[:, i, None, None, None], across, swing), axis, twist)
               for i in range(3)]  # fmt: skip
    motion = Motion(
        travel=mean + roll,
        steer=np.zeros(roll.shape[1]),
        drawn=points[2],
        centre=points[0][:, None, None] + arms[0],
        turn=np.stack(columns, axis=1),
        velocity=cross(spin, arms[0]),
        spin=spin,
    )
    return BeamMotion(motion, cross(roll_spin, arms[0]), roll_spin)


def _matrix(
    arms: tuple[Floats, Floats], axis: Floats, across: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """How both heights change with swing and twist; the other side is the mirror image."""
    return (
        cross(across, arms[0])[2], cross(axis, arms[0])[2],
        cross(across, arms[1])[2], -cross(axis, arms[1])[2],
    )  # fmt: skip


def _about(vector: Floats, axis: Floats, angle: Floats) -> Floats:
    """A vector turned about a unit axis. Source: Rodrigues' formula."""
    cosine = np.cos(angle)
    turned: Floats = (
        vector * cosine
        + cross(axis, vector) * np.sin(angle)
        + axis * (dot(axis, vector) * (1.0 - cosine))
    )
    return turned
