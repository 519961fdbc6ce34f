"""Swept clearance against exact distances, hand computations and an independent library."""

from __future__ import annotations

import math

import numpy as np
import pytest

from drybuild.systems.corners import swept
from drybuild.systems.corners.swept import (
    align,
    allowance,
    clean,
    doubt,
    field,
    folding,
    poses,
    section,
    templates,
)

SWEPT = "drybuild.systems.corners.swept"
CELL = 0.002
GRID = swept.Grid(-0.25, 0.20, 0.05, 0.45, cell=CELL)
CORE = swept.Core(axial=-0.03, bead_radius=0.2, tread_radius=0.24, half_width=0.06)
STILL = np.eye(3, 4)[None]


def tyre(**other: float) -> swept.Outline:
    given = {
        "section_width": 0.225, "rim_width": 0.2, "offset": 0.03, "bead_radius": 0.2,
        "overall_radius": 0.31, "shoulder_radius": 0.02,
    }  # fmt: skip
    return swept.tyre_outline(**(given | other))


def box(inner: float, outer: float, low: float, high: float) -> swept.Outline:
    corners = np.array([[inner, low], [inner, high], [outer, high], [outer, low]])
    return swept.Outline(corners, ("inner", "top", "outer", "bottom"))


def room_of(points: np.ndarray, transforms: np.ndarray, outline: swept.Outline) -> float:
    """Room as the fold and look-up give it."""
    fold = swept.fold(name="thing", points=points, poses=transforms, grid=GRID)
    around = swept.envelope(folds=[fold], allowances=[0.0], core=CORE)
    shapes = swept.shapes_of([outline])
    found = swept.rooms(envelope=around, shapes=shapes, shape=np.array([0]), shift=np.zeros(1))
    return float(found[0])


def within_a_cell(exact: np.ndarray) -> dict[str, object]:
    """Expected value and tolerance of something that errs towards contact by up to one cell."""
    return {"expected": np.asarray(exact) - CELL / 2.0, "abs": CELL / 2.0}


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


def ring(axial: float, radius: float) -> np.ndarray:
    turn = np.linspace(-0.6, 0.6, 400)
    return np.stack([radius * np.sin(turn), np.full(400, axial), radius * np.cos(turn)], axis=1)


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
