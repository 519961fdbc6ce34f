"""Springs, bars, joints, steering axis and adjusters held to independent geometry.

All hardpoints are invented. Rotations are SciPy's.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from scipy.optimize import brentq, least_squares
from scipy.spatial.transform import Rotation

from drybuild.systems.ride.kinematics import (
    adjust,
    carried,
    curves,
    linkage,
    motion,
    wheel,
)

Against = Callable[..., None]
Floats = npt.NDArray[np.float64]
ROOM = "drybuild.systems.ride.kinematics."
EXACT = 1e-9
# Fourth-order differences over 1 mm: the step's fourth power, with rounding.
SLOPE = 1e-7
STEP = 1e-3
WEIGHTS = np.array([1.0, -8.0, 0.0, 8.0, -1.0]) / (12 * STEP)

POINTS: dict[str, tuple[float, float, float]] = {
    "lower_front": (0.16, 0.35, 0.195),
    "lower_rear": (-0.21, 0.36, 0.205),
    "lower_outer": (0.012, 0.70, 0.185),
    "upper_front": (0.11, 0.42, 0.455),
    "upper_rear": (-0.17, 0.43, 0.445),
    "upper_outer": (-0.021, 0.655, 0.47),
    "tie_inner": (0.13, 0.365, 0.245),
    "tie_outer": (0.135, 0.68, 0.24),
    "wheel_centre": (0.0, 0.74, 0.30),
}
FOOT, TOP = (0.0, 0.56, 0.205), (-0.03, 0.45, 0.62)
BUILT = linkage.double_wishbone(**POINTS)
NEAR = 0.05 + STEP * np.arange(-2, 3)


def circle_of(front: Any, rear: Any, outer: Any, point: Any, now: Floats) -> Floats:
    """Where a point of a wishbone goes when its outer joint goes to `now`: one turn by SciPy."""
    front, rear, outer, point = (np.array(p, float) for p in (front, rear, outer, point))
    along = (rear - front) / np.linalg.norm(rear - front)

    def miss(angle: float) -> float:
        moved = front + Rotation.from_rotvec(angle * along).apply(outer - front)
        flat = np.cross(along, moved - front)
        return float(flat @ (now - front))

    angle = brentq(miss, -0.6, 0.6, xtol=1e-15, rtol=1e-15)
    moved: Floats = front + Rotation.from_rotvec(angle * along).apply(point - front)
    return moved


@pytest.mark.cross_model
def test_spring_on_a_wishbone(against: Against) -> None:
    found = motion.motion_of_linkage(linkage=BUILT, travel=NEAR)
    foot = carried.carrier(linkage=BUILT, point=FOOT, rows=(0, 1))
    point, speed = carried.carried_point(linkage=BUILT, motion=found, carried=foot)
    joint = found.at(BUILT.arm[:, 0])[:, :, 0, 0]
    ends = POINTS["lower_front"], POINTS["lower_rear"], POINTS["lower_outer"]
    expected = np.stack([circle_of(*ends, FOOT, joint[:, k]) for k in range(5)], axis=1)
    source = "one turn about the hinge line by scipy Rotation"
    against(
        ROOM + "carried.carrier",
        got=point[:, :, 0, 0],
        expected=expected,
        abs=1e-12,
        source=source,
        note="spring foot on a lower wishbone, m",
    )
    against(
        ROOM + "carried.carried_point",
        got=speed[:, 2, 0, 0],
        expected=expected @ WEIGHTS,
        abs=SLOPE,
        source=source,
        note="velocity per wheel travel, by differences",
    )
    lengths, ratio = carried.length_and_ratio(body_end=TOP, point=point, velocity=speed)
    wanted = np.linalg.norm(expected - np.array(TOP)[:, None], axis=0)
    against(
        ROOM + "carried.length_and_ratio",
        got=lengths[:, 0, 0],
        expected=wanted,
        rel=EXACT,
        source=source,
    )
    against(
        ROOM + "carried.length_and_ratio",
        got=ratio[2, 0, 0],
        expected=-(wanted @ WEIGHTS),
        abs=SLOPE,
        source=source,
        note="motion ratio by differences of the length",
    )


@pytest.mark.cross_model
def test_point_on_a_single_link(against: Against) -> None:
    """Its place turns by the shortest turn of the link; the rate by differences."""
    found = motion.motion_of_linkage(linkage=BUILT, travel=NEAR, steer=0.01)
    rides = carried.carrier(linkage=BUILT, point=(0.13, 0.5, 0.21), rows=(4,))
    point, speed = carried.carried_point(linkage=BUILT, motion=found, carried=rides)
    inner = np.add(POINTS["tie_inner"], (0.0, 0.01, 0.0))
    drawn = np.array(POINTS["tie_outer"]) - POINTS["tie_inner"]
    expected = []
    for k in range(5):
        now = found.at(BUILT.arm[:, 4])[:, k, 0, 0] - inner
        turn = np.cross(drawn, now)
        size = math.atan2(float(np.linalg.norm(turn)), float(drawn @ now))
        shortest = Rotation.from_rotvec(turn / np.linalg.norm(turn) * size)
        expected.append(inner + shortest.apply(np.subtract((0.13, 0.5, 0.21), POINTS["tie_inner"])))
    want = np.array(expected).T
    source = "shortest turn between two directions by scipy Rotation"
    against(
        ROOM + "carried.carried_point",
        got=point[:, :, 0, 0],
        expected=want,
        abs=1e-12,
        source=source,
    )
    against(
        ROOM + "carried.carried_point",
        got=speed[:, 2, 0, 0],
        expected=want @ WEIGHTS,
        abs=SLOPE,
        source=source,
        note="velocity by differences",
    )
    against(
        ROOM + "motion.rack_shift",
        got=motion.rack_shift(linkage=BUILT, steer=np.array([0.01])),
        expected=np.array([[0] * 5, [0, 0, 0, 0, 0.01], [0] * 5], float)[..., None],
        abs=1e-15,
        source="only the tie rod's inner end moves, along the rack",
    )


@pytest.mark.cross_model
def test_bar_turn(against: Against) -> None:
    """Bar end found by root finding on the link's length."""
    pivot, along, end, joint = (0.25, 0.3, 0.30), (0.05, 1.0, 0.02), (0.03, 0.5, 0.31), FOOT
    found = motion.motion_of_linkage(linkage=BUILT, travel=np.sort(np.append(NEAR, [-0.06, 0.0])))
    rides = carried.carrier(linkage=BUILT, point=joint, rows=(0, 1))
    point, speed = carried.carried_point(linkage=BUILT, motion=found, carried=rides)
    turned, ratio = carried.bar_turn_and_ratio(
        bar_point=pivot,
        bar_direction=along,
        bar_end=end,
        link_drawn=joint,
        point=point,
        velocity=speed,
    )
    axis = np.array(along) / np.linalg.norm(along)
    length = np.linalg.norm(np.subtract(joint, end))
    arm = np.subtract(end, pivot)

    def turn(goal: Floats) -> float:
        def miss(angle: float) -> float:
            now = pivot + Rotation.from_rotvec(angle * axis).apply(arm)
            return float(np.linalg.norm(goal - now) - length)

        return float(brentq(miss, -0.3, 0.3, xtol=1e-15, rtol=1e-15))

    expected = np.array([turn(point[:, k, 0, 0]) for k in range(point.shape[1])])
    source = "root of the link's length, scipy brentq and Rotation"
    against(
        ROOM + "carried.bar_turn_and_ratio",
        got=turned[:, 0, 0],
        expected=expected,
        abs=1e-12,
        source=source,
        note="turn of the bar's arm, rad",
    )
    radius = np.linalg.norm(np.cross(axis, arm))
    slope = abs(expected[-5:] @ WEIGHTS) * radius
    against(
        ROOM + "carried.bar_turn_and_ratio",
        got=ratio[-3, 0, 0],
        expected=slope,
        abs=SLOPE,
        source=source,
        note="motion ratio of the bar's end",
    )


@pytest.mark.cross_model
def test_driveshaft(against: Against) -> None:
    inner, outer = np.array([-0.02, 0.12, 0.33]), np.array([0.0, 0.69, 0.30])
    found = motion.motion_of_linkage(linkage=BUILT, travel=[-0.08, 0.0, 0.08])
    axis = found.turned(np.array([[0.0], [1.0], [0.0]]))
    ends = found.at(outer[:, None] - BUILT.centre)
    length = float(np.linalg.norm(outer - inner))
    got = carried.driveshaft(inner_joint=inner, outer=ends, axis=axis, drawn_length=length)
    shaft = ends[:, :, 0, 0].T - inner
    size = np.linalg.norm(shaft, axis=1)
    cosine = np.einsum("ki,ik->k", shaft, axis[:, :, 0, 0]) / size
    source = "law of cosines"
    against(
        ROOM + "carried.driveshaft",
        got=got[0][:, 0, 0],
        expected=np.arccos(cosine),
        rel=1e-9,
        source=source,
        note="outer joint",
    )
    against(
        ROOM + "carried.driveshaft",
        got=got[1][:, 0, 0],
        expected=np.arccos(shaft[:, 1] / size),
        rel=1e-9,
        source=source,
        note="inner joint",
    )
    against(
        ROOM + "carried.driveshaft",
        got=got[2][:, 0, 0],
        expected=size - length,
        abs=1e-15,
        source=source,
        note="plunge, m",
    )
    against(
        ROOM + "wheel.angle_between",
        expected=math.radians(35),
        rel=EXACT,
        source=source,
        got=float(
            wheel.angle_between(
                first=np.array([1.0, 0, 0]),
                second=np.array([math.cos(math.radians(35)), math.sin(math.radians(35)), 0.0]),
            )
        ),
    )


@pytest.mark.cross_model
def test_steering_axis_by_motion(against: Against) -> None:
    """With its spring held, a wishbone corner turns about its two ball joints."""
    found = motion.motion_of_linkage(linkage=BUILT, travel=[-0.03, 0.0, 0.05], steer=[0.0, 0.02])
    shape = curves.wheel_curves(motion=found, camber=-0.02, toe=0.001, loaded_radius=0.295)
    foot = carried.carrier(linkage=BUILT, point=FOOT, rows=(0, 1))
    point, speed = carried.carried_point(linkage=BUILT, motion=found, carried=foot)
    _, ratio = carried.length_and_ratio(body_end=TOP, point=point, velocity=speed)
    # the spring's foot rides on the lower arm, so its rate with the rack follows the arm's turn
    joint = found.at(BUILT.arm[:, 0])
    arm_turn = found.steer_speed_of(joint)[2] / found.speed_of(joint)[2]
    got = curves.steering_by_motion(
        motion=found, curves=shape, spring_ratio=ratio, spring_steer_ratio=ratio * arm_turn
    )
    want = curves.steering_by_joints(curves=shape, lower=joint, upper=found.at(BUILT.arm[:, 2]))
    source = "the line through both ball joints"
    for name in ("caster", "kingpin_inclination", "scrub_radius", "mechanical_trail"):
        against(
            ROOM + "curves.steering_by_motion",
            got=getattr(got, name),
            expected=getattr(want, name),
            abs=EXACT,
            source=source,
            note=name,
        )
    spin, place = np.array([0.1, -0.2, 1.5]), np.array([0.02, 0.7, 0.2])
    centre = np.array([0.1, 0.8, 0.4])
    at, upwards = wheel.turning_axis(
        centre=centre, velocity=np.cross(spin, centre - place), spin=spin
    )
    against(
        ROOM + "wheel.turning_axis",
        got=np.cross(at - place, upwards),
        expected=np.zeros(3),
        abs=1e-15,
        source="a turn about a known line",
    )


def general(inner: Any, outer: Any, lengths: Any, centre: Any, height: float = 0.0) -> Floats:
    """Direction of the wheel axis of five links of stated lengths, by least squares."""
    a, s, c = np.array(inner, float), np.array(outer, float) - centre, np.array(centre, float)

    def left(q: Floats) -> Floats:
        turn = Rotation.from_euler("xyz", q[2:]).as_matrix()
        return np.linalg.norm(s @ turn.T + [q[0], q[1], c[2] + height] - a, axis=1) - lengths

    found = least_squares(
        left, [c[0], c[1], 0, 0, 0], xtol=1e-15, ftol=1e-15, gtol=1e-15, x_scale=0.1
    )
    assert np.max(np.abs(found.fun)) < 1e-12
    axis: Floats = Rotation.from_euler("xyz", found.x[2:]).apply([0.0, 1.0, 0.0])
    return axis


@pytest.mark.cross_model
def test_adjusters_move_the_whole_corner(against: Against) -> None:
    names = ("lower_front", "lower_rear", "upper_front", "upper_rear", "tie_inner")
    ends = ("lower_outer", "lower_outer", "upper_outer", "upper_outer", "tie_outer")
    inner = np.array([POINTS[n] for n in names])
    outer = np.array([POINTS[n] for n in ends])
    drawn = np.linalg.norm(outer - inner, axis=1)
    centre = POINTS["wheel_centre"]
    source = "scipy.optimize.least_squares on the links as adjusted, written in the test"

    def axis_of(built: linkage.Linkage) -> Floats:
        found = motion.motion_of_linkage(linkage=built, travel=0.0)
        return found.turned(np.array([[0.0], [1.0], [0.0]]))[:, 0, 0, 0]

    longer = drawn + np.array([0, 0, 0, 0, 0.004])
    against(
        ROOM + "adjust.link_lengthened",
        expected=general(inner, outer, longer, centre),
        got=axis_of(adjust.link_lengthened(linkage=BUILT, rows=[4], by=0.004)),
        abs=EXACT,
        source=source,
        note="tie rod 4 mm longer",
    )
    moved = inner + np.array(
        [[0, 0, 0], [0, 0, 0], [0, -0.006, 0.001], [0, -0.006, 0.001], [0] * 3]
    )
    against(
        ROOM + "adjust.body_end_moved",
        expected=general(moved, outer, drawn, centre),
        got=axis_of(adjust.body_end_moved(linkage=BUILT, rows=[2, 3], by=(0, -0.006, 0.001))),
        abs=EXACT,
        source=source,
        note="upper hinge line 6 mm in",
    )
    shim = outer + np.array([[0] * 3, [0] * 3, [0, 0.005, 0], [0, 0.005, 0], [0] * 3])
    against(
        ROOM + "adjust.upright_end_moved",
        expected=general(inner, shim, drawn, centre),
        got=axis_of(adjust.upright_end_moved(linkage=BUILT, rows=[2, 3], by=(0, 0.005, 0))),
        abs=EXACT,
        source=source,
        note="5 mm plate at the upper ball joint",
    )


@pytest.mark.cross_model
def test_setting_for_a_wanted_camber(against: Against) -> None:
    """2.5 degrees by an eccentric at the upper hinge: root finding over the general solver."""
    names = ("lower_front", "lower_rear", "upper_front", "upper_rear", "tie_inner")
    ends = ("lower_outer", "lower_outer", "upper_outer", "upper_outer", "tie_outer")
    inner = np.array([POINTS[n] for n in names])
    outer = np.array([POINTS[n] for n in ends])
    drawn = np.linalg.norm(outer - inner, axis=1)
    wanted = math.radians(-2.5)

    def axis_at(amount: float) -> Floats:
        moved = inner + np.array([[0] * 3, [0] * 3, [0, amount, 0], [0, amount, 0], [0] * 3])
        return general(moved, outer, drawn, POINTS["wheel_centre"])

    amount = brentq(lambda y: -math.asin(axis_at(y)[2]) - wanted, -0.03, 0.0, xtol=1e-13)
    got = adjust.setting_for_camber(
        adjusted=lambda y: adjust.body_end_moved(
            linkage=BUILT, rows=[2, 3], by=np.stack([0 * y, y, 0 * y])
        ),
        camber=wanted,
        axis=(0.0, 1.0, 0.0),
        loaded_radius=0.295,
        top_radius=0.305,
    )
    source = "scipy.optimize.brentq over a general solver, written in the test"
    against(
        ROOM + "adjust.setting_for_camber",
        got=got.amount[0],
        expected=amount,
        abs=1e-11,
        source=source,
        note="eccentric, m",
    )
    axis = axis_at(amount)
    against(
        ROOM + "adjust.setting_for_camber",
        got=got.toe_change[0],
        abs=1e-10,
        expected=math.atan2(axis[0], axis[1]),
        source=source,
        note="toe that it costs, rad",
    )


@pytest.mark.cross_model
def test_strut_bolt(against: Against) -> None:
    """A strut corner drawn anew with its strut turned about the lower bolt stands alike."""
    drawn = {
        "lower_front": (0.05, 0.36, 0.20),
        "lower_rear": (-0.28, 0.37, 0.215),
        "lower_outer": (0.01, 0.70, 0.185),
        "strut_top": (-0.045, 0.57, 0.86),
        "strut_foot": (-0.012, 0.635, 0.36),
        "tie_inner": (-0.11, 0.33, 0.26),
        "tie_outer": (-0.13, 0.69, 0.25),
        "wheel_centre": (0.0, 0.745, 0.30),
    }
    bolt, angle = np.array([0.0, 0.66, 0.34]), math.radians(1.2)
    built = linkage.strut_and_arm(**drawn)
    tilted = adjust.strut_tilted(linkage=built, by=angle, about=bolt)
    found = motion.motion_of_linkage(linkage=tilted, travel=[-0.05, 0.0, 0.05])
    # the axis in the upright after the turn, by SciPy: the top must lie on it in every pose
    turn = Rotation.from_rotvec([-angle, 0.0, 0.0])
    foot = bolt + turn.apply(np.array(drawn["strut_foot"]) - bolt)
    line = turn.apply(np.subtract(drawn["strut_top"], drawn["strut_foot"]))
    top = np.array(drawn["strut_top"])
    off = []
    for k in range(3):
        now = found.turn[:, :, k, 0, 0]
        at = found.centre[:, k, 0, 0] + now @ (foot - drawn["wheel_centre"])
        along = now @ line / np.linalg.norm(line)
        off.append(np.linalg.norm(np.cross(top - at, along)))
    against(
        ROOM + "adjust.strut_tilted",
        got=np.array(off),
        expected=np.zeros(3),
        abs=1e-12,
        source="distance of the top mount from the turned strut, scipy Rotation",
    )
    axis = found.turned(np.array([[0.0], [1.0], [0.0]]))
    assert wheel.camber_of(axis=axis)[1, 0, 0] < -0.01
