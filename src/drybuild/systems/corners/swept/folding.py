"""Folding: every obstacle point, over every pose, into the wheel's own half-plane.

A tyre and a wheel are bodies of revolution. What matters of a point in a pose is where it stands
along the axle and how far from it: two numbers. All points over all poses mark the cells of one
small grid, and each cell remembers the first point and pose that fell into it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drybuild.values.loops import Engine, engine_for, threads_wanted

from .kernel import run_fold, run_mark
from .section import Outline, signed_distance

Floats = NDArray[np.floating[Any]]

# An answer stays within one cell of the truth, towards contact. Of that, in pitches: a point stands
# anywhere in its cell (0.71 either way), reading between four centres (0.71 under, 0.16 over), and
# a step of one pitch along an outline (0.5). The two that err away from contact are taken off.
PITCH_OF_CELL = 0.35
TAKEN_OFF = 0.7072 + 0.16 + 0.5
MOST_CELLS = 30_000_000


@dataclass(frozen=True)
class Grid:
    """The half-plane in cells. ``cell`` is what answers promise; ``pitch`` is finer.

    axial: from the mounting face, + outboard; radius: from the axle. What lies within radius_low
    is left out: hub, studs and disc hat touch the wheel by design.
    """

    axial_low: float
    axial_high: float
    radius_low: float
    radius_high: float
    cell: float = 0.001

    def __post_init__(self) -> None:
        wide, high = self.axial_high - self.axial_low, self.radius_high - self.radius_low
        if not (wide > 0.0 and high > 0.0 and self.radius_low >= 0.0 and self.cell > 0.0):
            raise ValueError("a grid needs low ends below high ends and a cell above 0")
        if self.columns * self.rows > MOST_CELLS:
            raise ValueError(
                f"{self.columns} x {self.rows} cells are too many: a larger cell or a smaller grid"
            )

    @property
    def pitch(self) -> float:
        return self.cell * PITCH_OF_CELL

    @property
    def columns(self) -> int:
        return int(np.ceil((self.axial_high - self.axial_low) / self.pitch))

    @property
    def rows(self) -> int:
        return int(np.ceil((self.radius_high - self.radius_low) / self.pitch))

    def centres(self, row: Any, column: Any) -> tuple[Any, Any]:
        """(axial, radius) of the middle of cells, m."""
        return (
            self.axial_low + (column + 0.5) * self.pitch,
            self.radius_low + (row + 0.5) * self.pitch,
        )


@dataclass(frozen=True)
class Fold:
    """One obstacle folded: which point in which pose marked each cell (rows, columns), 0 none."""

    name: str
    grid: Grid
    code: NDArray[np.uint32]
    points: Floats
    poses: Floats
    block: int

    @property
    def occupied(self) -> NDArray[np.bool_]:
        return self.code > 0

    def source(self, row: int, column: int) -> tuple[int, int]:
        """(point, pose) that marked an occupied cell; the point is an index into ``points``."""
        code = int(self.code[row, column]) - 1
        if code < 0:
            raise ValueError("nothing fell into this cell")
        block, pose = divmod(code, len(self.poses))
        low = block * self.block
        axial, radius = half_plane(
            points=self.points[low : low + self.block], poses=self.poses[pose : pose + 1]
        )
        a, r = self.grid.centres(row, column)
        off = np.maximum(np.abs(axial[0] - a), np.abs(radius[0] - r))
        return low + int(np.argmin(off)), pose


def half_plane(*, points: Floats, poses: Floats) -> tuple[Floats, Floats]:
    """Axial position and radius of points in poses, each (P, N), m.

    points (N, 3) in the corner's frame; poses (P, 3, 4), wheel to body. Source: geometry,
    a = e·(p − q), r² = |p − q|² − a².
    """
    rel = np.asarray(points, dtype=float)[None] - np.asarray(poses)[:, None, :, 3]
    axial = np.einsum("pnj,pj->pn", rel, np.asarray(poses)[:, :, 1])
    square = np.einsum("pnj,pnj->pn", rel, rel)
    return axial, np.sqrt(np.maximum(square - axial * axial, 0.0))


def fold(
    *,
    name: str,
    points: Floats,
    poses: Floats,
    grid: Grid,
    engine: Engine | None = None,
    threads: int | None = None,
) -> Fold:
    """Fold an obstacle's points over the poses of the wheel against it.

    name: of the obstacle; points (N, 3) m in the corner's frame, thinned, without outliers; poses
    (P, 3, 4), wheel to the body that the obstacle stands on (one identity for what turns with the
    upright). Points out of reach in every pose are dropped. Points are kept as 32-bit numbers
    about the middle of the poses: within 0.5 µm. Source: geometry.
    """
    poses = np.asarray(poses, dtype=float)
    points = np.asarray(points, dtype=float)
    if points.ndim != 2 or points.shape[1] != 3:
        raise ValueError(f"points of {name} have the shape (N, 3), got {points.shape}")
    if poses.ndim != 3 or poses.shape[1:] != (3, 4) or not len(poses):
        raise ValueError(f"poses have the shape (P, 3, 4), got {poses.shape}")
    if not np.all(np.isfinite(points)):
        raise ValueError(f"points of {name} are not finite: clean them before folding")
    kept, packed, table = _packed(points, poses, grid)
    chosen = engine_for(engine)
    code, block = run_fold(
        packed, table, grid.columns + 2, grid.rows + 2, grid.pitch, grid.axial_low,
        grid.radius_low, engine=chosen, threads=threads or threads_wanted(),
    )  # fmt: skip
    inner = code.reshape(grid.rows + 2, grid.columns + 2)[1:-1, 1:-1]
    return Fold(name, grid, np.ascontiguousarray(inner), kept, poses, block)


def near_envelope(
    *,
    one: Fold,
    outline: Outline,
    within: float,
    engine: Engine | None = None,
    threads: int | None = None,
) -> NDArray[np.bool_]:
    """Which points of a fold come within a distance of a section in any pose (len(points),).

    within: m from the outline, or inside it. To a pitch of the grid. With these alone the fold
    gives the same room, as long as nothing moves by more than what they are within.
    Source: geometry.
    """
    grid = one.grid
    # a coarse mask: every 4th cell, each good for its neighbours
    row, column = np.arange(0, grid.rows, 4), np.arange(0, grid.columns, 4)
    a, r = grid.centres(row[:, None] + 1.5, column[None, :] + 1.5)
    a, r = (np.broadcast_to(v, (len(row), len(column))) for v in (a, r))
    distance, _, _ = signed_distance(outline=outline, axial=a, radius=r)
    close = (distance <= within + 3.0 * grid.pitch).reshape(a.shape)
    fine = np.repeat(np.repeat(close, 4, axis=0), 4, axis=1)[: grid.rows, : grid.columns]
    mask = np.pad(fine, 1).ravel()
    _, packed, table = _packed(one.points, one.poses, grid)
    return run_mark(
        packed, table, mask, grid.columns + 2, grid.rows + 2, grid.pitch, grid.axial_low,
        grid.radius_low, engine=engine_for(engine), threads=threads or threads_wanted(),
    )  # fmt: skip


def _packed(
    points: Floats, poses: Floats, grid: Grid
) -> tuple[Floats, NDArray[np.float32], NDArray[np.float32]]:
    """Points within reach, the same packed for the loops, and the table of poses."""
    middle = poses[:, :, 3].mean(axis=0)
    reach = np.hypot(
        grid.radius_high, max(abs(grid.axial_low), abs(grid.axial_high))
    ) + np.linalg.norm(poses[:, :, 3] - middle, axis=1).max(initial=0.0)
    local = points - middle
    near = np.einsum("ij,ij->i", local, local) <= reach * reach
    kept, local = points[near], local[near]
    packed = np.empty((4, len(kept)), dtype=np.float32)
    packed[:3] = local.T
    packed[3] = np.einsum("ij,ij->i", local, local)
    axle, centre = poses[:, :, 1], poses[:, :, 3] - middle
    table = np.empty((len(poses), 8), dtype=np.float32)
    table[:, :3] = axle
    table[:, 3] = -np.einsum("ij,ij->i", axle, centre)
    table[:, 4:7] = -2.0 * centre
    table[:, 7] = np.einsum("ij,ij->i", centre, centre)
    return kept, packed, table
