"""Live axle: four links, or three and a Panhard rod or Watts linkage, or leaf springs.

Axes: x forward, y to the left from the middle of the car, z up; metres. The body stands still.
The axle is one rigid body; its wheels' heights are given and its links place the rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drybuild.systems.ride.kinematics.elimination import eliminate, pivot_order
from drybuild.systems.ride.kinematics.linkage import Floats, Point, as_points, cross, dot
from drybuild.systems.ride.kinematics.motion import column
from drybuild.systems.ride.kinematics.solve import SETTLED, TRIES, turn_matrix
from drybuild.values import Array

STRIDE = 0.02


@dataclass(frozen=True)
class Watts:
    """A Watts linkage: a crank that turns about a pivot, and a link from each of its ends.

    Points as drawn, m. pivot_on_axle: the crank sits on the axle and the links go to the body, or
    the other way round. The crank turns about a line along x, as drawn, on what carries it.
    """

    pivot: Point
    first_end: Point
    first_far: Point
    second_end: Point
    second_far: Point
    pivot_on_axle: bool = True


@dataclass(frozen=True)
class AxleMotion:
    """Poses of a live axle, (3, K, S, N), with rates per travel of both wheels alike and per roll
    travel (left wheel up, right wheel down by as much)."""

    drawn: Floats  # (3, N) middle between the wheel centres
    half_line: Floats  # (3, N) from there to the left wheel centre, as drawn
    centre: Floats
    turn: Floats  # (3, 3, K, S, N)
    heave_velocity: Floats
    heave_spin: Floats
    roll_velocity: Floats
    roll_spin: Floats
    crank: Floats  # rad, turn of a Watts crank; 0 without one


def leaf_link(*, eye: Point, seat: Point, eye_offset: Array = 0.0) -> tuple[Floats, Floats]:
    """Equivalent link of the fixed half of a leaf spring: (body end, axle end), m, (3, N).

    eye: centre of the fixed eye; seat: middle of the main leaf at the axle's clamp; eye_offset: how
    far the eye's centre is above the middle of the main leaf, m. The link is three quarters of the
    free half leaf. Validity: a leaf near flat, evenly stressed along its half; clamp length apart.
    Source: beam bent to an even curve; SAE Spring Design Manual (from memory).
    """
    points = as_points([eye, seat])
    body, axle = points[:, 0].copy(), points[:, 1].copy()
    body[:2] -= 0.25 * (body - axle)[:2]
    # a curled eye swings with the leaf's tip, which acts as a pivot half as far again above it
    body[2] += 0.5 * np.asarray(eye_offset)
    return body, axle


def panhard_shift(*, length: Array, rise: Array, travel: Array) -> Array:
    """How far a Panhard rod carries the axle towards its body end, m, seen from behind.

    length m of the rod; rise: axle end above body end as drawn, m; travel m of the axle end, + up.
    NaN beyond the rod's reach. Validity: rod across the car, axle end moving in that plane.
    Source: geometry.
    """
    with np.errstate(invalid="ignore"):
        shift: Array = np.sqrt(np.asarray(length) ** 2 - np.asarray(rise) ** 2) - np.sqrt(
            np.asarray(length) ** 2 - (np.asarray(rise) + travel) ** 2
        )
    return shift


class _Rows:
    """The equations of an axle: links, a sideways guide, a Watts linkage, then both heights."""

    def __init__(
        self,
        inner: Floats,
        outer: Floats,
        wheels: Floats,
        watts: Watts | None,
        guided: bool,
    ) -> None:
        self.drawn = 0.5 * (wheels[:, 0] + wheels[:, 1])
        self.arms = outer - self.drawn[:, None]
        self.inner = inner
        between = outer - inner
        self.squares = dot(between, between)
        self.wheels = wheels - self.drawn[:, None]
        self.guided = guided
        self.watts = None if watts is None else _crank(watts, self.drawn)
        self.on_axle = watts is None or watts.pivot_on_axle
        self.unknowns = 6 if watts is None else 7

    def at(
        self, centre: Floats, turn: Floats, crank: Floats, heights: tuple[Floats, Floats]
    ) -> tuple[Floats, Floats]:
        """Matrix (n, n, P) and what is left over (n, P)."""
        count, many = self.unknowns, centre.shape[1]
        matrix, left = np.zeros((count, count, many)), np.zeros((count, many))
        row = 0
        for number in range(self.arms.shape[1]):
            arm = _turned(turn, self.arms[:, number])
            rod = centre + arm - self.inner[:, number]
            self._link(matrix, left, row, arm, rod, self.squares[number])
            row += 1
        if self.guided:
            matrix[row, 1] = 1.0
            left[row] = centre[1] - self.drawn[1]
            row += 1
        if self.watts is not None:
            for end, far, square in self.watts[1]:
                swung = _about_x(end, crank)
                tangent = np.stack([np.zeros(many), -swung[2], swung[1]])
                if self.on_axle:
                    arm = _turned(turn, self.watts[0] + swung)
                    rod, pull = centre + arm - far, _turned(turn, tangent)
                else:
                    arm = _turned(turn, far)
                    rod, pull = centre + arm - (self.watts[0] + swung), -tangent
                self._link(matrix, left, row, arm, rod, square)
                matrix[row, 6] = dot(rod, pull)
                row += 1
        for side, height in enumerate(heights):
            arm = _turned(turn, self.wheels[:, side])
            matrix[row, 2] = 1.0
            matrix[row, 3], matrix[row, 4] = arm[1], -arm[0]
            left[row] = centre[2] + arm[2] - height
            row += 1
        return matrix, left

    @staticmethod
    def _link(
        matrix: Floats, left: Floats, row: int, arm: Floats, rod: Floats, square: Floats
    ) -> None:
        matrix[row, 0:3] = rod
        matrix[row, 3:6] = cross(arm, rod)
        left[row] = 0.5 * (dot(rod, rod) - square)


Crank = tuple[Floats, tuple[tuple[Floats, Floats, Floats], ...]]


def _crank(watts: Watts, drawn: Floats) -> Crank:
    """Pivot, and for each end: from the pivot, its link's far joint, the link's length squared."""
    points = as_points(
        [watts.pivot, watts.first_end, watts.first_far, watts.second_end, watts.second_far]
    )
    pivot = points[:, 0]
    ends = []
    for end, far in ((points[:, 1], points[:, 2]), (points[:, 3], points[:, 4])):
        between = end - far
        ends.append(
            (end - pivot, far if watts.pivot_on_axle else far - drawn, dot(between, between))
        )
    return pivot - drawn if watts.pivot_on_axle else pivot, tuple(ends)


def _turned(turn: Floats, vector: Floats) -> Floats:
    return np.stack([dot(row, vector) for row in turn])


def _about_x(vector: Floats, angle: Floats) -> Floats:
    cosine, sine = np.cos(angle), np.sin(angle)
    along = np.broadcast_to(vector[0], cosine.shape)
    return np.stack([along, vector[1] * cosine - vector[2] * sine,
                     vector[1] * sine + vector[2] * cosine])  # fmt: skip


def live_axle_motion(
    *,
    inner: Sequence[Point],
    outer: Sequence[Point],
    left_wheel: Point,
    right_wheel: Point,
    travel: Array,
    roll_travel: Array = 0.0,
    watts: Watts | None = None,
    guided: bool = False,
) -> AxleMotion:
    """Poses of a live axle over travel × roll × draws.

    inner, outer: ends of its links on the body and on the axle, m, as drawn; a Panhard rod is one
    of them. Links, a Watts linkage (counts once) and a sideways guide (`guided`, for leaf springs
    that are stiff to the side: counts once) make four. left_wheel, right_wheel: wheel centres, m.
    travel (K,): mean of both wheels, m; roll_travel (S,): left wheel above the mean, right below.
    Errors: any other count is refused; what is not reached is NaN.
    Validity: rigid axle and links, ball joints without give.
    Source: Newton's method on the constraints.
    """
    if len(inner) != len(outer):
        raise ValueError("each link has two ends")
    if len(inner) + (watts is not None) + guided != 4:
        raise ValueError("a live axle is held by four: links, a Watts linkage, a sideways guide")
    extra = [] if watts is None else [watts.pivot, watts.first_end, watts.first_far,
                                      watts.second_end, watts.second_far]  # fmt: skip
    points = as_points([*inner, *outer, left_wheel, right_wheel, *extra])
    many = len(inner)
    mean = np.atleast_1d(np.asarray(travel, dtype=float))
    roll = np.atleast_1d(np.asarray(roll_travel, dtype=float))
    shape = (len(mean), len(roll), points.shape[2])
    flat = np.ascontiguousarray(
        np.broadcast_to(points[:, :, None, None], (3, points.shape[1], *shape))
    ).reshape(3, points.shape[1], -1)
    if watts is not None:
        five = [flat[:, -5 + number] for number in range(5)]
        watts = Watts(five[0], five[1], five[2], five[3], five[4], watts.pivot_on_axle)
    rows = _Rows(
        flat[:, :many], flat[:, many : 2 * many], flat[:, 2 * many : 2 * many + 2], watts, guided
    )
    heave = np.broadcast_to(mean[:, None, None], shape).reshape(-1)
    sway = np.broadcast_to(roll[None, :, None], shape).reshape(-1)
    with np.errstate(all="ignore"):
        centre, gibbs, crank = _march_axle(rows, heave, sway)
        turn = turn_matrix(gibbs=gibbs)
        matrix, _ = rows.at(centre, turn, crank, (heave, heave))
        twists = _twists(rows, matrix)

    def shaped(array: Floats) -> Floats:
        return array.reshape(*array.shape[:-1], *shape)

    half = points[:, 2 * many] - points[:, 2 * many + 1]
    return AxleMotion(
        drawn=0.5 * (points[:, 2 * many] + points[:, 2 * many + 1]),
        half_line=0.5 * half,
        centre=shaped(centre),
        turn=shaped(turn),
        heave_velocity=shaped(twists[0][:3]),
        heave_spin=shaped(twists[0][3:6]),
        roll_velocity=shaped(twists[1][:3]),
        roll_spin=shaped(twists[1][3:6]),
        crank=shaped(crank),
    )


def _march_axle(rows: _Rows, heave: Floats, sway: Floats) -> tuple[Floats, Floats, Floats]:
    """From the drawn position to all poses at once, in equal strides."""
    base = [rows.drawn[2] + rows.wheels[2, side] for side in (0, 1)]
    strides = max(1, int(np.ceil(float(np.max(np.abs(heave) + np.abs(sway))) / STRIDE)))
    centre, gibbs = np.array(rows.drawn), np.zeros_like(rows.drawn)
    crank = np.zeros(centre.shape[1])
    before = now = np.concatenate([centre, gibbs, crank[None]])
    for number in range(1, strides + 1):
        share = number / strides
        heights = base[0] + share * (heave + sway), base[1] + share * (heave - sway)
        ahead = 2.0 * now - before if number > 1 else now
        before = now
        centre, gibbs, crank = np.array(ahead[:3]), np.array(ahead[3:6]), np.array(ahead[6])
        move = np.full(len(crank), np.inf)
        for _ in range(TRIES):
            matrix, left = rows.at(centre, turn_matrix(gibbs=gibbs), crank, heights)
            answer = _solved(matrix, -left[:, None])[:, 0]
            centre += answer[:3]
            spin = answer[3:6]
            gibbs += 0.5 * (spin + cross(spin, gibbs) + gibbs * dot(gibbs, spin))
            if rows.watts is not None:
                crank += answer[6]
            move = np.max(np.abs(answer), axis=0)
            if not np.any(move > SETTLED):
                break
        bad = ~(move <= SETTLED)
        now = np.concatenate([centre, gibbs, crank[None]])
        now[:, bad] = np.nan
    return now[:3], now[3:6], now[6]


def _solved(matrix: Floats, right: Floats) -> Floats:
    """Solutions (n, m, P) of matrix (n, n, P) with right-hand sides (n, m, P)."""
    good = np.flatnonzero(np.all(np.isfinite(matrix), axis=(0, 1)))
    typical = np.array(matrix[:, :, good[0]]) if len(good) else np.eye(len(matrix))
    typical[:, 3:6] /= 0.3
    rows, columns = pivot_order(typical=typical / np.max(np.abs(typical), axis=1, keepdims=True))
    system = np.concatenate([matrix[rows][:, columns], right[rows]], axis=1)
    answer = eliminate(system=system, spare=np.empty_like(system))
    return answer[[columns.index(i) for i in range(len(matrix))]]


def _twists(rows: _Rows, matrix: Floats) -> list[Floats]:
    """Rates of centre, turn and crank for both wheels alike and for roll, (n, P) each."""
    right = np.zeros((rows.unknowns, 2, matrix.shape[2]))
    right[-2, 0] = right[-1, 0] = right[-2, 1] = 1.0
    right[-1, 1] = -1.0
    answer = _solved(matrix, right)
    return [answer[:, 0], answer[:, 1]]


@dataclass(frozen=True)
class AxleCurves:
    """Curves of a live axle, (K, S, N)."""

    sideways: Floats  # m, middle of the axle to the left
    steer: Floats  # rad, + to the left
    steer_per_roll: Floats  # roll steer: rad/rad of roll between axle and body, + to the left
    nose: Floats  # rad, turn of the axle about its wheels, + with the pinion up
    roll_centre_height: Floats  # m above the ground
    contact_slope: Floats  # forward per up at the contact, both wheels alike: drive and brakes


def axle_curves(*, motion: AxleMotion, loaded_radius: Array) -> AxleCurves:
    """Curves of a live axle from its motion.

    loaded_radius m. The roll centre is where the axle, rolling, has no sideways speed in its own
    cross plane; the ground lies under the middle of the axle.
    Errors: NaN where unsolved. Source: velocity analysis; definitions.
    """
    line = np.stack([dot(row, motion.half_line[:, None, None]) for row in motion.turn])
    forward = motion.turn[:, 0]
    down = np.zeros_like(motion.centre)
    down[2] = -np.asarray(loaded_radius)
    contact = motion.heave_velocity + cross(motion.heave_spin, down)
    with np.errstate(all="ignore"):
        roll_centre = motion.roll_velocity[1] / motion.roll_spin[0] + loaded_radius
        per_roll = motion.roll_spin[2] / motion.roll_spin[0]
        slope = contact[0] / contact[2]
    return AxleCurves(
        sideways=motion.centre[1] - column(motion.drawn)[1],
        steer=np.arctan2(-line[0], line[1]) - np.arctan2(-motion.half_line[0], motion.half_line[1]),
        steer_per_roll=per_roll,
        nose=np.arcsin(np.clip(forward[2], -1.0, 1.0)),
        roll_centre_height=roll_centre,
        contact_slope=slope,
    )
