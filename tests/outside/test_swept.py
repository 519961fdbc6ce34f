"""Swept clearance against exact distances, hand computations and a proximity library."""

from __future__ import annotations

import math

import numpy as np
import pytest
from swept_scene import CELL, CORE, GRID, STILL, box, room_of, tyre, within_a_cell

from drybuild.systems.corners import swept
from drybuild.systems.corners.swept import (
    field,
    folding,
    poses,
    section,
)

SWEPT = "drybuild.systems.corners.swept"


@pytest.mark.textbook
def test_half_plane_of_a_point(against):
    """A wheel turned in toe by 30 degrees about the upright axis, 20 mm forward, 10 mm out."""
    turn = poses.poses_of_curves(camber=0.0, toe=math.radians(30.0), lateral=0.01, vertical=0.0,
                                 fore=0.02)  # fmt: skip
    axial, radius = folding.half_plane(points=np.array([[0.12, 0.06, 0.3]]), poses=turn)
    # by hand: axle (1/2, √3/2, 0); point less centre (0.10, 0.05, 0.3)
    a = 0.10 / 2.0 + 0.05 * math.sqrt(3.0) / 2.0
    r = math.hypot(0.10 * math.sqrt(3.0) / 2.0 - 0.05 / 2.0, 0.3)
    against(f"{SWEPT}.folding.half_plane", got=[axial[0, 0], radius[0, 0]], expected=[a, r],
            abs=1e-12, source="hand computation: distance of a point from a line")  # fmt: skip


@pytest.mark.textbook
def test_camber_leans_the_top_out(against):
    turn = poses.turned(camber=math.radians(-2.0), toe=0.0)
    top = turn @ np.array([0.0, 0.0, 0.3])
    against(f"{SWEPT}.poses.turned", got=top,
            expected=[0.0, -0.3 * math.sin(math.radians(2.0)), 0.3 * math.cos(math.radians(2.0))],
            abs=1e-12, source="ISO 8855: negative camber, top towards the car",
            note="definition recalled, figures by hand")  # fmt: skip


@pytest.mark.textbook
def test_poses_carry_the_hub(against):
    """Bump of 50 mm with 3 mm outboard and 1 degree of camber: the hub face's middle and top."""
    pose = poses.poses_of_curves(
        camber=math.radians(-1.0), toe=0.0, lateral=0.003, vertical=0.05, fore=-0.001
    )[0]
    got = [*pose[:, 3], *(pose[:, :3] @ [0.0, 0.0, 0.3] + pose[:, 3])]
    lean = 0.3 * math.sin(math.radians(1.0))
    up = 0.3 * math.cos(math.radians(1.0))
    against(f"{SWEPT}.poses.poses_of_curves", got=got,
            expected=[-0.001, 0.003, 0.05, -0.001, 0.003 - lean, 0.05 + up], abs=1e-12,
            source="hand computation: lever of 0.3 m turned by one degree")  # fmt: skip


@pytest.mark.cross_model
def test_steer_about_an_inclined_axis(against):
    from scipy.spatial.transform import Rotation

    axis, point, angle = np.array([0.1, -0.2, 1.0]), np.array([0.01, -0.1, 0.02]), 0.4
    pose = poses.poses_of_curves(camber=-0.02, toe=0.01, lateral=0.0, vertical=0.05)
    got = poses.steered(poses=pose, angle=np.array([angle]), point=point, axis=axis)[0]
    spin = Rotation.from_rotvec(angle * axis / np.linalg.norm(axis)).as_matrix()
    at = np.array([0.0, 0.07, 0.31])
    wanted = pose[0, :, :3] @ (spin @ (at - point) + point) + pose[0, :, 3]
    against(f"{SWEPT}.poses.steered", got=got[:, :3] @ at + got[:, 3], expected=wanted, abs=1e-12,
            source="scipy.spatial.transform.Rotation")  # fmt: skip


@pytest.mark.cross_model
def test_small_movements(against):
    from scipy.spatial.transform import Rotation

    pose = poses.poses_of_curves(camber=-0.02, toe=0.01, lateral=0.003, vertical=0.05)
    twist = np.array([[0.001, -0.002, 0.003, 0.01, -0.02, 0.005]])
    got = poses.shaken(poses=pose, twists=twist)[0]
    wanted = np.empty((3, 4))
    wanted[:, :3] = Rotation.from_rotvec(twist[0, 3:]).as_matrix() @ pose[0, :, :3]
    wanted[:, 3] = pose[0, :, 3] + twist[0, :3]
    against(f"{SWEPT}.poses.shaken", got=got, expected=wanted, abs=1e-12,
            source="scipy.spatial.transform.Rotation")  # fmt: skip


@pytest.mark.textbook
def test_distance_from_a_box(against):
    """Beside, above, off a corner and inside a box of 0.2 by 0.1."""
    got, _, _ = section.signed_distance(
        outline=box(-0.1, 0.1, 0.2, 0.3),
        axial=np.array([0.14, 0.0, 0.13, 0.07, 0.0]),
        radius=np.array([0.25, 0.37, 0.34, 0.25, 0.26]),
    )
    against(f"{SWEPT}.section.signed_distance", got=got, expected=[0.04, 0.07, 0.05, -0.03, -0.04],
            abs=1e-12, source="hand computation: 3-4-5 triangle and faces of a box")  # fmt: skip


@pytest.mark.textbook
def test_tyre_outline_holds_the_arc_of_its_shoulder(against):
    """A point on the 45 degree ray of the shoulder arc is on the line to within the tangents."""
    outline = tyre(section_width=0.2, offset=0.0, overall_radius=0.3, shoulder_radius=0.03)
    turn = np.linspace(0.0, np.pi / 2.0, 19)
    got, _, _ = section.signed_distance(
        outline=outline,
        axial=0.07 + 0.03 * np.cos(turn), radius=0.27 + 0.03 * np.sin(turn),
    )  # fmt: skip
    sagitta = 0.03 * (1.0 / math.cos(math.pi / 24.0) - 1.0)
    against(f"{SWEPT}.section.tyre_outline", got=got, expected=np.full(19, -sagitta / 2.0),
            abs=sagitta / 2.0 + 1e-9,
            source="hand computation: tangent polygon of a quarter circle")  # fmt: skip


@pytest.mark.textbook
def test_wheel_outline_by_hand(against):
    """17 x 8, ET 35: a caliper's corner 40 mm out at radius 150 under a barrel of 190 mm."""
    outline = swept.wheel_outline(
        rim_width=0.2032, offset=0.035, bead_radius=0.2183, barrel_inner_radius=0.19,
        spoke_radius=np.array([0.08, 0.18]), spoke_back=np.array([0.05, 0.05]),
    )  # fmt: skip
    got, _, _ = section.signed_distance(
        outline=outline, axial=np.array([0.04, 0.0, -0.1491]), radius=np.array([0.15, 0.18, 0.25])
    )
    # spoke back 10 mm off; barrel 10 mm off; inner flange: half of 203.2 + 25 and ET 35: 149.1,
    # its top at 218.3 + 17.5
    expected = [0.01, 0.01, 0.25 - (0.2183 + 0.0175)]
    against(f"{SWEPT}.section.wheel_outline", got=got, expected=expected, abs=1e-9,
            source="hand computation from rim width, offset and flange")  # fmt: skip


@pytest.mark.textbook
def test_room_under_a_cylinder(against):
    """An arch that is part of a cylinder about the axle, at several bumps of the wheel."""
    turn, across = np.meshgrid(np.linspace(0.3, np.pi - 0.3, 700), np.linspace(-0.2, 0.15, 250))
    arch = 0.40
    points = np.stack([arch * np.cos(turn), across, arch * np.sin(turn)], axis=-1).reshape(-1, 3)
    bumps = np.array([0.0, 0.02, 0.05, 0.075])
    got = [
        room_of(
            points,
            poses.poses_of_curves(camber=0.0, toe=0.0, lateral=0.0, vertical=np.array([0.0, up])),
            tyre(),
        )
        for up in bumps
    ]
    # the wheel's circle of 0.31 inside the arch's of 0.40, centres apart by the bump
    against(f"{SWEPT}.field.rooms", got=got, **within_a_cell(arch - 0.31 - bumps),
            source="exact distance of two circles",
            note="errs to contact by up to one cell")  # fmt: skip


@pytest.mark.textbook
def test_room_beside_a_torus(against):
    """A hose ring about the axle beside the tyre, inner side: a torus, wheel still."""
    turn, around = np.meshgrid(
        np.linspace(0, 2 * np.pi, 900, endpoint=False),
        np.linspace(0, 2 * np.pi, 60, endpoint=False),
    )
    gaps = np.array([0.004, 0.013, 0.028])
    got = []
    for gap in gaps:
        ring, tube = 0.26, 0.012
        middle = -0.03 - 0.1125 - gap - tube
        r = ring + tube * np.sin(around)
        points = np.stack(
            [r * np.cos(turn), middle + tube * np.cos(around), r * np.sin(turn)], axis=-1
        ).reshape(-1, 3)
        got.append(room_of(points, STILL, tyre()))
    against(f"{SWEPT}.field.envelope", got=got, **within_a_cell(gaps),
            source="exact distance of a torus and a plane side")  # fmt: skip


@pytest.mark.textbook
def test_depth_of_contact_with_a_plane(against):
    """A flat liner 6 mm inside the inner side of the tyre, met square on."""
    x, z = np.meshgrid(np.linspace(-0.3, 0.3, 600), np.linspace(-0.3, 0.3, 600))
    depth = np.array([0.0015, 0.006, 0.014])
    got = []
    for deep in depth:
        plane = np.stack([x, np.full_like(x, -0.1425 + deep), z], axis=-1).reshape(-1, 3)
        fold = swept.fold(name="liner", points=plane, poses=STILL, grid=GRID)
        got.append(swept.closest(folds=[fold], allowances=[0.0], outline=tyre()).room)
    against(f"{SWEPT}.contact.closest", got=got, **within_a_cell(-depth),
            source="exact depth of a plane in a flat side")  # fmt: skip


def scene(number: int) -> tuple[np.ndarray, np.ndarray, swept.Outline]:
    """A wheel, a ragged thing about it and poses, at random but the same each time."""
    rng = np.random.default_rng([20260, number])
    outline = tyre(
        section_width=rng.uniform(0.18, 0.245), overall_radius=rng.uniform(0.28, 0.32),
        offset=rng.uniform(0.0, 0.05), shoulder_radius=rng.uniform(0.01, 0.03),
    )  # fmt: skip
    # points of a few balls, each clear of the wheel at rest by the side it is put on
    balls = []
    for _ in range(4):
        size = rng.uniform(0.01, 0.03)
        clock = rng.uniform(0.0, 2 * np.pi)
        gap = rng.uniform(0.012, 0.045) + size
        low, high = outline.corners.min(axis=0), outline.corners.max(axis=0)
        a, r = [
            (low[0] - gap, rng.uniform(0.22, high[1])),
            (high[0] + gap, rng.uniform(0.24, high[1])),
            (rng.uniform(-0.06, 0.0), high[1] + gap),
        ][rng.integers(3)]
        shell = rng.normal(size=(400, 3))
        shell *= size / np.linalg.norm(shell, axis=1)[:, None]
        balls.append(shell + np.array([r * np.sin(clock), a, r * np.cos(clock)]))
    count = 7
    moves = poses.poses_of_curves(
        camber=rng.uniform(-0.03, 0.02, count), toe=rng.uniform(-0.03, 0.03, count),
        lateral=rng.uniform(-0.005, 0.005, count), vertical=rng.uniform(-0.015, 0.015, count),
    )  # fmt: skip
    return np.concatenate(balls), moves, outline


def revolved(outline: swept.Outline, steps: int = 1440) -> tuple[np.ndarray, np.ndarray]:
    """Corners and triangles of the solid that an outline sweeps about the axle."""
    turn = np.linspace(0.0, 2 * np.pi, steps, endpoint=False)
    a, r = outline.corners.T
    at = np.stack(
        [r[:, None] * np.sin(turn), np.broadcast_to(a[:, None], (len(a), steps)),
         r[:, None] * np.cos(turn)], axis=-1,
    )  # fmt: skip
    k, j = np.meshgrid(np.arange(len(a)), np.arange(steps), indexing="ij")
    k2, j2 = (k + 1) % len(a), (j + 1) % steps
    p, q, s, t = (i * steps + m for i, m in ((k, j), (k2, j), (k2, j2), (k, j2)))
    faces = np.concatenate([np.stack([p, q, s], -1), np.stack([p, s, t], -1)]).reshape(-1, 3)
    return at.reshape(-1, 3), faces


@pytest.mark.cross_model
def test_twenty_scenes_against_a_proximity_library(against):
    trimesh = pytest.importorskip("trimesh")
    pytest.importorskip("rtree")
    got, nearest, wanted = [], [], []
    for number in range(20):
        points, moves, outline = scene(number)
        got.append(room_of(points, moves, outline))
        one = swept.fold(name="thing", points=points, poses=moves, grid=GRID)
        nearest.append(swept.closest(folds=[one], allowances=[0.0], outline=outline).room)
        corners, faces = revolved(outline)
        solid = trimesh.Trimesh(corners, faces, process=False)
        solid.fix_normals()
        # the wheel stays, the points move against it; far points cannot be the closest
        own = np.concatenate([(points - m[:, 3]) @ m[:, :3] for m in moves])
        rough, _, _ = section.signed_distance(
            outline=outline, axial=own[:, 1], radius=np.hypot(own[:, 0], own[:, 2])
        )
        near = own[np.argsort(rough)[:60]]
        _, distance, _ = trimesh.proximity.closest_point(solid, near)
        wanted.append(np.min(np.where(solid.contains(near), -distance, distance)))
    clear = np.array(wanted) > 0.0
    assert clear.sum() >= 12
    against(f"{SWEPT}.folding.fold", got=np.array(got)[clear],
            **within_a_cell(np.array(wanted)[clear]),
            source="trimesh (proximity by rtree), 20 random scenes",
            note="scenes that clear; the others all read as contact")  # fmt: skip
    assert np.all(np.array(got)[~clear] <= 0.0)
    against(f"{SWEPT}.contact.closest", got=nearest, **within_a_cell(np.array(wanted)),
            source="trimesh (proximity by rtree), 20 random scenes",
            note="depth of contact too")  # fmt: skip


@pytest.mark.textbook
def test_what_is_behind_an_obstacle_is_shut(against):
    """One point on the inner side shuts its row inboard, one over the tread its column above."""
    occupied = np.zeros((GRID.rows, GRID.columns), dtype=bool)
    row = int((0.26 - GRID.radius_low) / GRID.pitch)
    column = int((-0.16 - GRID.axial_low) / GRID.pitch)
    occupied[row, column] = True
    top, middle = (
        int((0.36 - GRID.radius_low) / GRID.pitch),
        int((-0.02 - GRID.axial_low) / GRID.pitch),
    )
    occupied[top, middle] = True
    closed, _ = field.shut(occupied=occupied, grid=GRID, core=CORE)
    # by hand: the row inboard of the first; the column above the second and its row outboard
    count = column + 1 + (GRID.rows - top) + (GRID.columns - middle - 1)
    against(f"{SWEPT}.field.shut", got=float(closed.sum()), expected=float(count), abs=0.5,
            source="counted by hand")  # fmt: skip


@pytest.mark.textbook
def test_the_place_and_what_binds(against):
    """Two rings, one nearer: the outer one binds, and at its radius."""
    turn = np.linspace(0, 2 * np.pi, 2000)
    rings = [
        np.stack([r * np.cos(turn), np.full_like(turn, a), r * np.sin(turn)], axis=1)
        for a, r in ((-0.03 - 0.1125 - 0.02, 0.27), (-0.03 + 0.1125 + 0.008, 0.28))
    ]
    folds = [swept.fold(name=str(n), points=p, poses=STILL, grid=GRID) for n, p in enumerate(rings)]
    around = swept.envelope(folds=folds, allowances=[0.0, 0.0], core=CORE)
    found = swept.places(
        envelope=around, shapes=swept.shapes_of([tyre()]), shape=np.array([0]), shift=np.zeros(1)
    )
    assert found.binds[0] == 1
    against(f"{SWEPT}.field.places", got=[found.axial[0], found.radius[0]],
            expected=[-0.03 + 0.1125, 0.28], abs=CELL,
            source="geometry of a ring beside a side")  # fmt: skip
