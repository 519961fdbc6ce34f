"""Swept clearance: traps, both engines, threads, bad input; a scan from file to obstacles."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from drybuild.build.kinds.corner_scan import CornerScan
from drybuild.build.scans import ScanRefused
from drybuild.systems.corners import swept
from drybuild.systems.corners.results_scan import Prepared, prepared
from drybuild.systems.corners.swept import align, allowance, folding, poses, section
from drybuild.values import loops

GRID = swept.Grid(-0.25, 0.20, 0.05, 0.45, cell=0.003)
CORE = swept.Core(axial=-0.03, bead_radius=0.2, tread_radius=0.24, half_width=0.06)
STILL = np.eye(3, 4)[None]

needs_compiler = pytest.mark.skipif(loops.engine_for(None) == "numpy", reason="numba is not here")


def tyre(**other: float) -> swept.Outline:
    given = {
        "section_width": 0.225, "rim_width": 0.2, "offset": 0.03, "bead_radius": 0.2,
        "overall_radius": 0.31, "shoulder_radius": 0.02,
    }  # fmt: skip
    return swept.tyre_outline(**(given | other))


def house(count: int = 30_000, seed: int = 2) -> np.ndarray:
    rng = np.random.default_rng(seed)
    turn, across = rng.uniform(-1.2, 1.2, count), rng.uniform(-0.2, 0.12, count)
    r = 0.38 + 0.02 * np.sin(3 * turn)
    return np.stack([r * np.sin(turn), across, r * np.cos(turn)], axis=1)


def travel(count: int = 9) -> np.ndarray:
    z = np.linspace(-0.02, 0.03, count)
    return poses.poses_of_curves(camber=-0.02 - 0.3 * z, toe=0.05 * z, lateral=0.02 * z, vertical=z)


@needs_compiler
def test_both_engines_and_any_number_of_threads_fold_alike() -> None:
    given = {"name": "arch", "points": house(), "poses": travel(), "grid": GRID}
    plain = swept.fold(**given, engine="numpy")
    one = swept.fold(**given, engine="compiled", threads=1)
    three = swept.fold(**given, engine="compiled", threads=3)
    assert np.array_equal(one.code, three.code)
    differ = np.count_nonzero(plain.occupied != one.occupied)
    assert differ <= 1e-3 * np.count_nonzero(plain.occupied)  # points on the edge of a cell


@needs_compiler
def test_both_engines_look_up_alike() -> None:
    fold = swept.fold(name="arch", points=house(), poses=travel(), grid=GRID)
    around = swept.envelope(folds=[fold], allowances=[0.004], core=CORE)
    shapes = swept.shapes_of([tyre(), tyre(section_width=0.205, overall_radius=0.3)])
    rng = np.random.default_rng(1)
    which, shift = rng.integers(0, 2, 400), rng.uniform(-0.03, 0.03, 400)
    given = {"envelope": around, "shapes": shapes, "shape": which, "shift": shift}
    fast, plain = swept.rooms(**given, engine="compiled"), swept.rooms(**given, engine="numpy")
    told = swept.places(**given, engine="compiled")
    assert np.max(np.abs(fast - plain)) < GRID.pitch
    assert np.max(np.abs(told.room - plain)) < GRID.pitch


@pytest.mark.parametrize("engine", ["numpy", pytest.param("compiled", marks=needs_compiler)])
def test_a_cell_remembers_a_point_and_a_pose_that_fell_into_it(engine: loops.Engine) -> None:
    fold = swept.fold(name="arch", points=house(5000), poses=travel(), grid=GRID, engine=engine)
    rows, columns = np.nonzero(fold.occupied)
    for row, column in zip(rows[::97], columns[::97], strict=True):
        point, pose = fold.source(row, column)
        a, r = folding.half_plane(points=fold.points[point][None], poses=fold.poses[pose][None])
        middle = GRID.centres(row, column)
        off = np.array([a[0, 0] - middle[0], r[0, 0] - middle[1]])
        assert np.max(np.abs(off)) < GRID.pitch / 2.0 + 2e-6


def test_without_numba_there_is_a_clear_word(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(loops, "_numba", lambda: None)
    assert loops.engine_for(None) == "numpy"
    with pytest.raises(RuntimeError, match=r"drybuild\[fast\]"):
        loops.engine_for("compiled")


def test_more_poses_never_make_room() -> None:
    outline = tyre()
    rooms = []
    for taken in (travel()[4:5], travel()[[0, 4, 8]], travel()):
        fold = swept.fold(name="arch", points=house(), poses=taken, grid=GRID)
        rooms.append(swept.closest(folds=[fold], allowances=[0.0], outline=outline).room)
    assert rooms[0] >= rooms[1] >= rooms[2]


def test_an_allowance_is_taken_off_and_the_nearest_after_it_binds() -> None:
    turn = np.linspace(-1, 1, 500)
    near = np.stack([0.33 * np.sin(turn), np.full(500, -0.03), 0.33 * np.cos(turn)], 1)
    far = near * [0.335 / 0.33, 1.0, 0.335 / 0.33]
    folds = [swept.fold(name=n, points=p, poses=STILL, grid=GRID)
             for n, p in (("liner", near), ("hose", far))]  # fmt: skip
    plain = swept.closest(folds=folds, allowances=[0.0, 0.0], outline=tyre())
    kept = swept.closest(folds=folds, allowances=[0.003, 0.012], outline=tyre())
    assert plain.found[0].obstacle == 0
    assert kept.found[0].obstacle == 1
    assert kept.room == pytest.approx(0.025 - 0.012, abs=0.003)
    assert kept.found[0].place == "tread"
    assert abs(kept.found[0].clock) <= 1.01


def test_contact_through_a_thin_sheet_has_its_sign() -> None:
    """A thin lip wholly inside the section, free space on both of its sides."""
    x = np.linspace(-0.05, 0.05, 400)
    lip = np.stack([x, np.full(400, 0.06), np.sqrt(0.28**2 - x**2)], 1)
    fold = swept.fold(name="lip", points=lip, poses=STILL, grid=GRID)
    around = swept.envelope(folds=[fold], allowances=[0.0], core=CORE)
    got = swept.rooms(envelope=around, shapes=swept.shapes_of([tyre()]), shape=np.array([0]),
                      shift=np.zeros(1))  # fmt: skip
    assert got[0] <= 0.0
    depth = swept.closest(folds=[fold], allowances=[0.0], outline=tyre()).room
    assert depth == pytest.approx(-0.0225, abs=0.003)


def test_beyond_what_was_folded_the_edge_of_the_grid_is_the_limit() -> None:
    fold = swept.fold(name="one", points=np.array([[0.0, 0.19, 0.44]]), poses=STILL, grid=GRID)
    found = swept.closest(folds=[fold], allowances=[0.0], outline=tyre())
    assert found.edge
    assert found.room == pytest.approx(0.25 - 0.1425, abs=1e-6)
    around = swept.envelope(folds=[fold], allowances=[0.0], core=CORE)
    shapes = swept.shapes_of([tyre()])
    with pytest.raises(ValueError, match="grid holds"):
        swept.rooms(envelope=around, shapes=shapes, shape=np.array([0]), shift=np.array([0.2]))
    with pytest.raises(ValueError, match="not there"):
        swept.rooms(envelope=around, shapes=shapes, shape=np.array([1]), shift=np.zeros(1))
    assert len(swept.rooms(envelope=around, shapes=shapes, shape=np.zeros(0, int),
                           shift=np.zeros(0))) == 0  # fmt: skip


def test_bad_input_is_refused_in_words() -> None:
    points = house(100)
    points[3] = np.nan
    with pytest.raises(ValueError, match="not finite"):
        swept.fold(name="arch", points=points, poses=STILL, grid=GRID)
    with pytest.raises(ValueError, match=r"\(P, 3, 4\)"):
        swept.fold(name="arch", points=house(100), poses=np.eye(4), grid=GRID)
    with pytest.raises(ValueError, match="not rigid"):
        swept.Poses(1.1 * STILL, ("rest",), ())
    with pytest.raises(ValueError, match="too many"):
        swept.Grid(-1.0, 1.0, 0.0, 1.0, cell=1e-4)
    with pytest.raises(ValueError, match="three corners"):
        section.Outline(np.zeros((2, 2)), ("a", "b"))
    with pytest.raises(ValueError, match="ascend"):
        swept.wheel_outline(rim_width=0.2, offset=0.03, bead_radius=0.2, barrel_inner_radius=0.18,
                            spoke_radius=np.array([0.1, 0.1]), spoke_back=np.zeros(2))  # fmt: skip
    with pytest.raises(ValueError, match="one line"):
        align.rigid_fit(
            found=np.eye(3) * 0 + np.arange(3)[:, None], known=np.outer(range(3), [1, 0, 0])
        )
    with pytest.raises(ValueError, match="third"):
        allowance.sidewall_bulge(section_height=0.1, deflection=0.05, bow=0.01)


def test_far_points_do_not_cost_and_do_not_count() -> None:
    far = np.concatenate([house(), [[1e3, 0, 0], [0, 50.0, 0]]])
    fold = swept.fold(name="arch", points=far, poses=travel(), grid=GRID)
    assert len(fold.points) == 30_000
    none = swept.fold(name="far", points=far[-2:], poses=travel(), grid=GRID)
    assert not none.occupied.any()
    assert swept.closest(folds=[none], allowances=[0.0], outline=tyre()).found == ()


def test_deeper_deflection_bulges_more() -> None:
    given = {"section_height": 0.1, "bow": 0.012}
    bulge = [allowance.sidewall_bulge(deflection=d, **given) for d in (0.0, 0.01, 0.02, 0.03)]
    assert bulge[0] == pytest.approx(0.0, abs=1e-12)
    assert bulge[1] < bulge[2] < bulge[3] < 0.03


# A scan from its file to obstacles. The scanner's axes: x up, y forward, z outboard.

TURN = np.array([[0.0, 0, 1], [1, 0, 0], [0, 1, 0]])
MARKS = np.array([[0.0, 0, 0], [0.05, 0.024, 0], [0, 0.024, 0.05], [0.42, 0.03, -0.06]])


def written(folder: Path, points: np.ndarray, name: str = "house.ply") -> None:
    (folder / "scans").mkdir(exist_ok=True)
    head = (f"ply\nformat binary_big_endian 1.0\nelement vertex {len(points)}\n"
            "property float x\nproperty float y\nproperty float z\nend_header\n")  # fmt: skip
    (folder / "scans" / name).write_bytes(head.encode() + points.astype(">f4").tobytes())


def named(
    marks: np.ndarray = MARKS, turn: np.ndarray = TURN, factor: float = 1000.0, **other: object
):
    picked = [
        {"name": f"mark {n}", "at": tuple(map(float, factor * turn @ m)),
         "place": tuple(f"{1000 * c:g} mm" for c in m)}
        for n, m in enumerate(marks)
    ]  # fmt: skip
    return CornerScan.model_validate({"file": "house.ply", "picked": picked} | other)


def ready(folder: Path, scan: CornerScan, side: str = "left", wheel: object = None) -> Prepared:
    return prepared(str(folder), scan, side, wheel)  # type: ignore[arg-type]


def arch(found: Prepared) -> float:
    """Middle radius of what was scanned over the axle."""
    points = np.concatenate([one.points for one in found.obstacles])
    return float(np.median(np.hypot(points[:, 0], points[:, 2])))


def test_a_scan_in_millimetres_and_other_axes(tmp_path: Path) -> None:
    points = house()
    written(tmp_path, 1000.0 * points @ TURN.T)
    found = ready(tmp_path, named())
    assert arch(found) == pytest.approx(np.median(np.hypot(points[:, 0], points[:, 2])), abs=5e-4)
    every = np.concatenate([one.points for one in found.obstacles])
    assert every[:, 1].min() == pytest.approx(-0.2, abs=0.002)
    assert found.residual < 1e-6


def test_on_the_right_outboard_is_plus_too(tmp_path: Path) -> None:
    """The same house mirrored to the right side: outboard is −y of the car."""
    right = house() * [1, -1, 1]
    written(tmp_path, 1000.0 * right @ TURN.T)
    marks = MARKS * [1, -1, 1]
    scan = named(marks=MARKS)
    at = [{"name": p.name, "at": tuple(map(float, 1000.0 * TURN @ m)), "place": p.place}
          for p, m in zip(scan.picked, marks, strict=True)]  # fmt: skip
    found = ready(tmp_path, scan.model_copy(update={"picked": named().picked[:0]})
                  .model_validate({"file": "house.ply", "picked": at}), side="right")  # fmt: skip
    every = np.concatenate([one.points for one in found.obstacles])
    assert every[:, 1].min() == pytest.approx(-0.2, abs=0.002)
    assert every[:, 1].max() == pytest.approx(0.12, abs=0.002)
    assert not any("mirrored" in note for note in found.notes)


def test_millimetres_taken_for_metres(tmp_path: Path) -> None:
    written(tmp_path, 1000.0 * house() @ TURN.T)
    with pytest.raises(ScanRefused, match="taken as m"):
        ready(tmp_path, named(units="m"))
    # picked in metres while the file is in millimetres
    with pytest.raises(ScanRefused, match="times as far apart"):
        ready(tmp_path, named(factor=1.0))


def test_a_mirrored_scan_is_turned_back_and_said(tmp_path: Path) -> None:
    mirror = TURN * [[-1], [1], [1]]
    written(tmp_path, 1000.0 * house() @ mirror.T)
    found = ready(tmp_path, named(turn=mirror))
    assert any("mirrored" in note for note in found.notes)
    every = np.concatenate([one.points for one in found.obstacles])
    assert every[:, 1].min() == pytest.approx(-0.2, abs=0.002)
    # with three points in one plane nobody can tell, and that is said
    found = ready(tmp_path, named(marks=MARKS[:3], turn=mirror))
    assert any("would not be noticed" in note for note in found.notes)


def test_a_point_picked_wrongly(tmp_path: Path) -> None:
    written(tmp_path, 1000.0 * house() @ TURN.T)
    scan = named()
    wrong = [p.model_dump() | {"at": p.at, "place": p.place} for p in scan.picked]
    wrong[0]["at"] = (0.0, 0.0, 20.0)  # on the hub's spigot, not on its face
    with pytest.raises(ScanRefused, match="off after the best alignment"):
        ready(tmp_path, CornerScan.model_validate({"file": "house.ply", "picked": wrong}))
    with pytest.raises(ScanRefused, match="2 picked points"):
        ready(tmp_path, named(marks=MARKS[:2]))


def test_the_wheel_still_in_place_is_taken_out(tmp_path: Path) -> None:
    rng = np.random.default_rng(3)
    outline = tyre()
    pose = poses.poses_of_curves(camber=-0.02, toe=0.0, lateral=0.0, vertical=0.0)[0]
    turn = rng.uniform(0, 2 * np.pi, 20_000)
    a = rng.uniform(-0.1, 0.04, 20_000)
    tread = np.stack([0.31 * np.sin(turn), a, 0.31 * np.cos(turn)], 1) @ pose[:, :3].T
    written(tmp_path, 1000.0 * np.concatenate([house(), tread]) @ TURN.T)
    left_in = ready(tmp_path, named())
    taken_out = ready(tmp_path, named(wheel_on=True), wheel=(outline, pose))
    grid = swept.Grid(-0.25, 0.20, 0.05, 0.45, cell=0.002)

    def room(of: Prepared) -> float:
        folds = [swept.fold(name=o.name, points=o.points, poses=pose[None], grid=grid)
                 for o in of.obstacles]  # fmt: skip
        return swept.closest(folds=folds, allowances=[0.0] * len(folds), outline=outline).room

    assert room(left_in) < 0.002
    assert room(taken_out) > 0.04
    assert any("old wheel" in note for note in taken_out.notes)


def test_strays_and_holes_are_said(tmp_path: Path) -> None:
    points = house()
    clock = np.arctan2(points[:, 0], points[:, 2])
    points = points[(clock > 0.4) | (clock < -0.4)]
    strays = np.array([[0.0, -0.05, 0.325], [0.1, 0.0, 0.31]])
    written(tmp_path, 1000.0 * np.concatenate([points, strays]) @ TURN.T)
    found = ready(tmp_path, named())
    assert any("2 of" in note and "stand alone" in note for note in found.notes)
    assert any("nothing was scanned in" in note for note in found.notes)


def test_things_get_their_names_and_kinds(tmp_path: Path) -> None:
    written(tmp_path, 1000.0 * house() @ TURN.T)
    things = [{"name": "lip", "kind": "painted edge", "low": ["-1 m", "0.1 m", "-1 m"],
               "high": ["1 m", "0.2 m", "1 m"]}]  # fmt: skip
    found = ready(tmp_path, named(things=things))
    assert [one.name for one in found.obstacles] == ["lip", "the rest of the scan"]
    assert found.obstacles[0].points[:, 1].min() >= 0.1
    assert found.obstacles[1].kind == "fixed"


def test_a_scan_that_is_not_there_or_lies_elsewhere(tmp_path: Path) -> None:
    with pytest.raises(ScanRefused, match="cannot be read"):
        ready(tmp_path, named())
    with pytest.raises(ValueError, match="name of a file"):
        named(file="../secret.ply")
