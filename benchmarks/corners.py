"""How fast obstacles are folded over poses, and wheels and tyres looked up.

    python benchmarks/corners.py            a short table
    python benchmarks/corners.py --json     one JSON object
    python benchmarks/corners.py --whole    with a scan of 2 million points, read to folded

All in one run, side by side: the compiled loop, our own numpy, and a general library (trimesh,
proximity by its rtree back end) that poses a revolved mesh of the wheel and asks for the signed
distance of the points. Where python-fcl is there, its collision trees are timed as well: one
least distance of two meshes a pose, for one wheel, not comparable point by point.
The best of some runs is taken: others may use the same cores.
"""

from __future__ import annotations

import argparse
import importlib
import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drybuild.build.scans import guess_units, read_scan
from drybuild.systems.corners import swept
from drybuild.systems.corners.swept import align, clean
from drybuild.values.loops import engine_for

Floats = NDArray[np.floating[Any]]
GRID = swept.Grid(-0.25, 0.15, 0.08, 0.42, cell=0.001)
CORE = swept.Core(axial=-0.032, bead_radius=0.22, tread_radius=0.27, half_width=0.06)


def wheel_house(count: int, seed: int = 1) -> Floats:
    """Invented: arch over the wheel, liner behind, damper and arm inboard."""
    rng = np.random.default_rng(seed)
    parts = rng.multinomial(count, [0.45, 0.3, 0.15, 0.1])
    turn = rng.uniform(-1.3, 1.3, parts[0])
    across = rng.uniform(-0.16, 0.10, parts[0])
    r = 0.375 + 0.02 * np.sin(3 * turn) - 0.03 * (across > 0.09)
    arch = np.stack([r * np.sin(turn), across, r * np.cos(turn)], axis=1)
    wall = np.stack(
        [rng.uniform(-0.4, 0.4, parts[1]), np.full(parts[1], -0.2),
         rng.uniform(-0.3, 0.4, parts[1])], axis=1,
    )  # fmt: skip
    turn, up = rng.uniform(0, 2 * np.pi, parts[2]), rng.uniform(-0.1, 0.35, parts[2])
    damper = np.stack([0.03 * np.cos(turn), -0.19 + 0.03 * np.sin(turn), up], axis=1)
    turn, along = rng.uniform(0, 2 * np.pi, parts[3]), rng.uniform(0.14, 0.35, parts[3])
    arm = np.stack([0.02 * np.cos(turn), -along, -0.11 + 0.02 * np.sin(turn)], axis=1)
    points = np.concatenate([arch, wall, damper, arm])
    return points + rng.normal(scale=0.0005, size=points.shape)


def travel(steps: int) -> Floats:
    bump = np.linspace(-0.05, 0.06, steps)
    pose = swept.poses_of_curves(
        camber=-0.02 - 0.4 * bump, toe=0.02 * bump, lateral=0.03 * bump, vertical=bump
    )
    turn = np.linspace(-0.02, 0.02, steps)
    return swept.steered(
        poses=pose, angle=turn, point=np.array([0.0, -0.1, 0.0]), axis=np.array([0.05, -0.15, 1.0])
    )


def tyre(section: float, radius: float) -> swept.Outline:
    return swept.tyre_outline(
        section_width=section, rim_width=0.88 * section, offset=0.032, bead_radius=0.219,
        overall_radius=radius, shoulder_radius=0.015, arc_steps=4,
    )  # fmt: skip


def rim(width: float) -> swept.Outline:
    return swept.wheel_outline(
        rim_width=width, offset=0.032, bead_radius=0.219, barrel_inner_radius=0.195,
        spoke_radius=np.array([0.085, 0.14, 0.19]), spoke_back=np.array([0.02, 0.04, 0.03]),
    )  # fmt: skip


def best(work: Callable[[], object], runs: int) -> float:
    times = []
    for _ in range(runs):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return min(times)


def fold_rates() -> dict[str, float]:
    poses = travel(41)
    points = clean.thinned(points=wheel_house(600_000), voxel=0.003).points

    def folded(of: Floats, engine: Any) -> Callable[[], object]:
        return lambda: swept.fold(name="house", points=of, poses=poses, grid=GRID, engine=engine)

    compiled = engine_for(None)
    folded(points[:5000], compiled)()
    fast = len(points) * len(poses) / best(folded(points, compiled), 5)
    few = points[:: max(1, len(points) // 40_000)]
    plain = len(few) * len(poses) / best(folded(few, "numpy"), 3)
    return {
        "point_poses_per_second": fast, "numpy_point_poses_per_second": plain,
        "fold_vs_numpy_ratio": fast / plain,
    }  # fmt: skip


def revolved(outline: swept.Outline, steps: int) -> tuple[Floats, NDArray[np.intp]]:
    turn = np.linspace(0.0, 2 * np.pi, steps, endpoint=False)
    a, r = outline.corners.T
    at = np.stack(
        [r[:, None] * np.sin(turn), np.broadcast_to(a[:, None], (len(a), steps)),
         r[:, None] * np.cos(turn)], axis=-1,
    )  # fmt: skip
    k, j = np.meshgrid(np.arange(len(a)), np.arange(steps), indexing="ij")
    k2, j2 = (k + 1) % len(a), (j + 1) % steps
    p, q, s, t = (i * steps + m for i, m in ((k, j), (k2, j), (k2, j2), (k, j2)))
    faces = np.concatenate([np.stack([p, q, s], -1), np.stack([p, s, t], -1)])
    return at.reshape(-1, 3), faces.reshape(-1, 3)


def installed(name: str) -> Any:
    try:
        return importlib.import_module(name)
    except ImportError:
        return None


def library_rates() -> dict[str, float]:
    trimesh = installed("trimesh")
    if trimesh is None or installed("rtree") is None:
        return {}
    corners, faces = revolved(tyre(0.225, 0.31), 180)
    points = wheel_house(2000)
    poses = travel(41)[:: 41 * 8]
    solid = trimesh.Trimesh(corners, faces, process=False)
    trimesh.proximity.signed_distance(solid, points[:50])

    def posed() -> None:
        for pose in poses:
            moved = solid.copy()
            moved.apply_transform(np.vstack([pose, [0, 0, 0, 1]]))
            trimesh.proximity.signed_distance(moved, points)

    return {"library_point_poses_per_second": len(points) * len(poses) / best(posed, 1)}


def trees_rate() -> dict[str, float]:
    """Poses a second of the library's collision trees, for one wheel."""
    trimesh = installed("trimesh")
    if trimesh is None or installed("fcl") is None:
        return {}
    corners, faces = revolved(tyre(0.225, 0.31), 180)
    house = wheel_house(30_000)
    grain = 1e-4 * np.array([[0, 0, 0], [1, 0, 0], [0, 0, 1]])
    near = (house[:, None] + grain).reshape(-1, 3)
    obstacle = trimesh.Trimesh(near, np.arange(len(near)).reshape(-1, 3), process=False)
    manager = trimesh.collision.CollisionManager()
    manager.add_object("wheel", trimesh.Trimesh(corners, faces, process=False))
    other = trimesh.collision.CollisionManager()
    other.add_object("house", obstacle)
    poses = travel(41)[:: 41 * 4]

    def posed() -> None:
        for pose in poses:
            manager.set_transform("wheel", np.vstack([pose, [0, 0, 0, 1]]))
            manager.min_distance_other(other)

    return {"collision_trees_poses_per_second": len(poses) / best(posed, 1)}


def candidate_rates() -> dict[str, float]:
    """Wheels and tyres in a window of offsets: each pair is both sections, each looked up."""
    points = clean.thinned(points=wheel_house(200_000), voxel=0.003).points
    fold = swept.fold(name="house", points=points, poses=travel(21), grid=GRID)
    around = swept.envelope(folds=[fold], allowances=[0.004], core=CORE)
    tyres = [
        tyre(s, r) for s in np.arange(0.185, 0.265, 0.005) for r in np.arange(0.29, 0.33, 0.002)
    ]
    rims = [rim(w) for w in np.arange(6.0, 9.5, 0.5) * 0.0254]
    shapes = swept.shapes_of(tyres + rims)
    rng = np.random.default_rng(2)
    count = 2_000_000
    shape = np.sort(rng.integers(0, len(tyres), count))
    shift = rng.uniform(-0.03, 0.03, count)

    def single() -> object:
        return swept.rooms(envelope=around, shapes=shapes, shape=shape, shift=shift)

    single()
    sections = count / best(single, 5)

    # a catalogue: every tyre with every rim at every offset; a section is looked up once an offset
    offsets = np.arange(-0.03, 0.03, 0.0005)

    def window() -> float:
        every = np.repeat(np.arange(len(shapes.outlines)), len(offsets))
        room = swept.rooms(
            envelope=around,
            shapes=shapes,
            shape=every,
            shift=np.tile(offsets, len(shapes.outlines)),
        ).reshape(-1, len(offsets))
        pairs = np.minimum(room[: len(tyres), None], room[None, len(tyres) :])
        return float(pairs.max())

    window()
    pairs = len(tyres) * len(rims) * len(offsets) / best(window, 5)
    return {"sections_per_second": sections, "candidates_per_second": pairs}


def whole_scan() -> dict[str, float]:
    """Two million points: written as binary PLY in mm with other axes, read, aligned, folded."""
    points = wheel_house(2_000_000)
    marks = np.array([[0.0, 0, 0], [0.05, 0, 0], [0, 0.0, 0.05], [0.02, 0.04, 0.03]])
    turn = np.array([[0.0, 1, 0], [0, 0, 1], [1, 0, 0]])
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "house.ply"
        head = (
            "ply\nformat binary_little_endian 1.0\ncomment invented\n"
            f"element vertex {len(points)}\nproperty float x\nproperty float y\n"
            "property float z\nend_header\n"
        )
        moved = (1000.0 * points @ turn.T + [300.0, -200.0, 900.0]).astype("<f4")
        path.write_bytes(head.encode() + moved.tobytes())
        picked = 1000.0 * marks @ turn.T + [300.0, -200.0, 900.0]
        del points, moved
        begin = time.perf_counter()
        scan = read_scan(path)
        scale = {"mm": 0.001, "m": 1.0}[guess_units(scan)]
        fit = align.rigid_fit(found=picked * scale, known=marks)
        thin = clean.thinned(points=fit.moved(scan.points * scale), voxel=0.001)
        kept = thin.points[~clean.strays(points=thin.points)]
        fold = swept.fold(name="house", points=kept, poses=travel(41), grid=GRID)
        swept.envelope(folds=[fold], allowances=[0.004], core=CORE)
        swept.closest(folds=[fold], allowances=[0.004], outline=tyre(0.225, 0.31))
        took = time.perf_counter() - begin
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 2**30
    return {"whole_scan_seconds": took, "whole_scan_points": len(kept), "peak_gibibytes": peak}


def linkage_rates() -> dict[str, float]:
    """Solved poses a second, as the benchmark beside this one measures them."""
    beside = Path(__file__).with_name("linkage.py")
    run = [sys.executable, str(beside), "--json"]
    said = subprocess.run(run, check=True, capture_output=True, text=True).stdout
    return {"linkage_poses_per_second": float(json.loads(said)["linkage_poses_per_second"])}


def main(argv: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--whole", action="store_true", help="also a scan of 2 million points")
    asked = parser.parse_args(argv)
    found: dict[str, float] = {}
    if asked.whole:  # first: the peak of memory is that of the process
        found |= whole_scan()
    found |= fold_rates() | candidate_rates() | library_rates() | trees_rate()
    found |= linkage_rates()
    if "library_point_poses_per_second" in found:
        found["fold_vs_library_ratio"] = (
            found["point_poses_per_second"] / found["library_point_poses_per_second"]
        )
    if asked.json:
        words = {"engine": engine_for(None), "library": "trimesh, proximity by rtree"}
        print(json.dumps(words | found))
    else:
        for name, value in found.items():
            print(f"{name:34} {value:,.3g}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
