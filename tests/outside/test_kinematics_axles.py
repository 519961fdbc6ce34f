"""Twist beam and live axle held to least squares, closed forms and a bent beam.

All hardpoints are invented. Rotations are SciPy's.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq, least_squares
from scipy.spatial.transform import Rotation

from drybuild.systems.ride.kinematics import axle, beam

Against = Callable[..., None]
Floats = npt.NDArray[np.float64]
ROOM = "drybuild.systems.ride.kinematics."
EXACT = 1e-9


@pytest.mark.cross_model
def test_twist_beam(against: Against) -> None:
    pivot, shear, hub = (
        np.array([0.42, 0.55, 0.27]),
        np.array([0.28, 0.0, 0.30]),
        np.array([0.0, 0.735, 0.30]),
    )
    heave, roll = np.array([-0.06, 0.0, 0.05]), np.array([0.0, 0.03])
    got = beam.twist_beam_motion(
        pivot=pivot, shear_centre=shear, wheel_centre=hub, travel=heave, roll_travel=roll
    )
    source = "two turns by scipy Rotation, least squares on both wheels' heights"
    line = (shear - pivot) / np.linalg.norm(shear - pivot)

    def side(q: Floats, sign: float) -> tuple[Floats, Floats]:
        swing = Rotation.from_rotvec([0.0, q[0], 0.0])
        turn = Rotation.from_rotvec(sign * q[1] * swing.apply(line)) * swing
        return pivot + turn.apply(hub - pivot), turn.as_matrix()

    def solved(up: float, down: float) -> tuple[Floats, Floats]:
        found = least_squares(
            lambda q: np.array([side(q, 1)[0][2] - hub[2] - up, side(q, -1)[0][2] - hub[2] - down]),
            [0.0, 0.0],
            xtol=1e-15,
            ftol=1e-15,
            gtol=1e-15,
        )
        return side(found.x, 1)

    expected = np.stack([[solved(z + w, z - w)[1] for w in roll] for z in heave])
    against(
        ROOM + "beam.twist_beam_motion",
        got=np.moveaxis(got.heave.turn[..., 0], (2, 3), (0, 1)),
        expected=expected,
        abs=EXACT,
        source=source,
        note="turn of this side's arm",
    )
    step = 1e-4
    slope = (solved(0.05 + 0.03 + step, 0.02 - step)[0] - solved(0.08 - step, 0.02 + step)[0]) / (
        2 * step
    )
    against(
        ROOM + "beam.twist_beam_motion",
        got=got.roll_velocity[:, 2, 1, 0],
        expected=slope,
        abs=1e-6,
        source=source,
        note="velocity in roll, by differences over 0.1 mm",
    )


RODS: dict[str, list[tuple[float, float, float]]] = {
    "inner": [(0.5, 0.45, 0.25), (0.5, -0.45, 0.25), (0.3, 0.0, 0.48), (-0.05, -0.5, 0.33)],
    "outer": [(0.0, 0.5, 0.22), (0.0, -0.5, 0.22), (-0.02, 0.0, 0.46), (-0.06, 0.45, 0.31)],
}
WHEELS = np.array([[0.0, 0.73, 0.30], [0.0, -0.73, 0.30]])


def axle_pose(
    heights: tuple[float, float], crank: tuple[Any, ...] | None = None
) -> tuple[Floats, Floats]:
    """Middle and turn of an axle, by least squares. crank: pivot, end, far, end, far."""
    mid = WHEELS.mean(axis=0)
    count = 4 if crank is None else 3
    a, s = np.array(RODS["inner"])[:count], np.array(RODS["outer"])[:count] - mid
    drawn = np.linalg.norm(s + mid - a, axis=1)

    def left(q: Floats) -> Floats:
        turn = Rotation.from_euler("xyz", q[3:6]).as_matrix()
        miss = list(np.linalg.norm(s @ turn.T + q[:3] - a, axis=1) - drawn)
        for wheel_at, height in zip(WHEELS - mid, heights, strict=True):
            miss.append((q[:3] + turn @ wheel_at)[2] - height)
        if crank is not None:
            pivot, *rest = (np.array(p, float) for p in crank)
            swing = Rotation.from_rotvec([q[6], 0, 0]).as_matrix()
            for end, far in (rest[:2], rest[2:]):
                now = q[:3] + turn @ (pivot - mid + swing @ (end - pivot))
                miss.append(np.linalg.norm(now - far) - np.linalg.norm(end - far))
        return np.array(miss)

    start = [*mid, 0.0, 0.0, 0.0] + ([] if crank is None else [0.0])
    found = least_squares(left, start, xtol=1e-15, ftol=1e-15, gtol=1e-15, x_scale=0.1)
    assert np.max(np.abs(found.fun)) < 1e-12
    return found.x[:3], Rotation.from_euler("xyz", found.x[3:6]).as_matrix()


WATTS = (
    (-0.06, 0.0, 0.30),
    (-0.06, 0.0, 0.38),
    (-0.06, 0.5, 0.385),
    (-0.06, 0.0, 0.22),
    (-0.06, -0.5, 0.215),
)


@pytest.mark.cross_model
@pytest.mark.parametrize("watts", [None, WATTS])
def test_live_axle(against: Against, watts: tuple[Any, ...] | None) -> None:
    heave, roll = np.array([-0.1, -0.04, 0.0, 0.1]), np.array([-0.03, 0.0, 0.03])
    count = 4 if watts is None else 3
    got = axle.live_axle_motion(
        inner=RODS["inner"][:count],
        outer=RODS["outer"][:count],
        left_wheel=WHEELS[0],
        right_wheel=WHEELS[1],
        travel=heave,
        roll_travel=roll,
        watts=None if watts is None else axle.Watts(*watts),
    )
    source = "scipy.optimize.least_squares on an axle's links, written in the test"
    kind = "links and Panhard rod" if watts is None else "links and Watts linkage"
    want = [[axle_pose((0.3 + z + w, 0.3 + z - w), watts) for w in roll] for z in heave]
    against(
        ROOM + "axle.live_axle_motion",
        got=np.moveaxis(got.centre[..., 0], 0, -1),
        expected=np.array([[c for c, _ in row] for row in want]),
        abs=1e-10,
        source=source,
        note=kind + ", middle of the axle, m, over ±100 mm",
    )
    against(
        ROOM + "axle.live_axle_motion",
        got=np.moveaxis(got.turn[..., 0], (2, 3), (0, 1)),
        expected=np.array([[t for _, t in row] for row in want]),
        abs=EXACT,
        source=source,
        note=kind + ", turn",
    )
    shape = axle.axle_curves(motion=got, loaded_radius=0.3)
    step = 1e-4
    up, down = (axle_pose((0.3 + d, 0.3 - d), watts) for d in (step, -step))
    spin = (up[1] - down[1]) @ axle_pose((0.3, 0.3), watts)[1].T
    sway = (up[0] - down[0])[1]
    against(
        ROOM + "axle.axle_curves",
        got=float(shape.roll_centre_height[2, 1, 0]),
        expected=0.3 + sway / spin[2, 1],
        abs=1e-6,
        source=source,
        note=kind + ", roll centre by differences, m",
    )
    against(
        ROOM + "axle.axle_curves",
        got=float(shape.steer_per_roll[2, 1, 0]),
        expected=spin[1, 0] / spin[2, 1],
        abs=1e-6,
        source=source,
        note=kind + ", roll steer by differences",
    )


@pytest.mark.textbook
def test_panhard_arc(against: Against) -> None:
    """Three equal trailing links and a rod across: the axle moves without turning."""
    travel, trailing, rod = np.linspace(-0.1, 0.1, 5), 0.6, 0.9
    got = axle.live_axle_motion(
        inner=[
            (trailing, 0.5, 0.22),
            (trailing, -0.5, 0.22),
            (trailing, 0.0, 0.46),
            (0.0, -0.45, 0.3),
        ],
        outer=[(0.0, 0.5, 0.22), (0.0, -0.5, 0.22), (0.0, 0.0, 0.46), (0.0, 0.45, 0.3)],
        left_wheel=WHEELS[0],
        right_wheel=WHEELS[1],
        travel=travel,
    )
    # both spheres give trailing·x = rod·y up to sign; then one quadratic
    k = 1 + (rod / trailing) ** 2
    sideways = -(rod - np.sqrt(rod**2 - k * travel**2)) / k
    source = "closed form: two spheres of a translating axle"
    some = [0, 1, 3, 4]
    against(
        ROOM + "axle.axle_curves",
        got=axle.axle_curves(motion=got, loaded_radius=0.3).sideways[some, 0, 0],
        expected=sideways[some],
        rel=EXACT,
        source=source,
    )
    shape = axle.axle_curves(motion=got, loaded_radius=0.3)
    against(
        ROOM + "axle.axle_curves",
        got=shape.roll_centre_height[2],
        expected=[[0.3]],
        rel=EXACT,
        source="a level Panhard rod: the roll centre is at its height",
    )
    arc = axle.panhard_shift(length=0.9, rise=0.02, travel=np.array([-0.1, 0.04, 0.1]))
    tilt = math.asin(0.02 / 0.9)
    angles = [
        brentq(lambda t, z=z: 0.9 * math.sin(t) - 0.02 - z, -0.5, 0.5, xtol=1e-15)
        for z in (-0.1, 0.04, 0.1)
    ]
    against(
        ROOM + "axle.panhard_shift",
        got=arc,
        rel=EXACT,
        source="Panhard arc",
        expected=0.9 * (math.cos(tilt) - np.cos(angles)),
    )


@pytest.mark.cross_model
def test_leaf_as_a_link(against: Against) -> None:
    """The axle's path on a half leaf bent to an even curve, against the equivalent link's arc."""
    half, eye_up, travel = 0.62, 0.03, np.array([-0.08, -0.04, 0.04, 0.08])
    body, seat = axle.leaf_link(eye=(half, 0.5, eye_up), seat=(0.0, 0.5, 0.0), eye_offset=eye_up)
    flat = body[:, 0] - seat[:, 0]
    size = np.linalg.norm(flat)
    got = flat[0] - np.sqrt(size**2 - (flat[2] - travel) ** 2)

    def tip(curvature: float) -> tuple[float, float]:
        along = quad(lambda u: math.cos(curvature * u), 0, half)[0]
        down = quad(lambda u: math.sin(curvature * u), 0, half)[0]
        turn = curvature * half
        return along + eye_up * math.sin(turn), -down + eye_up * math.cos(turn)

    expected = []
    for z in travel:
        curve = brentq(lambda c, z=z: tip(c)[1] - (eye_up - z), -1.0, 1.0, xtol=1e-14)
        expected.append(half - tip(curve)[0])
    against(
        ROOM + "axle.leaf_link",
        got=got,
        expected=np.array(expected),
        abs=float(0.08**3 / half**2),
        source="beam of even curvature, scipy quad",
        note="fore and aft, m; the arc is right to second order, the tolerance is the third",
    )
