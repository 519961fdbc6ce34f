"""Room at every cell of the half-plane, and at every wheel and tyre by look-up.

One distance transform of each obstacle's fold gives, at each cell, how far the nearest thing is
that a section must not reach; less the obstacle's own allowance, the least of all obstacles is the
room. A section has as much room as the least value along its outline.

A cell behind an obstacle, seen from the core that all sections share, is no room either: a
section that reaches there holds the obstacle within it. So cells are shut inboard of an obstacle
on the inner side (a wheel also goes on from outboard, so its barrel passes there), outboard of one
on the outer side, and above one over the tread. For a section that holds the core in each of its
rows this changes no distance: it only gives contact its sign.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drybuild.values.loops import Engine, engine_for, threads_wanted

from .folding import TAKEN_OFF, Fold, Grid
from .lookup import Lookup
from .section import Outline

Floats = NDArray[np.floating[Any]]
NOTHING = 1e3  # m, room where nothing was folded; the grid's own edge then limits it


@dataclass(frozen=True)
class Core:
    """What every section looked up holds: its middle, and where its tyre begins and surely is.

    axial: between the tyre's sides in every candidate; bead_radius: rows above it belong to the
    tyre (m, the largest bead seat radius looked up); tread_radius: below the tread of every
    candidate; half_width: half width of every tread about ``axial``.
    """

    axial: float
    bead_radius: float
    tread_radius: float
    half_width: float


@dataclass(frozen=True)
class Envelope:
    """Room of the obstacles together: ``room`` (rows, columns), which fold binds there (−1 the
    grid's edge), and for each cell the fold's cell that does (flat index)."""

    grid: Grid
    folds: tuple[Fold, ...]
    allowances: tuple[float, ...]
    core: Core
    room: NDArray[np.float32]
    binds: NDArray[np.int8]
    nearest: NDArray[np.int32]

    @functools.cached_property
    def lookup(self) -> Lookup:
        grid = self.grid
        return Lookup(self.room, grid.pitch, grid.axial_low, grid.radius_low)


def shut(
    *, occupied: NDArray[np.bool_], grid: Grid, core: Core
) -> tuple[NDArray[np.bool_], NDArray[np.int32]]:
    """Cells that no section may reach, and the occupied cell that shuts each (flat index).

    occupied (rows, columns). Source: geometry, as the module says.
    """
    rows, columns = occupied.shape
    column = np.arange(columns)
    middle = int(np.clip((core.axial - grid.axial_low) / grid.pitch, 0, columns - 1))
    bead = int(np.clip((core.bead_radius - grid.radius_low) / grid.pitch, 0, rows))
    tread = int(np.clip((core.tread_radius - grid.radius_low) / grid.pitch, 0, rows))
    wide = int(core.half_width / grid.pitch)
    origin = np.full((rows, columns), -1, dtype=np.int32)
    flat = np.arange(rows * columns, dtype=np.int32).reshape(rows, columns)
    base = flat[:, 0]

    # over the tread
    left, right = max(0, middle - wide), min(columns, middle + wide + 1)
    over = occupied[tread:, left:right]
    first = np.argmax(over, axis=0)
    has = over[first, np.arange(right - left)] if over.size else np.zeros(right - left, bool)
    above = (np.arange(rows - tread)[:, None] >= first) & has
    part = origin[tread:, left:right]
    np.copyto(part, (first + tread).astype(np.int32) * columns + column[left:right], where=above)

    # outer side, in the tyre's rows
    outer = occupied[bead:, middle:]
    first = np.argmax(outer, axis=1)
    has = outer[np.arange(rows - bead), first]
    beyond = (column[middle:] >= first[:, None] + middle) & has[:, None]
    np.copyto(
        origin[bead:, middle:], (base[bead:] + first + middle)[:, None], where=beyond,
        casting="same_kind",
    )  # fmt: skip

    # inner side: in the tyre's rows as far as the middle, in the rim's rows all of it
    inner = occupied.copy()
    inner[bead:, middle:] = False
    last = columns - 1 - np.argmax(inner[:, ::-1], axis=1)
    has = inner[np.arange(rows), last]
    beyond = (column <= last[:, None]) & has[:, None]
    np.copyto(origin, (base + last)[:, None], where=beyond, casting="same_kind")
    np.copyto(origin, flat, where=occupied)
    return origin >= 0, origin


def envelope(*, folds: Sequence[Fold], allowances: Sequence[float], core: Core) -> Envelope:
    """The room that folds on one grid leave together.

    allowances (m, one a fold): what is kept from each obstacle. Where nothing was folded the edge
    of the grid is the limit, as nobody knows what stands beyond it. The field is towards contact:
    never more than the truth, and less by at most one cell where the section is clear. Where it
    is not, the field says at least how deep; ``contact.closest`` has the depth itself.
    Source: Euclidean distance transform (scipy.ndimage), geometry.
    """
    from scipy.ndimage import distance_transform_edt

    if not folds or len(folds) != len(allowances):
        raise ValueError("an envelope needs folds and one allowance for each")
    grid = folds[0].grid
    if any(one.grid != grid for one in folds):
        raise ValueError("folds of one envelope stand on one grid")
    h = grid.pitch
    shape = (grid.rows, grid.columns)
    beside = (np.arange(grid.columns) + 0.5) * h
    room = np.minimum(
        np.minimum(beside, beside[::-1])[None, :], ((np.arange(grid.rows)[::-1] + 0.5) * h)[:, None]
    ).astype(np.float32)
    binds = np.full(shape, -1, dtype=np.int8)
    nearest = np.full(shape, -1, dtype=np.int32)
    for number, (one, allowance) in enumerate(zip(folds, allowances, strict=True)):
        closed, origin = shut(occupied=one.occupied, grid=grid, core=core)
        if not closed.any():
            continue
        out, index = distance_transform_edt(~closed, return_indices=True)
        into = distance_transform_edt(np.pad(closed, 1, mode="edge"))[1:-1, 1:-1]
        own = np.where(closed, 1.0 - into, out) * h - (allowance + TAKEN_OFF * h)
        less = own < room
        np.copyto(room, own, where=less, casting="same_kind")
        binds[less] = number
        nearest[less] = origin[index[0][less], index[1][less]]
    return Envelope(grid, tuple(folds), tuple(allowances), core, room, binds, nearest)


@dataclass(frozen=True)
class Shapes:
    """Outlines ready for look-up: corners (S, K+1, 5) with way along and direction, sides (S,)."""

    corners: NDArray[np.float32]
    sides: NDArray[np.int32]
    outlines: tuple[Outline, ...]

    @property
    def low(self) -> Floats:
        return np.array([one.corners[:, 0].min() for one in self.outlines])

    @property
    def high(self) -> Floats:
        return np.array([one.corners[:, 0].max() for one in self.outlines])


def shapes_of(outlines: Sequence[Outline]) -> Shapes:
    """Pack outlines of any number of corners."""
    most = max(len(one.corners) for one in outlines)
    packed = np.zeros((len(outlines), most + 1, 5), dtype=np.float32)
    sides = np.array([len(one.corners) for one in outlines], dtype=np.int32)
    for n, one in enumerate(outlines):
        k = len(one.corners)
        along = np.roll(one.corners, -1, axis=0) - one.corners
        length = np.hypot(along[:, 0], along[:, 1])
        packed[n, :k, :2] = one.corners
        packed[n, k, :2] = one.corners[0]
        packed[n, 1 : k + 1, 2] = np.cumsum(length)
        packed[n, :k, 3:5] = along / np.maximum(length, 1e-12)[:, None]
    return Shapes(packed, sides, tuple(outlines))


def rooms(
    *,
    envelope: Envelope,
    shapes: Shapes,
    shape: NDArray[np.integer[Any]],
    shift: Floats,
    engine: Engine | None = None,
    threads: int | None = None,
) -> NDArray[np.float32]:
    """Room of many candidates (M,), m: each an outline moved along the axle.

    shape (M,): index of the outline; shift (M,): outboard, m. Never more than the truth; less by
    at most one cell where clear. Where the sign is −, the section reaches at least that deep.
    Raises ValueError where a candidate reaches out of the grid. Source: geometry.
    """
    which, moved = _candidates(envelope, shapes, shape, shift)
    return envelope.lookup.least(
        shapes.corners, shapes.sides, which, moved,
        engine=engine_for(engine), threads=threads or threads_wanted(),
    )  # fmt: skip


@dataclass(frozen=True)
class Places:
    """Room of each candidate (m), the fold that binds (−1 the grid's edge), the place where."""

    room: NDArray[np.float32]
    binds: NDArray[np.int8]
    axial: Floats
    radius: Floats


def places(
    *,
    envelope: Envelope,
    shapes: Shapes,
    shape: NDArray[np.integer[Any]],
    shift: Floats,
    engine: Engine | None = None,
    threads: int | None = None,
) -> Places:
    """The same as rooms, with what binds and the place on the outline (m); slower."""
    which, moved = _candidates(envelope, shapes, shape, shift)
    room, along = envelope.lookup.places(
        shapes.corners, shapes.sides, which, moved,
        engine=engine_for(engine), threads=threads or threads_wanted(),
    )  # fmt: skip
    grid = envelope.grid
    a, r = _place_along(shapes, which, along)
    a = a + moved
    column = np.clip((a - grid.axial_low) / grid.pitch, 0, grid.columns - 1).astype(int)
    row = np.clip((r - grid.radius_low) / grid.pitch, 0, grid.rows - 1).astype(int)
    return Places(room, envelope.binds[row, column], a, r)


def _candidates(
    envelope: Envelope, shapes: Shapes, shape: NDArray[np.integer[Any]], shift: Floats
) -> tuple[NDArray[np.int32], NDArray[np.float32]]:
    """Checked: the loops do not look where there is nothing."""
    grid = envelope.grid
    which = np.ascontiguousarray(shape, dtype=np.int32)
    moved = np.ascontiguousarray(shift, dtype=np.float32)
    if which.shape != moved.shape or which.ndim != 1:
        raise ValueError("shape and shift have one entry for each candidate")
    if not len(which):
        return which, moved
    if which.min() < 0 or which.max() >= len(shapes.outlines):
        raise ValueError("a candidate names an outline that is not there")
    low, high = (shapes.low[which] + moved).min(), (shapes.high[which] + moved).max()
    top = max(float(one.corners[:, 1].max()) for one in shapes.outlines)
    if not (low >= grid.axial_low and high <= grid.axial_high and top <= grid.radius_high):
        raise ValueError(
            f"candidates reach from {low * 1e3:.0f} to {high * 1e3:.0f} mm across and to radius "
            f"{top * 1e3:.0f} mm; the grid holds {grid.axial_low * 1e3:.0f} to "
            f"{grid.axial_high * 1e3:.0f} mm and radius {grid.radius_high * 1e3:.0f} mm"
        )
    return which, moved


def _place_along(
    shapes: Shapes, shape: NDArray[np.int32], along: NDArray[np.floating[Any]]
) -> tuple[Floats, Floats]:
    """(axial, radius) of places given as way along outlines, each (M,), not moved."""
    way = shapes.corners[shape, :, 2].copy()
    way[np.arange(way.shape[1])[None, :] > shapes.sides[shape][:, None]] = np.inf
    side = np.clip(np.sum(way <= along[:, None], axis=1) - 1, 0, shapes.sides[shape] - 1)
    start = shapes.corners[shape, side]
    part = along - start[:, 2]
    return start[:, 0] + part * start[:, 3], start[:, 1] + part * start[:, 4]
