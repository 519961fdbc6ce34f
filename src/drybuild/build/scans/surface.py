"""Points on the surface of a mesh, close enough together that nothing slips between them."""

from __future__ import annotations

import numpy as np

from .scan import Points, Scan, ScanRefused

MOST_POINTS = 30_000_000


def surface_points(scan: Scan, spacing: float) -> Points:
    """The scan's points, and points on its triangles no further apart than spacing.

    spacing in the file's units. A scan without triangles gives its points as they are. Which way
    a triangle faces does not matter.
    """
    if scan.triangles is None or not len(scan.triangles):
        return scan.points
    if not spacing > 0.0:
        raise ValueError("spacing is above 0")
    a, b, c = (scan.points[scan.triangles[:, k]] for k in range(3))
    edge = np.max([np.linalg.norm(q - p, axis=1) for p, q in ((a, b), (b, c), (c, a))], axis=0)
    parts = np.ceil(edge / spacing)
    total = float(np.sum((parts + 1) * (parts + 2) / 2.0))
    if total > MOST_POINTS:
        raise ScanRefused(
            scan.file, f"triangles that give {total:.2g} points", f"at most {MOST_POINTS:.2g}",
            "wrong units, or a mesh with far triangles: cut the scan to the corner",
        )  # fmt: skip
    found = [scan.points]
    whole = parts.astype(np.int64)
    for n in np.unique(whole[whole > 1]):
        i, j = np.meshgrid(np.arange(n + 1), np.arange(n + 1), indexing="ij")
        inside = i + j <= n
        u, v = i[inside] / n, j[inside] / n
        chosen = whole == n
        p, q, r = a[chosen], b[chosen], c[chosen]
        step = max(1, 2_000_000 // len(u))
        for lo in range(0, len(p), step):
            part = slice(lo, lo + step)
            at = p[part, None] + u[:, None] * (q - p)[part, None] + v[:, None] * (r - p)[part, None]
            found.append(at.reshape(-1, 3))
    return np.concatenate(found)
