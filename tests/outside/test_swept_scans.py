"""Scans, picked points, planes and sensitivities of swept clearance against known ones."""

from __future__ import annotations

import math

import numpy as np
import pytest
from swept_scene import CELL, CORE, GRID, STILL, ring, tyre, within_a_cell

from drybuild.systems.corners import swept
from drybuild.systems.corners.swept import (
    align,
    allowance,
    clean,
    doubt,
    folding,
    poses,
    section,
    templates,
)

SWEPT = "drybuild.systems.corners.swept"


def helix() -> np.ndarray:
    """Points in no one plane, about the size of a hub."""
    turn = np.linspace(0.0, 5.0, 6)
    return np.stack([0.08 * np.cos(turn), 0.01 * turn, 0.08 * np.sin(turn)], axis=1)


@pytest.mark.cross_model
def test_picked_points_onto_known_ones(against):
    from scipy.spatial.transform import Rotation

    rng = np.random.default_rng(4)
    known = helix()
    turn = Rotation.from_euler("xyz", [0.4, -0.2, 1.1]).as_matrix()
    found = (known - [0.2, 0.1, -0.3]) @ turn + rng.normal(scale=0.001, size=known.shape)
    fit = align.rigid_fit(found=found, known=known)
    wanted, _ = Rotation.align_vectors(known - known.mean(0), found - found.mean(0))
    assert not fit.mirrored
    against(f"{SWEPT}.align.rigid_fit", got=fit.rotation, expected=wanted.as_matrix(), abs=1e-9,
            source="scipy.spatial.transform.Rotation.align_vectors")  # fmt: skip


@pytest.mark.textbook
def test_millimetres_read_as_metres(against):
    known = helix()
    against(f"{SWEPT}.align.size_ratio", got=align.size_ratio(found=1000.0 * known, known=known),
            expected=0.001, rel=1e-9, source="definition: millimetres in a metre")  # fmt: skip


@pytest.mark.textbook
def test_plane_among_strays(against):
    """A hub face tilted by a 3-4-5 slope, a third of the points off it."""
    rng = np.random.default_rng(5)
    x, y = rng.uniform(-0.1, 0.1, (2, 900))
    points = np.stack([x, y, 0.75 * x + 0.02], axis=1)
    points[:300, 2] += rng.uniform(0.01, 0.1, 300)
    plane = align.plane_of(points=points, tolerance=0.0005)
    sign = np.sign(plane.normal[2])
    against(f"{SWEPT}.align.plane_of", got=[*(sign * plane.normal), sign * plane.distance],
            expected=[-0.6, 0.0, 0.8, 0.016], abs=1e-9,
            source="hand computation: plane z = 0.75 x + 0.02")  # fmt: skip


@pytest.mark.textbook
def test_circle_of_a_spigot(against):
    rng = np.random.default_rng(6)
    turn = rng.uniform(0.0, 2 * np.pi, 500)
    ring = np.stack([0.3 + 0.027 * np.cos(turn), 0.2 + 0.027 * np.sin(turn), np.full(500, 0.1)], 1)
    ring[:100, :2] += rng.uniform(-0.05, 0.05, (100, 2))
    plane = align.Plane(np.array([0.0, 0.0, 1.0]), 0.1, 1.0, 0.0)
    circle = align.circle_of(points=ring, plane=plane, tolerance=0.0005)
    # some of the moved points fall within the tolerance of the circle by chance
    against(f"{SWEPT}.align.circle_of", got=[*circle.centre, circle.radius],
            expected=[0.3, 0.2, 0.1, 0.027], abs=1e-4, source="a circle drawn by hand",
            note="tolerance: share of strays within the tolerance of the search")  # fmt: skip


@pytest.mark.textbook
def test_frame_of_a_right_hub(against):
    """A scan with x to the right of the car, y up: right side, so forward is −z of the scan."""
    fit = align.hub_frame(centre=np.array([0.7, 0.3, 0.1]), outboard=np.array([2.0, 0.0, 0.0]),
                          up=np.array([0.1, 1.0, 0.0]), side="right")  # fmt: skip
    got = fit.moved(np.array([[0.75, 0.5, -0.3]]))[0]
    against(f"{SWEPT}.align.hub_frame", got=got, expected=[0.4, 0.05, 0.2], abs=1e-12,
            source="hand computation: forward 0.4, out 0.05, up 0.2")  # fmt: skip


@pytest.mark.textbook
def test_mean_of_a_box(against):
    points = np.array([[0.0, 0, 0], [0.001, 0.0002, 0], [0.0112, 0, 0.0], [0.0, 0, 0.05]])
    got = clean.thinned(points=points, voxel=0.01)
    against(f"{SWEPT}.clean.thinned", got=got.points,
            expected=[[0.0005, 0.0001, 0.0], [0.0112, 0.0, 0.0], [0.0, 0.0, 0.05]], abs=1e-12,
            source="means by hand")  # fmt: skip


@pytest.mark.textbook
def test_strays_of_a_grid(against):
    x, y = np.meshgrid(np.arange(30) * 0.002, np.arange(30) * 0.002)
    sheet = np.stack([x.ravel(), y.ravel(), np.zeros(900)], axis=1)
    lonely = np.array([[0.03, 0.03, 0.02], [0.1, 0.0, 0.0]])
    got = clean.strays(points=np.concatenate([sheet, lonely]))
    against(f"{SWEPT}.clean.strays", got=np.flatnonzero(got).astype(float), expected=[900.0, 901.0],
            abs=0.5, source="two points set beside a sheet by hand")  # fmt: skip


@pytest.mark.textbook
def test_old_wheel_is_known_by_its_section(against):
    """Points on the tyre, just off it, and well off it, with the car's camber."""
    pose = poses.poses_of_curves(camber=-0.02, toe=0.0, lateral=0.0, vertical=0.0)[0]
    own = np.array([[0.0, -0.03, 0.31], [0.0, -0.03, 0.312], [0.0, -0.03, 0.325], [0.2, 0.2, 0.0]])
    points = own @ pose[:, :3].T + pose[:, 3]
    got = clean.on_old_wheel(points=points, outlines=[tyre()], pose=pose, margin=0.003)
    against(f"{SWEPT}.clean.on_old_wheel", got=got.astype(float), expected=[1.0, 1.0, 0.0, 0.0],
            abs=0.5, source="places set by hand, 0, 2 and 15 mm off the tread")  # fmt: skip


@pytest.mark.textbook
def test_a_scan_of_the_upper_half_leaves_the_lower_bare(against):
    turn = np.radians(np.arange(-89, 90))
    half = np.stack([0.35 * np.sin(turn), 0 * turn, 0.35 * np.cos(turn)], axis=1)
    got = clean.bare_sectors(points=half, low=0.3, high=0.4, sectors=12)
    against(f"{SWEPT}.clean.bare_sectors", got=got.astype(float),
            expected=[0] * 3 + [1] * 6 + [0] * 3, abs=0.5,
            source="clock counted by hand")  # fmt: skip


@pytest.mark.textbook
def test_bulge_of_a_quarter_circle_pressed_to_a_half(against):
    """An arc of 90 degrees over a chord √2, pressed until it is a half circle: all by hand."""
    free = math.sqrt(2.0)
    bow = 1.0 - math.cos(math.pi / 4.0)
    # the arc is π/2 long; as a half circle its radius, and rise, is 1/2 and its chord 1
    got = allowance.sidewall_bulge(section_height=free, deflection=free - 1.0, bow=bow)
    against(f"{SWEPT}.allowance.sidewall_bulge", got=got, expected=0.5 - bow, rel=1e-9,
            source="hand computation: arc length π/2 kept")  # fmt: skip


@pytest.mark.textbook
def test_points_near_the_road(against):
    """45 degrees each way: right under, beside at the same depth, further out, above."""
    points = np.array([[0, 0, -0.3], [0.29, 0, -0.3], [0.35, 0, -0.3], [0, 0, 0.1]])
    got = allowance.near_the_road(points=points, highest_hub=0.0, lowest_hub=0.0,
                                  half_angle=math.pi / 4)  # fmt: skip
    against(f"{SWEPT}.allowance.near_the_road", got=got.astype(float), expected=[1, 1, 0, 0],
            abs=0.5, source="angles by hand")  # fmt: skip


def bound(points: np.ndarray, transforms: np.ndarray) -> tuple[swept.Envelope, swept.Contact]:
    one = swept.fold(name="lip", points=points, poses=transforms, grid=GRID)
    around = swept.envelope(folds=[one], allowances=[0.0], core=CORE)
    return around, swept.closest(
        folds=around.folds, allowances=around.allowances, outline=tyre()
    ).found[0]


@pytest.mark.cross_model
def test_sensitivity_against_differences(against):
    """Change of the exact distance as the obstacle is moved a little each way."""
    pose = poses.poses_of_curves(camber=-0.03, toe=0.02, lateral=0.001, vertical=0.03)
    _, contact = bound(ring(0.05, 0.36), pose)

    def distance(move: np.ndarray, wheel: np.ndarray) -> float:
        body = poses.shaken(poses=np.eye(3, 4)[None], twists=move[None])[0]
        point = body[:, :3] @ contact.point + body[:, 3]
        at = poses.shaken(poses=pose, twists=wheel[None])
        a, r = folding.half_plane(points=point[None], poses=at)
        return float(section.signed_distance(outline=tyre(), axial=a[0], radius=r[0])[0][0])

    step, nothing = np.eye(6) * 1e-6, np.zeros(6)
    body = [(distance(s, nothing) - distance(-s, nothing)) / 2e-6 for s in step]
    wheel = [(distance(nothing, s) - distance(nothing, -s)) / 2e-6 for s in step]
    source = "central differences of the exact distance"
    got = doubt.gradient(contact=contact, pose=pose[0])
    against(f"{SWEPT}.doubt.gradient", got=got, expected=body, abs=1e-5, source=source)
    got = doubt.wheel_gradient(contact=contact, pose=pose[0])
    against(f"{SWEPT}.doubt.wheel_gradient", got=got, expected=wheel, abs=1e-5, source=source)


@pytest.mark.textbook
def test_folded_anew_with_the_obstacle_lifted(against):
    """A cylinder about the axle over the tread, lifted by 1 to 4 mm: at its top the gap grows."""
    turn, across = np.meshgrid(np.linspace(-0.1, 0.1, 300), np.linspace(-0.05, 0.0, 60))
    points = np.stack([0.35 * np.sin(turn), across, 0.35 * np.cos(turn)], axis=-1).reshape(-1, 3)
    one = swept.fold(name="arch", points=points, poses=STILL, grid=GRID)
    around = swept.envelope(folds=[one], allowances=[0.0], core=CORE)
    lift = np.array([0.001, 0.002, 0.004])
    moves = np.zeros((3, 6))
    moves[:, 2] = lift
    got = doubt.refolded(
        folds=around.folds, allowances=[0.0], outline=tyre(),
        near=[np.ones(len(one.points), bool)],
        obstacle_moves=moves, wheel_moves=np.zeros((3, 6)), local=[np.zeros((3, 1, 3))],
    )  # fmt: skip
    # the ends of the arc, 0.1 rad round, gain a little less than the top
    exact = np.hypot(0.35 * np.sin(0.1), 0.35 * np.cos(0.1) + lift) - 0.31
    against(f"{SWEPT}.doubt.refolded", got=got, **within_a_cell(exact),
            source="exact distance of a moved arc from a circle")  # fmt: skip


@pytest.mark.textbook
def test_a_smooth_field_is_smooth(against):
    """Correlation at 0, one and two lengths: 1, exp(−1/2), exp(−2), over many draws."""
    points = np.array([[0.0, 0, 0], [0.05, 0, 0], [0, 0.1, 0]])
    got = doubt.smooth_field(points=points, size=0.001, length=0.05, count=6000, seed=3)
    pair = np.mean(got * got[:, :1], axis=(0, 2)) / 1e-6
    # 18000 values: standard error of a correlation 1/√18000, three of them
    against(f"{SWEPT}.doubt.smooth_field", got=pair, expected=np.exp([0.0, -0.5, -2.0]), abs=0.025,
            source="squared-exponential correlation, Rasmussen and Williams 2006, 4.9",
            note="clause recalled; three standard errors")  # fmt: skip


@pytest.mark.cross_model
def test_sensitivities_against_thirty_two_refolds(against):
    """Registration 1 mm and 3 mrad, wheel 0.5 mm and 1 mrad, smooth field 1 mm: room moves by mm.

    The first-order draws follow the refolds to within the cell and the turn of the contact.
    """
    travel = poses.poses_of_curves(camber=np.linspace(-0.01, -0.04, 9), toe=0.0, lateral=0.0,
                                   vertical=np.linspace(-0.03, 0.04, 9))  # fmt: skip
    points = np.concatenate([ring(a, 0.385 + 0.2 * abs(a)) for a in np.linspace(0.04, 0.07, 16)])
    around, first = bound(points, travel)
    near = folding.near_envelope(one=around.folds[0], outline=tyre(), within=first.room + 0.02)
    rng = np.random.default_rng(8)
    body = rng.normal(size=(32, 6)) * ([0.001] * 3 + [0.003] * 3)
    wheel = rng.normal(size=(32, 6)) * ([0.0005] * 3 + [0.001] * 3)
    contacts = swept.closest(
        folds=around.folds, allowances=around.allowances, outline=tyre(), apart=0.005
    ).found
    place = np.concatenate([around.folds[0].points[near], [c.point for c in contacts]])
    moves = doubt.smooth_field(points=place, size=0.001, length=0.15, count=32, seed=9)
    count = int(near.sum())
    got = doubt.room_draws(
        contacts=contacts, poses=[travel[c.pose] for c in contacts],
        obstacle_moves=body, wheel_moves=wheel, local=moves[:, count:],
    )  # fmt: skip
    anew = doubt.refolded(
        folds=around.folds, allowances=[0.0], outline=tyre(),
        near=[near], obstacle_moves=body, wheel_moves=wheel, local=[moves[:, :count]],
    )  # fmt: skip
    assert np.std(anew) > 0.0008
    against(f"{SWEPT}.doubt.room_draws", got=got, expected=anew, abs=CELL,
            source="32 folds anew with everything moved", note="one cell")  # fmt: skip


@pytest.mark.cross_model
def test_points_near_the_envelope_are_the_ones_that_matter(against):
    """Against measuring every point in every pose."""
    travel = poses.poses_of_curves(camber=-0.02, toe=np.linspace(-0.1, 0.1, 5), lateral=0.0,
                                   vertical=np.linspace(-0.03, 0.04, 5))  # fmt: skip
    rng = np.random.default_rng(10)
    points = rng.uniform([-0.3, -0.2, 0.0], [0.3, 0.1, 0.42], (3000, 3))
    one = swept.fold(name="cloud", points=points, poses=travel, grid=GRID)
    near = folding.near_envelope(one=one, outline=tyre(), within=0.02)
    a, r = folding.half_plane(points=one.points, poses=travel)
    exact = np.min(
        section.signed_distance(outline=tyre(), axial=a, radius=r)[0].reshape(a.shape), 0
    )
    assert near[exact < 0.02].all()
    reached = np.max(exact[near])
    against(f"{SWEPT}.folding.near_envelope", got=reached, expected=0.02 + 3 * GRID.pitch,
            abs=6 * GRID.pitch, source="every point measured in every pose",
            note="a coarse mask of four pitches")  # fmt: skip


@pytest.mark.textbook
def test_a_hand_measurement_as_an_obstacle(against):
    """20 mm beside a tyre side 60 mm out, 300 mm up, camber −1 degree; folded it reads 20 mm."""
    camber = math.radians(-1.0)
    got = templates.hand_point(gap=0.02, height=0.3, extent=0.06, camber=camber, towards=1.0)
    across = 0.06 / math.cos(camber) - 0.3 * math.tan(math.radians(1.0)) + 0.02
    against(f"{SWEPT}.templates.hand_point", got=got[0], expected=[0.0, across, 0.3], abs=1e-12,
            source="hand computation: side of a leaning box")  # fmt: skip


@pytest.mark.textbook
def test_a_caliper_under_a_barrel(against):
    """A caliper 170 mm out at most under a barrel of 190 mm, 40 mm out under spokes at 52 mm."""
    outline = swept.wheel_outline(
        rim_width=0.2032, offset=0.035, bead_radius=0.2183, barrel_inner_radius=0.19,
        spoke_radius=np.array([0.08, 0.18]), spoke_back=np.array([0.052, 0.052]),
    )  # fmt: skip
    profile = np.array([[-0.06, 0.10], [-0.06, 0.17], [0.02, 0.17], [0.04, 0.15], [0.04, 0.10]])
    points = templates.arc_of_profile(profile=profile, clock=-1.2, half_angle=0.4)
    clock = np.arctan2(points[:, 0], points[:, 2])
    assert clock.min() == pytest.approx(-1.6)
    assert clock.max() == pytest.approx(-0.8)
    grid = swept.Grid(-0.18, 0.12, 0.05, 0.26, cell=0.001)
    fold = swept.fold(name="caliper", points=points, poses=STILL, grid=grid)
    got = swept.closest(folds=[fold], allowances=[0.0], outline=outline).room
    around = swept.envelope(
        folds=[fold], allowances=[0.0],
        core=swept.Core(axial=-0.035, bead_radius=0.2183, tread_radius=0.25, half_width=0.05),
    )  # fmt: skip
    looked_up = swept.rooms(
        envelope=around, shapes=swept.shapes_of([outline]), shape=np.array([0]), shift=np.zeros(1)
    )
    against(f"{SWEPT}.templates.arc_of_profile", got=[got, looked_up[0]],
            expected=[0.012 - 0.0005] * 2, abs=0.0005,
            source="hand computation: 52 less 40 mm at the spokes, 190 less 170 at the barrel",
            note="errs to contact by up to the cell of 1 mm")  # fmt: skip
