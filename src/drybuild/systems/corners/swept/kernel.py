"""The folding loop, compiled where numba is there, in numpy where it is not.

Both fold the same way and give the same occupancy but for points within a rounding of a cell's
edge. The compiled loops hold no lock: each thread has a grid of its own, and the grids are merged.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from drybuild.values.loops import Engine, compiled, shared

F32 = NDArray[np.float32]
U32 = NDArray[np.uint32]

BLOCK = 2048
NUMPY_BLOCK = 32768


def _fold_loop(
    points: F32,
    poses: F32,
    grid: U32,
    block: int,
    first: int,
    last: int,
    columns: int,
    rows: int,
    inverse: np.float32,
    axial_low: np.float32,
    radius_low: np.float32,
) -> None:
    """Fold blocks of points over all poses; the first that falls into a cell keeps it."""
    count = points.shape[1]
    poses_count = poses.shape[0]
    cell = np.empty(block, np.int32)
    zero = np.float32(0.0)
    one = np.float32(1.0)
    right = np.float32(columns - 1)
    top = np.float32(rows - 1)
    for b in range(first, last):
        low = b * block
        size = min(block, count - low)
        x = points[0, low : low + size]
        y = points[1, low : low + size]
        z = points[2, low : low + size]
        square = points[3, low : low + size]
        for k in range(poses_count):
            ex, ey, ez, e0 = poses[k, 0], poses[k, 1], poses[k, 2], poses[k, 3]
            qx, qy, qz, q0 = poses[k, 4], poses[k, 5], poses[k, 6], poses[k, 7]
            for i in range(size):
                a = ex * x[i] + ey * y[i] + ez * z[i] + e0
                r2 = square[i] + q0 + qx * x[i] + qy * y[i] + qz * z[i] - a * a
                # one row and column more on each side take all that falls beside the grid
                column = (a - axial_low) * inverse + one
                row = (np.sqrt(max(r2, zero)) - radius_low) * inverse + one
                column = min(max(column, zero), right)
                row = min(max(row, zero), top)
                cell[i] = np.int32(row) * columns + np.int32(column)
            code = np.uint32(b * poses_count + k + 1)
            for i in range(size):
                if grid[cell[i]] == 0:
                    grid[cell[i]] = code


def _mark_loop(
    points: F32,
    poses: F32,
    mask: NDArray[np.bool_],
    marked: NDArray[np.bool_],
    first: int,
    last: int,
    columns: int,
    rows: int,
    inverse: np.float32,
    axial_low: np.float32,
    radius_low: np.float32,
) -> None:
    """Mark the points that fall into a cell of the mask in any pose."""
    one, zero = np.float32(1.0), np.float32(0.0)
    right, top = np.float32(columns - 1), np.float32(rows - 1)
    for i in range(first, last):
        x, y, z, square = points[0, i], points[1, i], points[2, i], points[3, i]
        for k in range(poses.shape[0]):
            a = poses[k, 0] * x + poses[k, 1] * y + poses[k, 2] * z + poses[k, 3]
            r2 = square + poses[k, 7] + poses[k, 4] * x + poses[k, 5] * y + poses[k, 6] * z - a * a
            column = (a - axial_low) * inverse + one
            row = (np.sqrt(max(r2, zero)) - radius_low) * inverse + one
            column = min(max(column, zero), right)
            row = min(max(row, zero), top)
            if mask[np.int32(row) * columns + np.int32(column)]:
                marked[i] = True
                break


def _fold_numpy(
    points: F32,
    poses: F32,
    grid: U32,
    block: int,
    columns: int,
    rows: int,
    inverse: float,
    axial_low: float,
    radius_low: float,
) -> None:
    """The same in numpy, block by block so that the columns stay in the cache."""
    count = points.shape[1]
    f = np.float32
    inv, low_a, low_r = f(inverse), f(axial_low), f(radius_low)
    for b in range(0, -(-count // block)):
        x, y, z, square = points[:, b * block : (b + 1) * block]
        for k, (ex, ey, ez, e0, qx, qy, qz, q0) in enumerate(poses):
            a = ex * x
            a += ey * y
            a += ez * z
            a += e0
            r2 = qx * x
            r2 += qy * y
            r2 += qz * z
            r2 += square
            r2 += q0
            r2 -= a * a
            np.maximum(r2, f(0.0), out=r2)
            np.sqrt(r2, out=r2)
            r2 -= low_r
            r2 *= inv
            r2 += f(1.0)
            np.clip(r2, f(0.0), f(rows - 1), out=r2)
            a -= low_a
            a *= inv
            a += f(1.0)
            np.clip(a, f(0.0), f(columns - 1), out=a)
            cell = r2.astype(np.int32)
            cell *= columns
            cell += a.astype(np.int32)
            fresh = cell[grid[cell] == 0]
            if fresh.size:
                grid[fresh] = b * len(poses) + k + 1


def run_fold(
    points: F32,
    poses: F32,
    columns: int,
    rows: int,
    pitch: float,
    axial_low: float,
    radius_low: float,
    *,
    engine: Engine,
    threads: int,
) -> tuple[U32, int]:
    """Fold points (4, N: x, y, z, x²+y²+z²) over poses (P, 8) into a grid with a border.

    poses: axle direction and −axle·centre, then −2·centre and centre². Returns the grid
    (rows·columns,) of block·P + pose + 1, 0 where empty, and the size of a block.
    """
    block = BLOCK if engine == "compiled" else NUMPY_BLOCK
    blocks = -(-points.shape[1] // block)
    if blocks * len(poses) >= 2**32 - 1:
        raise ValueError(
            f"{points.shape[1]} points over {len(poses)} poses are too many for one fold: thin "
            "the points or take fewer poses"
        )
    if engine == "numpy":
        grid = np.zeros(rows * columns, dtype=np.uint32)
        _fold_numpy(points, poses, grid, block, columns, rows, 1.0 / pitch, axial_low, radius_low)
        return grid, block
    loop = compiled(_fold_loop)
    f = np.float32
    grids: dict[int, U32] = {}

    def share(first: int, last: int) -> None:
        own = grids[first] = np.zeros(rows * columns, dtype=np.uint32)
        loop(
            points, poses, own, block, first, last, columns, rows,
            f(1.0 / pitch), f(axial_low), f(radius_low),
        )  # fmt: skip

    shared(share, blocks, threads)
    # blocks go to the threads in order: the lowest thread's entry is what one thread would give
    first, *others = [grids[at] for at in sorted(grids)] or [np.zeros(rows * columns, np.uint32)]
    for other in others:
        np.copyto(first, other, where=first == 0)
    return first, block


def run_mark(
    points: F32,
    poses: F32,
    mask: NDArray[np.bool_],
    columns: int,
    rows: int,
    pitch: float,
    axial_low: float,
    radius_low: float,
    *,
    engine: Engine,
    threads: int,
) -> NDArray[np.bool_]:
    """Which points (N,) fall into a cell of the mask (rows·columns,) in any pose."""
    count = points.shape[1]
    marked = np.zeros(count, dtype=bool)
    if engine == "numpy":
        for pose in poses:
            a = pose[:3] @ points[:3] + pose[3]
            r = np.sqrt(np.maximum(points[3] + pose[7] + pose[4:7] @ points[:3] - a * a, 0.0))
            column = np.clip((a - axial_low) / pitch + 1.0, 0, columns - 1).astype(np.int64)
            row = np.clip((r - radius_low) / pitch + 1.0, 0, rows - 1).astype(np.int64)
            marked |= mask[row * columns + column]
        return marked
    loop = compiled(_mark_loop)
    f = np.float32

    def share(first: int, last: int) -> None:
        loop(
            points, poses, mask, marked, first, last, columns, rows,
            f(1.0 / pitch), f(axial_low), f(radius_low),
        )  # fmt: skip

    shared(share, count, threads)
    return marked
