"""Linkage kinematics: traps, limits, shapes and bad input."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drybuild.systems.ride.kinematics import adjust, axle, carried, curves, linkage, motion, solve

Floats = npt.NDArray[np.float64]
POINTS: dict[str, Any] = {
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


def drawn(draws: int, doubt: float = 1e-3, seed: int = 3) -> linkage.Linkage:
    rng = np.random.default_rng(seed)
    return linkage.double_wishbone(
        **{n: np.array(p)[:, None] + doubt * rng.normal(size=(3, draws)) for n, p in POINTS.items()}
    )


def off_length(built: linkage.Linkage, found: solve.Poses) -> Floats:
    """How far each link is from its length, m, (5, K, S, N)."""
    turn = solve.turn_matrix(gibbs=found.gibbs)
    arm = np.einsum("ijksn,jln->ilksn", turn, np.broadcast_to(built.arm, built.arm.shape))
    shift = motion.rack_shift(linkage=built, steer=found.steer)
    inner = built.anchor[:, :, None, None] + shift[:, :, None, :, None]
    rod = arm + found.centre[:, None] - inner
    size: Floats = np.sqrt(np.sum(rod**2, axis=0)) - built.size[:, None, None]
    return size


def test_every_link_keeps_its_length_over_travel_steer_and_draws() -> None:
    built = drawn(700)  # more than one chunk with its steers
    travel, rack = np.linspace(-0.1, 0.1, 21), np.linspace(-0.045, 0.045, 5)
    found = solve.solve_poses(linkage=built, travel=travel, steer=rack)
    assert found.centre.shape == (3, 21, 5, 700)
    assert np.all(found.solved == 1.0)
    assert np.max(np.abs(off_length(built, found))) < 1e-13
    assert np.allclose(found.centre[2], built.centre[2] + travel[:, None, None], atol=1e-15)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000))
def test_random_corners_are_solved_or_reported(seed: int) -> None:
    """Hardpoints 30 mm off at random: whatever is not NaN keeps its lengths."""
    built = drawn(20, doubt=0.03, seed=seed)
    found = solve.solve_poses(linkage=built, travel=np.linspace(-0.08, 0.08, 9))
    left = off_length(built, found)
    unsolved = np.isnan(found.gibbs[0])
    assert np.array_equal(np.isnan(left).any(axis=0), unsolved)
    assert not np.any(np.abs(left) > 1e-12)
    assert np.mean(unsolved) < 0.3  # some such corners lock within their travel


def test_a_draw_does_not_depend_on_its_neighbours() -> None:
    built, travel = drawn(3000), np.linspace(-0.06, 0.09, 6)
    whole = solve.solve_poses(linkage=built, travel=travel)
    one = linkage.double_wishbone(
        **{
            name: point
            for name, point in zip(
                POINTS,
                [
                    *[built.anchor[:, 0, [2345]], built.anchor[:, 1, [2345]]],
                    built.centre[:, [2345]] + built.arm[:, 0, [2345]],
                    *[built.anchor[:, 2, [2345]], built.anchor[:, 3, [2345]]],
                    built.centre[:, [2345]] + built.arm[:, 2, [2345]],
                    built.anchor[:, 4, [2345]],
                    built.centre[:, [2345]] + built.arm[:, 4, [2345]],
                    built.centre[:, [2345]],
                ],
                strict=True,
            )
        }
    )
    alone = solve.solve_poses(linkage=one, travel=travel)
    assert np.allclose(alone.centre[..., 0], whole.centre[..., 2345], atol=1e-12, rtol=0)


def test_each_draw_may_have_its_own_travel() -> None:
    built = drawn(50)
    rng = np.random.default_rng(1)
    own = rng.uniform(-0.08, 0.08, (1, 50))
    found = solve.solve_poses(linkage=built, travel=own)
    assert np.allclose(found.centre[2, 0, 0], built.centre[2] + own[0], atol=1e-15)
    assert np.max(np.abs(off_length(built, found))) < 1e-12
    for draw in (0, 17):
        same = solve.solve_poses(linkage=built, travel=own[0, draw])
        assert np.allclose(same.centre[:, 0, 0, draw], found.centre[:, 0, 0, draw], atol=1e-12)


def test_rising_and_falling_travel_agree() -> None:
    built, travel = drawn(4), np.linspace(-0.1, 0.1, 11)
    up = solve.solve_poses(linkage=built, travel=travel)
    down = solve.solve_poses(linkage=built, travel=travel[::-1])
    assert np.allclose(up.gibbs, down.gibbs[:, ::-1], atol=1e-12)


def test_a_long_stride_finds_the_same_pose() -> None:
    """From the drawn position straight to full bump: strides are put in between."""
    built = drawn(4)
    far = solve.solve_poses(linkage=built, travel=0.1)
    marched = solve.solve_poses(linkage=built, travel=np.linspace(0, 0.1, 41))
    assert np.allclose(far.gibbs[:, 0], marched.gibbs[:, -1], atol=1e-12)


def test_out_of_reach_is_nan_and_the_rest_is_solved() -> None:
    built = drawn(3, doubt=0.0)
    travel = np.linspace(-0.6, 0.6, 61)
    found = motion.motion_of_linkage(linkage=built, travel=travel)
    solved = np.isfinite(found.centre[0, :, 0, 0])
    assert solved[25:36].all()
    assert not solved[0]
    assert not solved[-1]
    # what is locked stays locked: no island beyond the end of travel
    assert np.sum(np.abs(np.diff(solved.astype(int)))) == 2
    assert np.array_equal(np.isfinite(found.spin[0, :, 0, 0]), solved)


def test_a_nan_hardpoint_spoils_only_its_own_draw() -> None:
    points = {n: np.tile(np.array(p)[:, None], 5) for n, p in POINTS.items()}
    points["tie_outer"][1, 2] = np.nan
    built = linkage.double_wishbone(**points)
    found = solve.solve_poses(linkage=built, travel=[-0.05, 0.0, 0.05])
    assert np.array_equal(np.isnan(found.gibbs[0, :, 0]).all(axis=0), np.arange(5) == 2)


def test_links_that_leave_the_upright_free_are_not_solved() -> None:
    """Tie rod laid through the steering axis: nothing holds the toe."""
    lower, upper = np.array(POINTS["lower_outer"]), np.array(POINTS["upper_outer"])
    loose = {**POINTS, "tie_outer": 0.5 * (lower + upper)}
    found = solve.solve_poses(linkage=linkage.double_wishbone(**loose), travel=[0.0, 0.05])
    assert np.isnan(found.gibbs[0, 1]).all()


def test_wrong_descriptions_are_refused() -> None:
    with pytest.raises(ValueError, match="five links"):
        linkage.links(inner=[(0, 0, 0)] * 4, outer=[(0, 1, 0)] * 4, wheel_centre=(0, 1, 0))
    built = linkage.double_wishbone(**POINTS)
    with pytest.raises(ValueError, match="no strut"):
        adjust.strut_tilted(linkage=built, by=0.01, about=(0, 0.6, 0.3))
    with pytest.raises(ValueError, match="rides on"):
        carried.carrier(linkage=built, point=(0, 0.5, 0.2), rows=(0, 1, 2))
    with pytest.raises(ValueError, match="held by four"):
        axle.live_axle_motion(
            inner=[(0.5, 0.4, 0.3)] * 3,
            outer=[(0, 0.4, 0.3)] * 3,
            left_wheel=(0, 0.7, 0.3),
            right_wheel=(0, -0.7, 0.3),
            travel=0.0,
        )


def test_the_drawn_pose_is_the_drawn_pose() -> None:
    found = motion.motion_of_linkage(linkage=linkage.double_wishbone(**POINTS), travel=0.0)
    shape = curves.wheel_curves(motion=found, camber=-0.03, toe=0.002, loaded_radius=0.29)
    assert shape.camber[0, 0, 0] == pytest.approx(-0.03, abs=1e-14)
    assert shape.toe[0, 0, 0] == pytest.approx(0.002, abs=1e-14)
    assert shape.half_track_change[0, 0, 0] == pytest.approx(0.0, abs=1e-14)


def test_toe_in_when_the_rack_draws_a_tie_rod_ahead_of_the_axle_inboard() -> None:
    built = linkage.double_wishbone(**POINTS)  # its tie rod lies ahead of the axle
    found = motion.motion_of_linkage(linkage=built, travel=0.0, steer=[-0.02, 0.0, 0.02])
    shape = curves.wheel_curves(motion=found, camber=0.0, toe=0.0, loaded_radius=0.29)
    toe = shape.toe[0, :, 0]
    assert toe[0] > 0.05
    assert toe[2] < -0.05


def test_camber_has_its_price() -> None:
    """Upper hinge moved in: more negative camber, and toe, track and the top of the tyre move."""
    built = linkage.double_wishbone(**POINTS)
    setting = adjust.setting_for_camber(
        adjusted=lambda y: adjust.body_end_moved(
            linkage=built, rows=[2, 3], by=np.stack([0 * y, y, 0 * y])
        ),
        camber=np.radians([-1.0, -2.5, -60.0]),
        axis=(0.0, 1.0, 0.0),
        loaded_radius=0.295,
        top_radius=0.305,
    )
    assert np.degrees(setting.camber[:2]) == pytest.approx([-1.0, -2.5], abs=1e-8)
    assert setting.amount[1] < setting.amount[0] < 0
    assert setting.top_outboard[1] < setting.top_outboard[0] < 0
    assert setting.half_track_change[1] > setting.half_track_change[0] > 0
    assert abs(setting.toe_change[1]) > 1e-4
    assert np.isnan(setting.amount[2])
    assert np.isnan(setting.toe_change[2])


def test_a_leaf_spring_axle_and_a_watts_linkage_keep_to_the_middle() -> None:
    wheels = {"left_wheel": (0.0, 0.73, 0.3), "right_wheel": (0.0, -0.73, 0.3)}
    eyes = [axle.leaf_link(eye=(0.6, s * 0.5, 0.3), seat=(0, s * 0.5, 0.28)) for s in (1, -1)]
    upper = [axle.leaf_link(eye=(0.6, 0.5, 0.4), seat=(0, 0.5, 0.38))]
    inner, outer = zip(*(eyes + upper), strict=True)
    travel = [-0.08, 0.0, 0.08]
    leaf = axle.live_axle_motion(inner=inner, outer=outer, travel=travel, guided=True, **wheels)
    got = axle.axle_curves(motion=leaf, loaded_radius=0.3)
    assert np.max(np.abs(got.sideways)) < 1e-12
    assert np.max(np.abs(got.steer)) < 1e-12
    inner = [(0.5, 0.45, 0.25), (0.5, -0.45, 0.25), (0.3, 0.0, 0.48)]
    outer = [(0.0, 0.5, 0.22), (0.0, -0.5, 0.22), (-0.02, 0.0, 0.46)]
    crank = [(-0.06, 0, 0.30), (-0.06, 0, 0.38), (-0.06, 0.5, 0.38), (-0.06, 0, 0.22)]
    watts = axle.Watts(*crank, (-0.06, -0.5, 0.22))
    panhard = ([(-0.06, -0.5, 0.3)], [(-0.06, 0.5, 0.3)])
    straight = axle.live_axle_motion(inner=inner, outer=outer, travel=travel, watts=watts, **wheels)
    swung = axle.live_axle_motion(
        inner=inner + panhard[0], outer=outer + panhard[1], travel=travel, **wheels
    )
    by_watts = axle.axle_curves(motion=straight, loaded_radius=0.3).sideways
    by_rod = axle.axle_curves(motion=swung, loaded_radius=0.3).sideways
    assert np.max(np.abs(by_watts)) < 0.1 * np.max(np.abs(by_rod))


def test_watts_pivot_on_the_body() -> None:
    """A crank on the body with links to the axle: lengths hold, the axle hardly moves sideways."""
    got = axle.live_axle_motion(
        inner=[(0.5, 0.45, 0.25), (0.5, -0.45, 0.25), (0.3, 0.0, 0.48)],
        outer=[(0.0, 0.5, 0.22), (0.0, -0.5, 0.22), (-0.02, 0.0, 0.46)],
        left_wheel=(0.0, 0.73, 0.3),
        right_wheel=(0.0, -0.73, 0.3),
        travel=[-0.08, 0.0, 0.08],
        watts=axle.Watts(
            (-0.06, 0, 0.30), (-0.06, 0, 0.38), (-0.06, 0.5, 0.38), (-0.06, 0, 0.22),
            (-0.06, -0.5, 0.22), pivot_on_axle=False,
        ),
    )  # fmt: skip
    for end, far in (((0, 0.08), (0.5, 0.38)), ((0, -0.08), (-0.5, 0.22))):
        for k in range(3):
            c, s = np.cos(got.crank[k, 0, 0]), np.sin(got.crank[k, 0, 0])
            now = np.array([-0.06, c * end[0] - s * end[1], 0.30 + s * end[0] + c * end[1]])
            turn = got.turn[:, :, k, 0, 0]
            on_axle = got.centre[:, k, 0, 0] + turn @ (np.array([-0.06, *far]) - [0.0, 0.0, 0.3])
            assert np.linalg.norm(on_axle - now) == pytest.approx(0.5, abs=1e-12)
    assert np.max(np.abs(got.centre[1])) < 0.003
