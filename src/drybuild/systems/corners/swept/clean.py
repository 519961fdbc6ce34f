"""A scan made ready to fold: thinned, without strays, without the old wheel.

What is folded is an envelope: the largest of many noisy points decides. One stray point between
tyre and arch would be the answer. So strays go before folding, and thinning takes the mean of the
points in each small box, which also evens out noise that is independent from point to point.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .folding import half_plane
from .section import Outline, signed_distance

Floats = NDArray[np.floating[Any]]


@dataclass(frozen=True)
class Thinned:
    """Mean of the points in each box (M, 3), their number (M,), and how far the points of a box
    are from their mean: root mean square and greatest (m)."""

    points: Floats
    counts: NDArray[np.int64]
    spread: float
    greatest: float


def thinned(*, points: Floats, voxel: float) -> Thinned:
    """One point for each box of the given edge, the mean of those in it, in the order of boxes.

    points (N, 3), voxel in m. A mean lies inside an edge of the surface by up to half a box: allow
    for that. Source: voxel grid filter.
    """
    if not voxel > 0.0:
        raise ValueError("the edge of a box is above 0")
    p = np.asarray(points, dtype=float)
    low = p.min(axis=0)
    box = np.floor((p - low) / voxel).astype(np.int64)
    count = box.max(axis=0) + 1
    if float(np.prod(count.astype(float))) > 2.0**62:
        raise ValueError("the points lie too far apart for boxes of that size: wrong units?")
    key = (box[:, 2] * count[1] + box[:, 1]) * count[0] + box[:, 0]
    del box
    order = np.argsort(key, kind="stable")
    key, p = key[order], p[order]
    begin = np.flatnonzero(np.concatenate([[True], key[1:] != key[:-1]]))
    counts = np.diff(np.append(begin, len(p)))
    means = np.add.reduceat(p, begin, axis=0) / counts[:, None]
    off = np.sum((p - np.repeat(means, counts, axis=0)) ** 2, axis=1)
    return Thinned(means, counts, float(np.sqrt(off.mean())), float(np.sqrt(off.max())))


def strays(*, points: Floats, neighbours: int = 8, factor: float = 8.0) -> NDArray[np.bool_]:
    """Which points stand alone (N,): their neighbours are further off than those of the others.

    A point is a stray when the mean distance to its ``neighbours`` nearest is above the median of
    all by ``factor`` times the median deviation, and above three medians. Source: statistical
    outlier removal (Rusu et al. 2008, from memory), with medians for its mean and deviation.
    """
    p = np.asarray(points, dtype=float)
    from scipy.spatial import cKDTree

    k = min(neighbours, len(p) - 1)
    if k < 1:
        return np.zeros(len(p), dtype=bool)
    distance, _ = cKDTree(p, balanced_tree=False, compact_nodes=False).query(p, k=k + 1, workers=-1)
    mean = distance[:, 1:].mean(axis=1)
    middle = float(np.median(mean))
    deviation = float(np.median(np.abs(mean - middle)))
    lonely: NDArray[np.bool_] = mean > max(middle + factor * deviation, 3.0 * middle)
    return lonely


def on_old_wheel(
    *, points: Floats, outlines: list[Outline], pose: Floats, margin: float
) -> NDArray[np.bool_]:
    """Which points belong to the wheel that was on the car when it was scanned (N,).

    outlines: sections of that wheel and tyre; pose (3, 4): where it stood; margin: m around it
    that also counts (doubt of the scan and of the section). Nothing else can stand inside them.
    What stands within the margin and is not of the wheel is lost with it: keep it small, and scan
    with the wheel off where the gaps matter. Source: geometry.
    """
    axial, radius = half_plane(points=points, poses=np.asarray(pose)[None])
    mine = np.zeros(len(points), dtype=bool)
    for one in outlines:
        low, high = one.corners.min(axis=0) - margin, one.corners.max(axis=0) + margin
        box = (axial[0] > low[0]) & (axial[0] < high[0])
        box &= (radius[0] > low[1]) & (radius[0] < high[1]) & ~mine
        at = np.flatnonzero(box)
        distance, _, _ = signed_distance(outline=one, axial=axial[0, at], radius=radius[0, at])
        mine[at[distance < margin]] = True
    return mine


def bare_sectors(
    *, points: Floats, low: float, high: float, sectors: int = 24
) -> NDArray[np.bool_]:
    """Sectors around the wheel in which nothing was scanned (sectors,), from straight up forward.

    Counted are points between the radii low and high from the axle at rest (m). A bare sector
    is a hole in the scan or open air: nobody can tell which from the scan. Source: geometry.
    """
    r = np.hypot(points[:, 0], points[:, 2])
    near = points[(r >= low) & (r <= high)]
    clock = np.arctan2(near[:, 0], near[:, 2]) % (2.0 * np.pi)
    count = np.bincount((clock / (2.0 * np.pi) * sectors).astype(int) % sectors, minlength=sectors)
    bare: NDArray[np.bool_] = count == 0
    return bare
