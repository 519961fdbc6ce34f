"""Linkage kinematics held to a general solver written here.

All hardpoints are invented. The general solver knows nothing of the one under test: it writes the
lengths of the links with Euler angles from SciPy and lets its least squares find the pose.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

from drybuild.systems.ride.kinematics import linkage, motion, solve
from drybuild.systems.ride.kinematics.elimination import eliminate, pivot_order

Against = Callable[..., None]
Floats = npt.NDArray[np.float64]
ROOM = "drybuild.systems.ride.kinematics."
EXACT = 1e-9
LSQ = "scipy.optimize.least_squares on the lengths of the links, written in the test"
TRAVEL = np.linspace(-0.1, 0.1, 9)

WISHBONES: dict[str, tuple[float, float, float]] = {
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
STRUT: dict[str, tuple[float, float, float]] = {
    "lower_front": (0.05, 0.36, 0.20),
    "lower_rear": (-0.28, 0.37, 0.215),
    "lower_outer": (0.01, 0.70, 0.185),
    "strut_top": (-0.045, 0.57, 0.86),
    "strut_foot": (-0.012, 0.635, 0.36),
    "tie_inner": (-0.11, 0.33, 0.26),
    "tie_outer": (-0.13, 0.69, 0.25),
    "wheel_centre": (0.0, 0.745, 0.30),
}
FIVE: dict[str, Any] = {
    "inner": [
        (0.28, 0.36, 0.215),
        (-0.09, 0.33, 0.175),
        (0.13, 0.43, 0.41),
        (-0.14, 0.40, 0.44),
        (-0.20, 0.34, 0.235),
    ],
    "outer": [
        (0.04, 0.685, 0.165),
        (-0.06, 0.69, 0.185),
        (0.05, 0.655, 0.435),
        (-0.045, 0.66, 0.45),
        (-0.155, 0.675, 0.255),
    ],
    "wheel_centre": (0.0, 0.745, 0.305),
}


def pose(
    inner: Sequence[Any],
    outer: Sequence[Any],
    centre: Any,
    height: float,
    strut: tuple[Any, Any] | None = None,
    tie: float | None = None,
) -> tuple[Floats, Floats]:
    """Wheel centre and rotation matrix at a height, by least squares.

    strut: top and foot; tie: length of the last link, where the rack has moved its inner end.
    """
    a, s, c = np.array(inner, float), np.array(outer, float) - centre, np.array(centre, float)
    drawn = np.linalg.norm(s + c - a, axis=1)
    drawn[-1] = drawn[-1] if tie is None else tie
    goal = c[2] + height

    def left(q: Floats) -> Floats:
        turn = Rotation.from_euler("xyz", q[2:]).as_matrix()
        at = np.array([q[0], q[1], goal])
        miss = np.linalg.norm(s @ turn.T + at - a, axis=1) - drawn
        if strut is None:
            return miss
        top, foot = np.array(strut[0]), np.array(strut[1])
        line = turn @ ((top - foot) / np.linalg.norm(top - foot))
        # distance of the top from the strut's line, as the two level parts of it
        off = np.cross(line, top - (at + turn @ (foot - c)))
        return np.concatenate([miss, off[:2]])

    found = least_squares(
        left, [c[0], c[1], 0.0, 0.0, 0.0], xtol=1e-15, ftol=1e-15, gtol=1e-15, x_scale=0.1
    )
    assert np.max(np.abs(found.fun)) < 1e-12
    turn = Rotation.from_euler("xyz", found.x[2:]).as_matrix()
    return np.array([found.x[0], found.x[1], goal]), turn


def poses(
    inner: Sequence[Any],
    outer: Sequence[Any],
    centre: Any,
    strut: tuple[Any, Any] | None = None,
    tie: float | None = None,
) -> tuple[Floats, Floats]:
    """The same over travel: centres (3, K) and rotations (3, 3, K)."""
    both = [pose(inner, outer, centre, float(z), strut, tie) for z in TRAVEL]
    return np.stack([c for c, _ in both], axis=-1), np.stack([t for _, t in both], axis=-1)


def wishbone_links(points: dict[str, tuple[float, float, float]], rack: float = 0.0) -> Any:
    """Five inner and outer ends of two wishbones and a tie rod."""
    tie = np.add(points["tie_inner"], (0.0, rack, 0.0))
    inner = [points[n] for n in ("lower_front", "lower_rear", "upper_front", "upper_rear")]
    outer = [points[n] for n in ("lower_outer", "lower_outer", "upper_outer", "upper_outer")]
    return [*inner, tie], [*outer, points["tie_outer"]], points["wheel_centre"]


@pytest.mark.cross_model
def test_small_systems(against: Against) -> None:
    rng = np.random.default_rng(5)
    matrix, right = rng.normal(size=(200, 5, 5)), rng.normal(size=(200, 5, 2))
    matrix[:, 0, 0] = 0.0  # needs its rows and columns swapped
    rows, columns = pivot_order(typical=matrix[0])
    good = [0]
    system = np.moveaxis(np.concatenate([matrix, right], axis=2), 0, -1)[rows]
    system = np.ascontiguousarray(system[:, [*columns, 5, 6]])
    answer = eliminate(system=system.copy(), spare=np.empty((4, 6, 200)))
    got = np.moveaxis(answer[[columns.index(i) for i in range(5)]], -1, 0)
    expected = np.linalg.solve(matrix, right)
    against(
        ROOM + "elimination.pivot_order",
        got=got[good],
        expected=expected[good],
        rel=1e-11,
        source="LAPACK through numpy.linalg.solve",
        note="the typical system itself, whose first entry is nought",
    )
    # pivots that suit one system may be small in another: judged by what is left over
    well = np.abs(got).max(axis=(1, 2)) < 1e3
    against(
        ROOM + "elimination.eliminate",
        got=np.einsum("pij,pjk->pik", matrix, got)[well],
        expected=right[well],
        abs=1e-8,
        source="LAPACK through numpy.linalg.solve",
        note="right-hand sides given back by products of random matrices",
    )
    assert np.sum(well) > 150


@pytest.mark.cross_model
@pytest.mark.parametrize("rack", [-0.03, 0.0, 0.03])
def test_double_wishbone(against: Against, rack: float) -> None:
    inner, outer, hub = wishbone_links(WISHBONES, rack)
    tie = np.linalg.norm(np.subtract(WISHBONES["tie_outer"], WISHBONES["tie_inner"]))
    centre, turn = poses(inner, outer, hub, tie=float(tie))
    built = linkage.double_wishbone(**WISHBONES)
    found = solve.solve_poses(linkage=built, travel=TRAVEL, steer=rack)
    axis = turn[:, 1]
    got = solve.turn_matrix(gibbs=found.gibbs)[:, 1, :, 0, 0]
    source = LSQ + ", double wishbone over ±100 mm"
    against(
        ROOM + "solve.solve_poses",
        got=found.centre[:, :, 0, 0],
        expected=centre,
        abs=1e-10,
        source=source,
        note="wheel centre, m; tie rod's inner end at −30, 0 and +30 mm",
    )
    against(
        ROOM + "linkage.double_wishbone",
        got=got,
        expected=axis,
        abs=EXACT,
        source=source,
        note="direction of the wheel's axis",
    )


@pytest.mark.cross_model
def test_five_links(against: Against) -> None:
    centre, turn = poses(FIVE["inner"], FIVE["outer"], FIVE["wheel_centre"])
    found = solve.solve_poses(linkage=linkage.links(**FIVE), travel=TRAVEL)
    source = LSQ + ", five links over ±100 mm"
    against(
        ROOM + "solve.solve_poses",
        got=found.centre[:, :, 0, 0],
        expected=centre,
        abs=1e-10,
        source=source,
        note="wheel centre, m",
    )
    against(
        ROOM + "linkage.links",
        got=solve.turn_matrix(gibbs=found.gibbs)[:, :, :, 0, 0],
        expected=turn,
        abs=EXACT,
        source=source,
        note="turn of the upright",
    )


@pytest.mark.cross_model
def test_strut(against: Against) -> None:
    inner = [STRUT["lower_front"], STRUT["lower_rear"], STRUT["tie_inner"]]
    outer = [STRUT["lower_outer"], STRUT["lower_outer"], STRUT["tie_outer"]]
    strut = STRUT["strut_top"], STRUT["strut_foot"]
    centre, turn = poses(inner, outer, STRUT["wheel_centre"], strut)
    found = solve.solve_poses(linkage=linkage.strut_and_arm(**STRUT), travel=TRAVEL)
    source = LSQ + ", strut and arm over ±100 mm"
    against(
        ROOM + "solve.solve_poses",
        got=found.centre[:, :, 0, 0],
        expected=centre,
        abs=1e-10,
        source=source,
        note="wheel centre, m",
    )
    against(
        ROOM + "linkage.strut_and_arm",
        got=solve.turn_matrix(gibbs=found.gibbs)[..., 0, 0],
        expected=turn,
        abs=EXACT,
        source=source,
        note="turn of the upright",
    )


@pytest.mark.cross_model
def test_five_links_on_one_line_are_an_arm(against: Against) -> None:
    """Links from two points of a line leave the upright only the turn about that line."""
    first, second = np.array([0.42, 0.25, 0.26]), np.array([0.36, 0.66, 0.24])
    hub = np.array([0.0, 0.72, 0.30])
    outer = [
        (0.05, 0.60, 0.20),
        (-0.05, 0.66, 0.40),
        (0.06, 0.70, 0.36),
        (-0.08, 0.62, 0.25),
        (0.02, 0.55, 0.42),
    ]
    built = linkage.links(
        inner=[first, first, first, second, second], outer=outer, wheel_centre=hub
    )
    along = (second - first) / np.linalg.norm(second - first)
    angle = np.linspace(-0.22, 0.22, 7)
    turns = Rotation.from_rotvec(angle[:, None] * along).as_matrix()
    centre = first + (turns @ (hub - first))
    order = np.argsort(centre[:, 2])
    travel = centre[order, 2] - hub[2]
    expected = np.moveaxis(turns[order], 0, -1)
    source = "scipy Rotation about the line of a semi-trailing arm"
    found = motion.motion_of_linkage(linkage=built, travel=travel)
    against(
        ROOM + "motion.motion_of_linkage",
        got=found.turn[..., 0, 0],
        expected=expected,
        abs=EXACT,
        source=source,
        note="five links of a general corner",
    )
    arm = motion.motion_of_arm(
        pivot_inner=first, pivot_outer=second, wheel_centre=hub, travel=travel
    )
    against(
        ROOM + "motion.motion_of_arm",
        got=arm.turn[..., 0, 0],
        expected=expected,
        abs=EXACT,
        source=source,
        note="closed form",
    )
    spin = along[:, None] / np.cross(along, centre[order] - first)[:, 2]
    against(
        ROOM + "motion.motion_of_arm",
        got=arm.spin[..., 0, 0],
        expected=spin,
        rel=EXACT,
        source=source,
        note="spin per wheel travel",
    )
    against(
        ROOM + "motion.motion_of_linkage",
        got=found.spin[..., 0, 0],
        expected=spin,
        rel=EXACT,
        source=source,
        note="spin per wheel travel",
    )


@pytest.mark.cross_model
def test_rates_are_the_slopes_of_the_poses(against: Against) -> None:
    """Five-point differences of poses that are exact to rounding, over wheel travel and rack."""
    built = linkage.double_wishbone(**WISHBONES)
    step = 1e-3
    weights = np.array([1.0, -8.0, 0.0, 8.0, -1.0]) / (12 * step)
    here = motion.motion_of_linkage(linkage=built, travel=0.04, steer=0.01)
    near = motion.motion_of_linkage(
        linkage=built, travel=0.04 + step * np.arange(-2, 3), steer=0.01
    )
    slope = np.tensordot(near.turn[:, :, :, 0, 0], weights, axes=(2, 0))
    spin = slope @ here.turn[..., 0, 0, 0].T
    got = np.concatenate([here.velocity[:, 0, 0, 0], here.spin[:, 0, 0, 0]])
    flat = near.centre[:, :, 0, 0] @ weights
    source = "five-point differences over 1 mm"
    against(
        ROOM + "motion.motion_of_linkage",
        got=got,
        expected=np.concatenate([flat, [spin[2, 1], spin[0, 2], spin[1, 0]]]),
        abs=1e-8,
        source=source,
        note="per wheel travel; 1e-8 is the fourth power of the step",
    )
    near = motion.motion_of_linkage(
        linkage=built, travel=0.04, steer=0.01 + step * np.arange(-2, 3)
    )
    slope = np.tensordot(near.turn[:, :, 0, :, 0], weights, axes=(2, 0))
    spin = slope @ here.turn[..., 0, 0, 0].T
    assert here.steer_velocity is not None
    assert here.steer_spin is not None
    got = np.concatenate([here.steer_velocity[:, 0, 0, 0], here.steer_spin[:, 0, 0, 0]])
    against(
        ROOM + "motion.motion_of_linkage",
        got=got,
        expected=np.concatenate(
            [near.centre[:, 0, :, 0] @ weights, [spin[2, 1], spin[0, 2], spin[1, 0]]]
        ),
        abs=1e-7,
        source=source,
        note="per rack travel",
    )
