"""How the upright moves at each solved pose: its rates per wheel travel and per rack travel.

Everything that a corner does (motion ratio, roll centre, anti-dive, bump steer) follows from
these two twists and the pose.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drybuild.systems.ride.kinematics.elimination import eliminate, pivot_order
from drybuild.systems.ride.kinematics.linkage import LINKS, Floats, Linkage, Point, cross, dot
from drybuild.systems.ride.kinematics.solve import Poses, solve_poses, turn_matrix
from drybuild.values import Array


@dataclass(frozen=True)
class Motion:
    """Poses of an upright and their rates; arrays (3, K, S, N), turn (3, 3, K, S, N).

    velocity, spin: of the wheel centre (m/m) and of the upright (rad/m) per wheel travel;
    steer_velocity, steer_spin: per movement of the rack with the wheel centre's height held;
    None without a rack or where the axle has none.
    """

    travel: Floats  # (K, S or 1, N or 1) m
    steer: Floats  # (S,) m
    drawn: Floats  # (3, N) wheel centre as drawn
    centre: Floats
    turn: Floats
    velocity: Floats
    spin: Floats
    steer_velocity: Floats | None = None
    steer_spin: Floats | None = None

    def at(self, arm: Floats) -> Floats:
        """Where a point of the upright is; arm (3, N) from the wheel centre as drawn."""
        return self.centre + self.turned(arm)

    def turned(self, vector: Floats) -> Floats:
        """A vector of the upright, (3, N), as it now points."""
        shaped = vector[:, None, None]
        return np.stack([dot(row, shaped) for row in self.turn])

    def speed_of(self, point: Floats) -> Floats:
        """Velocity per wheel travel of the upright's material at a point in space."""
        return self.velocity + cross(self.spin, point - self.centre)

    def steer_speed_of(self, point: Floats) -> Floats:
        """The same per movement of the rack."""
        if self.steer_velocity is None or self.steer_spin is None:
            raise ValueError("nothing steers this corner")
        return self.steer_velocity + cross(self.steer_spin, point - self.centre)


def rack_shift(*, linkage: Linkage, steer: Floats) -> Floats:
    """How far the rack carries each link's body end, m, (3, 5, S), at movements `steer` (S,), m."""
    shift = np.zeros((3, LINKS, len(steer)))
    if linkage.steer_row is not None:
        shift[:, linkage.steer_row] = np.asarray(linkage.steer_direction)[:, None] * steer
    return shift


def motion_of_linkage(*, linkage: Linkage, travel: Array, steer: Array = 0.0) -> Motion:
    """Solves a corner of links and gives its poses with exact rates.

    travel, steer as in `solve_poses`. The rates come from one more elimination at the solved pose,
    with the rack's equation as a second right-hand side.
    Errors: unsolved poses are NaN in every array. Source: velocity analysis, first derivatives of
    the constraints.
    """
    poses = solve_poses(linkage=linkage, travel=travel, steer=steer)
    turn = turn_matrix(gibbs=poses.gibbs)
    rates = _rates(linkage, poses, turn)
    steers = linkage.steer_row is not None
    return Motion(
        travel=poses.travel,
        steer=poses.steer,
        drawn=linkage.centre,
        centre=poses.centre,
        turn=turn,
        velocity=rates[0:3],
        spin=rates[3:6],
        steer_velocity=rates[6:9] if steers else None,
        steer_spin=rates[9:12] if steers else None,
    )


def _rates(linkage: Linkage, poses: Poses, turn: Floats) -> Floats:
    """Both twists at each pose, (12, K, S, N), station by station."""
    stations, turns, draws = poses.centre.shape[1:]
    out = np.empty((12, stations, turns, draws))
    anchor = linkage.anchor[:, :, None] + rack_shift(linkage=linkage, steer=poses.steer)[..., None]
    kappa = np.array(linkage.is_link, dtype=float)[:, None, None]
    system = np.empty((LINKS, LINKS + 2, turns, draws))
    flat = system.reshape(LINKS, LINKS + 2, -1)
    spare = np.empty((LINKS - 1, LINKS + 1, flat.shape[2]))
    along = np.asarray(linkage.steer_direction)
    with np.errstate(all="ignore"):
        for station in range(stations):
            here = turn[:, :, station]
            arm = np.stack(
                [sum(here[i, j] * linkage.arm[j][:, None] for j in range(3)) for i in range(3)]
            )
            away = poses.centre[:, None, station] - anchor
            force = arm + kappa * away
            moment = cross(arm, away)
            system[:, 0:2] = np.moveaxis(force[:2], 0, 1)
            system[:, 2:5] = np.moveaxis(moment, 0, 1)
            system[:, 5] = -force[2]
            system[:, 6] = 0.0
            if linkage.steer_row is not None:
                row = linkage.steer_row
                system[row, 6] = sum(along[i] * force[i, row] for i in range(3))
            rows, columns = _station_order(flat)
            picked = [*columns, LINKS, LINKS + 1]
            answer = eliminate(system=flat[rows][:, picked], spare=spare)
            answer = answer[[columns.index(i) for i in range(LINKS)]]
            for number, twist in enumerate((answer[:, 0], answer[:, 1])):
                twist = twist.reshape(LINKS, turns, draws)
                base = 6 * number
                out[base : base + 2, station] = twist[:2]
                # the wheel centre rises by exactly the travel, and not with the rack
                out[base + 2, station] = 1.0 - number
                out[base + 3 : base + 6, station] = twist[2:]
        out[:, ~np.isfinite(poses.centre[0])] = np.nan
    return out


def _station_order(flat: Floats) -> tuple[list[int], list[int]]:
    """Order of elimination by the first solved pose of a station."""
    good = np.flatnonzero(np.all(np.isfinite(flat[:, :LINKS]), axis=(0, 1)))
    if not len(good):
        return list(range(LINKS)), list(range(LINKS))
    matrix = np.array(flat[:, :LINKS, good[0]])
    matrix[:, 2:] /= 0.2
    return pivot_order(typical=matrix / np.max(np.abs(matrix), axis=1, keepdims=True))


def motion_of_arm(
    *, pivot_inner: Point, pivot_outer: Point, wheel_centre: Point, travel: Array
) -> Motion:
    """A corner that turns about one line: trailing arm, semi-trailing arm, swing axle.

    pivot_inner, pivot_outer: two points of that line, m, (3,) or (3, N); wheel_centre m, as drawn;
    travel (K,) or (K, N), m. Closed form: the wheel centre goes round a circle.
    Errors: a height that the circle does not reach is NaN. Source: geometry.
    """
    points = np.stack(
        np.broadcast_arrays(*[column(pivot_inner), column(pivot_outer), column(wheel_centre)])
    )
    heights = np.asarray(travel, dtype=float)
    heights = heights.reshape(len(heights) if heights.ndim else 1, -1)[:, None]
    origin, centre = points[0], points[2]
    along = points[1] - origin
    along = along / np.sqrt(dot(along, along))
    reach = centre - origin
    hub = origin + along * dot(along, reach)
    radius = centre - hub
    across = cross(along, radius)
    with np.errstate(all="ignore"):
        size = np.hypot(radius[2], across[2])
        phase = np.arctan2(across[2], radius[2])
        turned = phase - np.sign(phase) * np.arccos((centre[2] + heights - hub[2]) / size)
        turned, _ = np.broadcast_arrays(turned, np.zeros((len(heights), 1, centre.shape[1])))
        cosine, sine = np.cos(turned), np.sin(turned)
        shaped = [vector[:, None, None] for vector in (hub, radius, across, along, origin)]
        now = shaped[0] + shaped[1] * cosine + shaped[2] * sine
        rate = 1.0 / (shaped[2][2] * cosine - shaped[1][2] * sine)
        spin = shaped[3] * rate
        turn = turn_matrix(gibbs=shaped[3] * np.tan(0.5 * turned))
    return Motion(
        travel=heights,
        steer=np.zeros(1),
        drawn=centre,
        centre=now,
        turn=turn,
        velocity=cross(spin, now - shaped[4]),
        spin=spin,
    )


def column(point: Point) -> Floats:
    """A point as (3, N)."""
    return np.atleast_2d(np.asarray(point, dtype=float).T).T
