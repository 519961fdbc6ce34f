"""A scan of a corner made into obstacles in the corner's frame: read, aligned, cleaned, named."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drybuild.build.kinds.corner_scan import CornerScan, ObstacleKind
from drybuild.build.scans import UNITS, Scan, ScanRefused, guess_units, read_scan, surface_points
from drybuild.values import Value

from .swept import align, clean
from .swept.section import Outline

Floats = NDArray[np.floating[Any]]

VOXEL = 0.002  # m: noise within it is evened out, edges are lost by up to half of it
REACH = 0.65  # m from the axle: further out no wheel comes
ACROSS = 0.45  # m from the hub face
SIZE_DIFFERS = 0.02  # picked points further apart than known by this share: wrong units
WORST_PICK = 0.005  # m that a picked point may be off after alignment
OLD_WHEEL = 0.004  # m around the old wheel's section that counts as the wheel


@dataclass(frozen=True)
class Obstacle:
    """Points of one thing (N, 3) in the corner's frame, m."""

    name: str
    kind: ObstacleKind
    points: Floats


@dataclass(frozen=True)
class Prepared:
    """Obstacles of a scan, and what is to be said of it."""

    obstacles: tuple[Obstacle, ...]
    notes: tuple[str, ...]
    residual: float


def nominal(value: Value | None) -> float:
    """The figure of a stated value, 0 where none."""
    return 0.0 if value is None else float(value.median)


def prepared(
    folder: str, scan: CornerScan, side: str, old_wheel: tuple[Outline, Floats] | None
) -> Prepared:
    """Obstacles out of a scan's file. Raises ScanRefused.

    side: left or right; old_wheel: section and pose (3, 4) of the wheel that was on, if it was.
    """
    if not scan.file:
        raise ScanRefused("car.toml", "a scan without its file", "file = a name in scans/")
    path = Path(folder) / "scans" / scan.file
    try:
        stamp = path.stat().st_mtime_ns
    except OSError:
        stamp = 0
    wheel = None
    if old_wheel is not None and scan.wheel_on:
        section, pose = old_wheel
        wheel = (section.corners.round(4).tobytes(), section.places, pose.round(5).tobytes())
    return _prepared(str(path), stamp, scan, side, wheel)


@lru_cache(maxsize=8)
def _prepared(
    path: str, stamp: int, scan: CornerScan, side: str, wheel: tuple[bytes, Any, bytes] | None
) -> Prepared:
    raw = read_scan(path)
    notes = list(raw.notes)
    fit, scale, handed = _aligned(raw, scan, side, notes)
    points = surface_points(raw, VOXEL / scale)
    points = fit.moved(points * scale) * handed
    points[:, 2] += nominal(scan.hub_rise)
    close = (np.hypot(points[:, 0], points[:, 2]) < REACH) & (np.abs(points[:, 1]) < ACROSS)
    if not close.any():
        raise ScanRefused(
            raw.file, "no point within reach of the wheel", "the corner's own scan",
            "are the picked points in the scan's own numbers?",
        )  # fmt: skip
    thin = clean.thinned(points=points[close], voxel=VOXEL).points
    lonely = clean.strays(points=thin)
    if lonely.any():
        notes.append(f"{np.count_nonzero(lonely)} of {len(thin)} points stand alone: left out")
    thin = thin[~lonely]
    if wheel is not None:
        section = Outline(np.frombuffer(wheel[0]).reshape(-1, 2), wheel[1])
        pose = np.frombuffer(wheel[2]).reshape(3, 4)
        mine = clean.on_old_wheel(points=thin, outlines=[section], pose=pose, margin=OLD_WHEEL)
        notes.append(f"{np.count_nonzero(mine)} points of the old wheel: left out")
        thin = thin[~mine]
    bare = clean.bare_sectors(points=thin, low=0.2, high=REACH)
    upper = [n for n in np.flatnonzero(bare) if min(n, 23 - n) < 6]
    if upper:
        notes.append(f"nothing was scanned in {len(upper)} of the 12 sectors over the axle")
    return Prepared(tuple(_named(thin, scan)), tuple(notes), fit.residual)


def _aligned(
    raw: Scan, scan: CornerScan, side: str, notes: list[str]
) -> tuple[align.Fit, float, Floats]:
    if len(scan.picked) < 3:
        raise ScanRefused(
            raw.file, f"{len(scan.picked)} picked points", "three or more, named in car.toml"
        )
    scale = UNITS[guess_units(raw, scan.units)]
    # outboard is + on both sides: on the right that is a mirror of the scanner's space
    handed = np.array([1.0, -1.0 if side == "right" else 1.0, 1.0])
    found = np.array([one.at for one in scan.picked]) * scale
    known = np.array([[nominal(v) for v in one.place] for one in scan.picked]) * handed
    try:
        ratio = align.size_ratio(found=found, known=known)
        fit = align.rigid_fit(found=found, known=known)
    except (ValueError, ZeroDivisionError) as error:
        raise ScanRefused(raw.file, str(error), "three picked points, not on one line") from error
    if not abs(ratio - 1.0) < SIZE_DIFFERS:
        fits = [name for name, m in UNITS.items() if abs(ratio * scale / m - 1.0) < SIZE_DIFFERS]
        raise ScanRefused(
            raw.file, f"picked points {1.0 / max(ratio, 1e-9):.4g} times as far apart as they are",
            "the distances stated in car.toml",
            f"the scan would fit in {fits[0]}" if fits else "check the picked points",
        )  # fmt: skip
    if fit.worst > WORST_PICK:
        raise ScanRefused(
            raw.file, f"a picked point {fit.worst * 1e3:.1f} mm off after the best alignment",
            f"at most {WORST_PICK * 1e3:.0f} mm", "one of them is picked or measured wrongly",
        )  # fmt: skip
    if fit.mirrored:
        notes.append("the scan was mirrored: turned back by its picked points")
    elif not fit.told:
        notes.append("the picked points lie in one plane: a mirrored scan would not be noticed")
    return fit, scale, handed


def _named(points: Floats, scan: CornerScan) -> list[Obstacle]:
    rest = np.ones(len(points), dtype=bool)
    found: list[Obstacle] = []
    for thing in scan.things:
        low = np.array([nominal(v) for v in thing.low])
        high = np.array([nominal(v) for v in thing.high])
        mine = rest & np.all((points >= low) & (points <= high), axis=1)
        rest &= ~mine
        if mine.any():
            found.append(Obstacle(thing.name, thing.kind, points[mine]))
    if rest.any():
        found.append(Obstacle("the rest of the scan", "fixed", points[rest]))
    return found
