"""From a scanner's axes to the corner's: by picked points, or by plane and circle of the hub."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating[Any]]


@dataclass(frozen=True)
class Fit:
    """Rotation (3, 3), possibly mirrored, and translation: known = R·found + t. residual: root
    mean square of what is left, worst: the greatest (m). mirrored: the fit needed a mirror; told:
    the points could tell (four, not in one plane)."""

    rotation: Floats
    translation: Floats
    residual: float
    worst: float
    mirrored: bool
    told: bool

    def moved(self, points: Floats) -> Floats:
        result: Floats = points @ self.rotation.T + self.translation
        return result


def size_ratio(*, found: Floats, known: Floats) -> float:
    """How many times larger known is than found: ratio of the spreads about their middles.

    found, known (K, 3), the same points. 0.001 says that metres were taken for millimetres.
    Source: similarity transform, Horn 1987.
    """
    a = found - found.mean(axis=0)
    b = known - known.mean(axis=0)
    return float(np.sqrt(np.sum(b * b) / np.sum(a * a)))


def rigid_fit(*, found: Floats, known: Floats) -> Fit:
    """The movement that brings picked points onto known ones best, least squares.

    found, known (K, 3), K ≥ 3 not on one line, m. A mirrored fit is taken only when four points
    out of one plane leave less than a fifth of the residual with it. Source: Kabsch 1976, by
    singular values.
    """
    if len(found) < 3 or found.shape != known.shape:
        raise ValueError("three picked points or more, each with its known place")
    a, b = found - found.mean(axis=0), known - known.mean(axis=0)
    spread = np.linalg.svd(b, compute_uv=False)
    if spread[1] < 1e-3 * spread[0]:
        raise ValueError("the picked points stand on one line: pick one beside it")
    told = len(found) > 3 and bool(spread[2] > 0.02 * spread[0])
    u, _, vt = np.linalg.svd(b.T @ a)
    plain = np.sign(np.linalg.det(u @ vt))
    fits = []
    for handed in (1.0, -1.0):
        turn = u @ np.diag([1.0, 1.0, plain * handed]) @ vt
        left = np.linalg.norm(b - a @ turn.T, axis=1)
        fits.append((turn, float(np.sqrt(np.mean(left**2))), float(left.max())))
    mirrored = told and fits[1][1] < 0.2 * fits[0][1] and fits[0][1] > 1e-6
    turn, residual, worst = fits[1 if mirrored else 0]
    shift = known.mean(axis=0) - turn @ found.mean(axis=0)
    return Fit(turn, shift, residual, worst, mirrored, told)


@dataclass(frozen=True)
class Plane:
    """normal·p = distance for the points of the plane; share of points on it, residual (m)."""

    normal: Floats
    distance: float
    share: float
    residual: float


def plane_of(*, points: Floats, tolerance: float, tries: int = 400, seed: int = 1) -> Plane:
    """The plane that most points lie on, as of a hub's face among studs and disc.

    tolerance: how far off still counts (m). Random triples, fixed seed, then least squares over
    the points that agree. Source: RANSAC, Fischler and Bolles 1981.
    """
    if len(points) < 3:
        raise ValueError("a plane needs three points")
    rng = np.random.default_rng(seed)
    p = np.asarray(points, dtype=float)
    few = p if len(p) <= 20000 else p[rng.choice(len(p), 20000, replace=False)]
    best: NDArray[np.bool_] | None = None
    for _ in range(tries):
        a, b, c = few[rng.choice(len(few), 3, replace=False)]
        normal = np.cross(b - a, c - a)
        length = float(np.linalg.norm(normal))
        if length < 1e-12:
            continue
        on = np.abs((few - a) @ (normal / length)) < tolerance
        if best is None or np.count_nonzero(on) > np.count_nonzero(best):
            best = on
    if best is None:
        raise ValueError("the points stand on one line")
    on_it = few[best]
    middle = on_it.mean(axis=0)
    normal = np.linalg.svd(on_it - middle, full_matrices=False)[2][2]
    off = (p - middle) @ normal
    near = np.abs(off) < tolerance
    return Plane(
        normal, float(normal @ middle), float(near.mean()), float(np.sqrt(np.mean(off[near] ** 2)))
    )


@dataclass(frozen=True)
class Circle:
    """Centre (3,) and radius (m) of a circle in a plane, share of points on it, residual (m)."""

    centre: Floats
    radius: float
    share: float
    residual: float


def circle_of(
    *, points: Floats, plane: Plane, tolerance: float, tries: int = 400, seed: int = 1
) -> Circle:
    """The circle in a plane that most points lie on: a spigot, a disc's edge. Its centre is on the
    axle.

    points near the plane (N, 3); tolerance m. Random triples, fixed seed, then least squares
    (Kåsa 1976) over the points that agree. Source: RANSAC, Fischler and Bolles 1981.
    """
    n = plane.normal
    across = np.cross(n, [1.0, 0.0, 0.0] if abs(n[0]) < 0.9 else [0.0, 1.0, 0.0])
    across /= np.linalg.norm(across)
    axes = np.stack([across, np.cross(n, across)])
    flat = points @ axes.T
    rng = np.random.default_rng(seed)
    best: NDArray[np.bool_] | None = None
    for _ in range(tries):
        three = flat[rng.choice(len(flat), 3, replace=False)]
        centre, radius = _circle(three)
        if not np.isfinite(radius):
            continue
        on = np.abs(np.linalg.norm(flat - centre, axis=1) - radius) < tolerance
        if best is None or np.count_nonzero(on) > np.count_nonzero(best):
            best = on
    if best is None:
        raise ValueError("the points stand on one line")
    centre, radius = _circle(flat[best])
    off = np.linalg.norm(flat - centre, axis=1) - radius
    near = np.abs(off) < tolerance
    return Circle(
        centre @ axes + n * plane.distance, float(radius), float(near.mean()),
        float(np.sqrt(np.mean(off[near] ** 2))),
    )  # fmt: skip


def _circle(flat: Floats) -> tuple[Floats, float]:
    middle = flat.mean(axis=0)
    p = flat - middle
    matrix = np.column_stack([2.0 * p, np.ones(len(p))])
    solved, _, rank, _ = np.linalg.lstsq(matrix, np.sum(p * p, axis=1), rcond=1e-12)
    if rank < 3:
        return middle, float("nan")
    return middle + solved[:2], float(np.sqrt(max(solved[2] + solved[0] ** 2 + solved[1] ** 2, 0)))


def hub_frame(
    *, centre: Floats, outboard: Floats, up: Floats, side: Literal["left", "right"]
) -> Fit:
    """Movement into the corner's frame from the hub's centre, its axle's direction and up.

    centre (3,): middle of the wheel's mounting face; outboard (3,): along the axle, away from the
    car; up (3,): need not be square to it. x points forward: on the right side the frame is
    left-handed, so that + is outboard on both. Source: geometry.
    """
    y = np.asarray(outboard, dtype=float) / np.linalg.norm(outboard)
    z = np.asarray(up, dtype=float) - y * float(y @ np.asarray(up, dtype=float))
    if np.linalg.norm(z) < 0.1 * np.linalg.norm(up):
        raise ValueError("up points along the axle")
    z = z / np.linalg.norm(z)
    x = np.cross(y, z) if side == "left" else np.cross(z, y)
    turn = np.stack([x, y, z])
    return Fit(turn, -turn @ np.asarray(centre, dtype=float), 0.0, 0.0, side == "right", True)
