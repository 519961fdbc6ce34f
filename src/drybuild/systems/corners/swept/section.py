"""The section of a wheel and tyre in its own half-plane, and how far a point is from it.

The half-plane has the axial position, + outboard from the hub's wheel face, and the radius from
the axle. A wheel and its tyre are bodies of revolution, spokes by their revolved envelope.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating[Any]]

FLANGE_HEIGHT = 0.0175  # m over the bead seat, J flange; recalled, rounded up


@dataclass(frozen=True)
class Outline:
    """A closed line around a section: corners (K, 2) of axial position and radius in m, and the
    name of the place that each side, from corner k to k+1, belongs to."""

    corners: Floats
    places: tuple[str, ...]

    def __post_init__(self) -> None:
        corners = np.asarray(self.corners, dtype=float)
        if corners.ndim != 2 or corners.shape[1] != 2 or len(corners) < 3:
            raise ValueError(f"an outline has three corners or more, got shape {corners.shape}")
        if len(self.places) != len(corners):
            raise ValueError(f"{len(corners)} sides need as many places, got {len(self.places)}")
        if not np.all(np.isfinite(corners)) or np.any(corners[:, 1] < 0.0):
            raise ValueError("corners are finite and no radius is below 0")
        object.__setattr__(self, "corners", corners)

    def moved(self, axial: float) -> Outline:
        """The same section further outboard, as by a spacer or less offset."""
        return Outline(self.corners + np.array([axial, 0.0]), self.places)


def tyre_outline(
    *,
    section_width: float,
    rim_width: float,
    offset: float,
    bead_radius: float,
    overall_radius: float,
    shoulder_radius: float,
    spacer: float = 0.0,
    arc_steps: int = 6,
) -> Outline:
    """Section of an inflated, unloaded tyre: upright sides, round shoulders.

    All m. section_width: on its rim, grown as wanted; offset: ET of the wheel; bead_radius:
    bead seat; overall_radius: grown as wanted; shoulder_radius: between side and tread, at most
    half the section height (a smaller one is on the careful side). The side is full width from a
    quarter of the section height to the shoulder; real sidewalls lie inside that.
    Returns the outline, inner side first, drawn outside its arcs. Source: geometry.
    """
    half, rim = section_width / 2.0, rim_width / 2.0
    middle = spacer - offset
    height = overall_radius - bead_radius
    if min(half, rim, height) <= 0.0:
        raise ValueError("widths and section height are above 0")
    widest = bead_radius + height / 4.0
    rho = float(np.clip(shoulder_radius, 1e-4, min(height / 2.0, half)))
    # tangents to the arc, so that the line lies outside it
    turn = (np.arange(arc_steps) + 0.5) * np.pi / (2.0 * arc_steps)
    out = rho / np.cos(np.pi / (4.0 * arc_steps))
    arc_a = half - rho + np.concatenate([[rho], out * np.cos(turn), [0.0]])
    arc_r = overall_radius - rho + np.concatenate([[0.0], out * np.sin(turn), [rho]])
    left = [(-rim, bead_radius), (-half, widest)]
    inner = list(zip(-arc_a, arc_r, strict=True))
    outer = list(zip(arc_a[::-1], arc_r[::-1], strict=True))
    right = [(half, widest), (rim, bead_radius)]
    corners = np.array(left + inner + outer + right) + np.array([middle, 0.0])
    places = (
        ["inner sidewall"] * 2
        + ["inner shoulder"] * (arc_steps + 1)
        + ["tread"]
        + ["outer shoulder"] * (arc_steps + 1)
        + ["outer sidewall"] * 2
        + ["bead"]
    )
    return Outline(corners, tuple(places))


def wheel_outline(
    *,
    rim_width: float,
    offset: float,
    bead_radius: float,
    barrel_inner_radius: float,
    spoke_radius: Floats,
    spoke_back: Floats,
    flange_allowance: float = 0.025,
    flange_height: float = FLANGE_HEIGHT,
    spacer: float = 0.0,
) -> Outline:
    """Section of a rim with its spokes by their revolved envelope.

    All m. barrel_inner_radius: least inner radius of the barrel; spoke_radius (K,), ascending,
    and spoke_back (K,): mounting face out to the backs of the spokes at these radii (least value
    of all spokes). Between them straight lines. The barrel reaches inboard to the flange; its
    outer face is closed at the outer flange, or just outside the spokes.
    Returns the outline. Source: geometry.
    """
    radius = np.asarray(spoke_radius, dtype=float)
    back = np.asarray(spoke_back, dtype=float)
    if radius.shape != back.shape or radius.ndim != 1 or np.any(np.diff(radius) <= 0.0):
        raise ValueError("spoke radii ascend and have one depth each")
    if radius[-1] > barrel_inner_radius:
        raise ValueError("the spokes' backs end inside the barrel")
    half = (rim_width + flange_allowance) / 2.0
    edge = bead_radius + flange_height
    inner, outer = -offset - half, -offset + half
    face = max(outer, float(np.max(back)) + 0.005)
    corners = [(float(b), float(r)) for b, r in zip(back, radius, strict=True)]
    places = ["spoke back"] * len(corners)
    corners += [(float(back[-1]), barrel_inner_radius), (inner, barrel_inner_radius)]
    places += ["barrel", "inner flange"]
    corners += [(inner, edge), (inner + flange_allowance / 2.0, edge)]
    places += ["inner flange", "rim"]
    corners += [(inner + flange_allowance / 2.0, bead_radius)]
    places += ["rim"]
    corners += [(outer - flange_allowance / 2.0, bead_radius)]
    places += ["rim"]
    corners += [(outer - flange_allowance / 2.0, edge), (outer, edge)]
    places += ["outer flange", "outer flange"]
    if face > outer:
        corners += [(outer, barrel_inner_radius)]
        places += ["wheel face"]
        corners += [(face, barrel_inner_radius)]
        places += ["wheel face"]
    corners += [(face, float(radius[0]))]
    places += ["wheel face"]
    moved = np.array(corners) + np.array([spacer, 0.0])
    return Outline(moved, tuple(places))


def signed_distance(
    *, outline: Outline, axial: Floats, radius: Floats
) -> tuple[Floats, Floats, NDArray[np.intp]]:
    """Distance of points in the half-plane from a section, − inside it.

    axial, radius: (N,) m. Returns (distance (N,) m, gradient (N, 2), side (N,)): the gradient is
    the unit direction in which the distance grows, side the nearest side of the outline. Exact
    for the outline as drawn. Source: geometry, point to segment and even-odd rule.
    """
    p = np.stack([np.ravel(axial), np.ravel(radius)], axis=1).astype(float)
    start = outline.corners
    along = np.roll(start, -1, axis=0) - start
    length2 = np.maximum(np.sum(along * along, axis=1), 1e-30)
    distance = np.empty(len(p))
    gradient = np.empty((len(p), 2))
    side = np.empty(len(p), dtype=np.intp)
    for lo in range(0, len(p), 8192):
        part = p[lo : lo + 8192, None, :]
        rel = part - start
        t = np.clip(np.sum(rel * along, axis=2) / length2, 0.0, 1.0)
        away = rel - t[:, :, None] * along
        d2 = np.sum(away * away, axis=2)
        best = np.argmin(d2, axis=1)
        row = np.arange(len(best))
        d = np.sqrt(d2[row, best])
        r0, r1 = start[:, 1], start[:, 1] + along[:, 1]
        spans = (r0 > part[:, :, 1]) != (r1 > part[:, :, 1])
        rise = np.where(along[:, 1] == 0.0, 1e-300, along[:, 1])
        crossing = start[:, 0] + along[:, 0] * (part[:, :, 1] - r0) / rise
        inside = np.sum(spans & (part[:, :, 0] < crossing), axis=1) % 2 == 1
        sign = np.where(inside, -1.0, 1.0)
        normal = np.stack([-along[best, 1], along[best, 0]], axis=1)
        normal /= np.sqrt(length2[best])[:, None]
        # on the line itself the direction from the foot is lost: take the side's own normal
        toward = np.where(d[:, None] > 1e-12, away[row, best] / np.maximum(d, 1e-12)[:, None], 0.0)
        gradient[lo : lo + 8192] = np.where(d[:, None] > 1e-12, sign[:, None] * toward, normal)
        distance[lo : lo + 8192] = sign * d
        side[lo : lo + 8192] = best
    return distance, gradient, side
